"""Invented herds whose truth is known, to score what is worked out of them."""
