"""Numerical kernels, compiled where a compiler is installed."""
