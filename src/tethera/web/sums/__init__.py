"""Sums: what rope does, in numbers, for somebody who wants to know before trusting it. Nothing here is recorded."""
