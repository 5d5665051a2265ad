"""Checks a masonry fireplace against published reference values before a brick is cut."""

__version__ = "1.0.0"
