"""Buying: which lengths the store should own, how reels are cut into them, and what the next years cost."""
