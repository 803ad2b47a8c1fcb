"""Names of persons in the database: the same face as the file of names."""

from django.db import transaction

from tethera.store import id_for
from tethera.web.store.models import Person, Store


class DatabasePeople:
    """Names by person id, for one store."""

    def __init__(self, store_key: int) -> None:
        self._store = store_key

    def names(self) -> dict[str, str | None]:
        """Every id with its name, None where it was erased."""
        return dict(Person.objects.filter(store=self._store).order_by("pk").values_list("key", "name"))

    def name(self, person: str | None) -> str:
        """What to call a person; one whose name was erased is called by id."""
        return "" if person is None else self.names().get(person) or person

    def id_of(self, name: str) -> str:
        """The id of a person, a new one for a name not yet known."""
        with transaction.atomic():
            Store.objects.select_for_update().get(pk=self._store)
            names = self.names()
            key, wanted = id_for(names, name)
            if key not in names:
                Person.objects.create(store_id=self._store, key=key, name=wanted)
        return key

    def erase(self, person: str) -> None:
        """Forget a name."""
        if not Person.objects.filter(store=self._store, key=person).update(name=None):
            raise ValueError(f"there is no person {person}")
