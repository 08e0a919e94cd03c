"""Additions that may be put on top of a strategy, one file each."""
