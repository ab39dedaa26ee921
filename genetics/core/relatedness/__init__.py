"""Kinship, inbreeding, founders and effective population size."""
