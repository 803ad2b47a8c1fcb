"""The list of ropes, one rope with its whole life, and a recall."""
