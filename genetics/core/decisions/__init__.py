"""Test matings and waiting: what settles a dose, and how long it takes."""
