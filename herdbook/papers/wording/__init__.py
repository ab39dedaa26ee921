"""The words of the papers."""
