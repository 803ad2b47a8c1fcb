"""How the terminal tells a mark: the length first, what to letter by hand, the strip, the tube and its cautions."""

from collections.abc import Iterator, Sequence
from typing import Any

from tethera.cli import terminal
from tethera.labels import EndMark, Marking, tubes_to_cut
from tethera.rope import tube_cautions

_INDENT = 17


def in_words(marking: Sequence[Marking], paper: str, again: str) -> str:
    """The marks for the terminal: rope by rope, then how much tube, then the cautions, then what comes next.

    `again` are the ropes and what else was typed, to be typed again when they are printed or done.
    """
    parts = ["\n".join(_rope(each, paper)) for each in marking]
    batch = [f"  {size}: {pieces} pieces, {metres:.1f} m in all" for size, pieces, metres in tubes_to_cut(marking)]
    if batch:
        parts.append("\n".join(("Clear tube to cut, two pieces a rope", *batch)))
        parts.append("\n".join(terminal.paragraph(each, indent="! ", hanging="  ") for each in tube_cautions()))
    parts.append(f"On paper:          tethera mark {again} --pdf marks.pdf")
    return "\n\n".join(parts) + f"\nBoth ends marked:  tethera mark {again} --done"


def _rope(one: Marking, paper: str) -> Iterator[str]:
    yield terminal.bold(f"{one.rope.id}  {terminal.capsule(one.ends[0].length_m * 100)}")
    if one.ends[0].end:
        for each in one.ends:
            yield _line(f"End {each.end} says", _said(each))
    else:
        yield _line("Both ends say", _said(one.ends[0]))
    yield _line("By hand", " / ".join(one.by_hand) + (" / A or B" if one.ends[0].end else ""))
    if one.ends[0].doubt:
        yield _line("", f"? {one.ends[0].doubt}")
    if one.band:
        yield _line("Band", one.band)
    if one.over_mm is not None:
        how = "measured" if one.measured else "as declared, with its tape; old washed rope is thicker: measure it"
        yield _line("Over the tape", f"{one.over_mm:.1f} mm, {how}")
    if one.strip_mm is not None:
        along, around = one.strip_mm
        yield _line("Strip", f"{along:.0f} mm along the rope, {around:.0f} mm round it ({paper})")
    if one.tube is not None:
        low, high = one.tube.fits_mm
        yield _line("Tube", one.tube.words)
        yield _line("", f"fits {low:.1f} to {high:.1f} mm over the tape")
        for warning in one.tube.warnings:
            yield _line("", f"? {warning}")
        yield _line("Cut", f"{one.cut_mm} mm of tube for each end")
    if one.lacks:
        yield _line("", f"? {one.lacks}")


def _said(mark: EndMark) -> str:
    end = f" · end {mark.end}" if mark.end else ""
    return f"{terminal.capsule(mark.length_m * 100)} {mark.words}{end}"


def _line(name: str, said: str) -> str:
    return terminal.paragraph(f"  {name:<{_INDENT - 2}}{said}", hanging=" " * _INDENT)


def mapping(marking: Sequence[Marking], paper: str) -> dict[str, Any]:
    """The same for machines."""
    return {
        "paper": paper,
        "marks": [_mapping(each) for each in marking],
        "tubes": [{"size": size, "pieces": pieces, "metres": m} for size, pieces, m in tubes_to_cut(marking)],
        "cautions": list(tube_cautions()),
    }


def _mapping(one: Marking) -> dict[str, Any]:
    along, around = one.strip_mm or (None, None)
    tube = one.tube
    return {
        "rope": one.rope.id,
        "length_m": one.ends[0].length_m,
        "ends": [dict(each.mapping()) | {"words": each.words} for each in one.ends],
        "by_hand": list(one.by_hand),
        "doubt": one.ends[0].doubt or None,
        "band": one.band or None,
        "over_tape_mm": _tenths(one.over_mm),
        "diameter_measured": one.measured,
        "strip_along_mm": _tenths(along),
        "strip_round_mm": _tenths(around),
        "tube": tube
        and {
            "size": tube.size,
            "kind": tube.kind,
            "expanded_mm": tube.expanded_mm,
            "recovered_mm": tube.recovered_mm,
            "wall_mm": tube.wall_mm,
            "outside_mm": _tenths(tube.outside_mm),
            "source": tube.source,
            "warnings": list(tube.warnings),
        },
        "tube_cut_mm": one.cut_mm,
        "lacks": one.lacks or None,
    }


def _tenths(millimetres: float | None) -> float | None:
    return None if millimetres is None else round(millimetres, 1)
