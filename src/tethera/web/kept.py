"""What an installation keeps: taken out for a backup, put back by a restore, and an export brought into a store.

A model is kept or is named in NOT_KEPT with the reason; a test walks all models.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from tethera.store.exchange import Exported, Kept, KeptFile, KeptStore, addition
from tethera.web.installation import PHOTOS_NAME

if TYPE_CHECKING:
    from django.db.models import Model

    from tethera.web.store.models import Store

KEPT = (
    *("accounts.Account", "accounts.Membership", "store.Store", "store.LoggedEvent", "store.Person", "store.Photo"),
    "trips.Trip",
)
#: Of a trip's paper: its plan, which is made anew in a moment, and what names other trips by their place.
_NOT_OF_A_TRIP = ("plan", "planned_from", "planned_for", "asked", "work", "apart_from")
NOT_KEPT = {
    "accounts.Invitation": "a link that ends after some days; the keeper sends a new one",
    "accounts.PasswordLink": "a link that ends after a day; the keeper makes a new one",
    "accounts.WrongGuesses": "counts the wrong passwords of some minutes",
    "buying.BuyingList": "a list to buy; it is worked out anew from the routes and ropes of the day",
    "importing.Draft": "a file that was being looked at before it was brought in; bring it once more",
    "store.Acknowledged": "knows a form that was sent twice; the forms of then are gone",
    "work.Work": "long work and its files, of which nothing is left to do",
}


def files_of(folder: Path) -> Iterator[KeptFile]:
    """Photographs and papers, routes and knots of a store's folder; hidden files are not its own."""
    for path in sorted((*folder.glob("knots.toml"), *folder.glob("routes/*"), *folder.glob(f"{PHOTOS_NAME}/**/*"))):
        name = path.relative_to(folder).as_posix()
        if path.is_file() and not path.is_symlink() and not any(part.startswith(".") for part in name.split("/")):
            yield KeptFile(name, path.stat().st_size, partial(_open, path))


def _open(path: Path) -> IO[bytes]:
    return path.open("rb")


def kept(folder: Path) -> Kept:
    """All that the installation keeps, as it was at one moment, whoever writes meanwhile.

    The files are looked at last: a photograph lies in the folder before the record names it, and none is ever deleted.
    """
    from tethera.web.store.models import Store

    with _one_moment():
        stores = [_store_out(each) for each in Store.objects.order_by("slug")]
        accounts = accounts_out()
    return Kept(stores, accounts, tuple(files_of(folder)))


@contextmanager
def _one_moment() -> Iterator[None]:
    """Every look into the database shows it as it was at the first; nobody who writes has to wait."""
    from django.db import connection, transaction

    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        # Django's own transactions begin with the right to write, which all others would wait for.
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield


def _store_out(store: "Store") -> KeptStore:
    from tethera.web.store.log import DatabaseLog
    from tethera.web.store.people import DatabasePeople

    events = DatabaseLog(store.pk).read()
    about = {
        "store": _row_out(store, but=("length",)),
        "photos": [_row_out(each) for each in store.photos.all()],
        "trips": [_row_out(each, but=_NOT_OF_A_TRIP) for each in store.trips.order_by("pk")],
    }
    return KeptStore(store.slug, store.name, events, DatabasePeople(store.pk).names(), about)


def accounts_out() -> list[dict[str, Any]]:
    """Every account with what it is in which store. Of passwords only what they are checked against."""
    from tethera.web.accounts.models import Account, Membership

    def memberships(account: Account) -> list[dict[str, Any]]:
        rows = Membership.objects.filter(account=account).select_related("store").order_by("pk")
        return [{"store": each.store.slug, **_row_out(each)} for each in rows]

    return [{**_row_out(each), "memberships": memberships(each)} for each in Account.objects.order_by("pk")]


def put_back(stores: Sequence[KeptStore], accounts: Sequence[Mapping[str, Any]]) -> None:
    """Fill an empty database, all or nothing; ValueError when there is something already or a row cannot be read."""
    from django.db import IntegrityError, transaction

    from tethera.web.accounts.models import Account
    from tethera.web.store.models import Store

    try:
        with transaction.atomic():
            if Store.objects.exists() or Account.objects.exists():
                raise ValueError("The database holds a store or an account already. Restore into an empty one.")
            for each in stores:
                _store_in(each)
            accounts_in(accounts)
    except IntegrityError:
        raise ValueError("The backup holds twice what may be there only once. Use another backup.") from None


def _store_in(kept_store: KeptStore) -> None:
    from tethera.web.store.log import DatabaseLog
    from tethera.web.store.models import Person, Photo, Store
    from tethera.web.trips.models import Trip

    about, at = kept_store.about, f"stores/{kept_store.slug}/about.json"
    (told,) = _mappings([about.get("store", {})], at)
    store = _row_in(Store, {**told, "slug": kept_store.slug, "name": kept_store.name})
    DatabaseLog(store.pk).append(0, kept_store.events)
    Person.objects.bulk_create(Person(store=store, key=key, name=name) for key, name in kept_store.names.items())
    for photo in _mappings(about.get("photos", []), at):
        _row_in(Photo, photo, store=store)
    for trip in _mappings(about.get("trips", []), at):
        _row_in(Trip, trip, store=store)


def _mappings(value: object, name: str) -> list[Mapping[str, Any]]:
    """Rows as they were written; ValueError where a part of a backup holds something else."""
    if not isinstance(value, list) or not all(isinstance(each, Mapping) for each in value):
        raise ValueError(f"{name} does not say what a backup's should. Use another backup.")
    return value


def accounts_in(accounts: Sequence[Mapping[str, Any]]) -> None:
    """Make accounts and their memberships as they were; the stores are there already."""
    from tethera.web.accounts.models import Account, Membership
    from tethera.web.store.models import Store

    stores = {each.slug: each for each in Store.objects.all()}
    for each in _mappings(accounts, "accounts.json"):
        account = _row_in(Account, {name: value for name, value in each.items() if name != "memberships"})
        for row in _mappings(each.get("memberships", []), "accounts.json"):
            slug = row.get("store")
            store = stores.get(slug) if isinstance(slug, str) else None
            if store is None:
                raise ValueError("accounts.json names a store that is not in the backup. Use another backup.")
            told = {name: value for name, value in row.items() if name != "store"}
            _row_in(Membership, told, account=account, store=store)


def _fields(model: "type[Model]") -> dict[str, Any]:
    """The fields of a model that say something by themselves."""
    return {f.name: f for f in model._meta.concrete_fields if not f.primary_key and not f.is_relation}


def _row_out(row: "Model", but: Sequence[str] = ()) -> dict[str, Any]:
    plain = {}
    for name, field in _fields(type(row)).items():
        value = field.value_from_object(row)
        plain[name] = value if value is None or isinstance(value, bool | int | str) else field.value_to_string(row)
    return {name: value for name, value in plain.items() if name not in but}


def _row_in(model: "type[Model]", told: Mapping[str, Any], **related: Any) -> Any:
    known = _fields(model)
    unknown = sorted(told.keys() - known.keys())
    if unknown:
        named = f"{model.__name__} has no “{unknown[0][:60]}”"
        raise ValueError(f"{named}: a newer Tethera wrote the backup. Update Tethera.")
    values = {name: _value_in(known[name], value) for name, value in told.items()}
    for name, field in known.items():
        if name not in told and not (field.has_default() or field.null or getattr(field, "auto_now_add", False)):
            raise ValueError(f"{model.__name__} lacks “{name}”. Use another backup.")
    row = model._default_manager.create(**values, **related)
    # Moments that a new row sets itself are those of the old one.
    model._default_manager.filter(pk=row.pk).update(**values)
    return row


def _value_in(field: Any, told: object) -> Any:
    """A value of a row as its column takes it; ValueError in words where it is none. What is left empty may be so."""
    from django.core.exceptions import ValidationError
    from django.db.models import CharField, JSONField

    named = f"{field.model.__name__}: “{field.name}”"
    wrong = f"{named} cannot be read. Use another backup."
    if told is None and field.null:
        return None
    try:
        value = field.to_python(told)
        field.run_validators(value)
    except ValidationError as error:
        raise ValueError(f"{named}: {' '.join(error.messages)[:200]} Use another backup.") from None
    except (TypeError, ValueError, OverflowError):
        raise ValueError(wrong) from None
    kind: type = str if isinstance(field, CharField) else object
    if isinstance(field, JSONField):
        kind = list if field.default is list else dict
    if value is None or not isinstance(told, kind) or (field.flatchoices and value not in dict(field.flatchoices)):
        raise ValueError(wrong)
    return value


def bring_back(slug: str, brought: Exported) -> Exported:
    """Add to a store of the database what an export holds beyond it; gives what was added. See `exchange.addition`."""
    from django.db import transaction

    from tethera.web.store.log import DatabaseLog
    from tethera.web.store.models import Person, Store
    from tethera.web.store.people import DatabasePeople

    with transaction.atomic():
        store = Store.objects.select_for_update().get(slug=slug)
        log, names = DatabaseLog(store.pk), DatabasePeople(store.pk).names()
        have = log.read()
        added = addition(have, names, brought)
        log.append(len(have), added.events)
        for key, name in added.names.items():
            Person.objects.update_or_create(store=store, key=key, defaults={"name": name})
        if not have:
            _keep_members(store, names, added.names)
    return added


def _keep_members(store: "Store", before: Mapping[str, str | None], now: Mapping[str, str | None]) -> None:
    """Members of a store that was empty get the id that their name has in what was brought in."""
    from tethera.web.accounts.models import Membership
    from tethera.web.store.people import DatabasePeople

    for membership in Membership.objects.filter(store=store).select_related("account"):
        name = before.get(membership.person)
        if name and now.get(membership.person) != name:
            membership.person = DatabasePeople(store.pk).id_of(name)
            membership.save(update_fields=["person"])
