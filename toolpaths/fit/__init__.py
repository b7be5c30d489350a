"""A neutral Program fitted to what a controller can do: arcs as chords, one program per cutter. Motions in and out."""
