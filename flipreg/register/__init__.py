"""Whether two faces belong to one part: what both show, where it coincides, and what would explain that it does not."""
