"""How well and how fast the calculation does, measured; not part of the herd-book."""
