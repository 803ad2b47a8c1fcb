"""What is due, an examination along the rope, setting aside and clearing."""
