"""Inference on factor graphs: elimination, junction trees, cutsets, belief propagation."""
