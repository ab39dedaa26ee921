"""Invented herds whose truth is known, to score what is reckoned of them."""
