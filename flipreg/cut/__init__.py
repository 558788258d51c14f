"""What a cutter leaves: height maps, outlines of what is swept, the thickness in between, and what still holds."""
