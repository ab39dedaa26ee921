"""The reckoning on plain arrays.

What follows from a pedigree and from what has been seen: doses, kinship, forecasts and
reasons. Nothing in here knows of a database or of a web page. Animals are numbered from 0;
-1 stands for an unknown parent and NaN for an unknown figure, never a zero.
"""
