"""The likelihood of what was seen of an animal, at each dose."""
