"""Walking the racks."""
