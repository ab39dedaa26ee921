"""How likely a record is wrong, given all the others."""
