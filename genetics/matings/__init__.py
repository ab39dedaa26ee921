"""A mating looked up before it is made, and matings ranked."""
