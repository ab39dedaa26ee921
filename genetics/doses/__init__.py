"""The reasons for an animal's dose, and what would settle it."""
