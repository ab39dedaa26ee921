"""Posterior doses and genotypes, given a pedigree and evidence."""
