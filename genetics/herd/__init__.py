"""The herd as a whole: its founders, and its seasons to come."""
