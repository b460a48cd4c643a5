"""Jobs of what is rare: parts that a random route hardly ever brings together, and one spool too long for the sketch.

Formulas have branches for them; a test that never walks there would not notice what is wrong in one.
"""

from __future__ import annotations

from typing import Any

from routes import job_text
from test_route_messages import SO, WN, Entry, leg, spool

LJ, SW = "lap_joint", "socket_weld_flange"
START = {"from": "start"}
FIRST = "start_"
C300 = {"class": "300"}
LONG = 42
"""Legs of the long spool: two more than the sketch draws."""


def _item(ends: str, at: Any = "50 in", **more: Any) -> Entry:
    place = {} if "against" in more else {"at": at}
    return {"item": f"{ends} item", "length": "8 in", "ends": ends, **place, **more}


def _other(item: str, before: str = "") -> Entry:
    return {f"{before}item": item, f"{before}takeout": "3 in"}


def rarities(edition: str) -> str:
    """A job in an edition's unit."""
    own = [
        # a reducer at the start, to the smaller and to the larger size
        spool("reducer", leg("bevel", 30, size="4")),
        spool("eccentric_reducer", leg(WN, 0, 40, size="8")),
        # the last size class of the tables is from memory
        spool("tee", leg("bevel", 60), leg(WN, -60, **START), leg("cap", up=50, **START), size="16"),
        spool(WN, leg("tee", 70), leg(WN, 80), leg("bevel", up=50, size="10", **{"from": "L1"}), size="16"),
        spool(WN, leg("tee", 70), leg(WN, 0, 80), leg("bevel", 0, -60, **{"from": "L1"}), size="16"),
        spool(WN, leg("tee", 70, enters="branch"), leg("bevel", 0, 80), size="12"),
        spool(WN, leg("tee", 70), leg("bevel", 60), leg(WN, 0, 0, 60, size="6", **{"from": "L1"}), size="12"),
        # a tee whose run is upright, one with nothing but its branch
        spool(WN, leg("tee", 70), leg("bevel", up=40), leg(WN, up=-40, **{"from": "L1"})),
        spool("tee", leg("bevel", 60), start_enters="branch"),
        # the largest tees, whose run and branch differ
        spool("bevel", leg("tee", 120), leg("bevel", 120), leg("bevel", up=90, **{"from": "L1"}), size="42"),
        spool("elbow", leg("elbow", 90), leg("bevel", 0, 90), size="26"),
        spool("elbow_short_radius", leg("elbow", 90), leg("elbow_short_radius", 0, -90), leg("bevel", 80), size="1"),
        # joints of other kinds
        spool("other", leg("other", 40, joint="butt", **_other("mesh")), start_joint="fillet", **_other("hub", FIRST)),
        spool("other", leg("other", 40, joint="threaded", **_other("tap")), start_joint="none", **_other("end", FIRST)),
        spool("plain", leg("weld", 40), leg("weld", 40, inline=[_item("butt", against="end")]), leg("plain", 40)),
        spool("weld", leg("weld", 40), leg("cap", 40, inline=[_item("butt", against="start")])),
        spool(WN, leg("weld", 40), leg("elbow", 9.125, make_up=True), leg("bevel", 0, 40)),
        # stubs and field gaps
        spool(LJ, leg(LJ, 40, stub="short"), start_stub="short", start_trim="1 in"),
        spool(LJ, leg("bevel", 0, 40, field_gap="full", trim="2 in"), start_stub="long"),
        spool("bevel", leg("plain", 0, -40, field_gap="half"), start_field_gap="half"),
        # items of every kind, beside ends of every kind, out of their order
        spool(
            WN,
            leg(
                "elbow",
                200,
                inline=[
                    _item("wafer", "150 in", flange=WN, gasket="1/8 in"),
                    _item("butt", "30 in", takes="9 in"),
                    _item("flanged", "70 in", flange=LJ),
                    _item("flanged", "110 in", flange=SO, gasket="1/16 in", takes="14 in"),
                ],
            ),
            leg(SO, 0, 90, inline=[_item("flanged", against="start", flange=SO), _item("butt", against="end")]),
        ),
        spool(
            "tee",
            leg(WN, 90, inline=[_item("butt", against="start"), _item("flanged", against="end", flange=WN)]),
            leg(SO, -90, inline=[_item("socket", takes="5 in")], **START),
            leg("cap", up=90, inline=[_item("wafer", against="end", flange=LJ)], **START),
        ),
        spool("elbow", leg("reducer", 120, inline=[_item("butt", against="end")]), leg(WN, 60, size="4"), size="8"),
        # components given by an angle, each from the two others
        spool(WN, {"east": 30, "north": "by 30 deg", "up": 14, "end": "elbow"}, leg("bevel", 60)),
        spool(WN, {"east": "by -50 deg", "north": 24, "up": -14, "end": "elbow"}, leg("bevel", 60)),
        spool(WN, {"east": -11, "north": 24, "up": "by 60 deg", "end": "elbow"}, leg("bevel", 60)),
        spool(WN, {"east": 40, "north": -30, "fall": "1/2 in/ft", "end": "bevel"}),
        # back over its own start
        spool(WN, leg("elbow", -30), leg("elbow", 0, -50), leg("elbow", 70), leg("elbow", up=-40), leg(WN, 0, 90)),
        spool("bevel", leg("elbow", up=30), leg("bevel", 20, 0.01, 30)),
        # classes of a leg and of an item that are not the spool's
        spool(WN, leg("elbow", 80, inline=[_item("flanged", flange=WN, **C300)]), leg(WN, up=60, **{"class": "600"})),
        spool(WN, leg(WN, 80, inline=[_item("flanged", flange=WN)], **C300)),
        spool(WN, leg("bevel", 80, inline=[_item("butt")]), size="22"),
        spool(WN, leg("bevel", 80, inline=[_item("flanged", flange=WN)]), size="22"),
        spool("bevel", leg(WN, 80, **C300), size="22"),
    ]  # fmt: skip
    if edition == "mm":
        own += [
            spool(WN, leg("elbow", 80, inline=[_item("flanged", flange=WN)]), leg(WN, up=60), **{"class": "PN16"}),
            spool(WN, leg(WN, 80, inline=[_item("flanged", flange=WN)], **{"class": "PN10"})),
            spool(WN, leg(WN, 80, inline=[_item("flanged", flange=WN, **{"class": "PN40"})])),
            spool("bevel", leg("bevel", 80, inline=[_item("wafer", flange=WN)]), **{"class": "PN16"}),
            spool("bevel", leg("bevel", 80, inline=[_item("butt")]), **{"class": "PN25"}),
        ]
    legs = [
        {name: _to(value, name, edition) for name, value in each.items() if name != "leg"}
        | {"leg": [{name: _to(value, name, edition) for name, value in one.items()} for one in each["leg"]]}
        for each in own
    ]
    spools = [{"mark": f"R{at:02}", "revision": "B" * (at % 2), **each} for at, each in enumerate(legs, start=1)]
    return job_text([{key: value for key, value in each.items() if value != ""} for each in spools], edition)


def _to(value: Any, name: str, edition: str) -> Any:
    """A bare number of inches in the edition's unit."""
    if name in ("east", "north", "up") and not isinstance(value, str) and edition == "mm":
        return value * 25.4
    return value


def long_spool() -> str:
    """A spool of more legs than the sketch draws, that climbs as it goes round."""
    ways = ({"east": 20.0}, {"north": 24.0}, {"up": 30.0})
    legs = [leg("elbow" if at < LONG - 1 else "bevel", **ways[at % 3]) for at in range(LONG)]
    return job_text([{"mark": "long", **spool(WN, *legs)}], "inch")
