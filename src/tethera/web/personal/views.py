"""What is stored about oneself, taken out in one file."""

import tempfile

from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpRequest
from django.utils import timezone
from django.views.decorators.http import require_safe

from tethera.web.accounts.models import Account
from tethera.web.personal.stored import stored_about
from tethera.web.personal.written import pieces

#: So much of the file is held in memory, the rest on the disk [bytes].
_IN_MEMORY_BYTES = 500_000


@login_required
@require_safe
def stored(request: HttpRequest) -> FileResponse:
    """The file, whole before the first letter of it is sent: what cannot be read is told on a page instead."""
    assert isinstance(request.user, Account)
    # It goes from the disk when it has been sent, or when it could not be written.
    file = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY_BYTES)  # noqa: SIM115
    try:
        for piece in pieces(stored_about(request.user)):
            # Half a letter, which no file in UTF-8 can hold, is written as JSON writes it.
            file.write(piece.encode("utf-8", "backslashreplace"))
        file.write(b"\n")
        file.seek(0)
    except BaseException:
        file.close()
        raise
    return FileResponse(
        file,
        as_attachment=True,
        filename=f"stored-about-me-{timezone.localdate():%Y-%m-%d}.json",
        content_type="application/json; charset=utf-8",
        headers={"Cache-Control": "no-store"},
    )
