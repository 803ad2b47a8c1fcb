"""Where the store lies: --store, else TETHERA_STORE, else the user's data folder."""

import os
from pathlib import Path

import platformdirs


def store_folder(named: str | None) -> Path:
    """Folder of the store the words point to; it need not exist yet."""
    chosen = named or os.environ.get("TETHERA_STORE")
    return Path(chosen).expanduser() if chosen else platformdirs.user_data_path("tethera", appauthor=False) / "store"
