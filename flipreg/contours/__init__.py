"""Closed contours in what a program cuts: found, counted, and those that can't be run the other way round."""
