"""Which rope is at which step, and many steps recorded at once."""
