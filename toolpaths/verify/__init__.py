"""Two proofs of a program's text: ``judge`` looks at the piece in hand, ``compare`` at what the plan meant."""
