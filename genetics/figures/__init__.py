"""The figures kept for each animal, made again when the book changes."""
