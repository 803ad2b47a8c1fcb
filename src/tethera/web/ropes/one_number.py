"""A rope's number in an address."""


class RopeNumber:
    """Capitals and digits, so that no other page's name below `ropes` is taken for a rope."""

    regex = "[A-Z0-9]{1,10}"

    def to_python(self, value: str) -> str:
        """As written."""
        return value

    def to_url(self, value: str) -> str:
        """As written."""
        return value
