"""Logs of a measured house: reading and review."""

__all__ = []
