"""Pages on the records themselves: doubtful, contradictory, scored, compared with Mendel."""
