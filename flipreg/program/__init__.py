"""What one program does: extents, tools, time, and what to look at before it cuts."""
