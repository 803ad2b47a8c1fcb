"""Sessions in the database that a full disk, or a database that goes away, does not turn against the visitor.

A page was read and an act was recorded whether or not its session could be kept as well: then only a message is
shown once more, or not at all. Signing in still needs the session, and says what is wrong.
"""

import logging

from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions

from tethera.web.trouble import trouble_of

_logger = logging.getLogger("tethera.web")


class SessionStore(DatabaseSessions):
    """One visitor's session."""

    def save(self, must_create: bool = False) -> None:
        """Keep it where that can be done; UpdateError where it was ended meanwhile."""
        try:
            super().save(must_create)
        except UpdateError as error:
            trouble = trouble_of(error.__context__) if error.__context__ is not None else None
            if trouble is None:
                raise
            _logger.error("A session was not kept. %s: %s", trouble.title, error.__context__)
