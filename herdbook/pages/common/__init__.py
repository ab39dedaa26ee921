"""What several pages share: forms that write, access, formatting, names."""
