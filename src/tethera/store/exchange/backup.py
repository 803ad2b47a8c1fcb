"""One zip file with all that an installation keeps, and reading it back only when every sum is right.

manifest.json says what, when, by which version, how much, and the SHA-256 of each member; it stands last, for only
then the sums are known. The sums show damage. They do not show who made the file.
"""

import contextlib
import hashlib
import json
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import IO, Any

from tethera.store.chain import head_of
from tethera.store.events import DocumentAttached
from tethera.store.exchange.base import counted, read_names
from tethera.store.exchange.lines import from_lines, log_lines
from tethera.store.log import Recorded

FORM = 2
#: Form 1 had no sums in its events and no heads.
_FORMS_READ = (1, 2)
MANIFEST, ACCOUNTS = "manifest.json", "accounts.json"
_STORE_FILES = ("events.jsonl", "people.json", "about.json")
#: One part of a file's name: no slash, backslash or colon, nothing hidden, no end that some systems take away.
_SAFE = r"\w[\w .,()'&+-]{0,98}(?<![ .])"
_FILE = rf"knots\.toml|routes/{_SAFE}|photos/({_SAFE}/){{0,3}}{_SAFE}"
_MEMBER = re.compile(
    r"manifest\.json|accounts\.json|stores/[a-z0-9][a-z0-9_-]{0,29}/(events\.jsonl|people\.json|about\.json)|" + _FILE
)
_CHUNK = 1024 * 1024
_MOST_MANIFEST, _MOST_RECORD, _MOST_PHOTO = 256 * 1024**2, 4 * 1024**3, 256 * 1024**2
_FIXED_DATE = (1980, 1, 1, 0, 0, 0)

_BROKEN = (
    *(zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error),
    *(ValueError, OSError, EOFError, NotImplementedError, RuntimeError, KeyError),
)

#: How far long work is: so many bytes of so many, and with what.
Progress = Callable[[int, int, str], None]


class UnreadableBackup(ValueError):
    """The file is no whole backup; the message says what is wrong with which part. Nothing was written."""


@dataclass(frozen=True)
class KeptStore:
    """One store: its address, its name, its record, whom the ids mean, and what the pages keep about it."""

    slug: str
    name: str
    events: Sequence[Recorded]
    names: Mapping[str, str | None]
    about: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class KeptFile:
    """A file copied as it is: its name in the folder, as photos/ab/abcd.jpg, its size [bytes], and how to open it."""

    name: str
    size: int
    open: Callable[[], IO[bytes]]


@dataclass(frozen=True)
class Kept:
    """All of an installation: its stores, its accounts (None where it has no pages), its photographs and routes."""

    stores: Sequence[KeptStore]
    accounts: Sequence[Mapping[str, Any]] | None = None
    files: Sequence[KeptFile] = ()


@dataclass(frozen=True)
class Manifest:
    """What a backup says of itself."""

    made: datetime
    version: str
    database: bool
    stores: tuple[Mapping[str, Any], ...]
    photos: int
    accounts: int
    members: Mapping[str, Mapping[str, Any]]

    def in_words(self) -> str:
        """What is in it, as “2 stores (ug: 1142 events, 12 people; …), 31 photographs and 9 accounts”."""
        stores = "; ".join(
            f"{each['slug']}: {counted(each['events'], 'event')}, {counted(each['people'], 'person', 'people')}"
            for each in self.stores
        )
        routes = sum(each.startswith("routes/") for each in self.members)
        told = [f"{counted(len(self.stores), 'store')} ({stores})", counted(self.photos, "photograph")]
        told += [counted(routes, "route")] if routes else []
        told += [counted(self.accounts, "account")] if self.database else []
        return f"{', '.join(told[:-1])} and {told[-1]}"


def lacking_photos(kept: Kept) -> tuple[str, ...]:
    """Sums of photographs and papers that the record names and that are not among the files."""
    there = " ".join(each.name for each in kept.files)
    named = (each.event.sha256 for s in kept.stores for each in s.events if isinstance(each.event, DocumentAttached))
    return tuple(each for each in dict.fromkeys(named) if each not in there)


def write_backup(
    file: IO[bytes], kept: Kept, *, made: datetime, version: str, progress: Progress | None = None
) -> Manifest:
    """Write everything into one zip file, member after member, in little memory."""
    total = sum(each.size for each in kept.files) + 1
    members: dict[str, dict[str, Any]] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, chunks in _members(kept):
            members[name] = _add(archive, name, chunks, zipfile.ZIP_DEFLATED)
        done = 0
        for each in kept.files:
            if progress:
                progress(done, total, each.name)
            # Pictures are packed already: to try again only costs time.
            packing = zipfile.ZIP_STORED if each.name.startswith("photos/") else zipfile.ZIP_DEFLATED
            with each.open() as opened:
                members[each.name] = _add(archive, each.name, iter(lambda: opened.read(_CHUNK), b""), packing)
            done += each.size
        photos = sum(each.name.startswith("photos/") for each in kept.files)
        stores = tuple(
            {
                "slug": s.slug,
                "name": s.name,
                "events": len(s.events),
                "head": str(head_of(s.events)),
                "people": len(s.names),
            }
            for s in kept.stores
        )
        told = Manifest(*(made, version, kept.accounts is not None, stores, photos, len(kept.accounts or ()), members))
        _add(archive, MANIFEST, [_json(_manifest_mapping(told))], zipfile.ZIP_DEFLATED)
    if progress:
        progress(total, total, "")
    return told


def _members(kept: Kept) -> Iterator[tuple[str, Iterable[bytes]]]:
    for store in kept.stores:
        yield f"stores/{store.slug}/events.jsonl", log_lines(store.events)
        yield f"stores/{store.slug}/people.json", [_json(dict(store.names))]
        yield f"stores/{store.slug}/about.json", [_json(dict(store.about))]
    if kept.accounts is not None:
        yield ACCOUNTS, [_json(list(kept.accounts))]


def _add(archive: zipfile.ZipFile, name: str, chunks: Iterable[bytes], packing: int) -> dict[str, Any]:
    if not _MEMBER.fullmatch(name):
        raise ValueError(f"{name} cannot be restored under this name. Give it one of plain letters and digits")
    entry = zipfile.ZipInfo(name, _FIXED_DATE)
    entry.compress_type, entry.external_attr = packing, 0o600 << 16
    digest, size = hashlib.sha256(), 0
    with archive.open(entry, "w", force_zip64=True) as member:
        for chunk in chunks:
            member.write(chunk)
            digest.update(chunk)
            size += len(chunk)
    return {"bytes": size, "sha256": digest.hexdigest()}


def _json(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1).encode()


def _manifest_mapping(told: Manifest) -> dict[str, Any]:
    return {
        "tethera": "backup",
        "form": FORM,
        "made": told.made.isoformat(),
        "version": told.version,
        "kept_in": "database" if told.database else "files",
        "stores": [dict(each) for each in told.stores],
        "photos": told.photos,
        "accounts": told.accounts,
        "members": told.members,
    }


class Backup:
    """A backup open for reading. Every name, size and sum has been checked before the first member can be read."""

    def __init__(self, file: IO[bytes], progress: Progress | None = None) -> None:
        with _damage("The file"):
            self._archive = zipfile.ZipFile(file)
            entries = self._archive.infolist()
        _check_names(entries)
        if sum(each.compress_size for each in entries) > _size(file):
            raise UnreadableBackup("The parts of the file overlap: it is no backup that Tethera made.")
        self.manifest = _read_manifest(self._raw(MANIFEST, _MOST_MANIFEST))
        _check_members(self.manifest, {each.filename: each.file_size for each in entries})
        self._check_sums(progress)

    def _check_sums(self, progress: Progress | None) -> None:
        total, done = sum(each["bytes"] for each in self.manifest.members.values()) or 1, 0
        for name in self.manifest.members:
            for chunk in self.chunks(name):
                done += len(chunk)
                if progress:
                    progress(done, total, name)

    def chunks(self, name: str) -> Iterator[bytes]:
        """A member bit by bit; UnreadableBackup as soon as it is longer than said, or at the end if it is another."""
        said = self.manifest.members[name]
        digest, left = hashlib.sha256(), said["bytes"]
        with _damage(name), self._archive.open(name) as member:
            while chunk := member.read(_CHUNK):
                left -= len(chunk)
                if left < 0:
                    break
                digest.update(chunk)
                yield chunk
        if left != 0 or digest.hexdigest() != said["sha256"]:
            raise UnreadableBackup(f"{name} is not as it was backed up: its sum differs. Use another backup.")

    def _raw(self, name: str, most: int) -> bytes:
        with _damage(name), self._archive.open(name) as member:
            content = member.read(most + 1)
        if len(content) > most:
            raise UnreadableBackup(f"{name} is larger than any backup's. Use another backup.")
        return content

    def json(self, name: str) -> Any:
        """A member that holds JSON."""
        return _read_json(name, b"".join(self.chunks(name)))

    def store(self, told: Mapping[str, Any]) -> KeptStore:
        """One store of the manifest; UnreadableBackup where its record cannot be read or is not as long as said."""
        at = f"stores/{told['slug']}"
        try:
            events = from_lines(self.chunks(f"{at}/events.jsonl")).events
            names = read_names(self.json(f"{at}/people.json"))
        except UnreadableBackup:
            raise
        except ValueError as error:
            raise UnreadableBackup(f"{at}: {error}") from None
        about = self.json(f"{at}/about.json")
        counts_right = (len(events), len(names)) == (told["events"], told["people"])
        head_right = told["head"] in ("", str(head_of(events)))
        if not counts_right or not head_right or not isinstance(about, dict):
            raise UnreadableBackup(f"{at} does not hold what the manifest says. Use another backup.")
        return KeptStore(told["slug"], told["name"], events, names, about)

    @property
    def files(self) -> tuple[str, ...]:
        """The members that were files of the folder: photographs and papers, routes, knots."""
        return tuple(each for each in self.manifest.members if re.fullmatch(_FILE, each))


def _check_names(entries: Sequence[zipfile.ZipInfo]) -> None:
    seen: set[str] = set()
    for each in entries:
        if not _MEMBER.fullmatch(each.filename):
            raise UnreadableBackup(f"The file holds {each.filename[:80]!r}, which no backup has. Nothing was written.")
        if each.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise UnreadableBackup(f"{each.filename} is packed in a way no backup is. Nothing was written.")
        if each.filename.casefold() in seen:
            raise UnreadableBackup(f"The file holds {each.filename} twice. Nothing was written.")
        seen.add(each.filename.casefold())
    if MANIFEST not in seen:
        raise UnreadableBackup("The file has no manifest.json: it is no backup of Tethera, or was cut short.")


def _check_members(manifest: Manifest, sizes: Mapping[str, int]) -> None:
    there, said = sizes.keys() - {MANIFEST}, manifest.members.keys()
    if there != said:
        lacking, beyond = sorted(said - there), sorted(there - said)
        name = (lacking or beyond)[0][:80]
        told = f"{name} is not in the file" if lacking else f"{name} is in the file, but not in its manifest"
        raise UnreadableBackup(f"{told}. Use another backup.")
    wanted = {f"stores/{each['slug']}/{name}" for each in manifest.stores for name in _STORE_FILES}
    wanted |= {ACCOUNTS} if manifest.database else set()
    if wanted != {each for each in said if not re.fullmatch(_FILE, each)}:
        raise UnreadableBackup("The manifest and the parts of the file do not fit together. Use another backup.")
    for name, entry in manifest.members.items():
        most = _MOST_PHOTO if name.startswith("photos/") else _MOST_RECORD
        if entry["bytes"] != sizes[name] or entry["bytes"] > most:
            raise UnreadableBackup(f"{name} has not the size it should have. Use another backup.")


def _read_manifest(content: bytes) -> Manifest:
    value = _read_json(MANIFEST, content)
    try:
        if value["tethera"] != "backup" or value["form"] not in _FORMS_READ:
            raise UnreadableBackup(
                f"It is a backup of form {str(value['form'])[:40]}, which is not known here: update Tethera."
            )
        stores = tuple(
            {k: each[k] for k in ("slug", "name", "events", "people")} | {"head": each.get("head", "")}
            for each in value["stores"]
        )
        members = {name: {"bytes": each["bytes"], "sha256": each["sha256"]} for name, each in value["members"].items()}
        counts = [value["photos"], value["accounts"], *(each["bytes"] for each in members.values())]
        counts += [each[name] for each in stores for name in ("events", "people")]
        words = [value["version"], *(each["sha256"] for each in members.values())]
        words += [each[name] for each in stores for name in ("slug", "name", "head")]
        if not all(type(each) is int and each >= 0 for each in counts) or not all(isinstance(w, str) for w in words):
            raise TypeError
        made = datetime.fromisoformat(value["made"])
        if made.tzinfo is None:
            raise ValueError
        return Manifest(
            *(made, value["version"], value["kept_in"] == "database", stores, value["photos"], value["accounts"]),
            members,
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, UnreadableBackup):
            raise
        raise UnreadableBackup("manifest.json does not say what a backup's should. Use another backup.") from None


def _read_json(name: str, content: bytes) -> Any:
    try:
        value = json.loads(content.decode())
        json.dumps(value, ensure_ascii=False).encode()  # half a letter, as \ud800, could be read but never written
        return value
    except (ValueError, RecursionError):
        raise UnreadableBackup(f"{name} is not whole JSON. Use another backup.") from None


@contextlib.contextmanager
def _damage(what: str) -> Iterator[None]:
    """A broken archive fails in many ways, each of them the same to its owner."""
    try:
        yield
    except UnreadableBackup:
        raise
    except _BROKEN:
        # What the archive's reader says of it may be the bytes themselves, and helps nobody.
        raise UnreadableBackup(f"{what} is damaged or cut short. Use another backup.") from None


def _size(file: IO[bytes]) -> int:
    at = file.tell()
    size = file.seek(0, 2)
    file.seek(at)
    return size
