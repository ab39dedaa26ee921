"""Pedigrees as arrays: who is whose parent, in which order, and kinship along it."""
