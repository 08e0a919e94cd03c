"""Savings after an installation, from logs and from bills."""

__all__ = []
