"""What a measurement would be worth before it is made."""

__all__ = []
