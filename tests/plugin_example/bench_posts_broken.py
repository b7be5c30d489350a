"""A module that fails while it is read."""

raise RuntimeError("this module cannot be read")
