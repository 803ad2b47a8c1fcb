"""Where the photographs that events name lie, in the folder of the installation."""

import re
from pathlib import Path

from django.conf import settings

from tethera.web.installation import PHOTOS_NAME


def is_photo(sha256: str) -> bool:
    """Whether what an event names can be a photograph here: events come from files of others too.

    >>> is_photo("ab" * 32), is_photo("../../elsewhere")
    (True, False)
    """
    return re.fullmatch(r"[0-9a-f]{64}", sha256) is not None


def photos_folder() -> Path:
    """Where photographs lie."""
    return Path(settings.FOLDER) / PHOTOS_NAME


def place_of(folder: Path, sha256: str) -> Path:
    """Where one photograph lies.

    >>> place_of(Path("photos"), "ab" + "0" * 62).parts[:2]
    ('photos', 'ab')
    """
    return folder / sha256[:2] / f"{sha256}.jpg"
