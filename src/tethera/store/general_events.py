"""Events of the store as a whole: its rules, its stocktakes, its routes."""

import re
from dataclasses import dataclass

from tethera.store.happening import Event, positive


@dataclass(frozen=True, kw_only=True)
class Stocktaken(Event):
    """The racks were walked; these ropes were seen."""

    seen: tuple[str, ...]
    place: str = ""


@dataclass(frozen=True, kw_only=True)
class StoreDescribed(Event):
    """The store said who it is and what its rules are: letters before a running number, owner, its own age limit
    [years], how often a rope is examined [months], how much less than measured a label says [%], its usual knots.

    `owner_short` stands on a mark with little room; with `ends_lettered` one end is A and the other B; `bands` are the
    store's own bands of tape by length, one on each line, as “30 to 39 m: yellow”.
    """

    code: str
    owner: str = ""
    age_limit_years: int | None = None
    inspection_months: int | None = None
    label_keeps_back_percent: int = 0
    knots: str = ""
    owner_short: str = ""
    ends_lettered: bool = False
    bands: str = ""

    def __post_init__(self) -> None:
        if not re.fullmatch(r"[A-Z]{1,5}", self.code):
            raise ValueError(f"a store code is one to five capital letters, as TV; not “{self.code[:40]}”")
        positive(self, "age_limit_years", "inspection_months")
        if not 0 <= self.label_keeps_back_percent <= 30:
            raise ValueError(f"a label keeps back 0 to 30 %, not {self.label_keeps_back_percent}")


@dataclass(frozen=True, kw_only=True)
class RouteWritten(Event):
    """Somebody wrote down a route, or anew: `text` is the whole route file (docs/routes.md), `key` its short name."""

    key: str
    text: str

    def __post_init__(self) -> None:
        check_route_key(self.key)


@dataclass(frozen=True, kw_only=True)
class RoutePutAway(Event):
    """A route is not offered any more; what was written of it stays."""

    key: str
    reason: str = ""

    def __post_init__(self) -> None:
        check_route_key(self.key)


def check_route_key(key: str) -> None:
    """ValueError unless a route's short name is small letters, digits and single hyphens."""
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key) or len(key) > 60:
        raise ValueError(f"a route's short name is small letters and digits, as cold-barrow-hole; not “{key[:40]}”")
