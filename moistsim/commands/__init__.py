"""The commands of the command line, one in each file. `screen` has their common parts."""
