"""New ropes: a reel or pieces, cut in one go."""
