"""What is printed. Plain frozen values in, a page out; nothing here reads the book."""
