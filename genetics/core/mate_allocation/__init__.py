"""A season's matings chosen together by an integer programme."""
