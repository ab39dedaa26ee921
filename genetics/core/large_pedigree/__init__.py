"""Doses in pedigrees too large for exact inference: cluster graphs and messages."""
