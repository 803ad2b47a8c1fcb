"""Trips: which ropes to take, packed, gone and come back."""
