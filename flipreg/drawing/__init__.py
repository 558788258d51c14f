"""Drawings as PDF, SVG or PNG: the picture of a check, the bench sheet, marks to draw, and both faces in true size."""
