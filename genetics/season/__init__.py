"""The plan of a season: who may be mated, what is asked, and why it came out so."""
