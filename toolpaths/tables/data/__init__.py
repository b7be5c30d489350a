"""Shipped table data: read through ``toolpaths.tables.load``."""
