"""A program seen before it is cut: how long it takes, and what happens when; all from the strokes that were read."""
