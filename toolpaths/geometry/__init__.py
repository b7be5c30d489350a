"""Exact plane geometry: lines and arcs, closed contours of them, the shapes of panel work, and exact offsets.

Only ``judge`` knows shapely; everything else is lines and arcs to float accuracy.
"""
