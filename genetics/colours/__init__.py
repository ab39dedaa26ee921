"""The other genes: what an animal carries, what a litter shows, and what kills."""
