"""Checks that take motions and poses and give findings: whether two faces belong to one part."""
