"""Counting off a rope on a bench, with one large button."""
