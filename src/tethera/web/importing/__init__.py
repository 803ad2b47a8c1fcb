"""An old spreadsheet brought in, doubt by doubt."""
