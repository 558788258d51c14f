"""Where the back lies: what coincides with what, against what chance would make coincide."""
