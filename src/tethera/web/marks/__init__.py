"""Marks: what both ends say, printed or lettered by hand, and recorded once both are on."""
