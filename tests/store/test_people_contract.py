"""What every list of names must do, run over the file and the database."""

from pathlib import Path

import pytest

from tethera.store import People
from tethera.web.store.models import Store
from tethera.web.store.people import DatabasePeople


@pytest.mark.django_db
class TestEveryListOfNames:
    @pytest.fixture(params=["file", "database"])
    def people(self, request: pytest.FixtureRequest, tmp_path: Path) -> "People | DatabasePeople":
        if request.param == "file":
            return People(tmp_path / "people.json")
        return DatabasePeople(Store.objects.create(slug="tv", name="an invented store").pk)

    def test_a_name_has_one_id_however_it_is_written(self, people: "People | DatabasePeople") -> None:
        assert people.id_of("Ada Thorne") == people.id_of(" ada  thorne ") == "p1"
        assert people.id_of("Bo Thorne") == "p2"
        assert people.names() == {"p1": "Ada Thorne", "p2": "Bo Thorne"}
        assert people.name("p2") == "Bo Thorne"
        assert people.name(None) == ""

    def test_an_erased_name_leaves_its_id_behind(self, people: "People | DatabasePeople") -> None:
        people.id_of("Ada Thorne")
        people.erase("p1")
        assert people.name("p1") == "p1"
        assert people.names() == {"p1": None}
        assert people.id_of("Ada Thorne") == "p2"

    def test_nobody_has_no_name(self, people: "People | DatabasePeople") -> None:
        with pytest.raises(ValueError, match="needs a name"):
            people.id_of("  ")
        with pytest.raises(ValueError, match="there is no person p9"):
            people.erase("p9")
