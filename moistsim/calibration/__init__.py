"""Descriptions fitted to the log of a house, with what the log cannot tell."""

__all__ = []
