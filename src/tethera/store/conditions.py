"""What state the cells of one rope of an old spreadsheet put it in: the worst that any of them says.

A rope is ready only when every cell about its state is, as a whole, a word known to say so. Words not understood, and
cells that disagree, keep the rope back until somebody has looked.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tethera.basics import Finding
from tethera.store.events import Condition


@dataclass(frozen=True, slots=True)
class Told:
    """One cell: where it is, its text, the state a tick in it means when its heading names one (“Retired?”).

    `is_place` is a cell under a heading like “Location”: words not understood there are a place, not a state.
    """

    where: str
    text: str
    tick_means: Condition | None = None
    is_place: bool = False


#: The worst first.
_BAD: tuple[tuple[Condition, str], ...] = (
    (
        "retired",
        r"retired?|(to be )?scrap(ped)?|binned|condemned|cut up|destroyed|disposed( of)?|written off|dead"
        r"|thrown( away)?|withdrawn|discarded|chopped( up)?|rejected",
    ),
    (
        "missing",
        r"missing|lost|gone|stolen|not (been )?(found|seen|there)|can ?not find|can't find|awol|mislaid",
    ),
    (
        "set aside",
        r"set aside|quarantined?|(do not|don't|dont|not to be|not for|no longer) us(e|ed|able)|unusable|u s"
        r"|suspect|unfit|not fit|unsafe|dangerous|fail(s|ed|ure)?|core|sheath|mantle|damag(e|ed|es)|bad(ly)?|poor"
        r"|fray(s|ed|ing)?|worn( out)?|cuts|cut (at|in|near|on|by)|nick(s|ed)?|abra(ded|sion)|burn(t|ed|s)?"
        r"|melted|glazed|flat ?spots?|soft ?spots?|stiff|furry|fluffy|fuzzy|puffed|shock|fall|fell|acid|chemicals?"
        r"|contaminated|rock ?fall|to (be )?(check(ed)?|inspect(ed)?|retire|replace)|needs?"
        r"|(awaiting|waiting|for) (check|inspection)|doubtful|broken|mould|mouldy|expired"
        r"|out of (date|service|use)|too old|old age|replace|tow(ing)?( rope)?",
    ),
    ("rigged", r"(left )?rigged|in situ|in (the |a )?(cave|pot)|left in|in place|underground"),
    (
        "out",
        r"on loan|loaned|lent|borrowed|given (?!(by|from|up|in|a|an|the|it|its)\b)\w+|gave|out|signed out|has it"
        r"|has them|at \w+'s",
    ),
    (
        "in preparation",
        r"in prep(aration)?|unwashed|dirty|muddy|wet|damp|(to )?wash|to dry|washing|drying|unused|on (the )?reel"
        r"|uncut|never used",
    ),
)
_NEW = r"new|brand new"
_GOOD_WORD = (
    r"ok|okay|good|very good|excellent|fine|ready|(in )?(the )?((gear|tackle) )?(store|hut|shed)|in use|in service"
    r"|available|yes|y|active|fair|fit( for use)?|pass(ed)?|as new"
    r"|(in |on )?(the )?(shelf|rack|hook|peg|bag|box|drawer|locker|cupboard) ?[a-z]?\d{0,3}"
)
#: Said of a rope that has no such thing: taken away before the bad words are looked for.
_DENIED = (
    r"\b(no|not|without|never|nil|zero) (sign of |signs of |any |visible |been )*(damaged?|worn|wear|cuts?|falls?)\b"
)
_TURNED = (
    r"\b(no|not|never|nearly|was|were|once|soon|un|until|if|or|maybe|perhaps|returned|back|found|next|due|should|then)\b"
    r"|\?"
)
_TICKED = r"y|yes|x|✓|✔|true|1"
_UNTICKED = r"n|no|false|0|-|–|none|n a|never|nil"
_ORDER: tuple[Condition, ...] = (*(name for name, _ in _BAD), "ready")


def condition(states: Sequence[Told], remarks: Iterable[Told]) -> tuple[Condition, tuple[Finding, ...]]:
    """The state of a rope by its cells about its state and by what is remarked of it, with what is doubtful."""
    read = [(*_by_state(each), each) for each in states if _plain(each.text)]
    worst: Condition = min((name for name, _, _ in read), key=_ORDER.index, default="ready")
    found = [finding for _, findings, _ in read for finding in findings]
    if not found and len({name for name, _, each in read if each.tick_means is None or name != "ready"}) > 1:
        place = next(each for name, _, each in read if name == worst)
        told = " and ".join(f"“{each.text}” ({each.where})" for _, _, each in read)
        found.append(Finding("state-unclear", place.where, f"{told} do not agree.", "Say which it is."))
    for each in remarks:
        if _asks(each.text) and _ORDER.index("set aside") < _ORDER.index(worst):
            worst = "set aside"
            told = f"“{each.text}” asks something about it."
            found.append(Finding("state-in-remarks", each.where, told, "Correct it if the rope is ready."))
        said = _worst_said(_plain(each.text))
        if said is not None and _ORDER.index(said[0]) < _ORDER.index(worst):
            # A remark is seldom the last word on a rope: unless it begins with its end, somebody is to look.
            final = said[0] in ("retired", "missing")
            rest = _plain(each.text).removeprefix(said[1])
            begins = _plain(each.text).startswith(said[1]) and not re.search(_TURNED, rest)
            worst = "set aside" if final and not begins else said[0]
            told = f"“{each.text}” is remarked of it, so it comes in as {worst}."
            found.append(Finding("state-in-remarks", each.where, told, "Correct it if the rope is ready."))
    return worst, tuple(found)


def _asks(text: str) -> bool:
    """Whether a remark is nothing but a question mark: somebody did not know."""
    return "?" in text and re.search(r"\w", text) is None


def _plain(text: str) -> str:
    """Small letters, straight apostrophes, no hyphens, no punctuation at the ends."""
    text = re.sub(r"[’‘`´]", "'", text.lower())
    return " ".join(re.sub(r"[-‐‑‒–—_/]", " ", text).split()).strip(" .,;!")


def _worst_said(text: str) -> tuple[Condition, str] | None:
    text = re.sub(_DENIED, "", text)
    for name, pattern in _BAD:
        if match := re.search(rf"\b({pattern})\b", text):
            return name, match[0]
    return None


def _by_state(told: Told) -> tuple[Condition, tuple[Finding, ...]]:
    text = _plain(told.text)
    if told.tick_means is not None:
        if re.fullmatch(_UNTICKED, text):
            return "ready", ()
        if re.fullmatch(_TICKED, text) or re.search(r"\d", text):
            return told.tick_means, ()
        unclear = f"“{told.text}” stands in a column of what is {told.tick_means}."
        return told.tick_means, (Finding("state-unclear", told.where, unclear, "Say whether it is."),)
    if all(re.fullmatch(_GOOD_WORD, part.strip()) for part in re.split(r"[,;&+]|\band\b", text)):
        return "ready", ()
    # In a column of states “dry” is what is to be done next; in a remark it may be how to keep it.
    if re.fullmatch(rf"{_NEW}|dry", text):
        return "in preparation", ()
    said = _worst_said(text)
    if said is None and told.is_place and "?" not in told.text:
        place = f"“{told.text}” is taken for a place."
        return "ready", (
            Finding("state-unknown", told.where, place, "Set the rope aside if it says more than where it is."),
        )
    if said is None:
        unknown = f"“{told.text}” is no state known here."
        return "set aside", (Finding("state-unknown", told.where, unknown, "Look at the rope and clear it."),)
    rest = text.replace(said[1], "", 1)
    good = re.search(rf"\b({_GOOD_WORD})\b", rest)
    if text.startswith(said[1]) and not re.search(_TURNED, rest) and not good:
        return said[0], ()
    # Turned round (“not retired”) or one of several things: never better than set aside.
    name: Condition = "set aside"
    if said[0] in ("retired", "missing") and not re.search(_TURNED, rest):
        name = said[0]
    unclear = f"“{told.text}” can be read in more than one way."
    return name, (Finding("state-unclear", told.where, unclear, "Say which it is."),)
