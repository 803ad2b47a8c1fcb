"""Invented sheets to draw: no real cave, club or person."""

from typing import Any

CAUTIONS = [
    "Estimates only: they can say that a rig looks bad, never that it is good.",
    "Trained people decide on the rope. Follow the maker's leaflet and the competent person.",
    "For work: local law, in the UK a thorough examination every six months (LOLER).",
]


def anchor(number: int, kind: str, role: str, along: float, down: float, **more: Any) -> dict[str, Any]:
    plain = {"bolts": 1, "sling_m": None, "rub": False, "rope": "TV41", "change": False, "note": ""}
    return {"number": number, "kind": kind, "role": role, "along_m": along, "down_m": down, **plain, **more}


def pitch(name: str, depth: float | None, **more: Any) -> dict[str, Any]:
    plain: dict[str, Any] = {
        "depth_known_by": "survey",
        "detail": "coarse",
        "ropes": [],
        "rope_needed_cm": None,
        "top_m": 0.0,
        "x_m": 0.0,
        "anchors": [],
        "count_anchors": None,
        "guide_rope_cm": None,
        "flags": [],
        "notes": [],
        "lines": [],
    }
    return {"name": name, "depth_m": depth, **plain, **more}


def rope(name: str, length: int, need: int | None, begins: str, ends: str, **more: Any) -> dict[str, Any]:
    plain = {"diameter_mm": 10.0, "type": "A", "bag": "1", "joined_to": None, "warning": None}
    left = None if need is None else length - need
    return {
        "rope": name,
        "length_cm": length,
        "need_cm": need,
        "left_cm": left,
        "begins": begins,
        "ends": ends,
        **plain,
        **more,
    }


def sheet(title: str, ropes: list[dict[str, Any]], pitches: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    plain = {
        "subtitle": "classic trip to the sump",
        "store": "Tarn Vale Caving Club",
        "date": "2026-11-28",
        "party": 5,
        "confidence_percent": 95,
        "findings": [],
        "cautions": CAUTIONS,
        "kit": {"hangers": 14, "maillons": 14, "karabiners": 6, "slings": 3, "spare_note": "Two spare of each."},
        "totals": {
            "ropes": len(ropes),
            "length_cm": sum(r["length_cm"] for r in ropes),
            "mass_g": 14200,
            "depth_m": sum(p["depth_m"] or 0 for p in pitches),
        },
    }
    return {"title": title, "ropes": ropes, "pitches": pitches, **plain, **more}


def short_sheet() -> dict[str, Any]:
    """Four pitches, anchor by anchor, with a change of rope at a rebelay."""
    first = [
        anchor(1, "natural", "backup", 0, -0.8, sling_m=1.2),
        anchor(2, "bolt", "y-hang", 1.5, 0.4, bolts=2),
        anchor(3, "bolt", "rebelay", 2.0, 9, note="small ledge, keep left"),
    ]
    second = [
        anchor(1, "bolt", "backup", 0, 0),
        anchor(2, "bolt", "traverse", 2.5, 0.2),
        anchor(3, "bolt", "traverse", 4.5, 0.4),
        anchor(4, "bolt", "y-hang", 6, 0.8, bolts=2),
        anchor(5, "bolt", "rebelay", 6.4, 12, change=True, rope="TV12"),
        anchor(6, "natural", "deviation", 7.4, 20, sling_m=0.6, rope="TV12"),
    ]
    third = [anchor(1, "thread", "backup", 0, 0), anchor(2, "bolt", "y-hang", 0.8, 0.6, bolts=2, rub=True)]
    return sheet(
        "Grey Ewe Pot",
        [
            rope("TV41", 4500, 4213, "head of First", "rebelay 5 of Chimney"),
            rope(
                "TV12",
                3000,
                2590,
                "rebelay 5 of Chimney",
                "foot of Chimney",
                diameter_mm=9.0,
                bag="2",
                warning="Length from the label only, measured 2021: 30 m (28.5 to 31). Measure it before the trip.",
            ),
            rope("TV7", 2000, 1420, "head of Letterbox", "foot of Letterbox", bag="2"),
            rope("TV33", 900, 940, "head of Last Step", "foot of Last Step", bag="2", type=None),
        ],
        [
            pitch(
                "First",
                22.0,
                detail="anchors",
                ropes=["TV41"],
                rope_needed_cm=2710,
                anchors=first,
                hangers=3,
                maillons=3,
                slings=1,
            ),
            pitch(
                "Chimney",
                28.0,
                detail="anchors",
                ropes=["TV41", "TV12"],
                rope_needed_cm=4120,
                anchors=second,
                top_m=24,
                x_m=8,
                hangers=6,
                maillons=6,
                notes=["Water lands on the ledge after rain: keep to the far wall."],
            ),
            pitch(
                "Letterbox",
                9.5,
                detail="anchors",
                ropes=["TV7"],
                rope_needed_cm=1420,
                anchors=third,
                top_m=55,
                x_m=22,
                hangers=2,
                maillons=2,
                slings=1,
            ),
            pitch(
                "Last Step",
                5.0,
                ropes=["TV33"],
                rope_needed_cm=940,
                count_anchors=2,
                guide_rope_cm=1000,
                top_m=66,
                x_m=27,
                depth_known_by="guide",
            ),
        ],
        findings=[
            {
                "where": "Last Step",
                "message": "The rope is (0.4 m) too short at 95 %.",
                "way_out": "Take TV34 or rig it as a hand-line.",
            }
        ],
    )


def coarse_sheet() -> dict[str, Any]:
    """Only depths and what the guide says."""
    names = [("Entrance", 8, 15), ("Ladder", 12, 20), ("Big", 31, 40), ("Drain", 3, 8), ("Sump Pitch", None, 20)]
    pitches = [
        pitch(
            name,
            depth,
            count_anchors=3 if depth else None,
            guide_rope_cm=guide * 100,
            ropes=[f"TV{i}"],
            rope_needed_cm=guide * 95,
            depth_known_by="guide",
            top_m=(0.0, 10.0, 25.0, 58.0, 63.0)[i],
            x_m=20.0 * i,
        )
        for i, (name, depth, guide) in enumerate(names)
    ]
    ropes = [rope(f"TV{i}", g * 100, g * 95, f"head of {n}", f"foot of {n}") for i, (n, _, g) in enumerate(names)]
    return sheet("Tup Hole", ropes, pitches, date=None, kit=None, confidence_percent=None, subtitle=None)


def deep_sheet() -> dict[str, Any]:
    """Fourteen pitches to 250 m."""
    depths = [9, 14, 32, 6, 41, 3, 18, 22, 12, 38, 5, 27, 15, 8]
    names = [
        "Porch",
        "Wether",
        "The Long Ladderway of the Eleven Shepherds",
        "Hop",
        "Bellwether",
        "Nick",
        "Fleece",
        "Gimmer",
        "Shearing Shed",
        "Great Fold",
        "Stile",
        "Hogg",
        "Ram's Horn",
        "Sump",
    ]
    pitches, ropes, top = [], [], 0.0
    for i, (name, depth) in enumerate(zip(names, depths, strict=True)):
        anchors = [anchor(1, "natural" if i % 3 else "thread", "backup", 0, 0, sling_m=1.5 if i % 3 else None)]
        along = 0.0
        if i % 2:
            anchors += [anchor(2, "bolt", "traverse", 2, 0.1), anchor(3, "bolt", "traverse", 4, 0.3)]
            along = 4
        anchors.append(anchor(len(anchors) + 1, "bolt", "y-hang", along + 1.2, 0.7, bolts=2))
        if depth > 20:
            anchors.append(anchor(len(anchors) + 1, "bolt", "deviation", along + 2.4, depth * 0.3, sling_m=0.8))
            anchors.append(anchor(len(anchors) + 1, "bolt", "rebelay", along + 1.5, depth * 0.45, rub=i == 2))
            anchors.append(anchor(len(anchors) + 1, "bolt", "rebelay", along, depth * 0.7, change=i == 4, rope="TV105"))
        if depth == 3:
            anchors = [anchor(1, "bolt", "hand-line", 0, 0), anchor(2, "natural", "hand-line", 2, 1.5)]
        number = f"TV{100 + i}"
        pitches.append(
            pitch(
                name,
                float(depth),
                detail="anchors",
                ropes=[number],
                rope_needed_cm=depth * 125 + 450,
                anchors=anchors,
                top_m=top,
                x_m=6.0 * i,
                hangers=len(anchors),
                maillons=len(anchors),
                lines=[{"rope": "TV200", "length_cm": 4500}] if i == 4 else [],
                flags=["pull-through"] if i == 3 else [],
            )
        )
        ropes.append(
            rope(
                number,
                depth * 130 + 500,
                depth * 125 + 450,
                f"head of {name}",
                f"foot of {name}",
                bag=str(i // 3 + 1),
                joined_to="TV105" if i == 4 else None,
            )
        )
        top += depth + 2
    return sheet("Yowdale Deep", ropes, pitches)


def long_drop_sheet() -> dict[str, Any]:
    """One pitch of 128 m beside one of 3 m."""
    anchors = [
        anchor(1, "bolt", "backup", 0, 0),
        anchor(2, "bolt", "y-hang", 1, 1, bolts=2),
        anchor(3, "bolt", "rebelay", 1.5, 6),
        anchor(4, "bolt", "rebelay", 3, 55),
        anchor(5, "bolt", "deviation", 5, 90, sling_m=2.0),
    ]
    return sheet(
        "Tethera Shaft",
        [rope("TV300", 16000, 15210, "head of The Shaft", "foot of The Shaft", diameter_mm=10.5)],
        [
            pitch(
                "The Shaft",
                128.0,
                detail="anchors",
                ropes=["TV300"],
                rope_needed_cm=15210,
                anchors=anchors,
                flags=["left in place"],
            ),
            pitch(
                "Step",
                3.0,
                top_m=130,
                x_m=4,
                detail="anchors",
                anchors=[anchor(1, "natural", "hand-line", 0, 0)],
                rope_needed_cm=480,
            ),
        ],
    )


def packing() -> dict[str, Any]:
    def bag(name: str, ropes: list[tuple[str, int, str, int]], kit: str, first: str) -> dict[str, Any]:
        contents: list[dict[str, Any]] = [
            {
                "rope": r,
                "length_cm": cm,
                "diameter_mm": 10.0,
                "for": f,
                "note": "stopper in the bottom end first",
                "use_order": n,
            }
            for r, cm, f, n in ropes
        ]
        contents.append({"kit": kit, "use_order": ropes[-1][3]})
        return {
            "bag": name,
            "litres": 17.3,
            "kg": 6.9,
            "capacity_litres": 22.0,
            "contents": contents,
            "first_needed": first,
        }

    return {
        "title": "Grey Ewe Pot",
        "date": "2026-11-28",
        "store": "Tarn Vale Caving Club",
        "cavers": [
            {
                "caver": "1",
                "litres": 17.3,
                "kg": 6.9,
                "bags": [
                    bag(
                        "1",
                        [("TV12", 3000, "Chimney", 2), ("TV41", 4500, "First", 1)],
                        "9 hangers, 9 maillons, 1 sling",
                        "First",
                    )
                ],
            },
            {
                "caver": "2",
                "litres": 30.1,
                "kg": 11.2,
                "bags": [
                    bag(
                        "2",
                        [("TV33", 900, "Last Step", 4), ("TV7", 2000, "Letterbox", 3)],
                        "2 hangers, 2 maillons",
                        "Letterbox",
                    ),
                    bag("3", [("TV90", 2500, "spare", 5)], "rope protectors", "spare"),
                ],
            },
        ],
        "kit": {"hangers": 14, "maillons": 14, "karabiners": 6, "slings": 3},
        "notes": ["TV12 was measured last in 2021: measure it before the trip."],
        "cautions": CAUTIONS[:2],
    }
