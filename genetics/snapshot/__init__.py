"""The book read into the core's arrays."""
