"""Checks of a log, one kind of fault a file."""
