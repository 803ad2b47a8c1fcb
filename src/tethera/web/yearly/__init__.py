"""The store over the years, its record on paper, and the calendar."""
