"""Logs of a measured house: reading and review."""

__all__ = []  # type: ignore[var-annotated]
