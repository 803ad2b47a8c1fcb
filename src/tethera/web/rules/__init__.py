"""The store's own rules, and its people."""
