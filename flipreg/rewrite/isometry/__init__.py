"""Programs moved, mirrored or turned, word by word."""
