"""Tethera: the tackle keeper’s notebook that computes."""

__version__ = "0.1.0"
