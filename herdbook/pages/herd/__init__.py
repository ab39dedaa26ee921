"""Pages on the herd as a whole: home, details, limits, founders."""
