"""A herd bred on by rules, many times over."""
