"""Drawings as PDF, SVG or PNG: the picture of a check, the sheet of marks, and its tiles in true size."""
