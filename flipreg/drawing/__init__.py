"""Drawings as PDF, SVG or PNG: the picture of a check, the bench sheet, the marking sheet, and its tiles in true size."""
