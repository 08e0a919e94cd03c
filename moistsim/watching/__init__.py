"""A house's log compared each day with its fitted model."""

__all__ = []
