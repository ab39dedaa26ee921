"""Mendel's rules: loci, transmission and what a litter may hold."""
