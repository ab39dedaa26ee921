"""The families of a pedigree as factor graphs, reduced before they are solved."""
