"""Who has what: taking out and bringing back."""
