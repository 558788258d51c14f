"""What there is to say of the wood: openings, webs, walls, tabs, floors."""
