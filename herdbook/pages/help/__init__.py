"""Help: the glossary behind each figure, and the handbook."""
