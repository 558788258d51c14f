"""What each face shows: holes, outlines, cuts and all else at a known place."""
