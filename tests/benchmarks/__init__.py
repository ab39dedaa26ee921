"""How well and how fast the reckoning does, measured; not part of the herd-book."""
