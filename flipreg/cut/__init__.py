"""What a cutter leaves: height maps, outlines of what is swept, thickness, what still holds, and the time it takes."""
