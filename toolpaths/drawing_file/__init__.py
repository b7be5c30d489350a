"""Drawings that come in: a DXF file to exact closed contours in mm, and what is wrong with it by its place."""
