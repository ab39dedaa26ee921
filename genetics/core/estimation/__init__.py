"""Parameters estimated from records: onset curves, growth curves, litter size, segregation."""
