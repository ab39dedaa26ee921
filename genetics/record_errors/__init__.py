"""Which records are likely wrong."""
