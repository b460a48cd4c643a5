"""What the workbook says where something cannot be made or wants a look, and just where each limit lies.

One job holds a spool for each sentence that a job file can lead to, and one blank workbook is typed into for those that
only typing reaches. A last test holds that no check of these sheets is without a case here.
"""

# ruff: noqa: E501  (a sentence stands in one piece, so that it can be searched for)

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from cutting import live as live_book
from cutting import shop
from live import Live, Value
from routes import job_text
from test_outlets import SHEET_ERRORS

DEMO = Path(__file__).resolve().parent.parent / "output_examples" / "mill_creek.toml"
EDITIONS = ("inch", "mm")
SHEETS = ("spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "sketch", "rules")
RULES = {"weld_spacing_min": "6 in", "precision": "1/16 in"}

Entry = dict[str, Any]


def spool(start: str, *legs: Entry, size: str = "6", schedule: str = "STD", **more: Any) -> Entry:
    """A spool in class 150."""
    return {"size": size, "schedule": schedule, "class": 150, "start": start, **more, "leg": list(legs)}


def leg(end: str, east: Any = 0, north: Any = 0, up: Any = 0, **more: Any) -> Entry:
    """A leg; components of nothing are left out."""
    parts = {name: value for name, value in (("east", east), ("north", north), ("up", up)) if value}
    return {**parts, "end": end, **more}


def bent(angle: float, kind: str = "elbow", length: float = 60, **more: Any) -> list[Entry]:
    """Two legs with a turn between them, the elbow at the first one's end."""
    turn = math.radians(angle)
    second = {"north": round(length * math.sin(turn), 11), "end": "bevel"}
    if abs(along := round(length * math.cos(turn), 11)) > 0:
        second["east"] = along
    if not second["north"]:
        del second["north"]
    return [leg(kind, 60, **more), second]


THREADED_VALVE = {"item": "gate valve", "length": "3 1/4 in", "at": "30 in", "ends": "threaded"}
NO_GASKET = "Its gaskets take nothing out: type their thickness, as bolted up. "


def valve(**more: Any) -> Entry:
    """A flanged class 150 gate valve; None leaves a key out."""
    said = {
        "item": "gate valve",
        "length": "10 1/2 in",
        "ends": "flanged",
        "flange": "weld_neck_flange",
        "gasket": "1/8 in",
        **more,
    }
    return {key: value for key, value in said.items() if value is not None}


@dataclass(frozen=True)
class Says:
    """What a spool's row says.

    Attributes:
        spool: the spool, without its mark.
        where: table and column, and the row within the spool.
        text: what stands there; "" where nothing may.
        mm: the text of the mm edition, where it has another.
        only: the edition that it is for.
    """

    spool: Entry
    where: tuple[str, int]
    text: str
    mm: str = ""
    only: str = ""


WN, SO, SW = "weld_neck_flange", "slip_on_flange", "socket_weld_flange"
NO_TURN = "No turn here: use weld. "
FREE = "No leg follows: the elbow is taken as a quarter turn. "
ASK = "Say whether it enters the tee by run or branch (Leg details). "
ASK_FIRST = "Say whether the first leg enters the tee by run or branch (Spools). "
LATERAL = "The branch does not stand square to the run: use lateral, or a stock tee that may be cocked. "
IN_LINE = "Of three legs at a tee two must be in line. "
RUN_SIZES = "Both legs of the run must have one size. "
NO_END = "No take-out for its end: see the message before, or type one (Leg details). "
NO_START = "No take-out for its start: see the leg before, or type one. "
NO_BEGINNING = "No take-out for its start: see the Spools sheet, or type one there. "
SHORT, LONG = "Shorter than the shortest piece on Rules. ", "Longer than a stock length: needs another weld. "
NEAR_WELDS = "Its two welds are nearer than the owner's rule. "
ONE_LINE = (
    "Eccentric, and nothing says which side is flat: the next leg is drawn on the same centreline (More on legs). "
)
DAGGER, PENCIL = "† a take-out rests on a value from memory. ", "✎ take-out typed. "
LOOK = "Look at the Route before cutting: its leg has a ✗. "
LOOK_MET = "Look at the Route before cutting: a leg that it meets has a ✗. "
LOOK_BENT = "Look at the Route before cutting: a leg that this bent pipe runs through has a ✗. "
SOCKET: Mapping[str, Any] = {"size": "1", "schedule": "80", "joints": "socket", "fitting_class": 3000}
LARGER = "Tees have branches up to the size of their run, here the branch is larger: type the take-outs (Leg details). "
NOT_THREADED = "Lighter than standard weight is not threaded (common practice, no source). "
GAP = 0.125


def teed(branch: str, **more: Any) -> list[Entry]:
    """A run with a tee and a branch of some size."""
    return [leg("tee", 40, **more), leg("plain", 40), leg("plain", north=30, size=branch, **{"from": "L1"})]


def straight(cut: float, start: str = WN, end: str = WN, **more: Any) -> Entry:
    """A spool of one leg whose piece comes out at a cut length, between weld neck flanges or others."""
    takes = {WN: 3.5 + GAP, "bevel": 0.0, SO: 0.25}
    trim = more.get("trim", 0)
    return spool(start, leg(end, round(cut - trim + takes[start] + takes[end], 9), **more))


def straight_mm(cut: float, kind: str = WN) -> Entry:
    """The same in millimetres, by the mm tables and rules: weld neck 88.9 and a gap of 3, slip-on 6."""
    take = {WN: 88.9 + 3, SO: 6.0}[kind]
    return spool(kind, leg(kind, f"{round(cut + 2 * take, 9)} mm"))


SAID: dict[str, Says] = {
    # turns
    "no turn": Says(spool(WN, *bent(0)), ("legs.stops", 0), NO_TURN + NO_END),
    "no turn, just within": Says(spool(WN, *bent(0.25)), ("legs.stops", 0), NO_TURN + NO_END),
    "a small turn": Says(spool(WN, *bent(0.2501)), ("legs.stops", 0), ""),
    "no turn, next leg": Says(spool(WN, *bent(0)), ("legs.stops", 1), NO_START),
    "no turn, piece": Says(spool(WN, *bent(0)), ("pieces.stops", 0), "No cut length: see the Route and Cut steps. "),
    "90 and a quarter": Says(spool(WN, *bent(90.25)), ("legs.stops", 0), ""),
    "over 90": Says(spool(WN, *bent(90.2501)), ("legs.stops", 0), "A turn of 90.3° cannot be made with one elbow. " + NO_END),
    "back": Says(spool(WN, *bent(135)), ("legs.stops", 0), "A turn of 135° cannot be made with one elbow. " + NO_END),
    "over 90, stock": Says(
        spool(WN, *bent(92, fitting="stock")), ("legs.cautions", 0),
        'Stock elbow cocked by 2°: the gap tapers by 1/4" if one joint takes it all. ',
        "Stock elbow cocked by 2°: the gap tapers by 6 mm if one joint takes it all. ",
    ),
    "15 over 90, stock": Says(spool(WN, *bent(105, fitting="stock")), ("legs.stops", 0), ""),
    "more over 90, stock": Says(
        spool(WN, *bent(105.01, fitting="stock")), ("legs.stops", 0), "A turn of 105° cannot be made with one elbow. " + NO_END
    ),
    "weld straight": Says(spool(WN, *bent(0.25, "weld")), ("legs.stops", 0), ""),
    "weld turns": Says(spool(WN, *bent(0.2501, "weld")), ("legs.stops", 0), "The next leg turns by 0.3°: this end makes no turn. "),
    "reducer turns": Says(
        spool(WN, leg("reducer", 60), leg("bevel", north=40, size="4")), ("legs.stops", 0), "The next leg turns by 90°: this end makes no turn. "
    ),
    "no leg after": Says(spool(WN, leg("elbow", 60)), ("legs.cautions", 0), FREE),
    "no leg after a short radius": Says(spool(WN, leg("elbow_short_radius", 60)), ("legs.cautions", 0), FREE),
    "no leg after a tee": Says(spool(WN, leg("tee", 60)), ("legs.cautions", 0), "No leg follows: the tee is taken as entered by its run. "),
    "no leg after a cross": Says(
        spool(WN, leg("cross", 60, enters="branch")), ("legs.cautions", 0), "No leg follows: the cross is taken as entered by its branch. "
    ),
    "cross with a leg square": Says(spool(WN, leg("cross", 60), leg("bevel", north=40)), ("legs.cautions", 0), "Two openings of the cross stay bare. "),
    "cross of three legs": Says(
        spool(WN, leg("cross", 60), leg("bevel", 40), leg("bevel", north=40, **{"from": "L1"})), ("legs.cautions", 0),
        "One opening of the cross stays bare. ",
    ),
    "cross of four legs": Says(
        spool(WN, leg("cross", 60), leg("bevel", 40), leg("bevel", north=40, **{"from": "L1"}), leg("bevel", north=-40, **{"from": "L1"})),
        ("legs.cautions", 0), "",
    ),
    "cross cocked by 2": Says(
        spool(WN, leg("cross", 60, fitting="stock"), leg("bevel", 40), leg("bevel", up=40, east=round(40 * math.tan(math.radians(2)), 11), **{"from": "L1"})),
        ("legs.cautions", 2), 'Stock cross cocked by 2°: the gap at its branch tapers by 1/4". ',
        "Stock cross cocked by 2°: the gap at its branch tapers by 6 mm. ",
    ),
    "closes to where it starts": Says(
        spool("bevel", leg("elbow", 60), {"close_to": "L1", "end": "bevel"}), ("legs.stops", 0), "No take-out for its end: the leg after it has no length. ",
    ),
    "short radius 45": Says(spool(WN, *bent(45, "elbow_short_radius")), ("legs.stops", 0), ""),
    # tees
    "lateral": Says(spool(WN, leg("tee", 40), leg("bevel", 40), leg("bevel", 30, 30, **{"from": "L1"})), ("legs.stops", 2), LATERAL + NO_START),
    "lateral alone": Says(spool(WN, leg("tee", 40), leg("bevel", 30, 30)), ("legs.stops", 0), LATERAL + NO_END),
    "lateral alone, next": Says(spool(WN, leg("tee", 40), leg("bevel", 30, 30)), ("legs.stops", 1), LATERAL + NO_START),
    "lateral at the start": Says(spool("tee", leg("bevel", 40), leg("bevel", 30, 30, **{"from": "start"})), ("legs.stops", 0), LATERAL + NO_BEGINNING),
    "lateral beside a square one": Says(
        spool("tee", leg("bevel", 40), leg("bevel", north=40, **{"from": "start"}), leg("bevel", 30, 30, **{"from": "start"})),
        ("legs.stops", 0), LATERAL + NO_BEGINNING,
    ),
    "lateral, told all the same": Says(
        spool("tee", leg("bevel", 40), leg("bevel", 30, 30, **{"from": "start"}), start_enters="run"), ("legs.stops", 0), LATERAL + NO_BEGINNING
    ),
    "ask": Says(spool(WN, leg("tee", 40), leg("bevel", north=40)), ("legs.stops", 0), ASK + NO_END),
    "ask, next leg": Says(spool(WN, leg("tee", 40), leg("bevel", north=40)), ("legs.stops", 1), NO_START),
    "told": Says(spool(WN, leg("tee", 40, enters="run"), leg("bevel", north=40)), ("legs.stops", 0), ""),
    "ask at the start": Says(spool("tee", leg("bevel", 40), leg("bevel", north=40, **{"from": "start"})), ("legs.stops", 0), ASK_FIRST + NO_BEGINNING),
    "told at the start": Says(
        spool("tee", leg("bevel", 40), leg("bevel", north=40, **{"from": "start"}), start_enters="branch"), ("legs.stops", 0), ""
    ),
    "none in line": Says(spool(WN, leg("tee", 40), leg("bevel", north=40), leg("bevel", up=40, **{"from": "L1"})), ("legs.stops", 1), IN_LINE),
    "same way": Says(
        spool(WN, leg("tee", 40), leg("bevel", 40), leg("bevel", 30, **{"from": "L1"})), ("legs.stops", 1), "Two legs leave the tee the same way. "
    ),
    "run sizes": Says(spool(WN, leg("tee", 40), leg("bevel", 40, size="4")), ("legs.stops", 1), RUN_SIZES),
    "run sizes, piece": Says(spool(WN, leg("tee", 40), leg("bevel", 40, size="4")), ("pieces.stops", 1), LOOK),
    **{
        f"run sizes at a tee of three, piece {at + 1}": Says(
            spool("bevel", leg("tee", 60), leg("bevel", 40, size="4"), leg("bevel", north=40, size="4", **{"from": "L1"})),
            ("pieces.stops", at), (LOOK_MET, LOOK, LOOK_MET)[at],
        )
        for at in range(3)
    },
    **{
        f"run sizes at the start, piece {at + 1}": Says(
            spool("tee", leg("bevel", 40), leg("bevel", -40, size="4", **{"from": "start"}), leg("bevel", north=40, size="4", **{"from": "start"})),
            ("pieces.stops", at), (LOOK_MET, LOOK, LOOK_MET)[at],
        )
        for at in range(3)
    },
    **{
        f"coupling with a turn, piece {at + 1}": Says(
            spool("plain", leg("coupling", 60), leg("plain", north=40), **SOCKET), ("pieces.stops", at), (LOOK, LOOK_MET)[at],
        )
        for at in range(2)
    },
    **{
        f"reducing elbow of one size, piece {at + 1}": Says(
            spool("bevel", leg("reducing_elbow", 60), leg("elbow", north=60), leg("bevel", up=60), size="4"),
            ("pieces.stops", at), (LOOK, LOOK_MET, "")[at],
        )
        for at in range(3)
    },
    **{
        f"two returns in one, piece {at + 1}": Says(
            spool(WN, leg("return", 60), leg("return_short_radius", north=18), leg("elbow", -60), leg("bevel", up=60)),
            ("pieces.stops", at), (LOOK_MET, LOOK_MET, "")[at], "", only="inch",
        )
        for at in range(3)
    },
    **{
        f"return that does not run back, piece {at + 1}": Says(
            spool(WN, leg("return", 60), leg("return", north=18), leg("bevel", up=60)), ("pieces.stops", at), (LOOK_MET, LOOK)[at],
            only="inch",
        )
        for at in range(2)
    },
    **{
        f"fault beyond a valve, piece {at + 1}": Says(
            spool("bevel", leg("reducing_elbow", 60), leg("bevel", north=90, inline=[valve(at="45 in")]), size="4"),
            ("pieces.stops", at), (LOOK, LOOK_MET, "")[at],
        )
        for at in range(3)
    },
    "pulled on from a fault": Says(
        spool("bevel", leg("reducing_elbow", 60), leg("bend", north=60, radius=20, pulled=True), leg("bevel", up=60), size="4"),
        ("pieces.stops", 1), LOOK_MET,
    ),
    "run sizes, branch first": Says(
        spool(WN, leg("tee", 40), leg("bevel", north=40), leg("bevel", north=-40, size="4", **{"from": "L1"})), ("legs.stops", 2), RUN_SIZES
    ),
    "branch first, larger run": Says(
        spool("tee", leg("bevel", 40), leg("bevel", north=40, size="8", **{"from": "start"}), leg("bevel", north=-40, size="8", **{"from": "start"})),
        ("legs.stops", 1), "",
    ),
    # sizes
    "no such reducing tee": Says(
        spool(WN, leg("tee", 40, takeout="5 in"), leg("bevel", 40), leg("bevel", north=30, size="1", **{"from": "L1"})), ("legs.stops", 2), NO_START
    ),
    "reducer with nothing after": Says(spool(WN, leg("reducer", 40)), ("legs.stops", 0), "No take-out for its end: type one (Leg details). "),
    "eccentric": Says(
        spool(WN, leg("eccentric_reducer", 40), leg("bevel", 40, size="4")), ("legs.cautions", 0),
        ONE_LINE + DAGGER,
        ONE_LINE,
    ),
    "flat side along the pipe": Says(
        spool(WN, leg("eccentric_reducer", 40, flat="east"), leg("bevel", 40, size="4")), ("legs.stops", 0),
        "The flat side must be square to the pipe: give another side. ",
    ),
    "flat side at the bottom": Says(
        spool(WN, leg("eccentric_reducer", 40, flat="bottom"), leg("bevel", 40, size="4")), ("legs.cautions", 1),
        'Its centreline is 1-1/16" towards the flat side of the reducer (bottom). ',
        "Its centreline is 27 mm towards the flat side of the reducer (bottom). ",
    ),
    "flat side on a slope": Says(  # (8.625 - 6.625) / 2 = 1 square to the pipe; 219.1 and 168.3 mm
        spool(WN, leg("eccentric_reducer", 60, up=50, flat="bottom"), leg("bevel", 60, up=50, size="6"), size="8"), ("legs.cautions", 1),
        'Its centreline is 1" towards the flat side of the reducer (bottom). ',
        "Its centreline is 25 mm towards the flat side of the reducer (bottom). ",
    ),
    "flat side, growing": Says(
        spool(WN, leg("eccentric_reducer", 40, flat="top"), leg("bevel", 40, size="6"), size="4"), ("legs.cautions", 1),
        'Its centreline is 1-1/16" away from the flat side of the reducer (top). ',
        "Its centreline is 27 mm away from the flat side of the reducer (top). ",
    ),
    "flat side and a coordinate across": Says(
        spool(WN, leg("eccentric_reducer", 40, flat="bottom"), {"to": {"east": 80, "up": 0}, "size": "4", "end": "bevel"}),
        ("legs.stops", 1), "After an eccentric reducer give only coordinates along the leg: its centreline is shifted. ",
    ),
    # fittings
    "reducing elbow at 45": Says(
        spool(WN, leg("reducing_elbow", 60), leg("bevel", 40, 40, size="4")), ("legs.stops", 0),
        "The next leg turns by 45°: this fitting is made for 90°. " + NO_END,
    ),
    "socket elbow at 60": Says(
        spool("plain", *bent(60), size="1", schedule="80", joints="socket", fitting_class=3000), ("legs.stops", 0),
        "Socket and threaded elbows are 90 or 45; 60° cannot be made. " + NO_END,
    ),
    "socket elbow at 45": Says(
        spool("plain", *bent(45), size="1", schedule="80", joints="socket", fitting_class=3000), ("legs.stops", 0), "",
    ),
    "starts with a coupling": Says(
        spool("coupling", leg("plain", 40), size="1", schedule="80"), ("legs.stops", 0),
        "It starts with what is socket or threaded: say the joint of the start (Spools). " + NO_BEGINNING,
    ),
    "starts with a half coupling": Says(
        spool("half_coupling", leg("plain", 40), size="1", schedule="80"), ("legs.stops", 0),
        "It starts with what is socket or threaded: say the joint of the start (Spools). " + NO_BEGINNING,
    ),
    "starts with a socket coupling": Says(spool("coupling", leg("plain", 40), **SOCKET), ("legs.stops", 0), ""),
    "starts with a reducer of one size": Says(
        spool("reducer", leg("bevel", 40)), ("legs.stops", 0),
        "The reducer it starts with goes from the spool's size to the leg's: give two sizes, or type its take-out (Spools). " + NO_BEGINNING,
    ),
    "starts with a reducer that is not in the table": Says(
        spool("eccentric_reducer", leg("bevel", 40, size="1", schedule="80"), size="12"), ("legs.stops", 0),
        "The reducer it starts with goes from the spool's size to the leg's: the table has none 12 × 1, give others, or type its take-out (Spools). "
        + NO_BEGINNING,
    ),
    "starts with a reducer": Says(spool("reducer", leg("bevel", 40, size="4")), ("legs.stops", 0), ""),
    "butt-welded coupling": Says(
        spool("plain", leg("coupling", 40, takeout=1), leg("plain", 40), size="1", schedule="80"), ("legs.stops", 0),
        "Couplings and unions are socket or threaded: say its joint (Leg details). ",
    ),
    "small tee, larger branch": Says(spool("plain", *teed("2"), **SOCKET), ("legs.stops", 0), LARGER + NO_END),
    "small tee, larger branch, the branch": Says(spool("plain", *teed("2"), **SOCKET), ("legs.stops", 2), LARGER + NO_START),
    "tee, larger branch": Says(spool("bevel", *teed("8")), ("legs.stops", 0), LARGER + NO_END),
    "tee, larger branch, its other run": Says(spool("bevel", *teed("8")), ("legs.stops", 1), LARGER + NO_START),
    "tee, larger branch, the branch": Says(spool("bevel", *teed("8")), ("legs.stops", 2), LARGER + NO_START),
    "tee, larger branch, typed": Says(spool("bevel", *teed("8", takeout="7 in", takeout_out="7 in")), ("legs.stops", 2), ""),
    "tee entered by a larger branch": Says(
        spool("bevel", leg("tee", 40), leg("bevel", north=40, size="4"), leg("bevel", north=-40, size="4", **{"from": "L1"})), ("legs.stops", 1),
        LARGER + NO_START,
    ),
    "cross, larger branches": Says(
        spool("bevel", leg("cross", 40), leg("bevel", north=40, size="8"), leg("bevel", north=-40, size="8", **{"from": "L1"})), ("legs.stops", 0),
        LARGER + NO_END,
    ),
    "small tee, larger branch, typed, no message": Says(
        spool("plain", *teed("2", takeout="2 in", takeout_out="2 in"), **SOCKET), ("legs.stops", 2), "",
    ),
    "small tee, branch not in the class": Says(
        spool("plain", *teed("1/4"), **{**SOCKET, "fitting_class": 9000}), ("legs.stops", 2),
        "There is no socket fitting of class 9000 in the size of the branch: take another class, or type the take-outs (Leg details). " + NO_START,
    ),
    "small tee, smaller branch": Says(spool("plain", *teed("1/2"), **{**SOCKET, "fitting_class": 9000}), ("legs.stops", 2), ""),
    "thin for a thread": Says(
        spool("plain", *bent(90), **{**SOCKET, "joints": "threaded", "schedule": "10S"}), ("legs.cautions", 0),
        # 0.109 - 0.8 / 11.5 = 0.0394 in; 2.77 - 0.8 x 25.4 / 11.5 = 1.00 mm
        'Thin for a thread: 7/64" of wall, the thread takes 1/16", 3/64" is left. ' + NOT_THREADED + DAGGER,
        "Thin for a thread: 2.8 mm of wall, the thread takes 1.8 mm, 1 mm is left. " + NOT_THREADED + DAGGER,
    ),
    "thick enough for a thread": Says(
        spool("plain", *bent(90), **{**SOCKET, "joints": "threaded", "schedule": "40"}), ("legs.cautions", 0), DAGGER,
    ),
    "no wall under the thread": Says(
        spool("plain", *bent(90), **{**SOCKET, "size": "2-1/2", "joints": "threaded", "schedule": "5S"}), ("legs.stops", 0),
        "Its pipe cannot be threaded: the thread is as deep as the wall. ",
    ),
    "reducing elbow of one size": Says(
        spool("bevel", leg("reducing_elbow", 60), leg("bevel", north=40), size="4"), ("legs.stops", 0),
        "Both ends of this reducing elbow have one size: use elbow. ",
    ),
    "reducing elbow, reduced too far": Says(
        spool("bevel", leg("reducing_elbow", 80), leg("bevel", north=40, size="1", schedule="80"), size="24"), ("legs.stops", 0),
        "There is no reducing elbow 24 × 1, they go down to half of the larger size: use an elbow and a reducer. ",
    ),
    "reducing elbow, growing from half": Says(spool("bevel", leg("reducing_elbow", 80), leg("bevel", north=40, size="8"), size="4"), ("legs.stops", 0), ""),
    "cross with two branch sizes": Says(
        spool("bevel", leg("cross", 60), leg("bevel", north=40, size="4"), leg("bevel", north=-40, size="3", **{"from": "L1"})), ("legs.stops", 2),
        "Both branches of a cross must have one size. ",
    ),
    "cross whose run changes, entered by the branch": Says(
        spool("bevel", leg("cross", 60, enters="branch"), leg("bevel", north=40), leg("bevel", north=-40, size="8", **{"from": "L1"}), size="4"),
        ("legs.stops", 2), RUN_SIZES,
    ),
    "bend under half the diameter": Says(
        spool("bevel", *bent(90, "bend", radius=1), size="4"), ("legs.stops", 0),
        'It cannot be bent: the radius must be over half of the outside diameter, 2-1/4". ',
        "It cannot be bent: the radius must be over half of the outside diameter, 57 mm. ",
    ),
    "tight bend": Says(
        spool("bevel", *bent(90, "bend", radius=3.9), size="4"), ("legs.cautions", 0),
        'Tight: a bend of less than one nominal size, 4", flattens and wrinkles; ask the bender (common practice, no source). ',
        "Tight: a bend of less than one nominal size, 100 mm, flattens and wrinkles; ask the bender (common practice, no source). ",
    ),
    "bend of one nominal size": Says(spool("bevel", *bent(90, "bend", radius=4), size="4"), ("legs.cautions", 0), ""),
    "reducer in a socket spool": Says(
        spool("plain", leg("reducer", 60), leg("plain", 24, size="3/4"), **SOCKET), ("legs.cautions", 0),
        "At its end: reducer, butt-welded, with a root gap; for a socket one say other (Leg details). † a take-out rests on a value from memory. ",
        "At its end: reducer, butt-welded, with a root gap; for a socket one say other (Leg details). ",
    ),
    "bend welded into a threaded spool": Says(
        spool("plain", *bent(90, "bend", radius=5), **{**SOCKET, "joints": "threaded"}), ("legs.cautions", 0),
        "At its end: bend, butt-welded, with a root gap; for a threaded one say other (Leg details). ",
    ),
    "bend pulled in a socket spool": Says(spool("plain", *bent(90, "bend", radius=5, pulled=True), **SOCKET), ("legs.cautions", 0), ""),
    "reducer at the start of a socket spool": Says(
        spool("reducer", leg("plain", 60), **SOCKET, start_takeout="2 in"), ("legs.cautions", 0),
        "At its start: reducer, butt-welded, with a root gap; for a socket one say other (Spools). ✎ take-out typed. ",
    ),
    "reducer in a butt-welded spool": Says(spool("bevel", leg("reducer", 60), leg("bevel", 24, size="4")), ("legs.cautions", 0),
        "† a take-out rests on a value from memory. ", only="inch",
    ),
    "cap in a threaded spool": Says(
        spool("plain", leg("cap", 60), **{**SOCKET, "joints": "threaded"}), ("legs.stops", 0),
        "A cap does not follow its spool's joints: for a threaded cap say joint threaded and its take-out, else joint butt (Leg details). ",
    ),
    "cap at the start of a socket spool": Says(
        spool("cap", leg("plain", 60), **SOCKET), ("legs.stops", 0),
        "The cap at the start does not follow the spool's joints: for a socket one say joint socket and its take-out, else joint butt (Spools). ",
    ),
    "threaded cap": Says(spool("plain", leg("cap", 60, joint="threaded", takeout="1/2 in"), **{**SOCKET, "joints": "threaded"}), ("legs.stops", 0), ""),
    "bend over 170": Says(
        spool(WN, *bent(171, "bend", radius=30)), ("legs.stops", 0), "A turn of 171° cannot be made with one elbow. " + NO_END
    ),
    "bend of 135": Says(spool(WN, *bent(135, "bend", radius=30, length=200)), ("legs.stops", 0), ""),
    "pulled bend into another schedule": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True), leg("bevel", north=60, schedule="XS")), ("legs.stops", 0),
        "A pulled bend is one pipe: both legs have one schedule. ",
    ),
    "pulled bend, nothing after": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True)), ("legs.stops", 0), "A pulled bend needs a pipe on both sides. "
    ),
    "pulled bend": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True), leg("bevel", north=60)), ("pieces.cautions", 0),
        "One pipe from L1 through L2, bent where they meet: mark the bends along it before cutting. FW at its end, no gap taken off. ",
    ),
    "return": Says(
        spool(WN, leg("return", 60), leg("return", north=18), leg("bevel", -60)), ("legs.stops", 1), "",
        'The return is 457 mm from centre to centre, the drawing says 18 mm. ', only="inch",
    ),
    "return drawn too wide": Says(
        spool(WN, leg("return", 60), leg("return", north=18.25), leg("bevel", -60)), ("legs.stops", 1),
        'The return is 18" from centre to centre, the drawing says 18-1/4". ',
        "The return is 457 mm from centre to centre, the drawing says 464 mm. ",
    ),
    "return with another end inside": Says(
        spool(WN, leg("return", 60), leg("elbow", north=18), leg("bevel", -60)), ("legs.stops", 1),
        "The leg inside a return ends in the same return: give it that end. ",
    ),
    "return that does not run back": Says(
        spool(WN, leg("return", 60), leg("return", north=18), leg("bevel", up=60)), ("legs.stops", 2),
        "After a return the pipe runs back the way it came. ",
    ),
    "pulled bends without pipe between": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True), leg("bend", north=55, radius=30, pulled=True), leg("bevel", up=60)),
        ("legs.stops", 1), "No straight pipe is left here: a pulled bend runs into what stands at the other end. ",
    ),
    "pulled bends without pipe between, piece": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True), leg("bend", north=55, radius=30, pulled=True), leg("bevel", up=60)),
        ("pieces.stops", 0), LOOK_BENT,
    ),
    "pulled into another schedule, piece": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True), leg("bevel", north=60, schedule="XS")), ("pieces.stops", 0), LOOK_BENT,
    ),
    "item against a pulled bend": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True), leg("bevel", north=100, inline=[valve(against="start")])), ("legs.stops", 1),
        "A pulled bend is one pipe with the leg after it: no item stands against it. ",
    ),
    "pulled bends that just meet": Says(
        spool(WN, leg("bend", 60, radius=30, pulled=True), leg("bend", north=60, radius=30, pulled=True), leg("bevel", up=60)),
        ("legs.stops", 1), "",
    ),
    "lateral with nothing straight on": Says(
        spool(WN, leg("lateral", 60, takeout=4, takeout_out=14, takeout_branch=14), leg("bevel", 40, 40)), ("legs.stops", 0),
        "One leg must go straight on from a lateral. ",
    ),
    "cross with three square legs": Says(
        spool(WN, leg("cross", 60), leg("bevel", north=40), leg("bevel", north=-40, **{"from": "L1"}), leg("bevel", up=40, **{"from": "L1"})),
        ("legs.stops", 0), "The legs of a cross lie in two lines, square to one another. ",
    ),
    "cross round a corner": Says(
        spool(WN, leg("cross", 60), leg("bevel", north=40), leg("bevel", up=40, **{"from": "L1"})),
        ("legs.stops", 0), "The legs of a cross lie in two lines, square to one another. ",
    ),
    "cross": Says(
        spool(WN, leg("cross", 60), leg("bevel", north=40), leg("bevel", north=-40, **{"from": "L1"}), leg("bevel", 40, **{"from": "L1"})),
        ("legs.stops", 0), "",
    ),
    "tee cocked by 2": Says(
        spool(WN, leg("tee", 60, fitting="stock"), leg("bevel", 40), leg("bevel", up=40, east=round(40 * math.tan(math.radians(2)), 11), **{"from": "L1"})),
        ("legs.cautions", 2), 'Stock tee cocked by 2°: the gap at its branch tapers by 1/4". ',
        "Stock tee cocked by 2°: the gap at its branch tapers by 6 mm. ",
    ),
    "tee cocked by 5": Says(
        spool(WN, leg("tee", 60, fitting="stock"), leg("bevel", 40), leg("bevel", up=40, east=round(40 * math.tan(math.radians(5)), 11), **{"from": "L1"})),
        ("legs.cautions", 2), 'Stock tee cocked by 5°: the gap at its branch tapers by 9/16", over the caution of 3°: share it or cut the branch. ',
        "Stock tee cocked by 5°: the gap at its branch tapers by 15 mm, over the caution of 3°: share it or cut the branch. ",
    ),
    "tee cocked by 16": Says(
        spool(WN, leg("tee", 60, fitting="stock"), leg("bevel", 40), leg("bevel", up=40, east=round(40 * math.tan(math.radians(16)), 11), **{"from": "L1"})),
        ("legs.stops", 2), LATERAL + NO_START,
    ),
    # closing
    "closes": Says(
        spool("bevel", leg("elbow", 60), leg("elbow", north=60), leg("elbow", -60), {"close_to": "start", "end": "bevel"}), ("legs.cautions", 3),
        "Closes on start. ",
    ),
    "misclosure": Says(
        spool("bevel", leg("elbow", 60), leg("elbow", north=60), leg("elbow", -58, up=0), {"close_to": "start", "north": -59, "up": 3, "end": "bevel"}),
        ("legs.cautions", 3),
        'Misclosure to start: 3-3/16", 1" too far north, 3" too high. ',
        "Misclosure to start: 80 mm, 25 mm too far north, 76 mm too high. ",
    ),
    "misses its point": Says(
        spool("bevel", leg("elbow", 60), {"to": {"east": 60, "north": 61, "up": -2}, "north": 60, "up": 0, "end": "bevel"}),
        ("legs.cautions", 1),
        'Misclosure to its point: 1" too far south, 2" too high. ',
        "Misclosure to its point: 25 mm too far south, 51 mm too high. ",
    ),
    "misclosure the other way": Says(
        spool("bevel", leg("elbow", 60), leg("elbow", north=60), leg("elbow", -58), {"close_to": "start", "east": -4, "north": -61, "up": -3, "end": "bevel"}),
        ("legs.cautions", 3),
        'Misclosure to start: 3-3/4", 2" too far west, 1" too far south, 3" too low. ',
        "Misclosure to start: 95 mm, 51 mm too far west, 25 mm too far south, 76 mm too low. ",
    ),
    "closes too far east": Says(
        spool("bevel", leg("elbow", 60), leg("elbow", north=60), leg("elbow", -58), {"close_to": "L1", "east": 59, "end": "bevel"}),
        ("legs.cautions", 3), 'Misclosure to L1: 1", 1" too far east. ', "Misclosure to L1: 25 mm, 25 mm too far east. ",
    ),
    "falls to what is higher": Says(
        spool("bevel", {"bearing": "90 deg", "fall": "1/4 in/ft", "to": {"up": "2 ft"}, "end": "bevel"}), ("legs.stops", 0),
        "It has no length. It falls, but its end is higher than its start: see the fall and the elevation. ",
    ),
    "falls to what is higher, piece": Says(
        spool("bevel", {"bearing": "90 deg", "fall": "1/4 in/ft", "to": {"up": "12 ft"}, "end": "bevel"}, origin={"up": "10 ft"}), ("pieces.stops", 0),
        "No cut length: see the Route and Cut steps. ",
    ),
    "rises to what is lower": Says(
        spool("bevel", {"bearing": "90 deg", "fall": "-1/4 in/ft", "to": {"up": "8 ft"}, "end": "bevel"}, origin={"up": "10 ft"}), ("legs.stops", 0),
        "It has no length. It rises, but its end is lower than its start: see the fall and the elevation. ",
    ),
    "level to another elevation": Says(
        spool("bevel", {"bearing": "90 deg", "fall": "0 %", "to": {"up": -24}, "end": "bevel"}), ("legs.stops", 0),
        "It has no length. It does not fall, but its end is lower than its start: see the fall and the elevation. ",
    ),
    "falls to where it starts": Says(
        spool("bevel", {"bearing": "90 deg", "fall": "1 %", "to": {"up": 12}, "end": "bevel"}, origin={"up": "1 ft"}), ("legs.stops", 0),
        "It has no length. It falls, but its end is as high as its start: see the fall and the elevation. ",
    ),
    "falls to its elevation": Says(
        spool("bevel", {"bearing": "90 deg", "fall": "1/4 in/ft", "to": {"up": -2}, "end": "bevel"}), ("legs.message", 0), ""
    ),
    "a bearing away from its point": Says(
        spool("bevel", {"bearing": "225 deg", "to": {"east": 40, "north": 40}, "end": "bevel"}), ("legs.stops", 0),
        "It has no length. Nothing says how far it runs along its bearing: give a run, or a point that lies that way (More on legs). ",
    ),
    "a bearing square to its coordinate": Says(
        spool("bevel", {"bearing": "90 deg", "to": {"north": 40}, "end": "bevel"}), ("legs.stops", 0),
        "It has no length. Nothing says how far it runs along its bearing: give a run, or a point that lies that way (More on legs). ",
    ),
    "a bearing beside its point": Says(
        spool("bevel", {"bearing": "45 deg", "to": {"east": 100, "north": 90}, "end": "bevel"}), ("legs.cautions", 0),
        'Misclosure to its point: 5" too far west, 5" too far north. ', "Misclosure to its point: 127 mm too far west, 127 mm too far north. ",
    ),
    "a run beside a coordinate": Says(
        spool("bevel", {"bearing": "90 deg", "run": 96, "to": {"east": 100}, "end": "bevel"}), ("legs.cautions", 0),
        'Misclosure to its point: 4" too far west. ', "Misclosure to its point: 102 mm too far west. ",
    ),
    "a fall beside an elevation": Says(
        spool("bevel", leg("bevel", 96, fall="1/4 in/ft", to={"up": -1})), ("legs.cautions", 0),
        'Misclosure to its point: 1" too low. ', "Misclosure to its point: 25 mm too low. ",
    ),
    "bearing, run and fall beside a point": Says(
        spool("bevel", {"bearing": "90 deg", "run": 96, "fall": "1/4 in/ft", "to": {"up": 10.5, "east": 100}, "end": "bevel"}, origin={"up": "1 ft"}),
        ("legs.cautions", 0),
        'Misclosure to its point: 4" too far west, 1/2" too low. ', "Misclosure to its point: 102 mm too far west, 13 mm too low. ",
    ),
    # cocked stock fittings
    "cocked by 2": Says(
        spool(WN, *bent(43, fitting="stock")), ("legs.cautions", 0),
        'Stock elbow cocked by 2°: the gap tapers by 1/4" if one joint takes it all. ',
        "Stock elbow cocked by 2°: the gap tapers by 6 mm if one joint takes it all. ",
    ),
    "cocked by a hair under 2": Says(
        spool(WN, *bent(43.004, fitting="stock")), ("legs.cautions", 0),
        'Stock elbow cocked by 2°: the gap tapers by 1/4" if one joint takes it all. ',
        "Stock elbow cocked by 2°: the gap tapers by 6 mm if one joint takes it all. ",
    ),
    "short radius, cocked by 2": Says(
        spool(WN, *bent(88, "elbow_short_radius", fitting="stock")), ("legs.cautions", 0),
        'Stock elbow cocked by 2°: the gap tapers by 1/4" if one joint takes it all. ',
        "Stock elbow cocked by 2°: the gap tapers by 6 mm if one joint takes it all. ",
    ),
    "cocked by 3": Says(
        spool(WN, *bent(42, fitting="stock")), ("legs.cautions", 0),
        'Stock elbow cocked by 3°: the gap tapers by 3/8" if one joint takes it all. ',
        "Stock elbow cocked by 3°: the gap tapers by 9 mm if one joint takes it all. ",
    ),
    "cocked by more": Says(
        spool(WN, *bent(41.994, fitting="stock")), ("legs.cautions", 0),
        'Stock elbow cocked by 3.01°: the gap tapers by 3/8" if one joint takes it all, over the caution of 3°: cut the elbow or share it between both joints. ',
        "Stock elbow cocked by 3.01°: the gap tapers by 9 mm if one joint takes it all, over the caution of 3°: cut the elbow or share it between both joints. ",
    ),
    "stock and fits": Says(spool(WN, *bent(45.2, fitting="stock")), ("legs.cautions", 0), ""),
    "cut": Says(spool(WN, *bent(43, fitting="cut")), ("legs.cautions", 0), ""),
    # take-outs
    "typed": Says(spool(WN, leg("elbow", 60, takeout="9 1/4 in"), leg("bevel", north=60)), ("legs.cautions", 0), PENCIL),
    "typed for the next": Says(spool(WN, leg("elbow", 60, takeout_out="9 1/4 in"), leg("bevel", north=60)), ("legs.cautions", 1), PENCIL),
    "typed at the start": Says(spool(WN, leg("bevel", 60), start_takeout="3 in"), ("legs.cautions", 0), PENCIL),
    "from memory": Says(spool(SO, leg("bevel", 60)), ("legs.cautions", 0), DAGGER),
    "from memory, cut": Says(spool(SO, leg("bevel", 60)), ("pieces.cut_text", 0), "59-3/4†", "1518†"),
    "from memory, steps": Says(spool(SO, leg("bevel", 60)), ("cuts.steps_said", 0), "cut 59-3/4 †", "cut 1518 †"),
    "from memory, but typed": Says(spool(SO, leg("bevel", 60), start_takeout="1/4 in"), ("pieces.cut_text", 0), "59-3/4", "1518"),
    "nothing from memory": Says(spool(WN, leg("bevel", 60)), ("pieces.cut_text", 0), "56-3/8", "1432"),
    "other goes on": Says(spool(WN, leg("other", 60, item="x", joint="butt", takeout=3), leg("bevel", north=40)), ("legs.stops", 1), NO_START),
    # make-up
    "make-up agrees": Says(
        spool(WN, leg("elbow", 12.625, make_up=True), leg("bevel", north=40)), ("legs.cautions", 0),
        'Make-up gives 12-5/8", the drawing 12-5/8": they agree. ', "Make-up gives 321 mm, the drawing 321 mm: they agree. ",
    ),
    "make-up is longer": Says(
        spool(WN, leg("elbow", 12, make_up=True), leg("bevel", north=40)), ("legs.cautions", 0),
        'Make-up gives 12-5/8", the drawing 12": 5/8" longer. ', "Make-up gives 321 mm, the drawing 305 mm: 16 mm longer. ",
    ),
    "make-up is shorter": Says(
        spool(WN, leg("elbow", 13, make_up=True), leg("bevel", north=40)), ("legs.cautions", 0),
        'Make-up gives 12-5/8", the drawing 13": 3/8" shorter. ', "Make-up gives 321 mm, the drawing 330 mm: 9 mm shorter. ",
    ),
    # pieces
    "just too long": Says(straight(-0.5), ("pieces.stops", 0), 'Cannot be made: what stands at its ends is too long for it by 1/2". ',
                          "Cannot be made: what stands at its ends is too long for it by 12 mm. "),
    "nothing left": Says(straight(0.0), ("pieces.stops", 0), "Cannot be made: no pipe is left between what stands at its ends. ", only="inch"),
    "all trim": Says(straight(2, end="bevel", trim=2.5), ("pieces.stops", 0), "Cannot be made: it is all trim, no pipe is left once that is cut off. "),
    "short": Says(straight(2.999), ("pieces.cautions", 0), SHORT + NEAR_WELDS, only="inch"),
    "not short": Says(straight(3, SO, SO), ("pieces.cautions", 0), "", only="inch"),
    "short, no weld": Says(straight(2.999, SO, SO), ("pieces.cautions", 0), SHORT, only="inch"),
    "stock": Says(straight(252), ("pieces.cautions", 0), "", only="inch"),
    "over stock": Says(straight(252.001), ("pieces.cautions", 0), LONG, only="inch"),
    "welds apart": Says(straight(6), ("pieces.cautions", 0), "", only="inch"),
    "one weld near nothing": Says(straight(5.999, WN, SO), ("pieces.cautions", 0), "", only="inch"),
    "nothing near one weld": Says(straight(5.999, SO, WN), ("pieces.cautions", 0), "", only="inch"),
    "welds near": Says(straight(5.999), ("pieces.cautions", 0), NEAR_WELDS, only="inch"),
    "field weld near": Says(straight(5.999, end="bevel"), ("pieces.cautions", 0), NEAR_WELDS + "FW at its end, no gap taken off. ", only="inch"),
    "field weld near once trimmed": Says(
        straight(9.999, end="bevel", trim=4), ("pieces.cautions", 0),
        NEAR_WELDS + "FW at its end, no gap taken off. Trim: cut 10 = net 6 + 4 trim. ",
        NEAR_WELDS + "FW at its end, no gap taken off. Trim: cut 254 = net 152 + 102 trim. ", only="inch"),
    "field weld apart once trimmed": Says(
        straight(10, end="bevel", trim=4), ("pieces.cautions", 0), "FW at its end, no gap taken off. Trim: cut 10 = net 6 + 4 trim. ",
        "FW at its end, no gap taken off. Trim: cut 254 = net 152 + 102 trim. ", only="inch"),
    "sockets that meet": Says(
        spool("plain", leg("elbow", 30), leg("elbow", north=2.5), leg("plain", up=20), **SOCKET), ("pieces.stops", 1),
        'Cannot be made: the fittings at its ends run into one another; 7/8" of it go into them. ',
        "Cannot be made: the fittings at its ends run into one another; 22 mm of it go into them. ",
    ),
    "nothing left, mm": Says(straight_mm(0.4), ("pieces.stops", 0), "", only="mm"),
    "short, mm": Says(straight_mm(74.999), ("pieces.cautions", 0), SHORT + NEAR_WELDS, only="mm"),
    "not short, mm": Says(straight_mm(75, SO), ("pieces.cautions", 0), "", only="mm"),
    "stock, mm": Says(straight_mm(6000), ("pieces.cautions", 0), "", only="mm"),
    "over stock, mm": Says(straight_mm(6000.01), ("pieces.cautions", 0), LONG, only="mm"),
    "welds apart, mm": Says(straight_mm(152.4), ("pieces.cautions", 0), "", only="mm"),
    "welds near, mm": Says(straight_mm(152.39), ("pieces.cautions", 0), NEAR_WELDS, only="mm"),
    "field weld at the start": Says(
        spool("bevel", leg(SO, 60), start_field_gap="full"), ("pieces.cautions", 0), "FW at its start, a whole root gap taken off. "
    ),
    "half a gap": Says(spool(SO, leg("bevel", 60, field_gap="half")), ("pieces.cautions", 0), "FW at its end, half a root gap taken off. "),
    "trim of a plain end": Says(
        spool(WN, leg("plain", 40, trim="4 in")), ("pieces.cautions", 0), "Trim: cut 40-3/8 = net 36-3/8 + 4 trim. ",
        "Trim: cut 1026 = net 924 + 102 trim. ",
    ),
    "compound bevel": Says(spool("bevel", leg("bevel", 60), size="8", schedule="XXS"), ("pieces.cautions", 0), "FW at its start, no gap taken off. FW at its end, no gap taken off. ",
        "FW at its start, no gap taken off. FW at its end, no gap taken off. Compound bevel: see the procedure. "),  # 7/8 in is 22.23 mm
    "very thick": Says(
        spool("plain", leg("plain", 60), size="8", schedule="160"), ("pieces.cautions", 0), "Compound bevel: see the procedure. "
    ),
    # items
    "item in the start": Says(
        spool(WN, leg("bevel", 60, inline=[valve(at="5 in")])), ("items.stops", 0), "It does not fit: it reaches into what stands at the leg's start. "
    ),
    "leg of such an item": Says(spool(WN, leg("bevel", 60, inline=[valve(at="5 in")])), ("legs.stops", 0), "See Items. "),
    "item in the end": Says(
        spool(WN, leg(WN, 60, inline=[valve(at="51 in")])), ("items.stops", 0), "It does not fit: it reaches into what stands at the leg's end. "
    ),
    "socket ends": Says(
        spool(WN, leg(WN, 60, inline=[{"item": "valve", "length": "5 in", "at": "30 in", "ends": "socket"}])), ("items.stops", 0),
        "Its length, ends or flange are missing, or the table has no such flange; for socket ends type what it takes in all. ",
    ),
    "socket ends, told": Says(
        spool(WN, leg(WN, 60, inline=[{"item": "valve", "length": "5 in", "at": "30 in", "ends": "socket", "takes": "6 in"}])), ("items.stops", 0), ""
    ),
    "threaded ends": Says(
        spool("plain", leg("plain", 60, inline=[{**THREADED_VALVE}]), size="1", schedule="80"), ("items.cautions", 0),
        "† its length, a flange, a thread or a ring gap beside it rests on a value from memory. ",
    ),
    "threaded ends, told": Says(
        spool("plain", leg("plain", 60, inline=[{**THREADED_VALVE, "takes": "3 in"}]), size="1", schedule="80"), ("items.cautions", 0), ""
    ),
    "pipe too thin for a threaded valve": Says(
        spool("plain", leg("plain", 60, inline=[{**THREADED_VALVE}]), size="1", schedule="10S"), ("legs.cautions", 0), 'Thin for a thread: 7/64" of wall, the thread takes 1/16", 3/64" is left. Lighter than standard weight is not threaded (common practice, no source). ',
        "Thin for a thread: 2.8 mm of wall, the thread takes 1.8 mm, 1 mm is left. Lighter than standard weight is not threaded (common practice, no source). ",
    ),
    "item on slip-ons": Says(
        spool(WN, leg(WN, 60, inline=[valve(at="30 in", flange=SO)])), ("items.cautions", 0), "† its length, a flange, a thread or a ring gap beside it rests on a value from memory. "
    ),
    "item without a gasket": Says(
        spool(WN, leg(WN, 60, inline=[valve(at="30 in", gasket=None)])), ("items.cautions", 0), NO_GASKET
    ),
    "wafer without a gasket": Says(
        spool(WN, leg(WN, 60, inline=[valve(at="30 in", ends="wafer", facing="FF", gasket=None)])), ("items.cautions", 0), NO_GASKET
    ),
    "a gasket of no thickness": Says(spool(WN, leg(WN, 60, inline=[valve(at="30 in", gasket=0)])), ("items.cautions", 0), ""),
    "no gasket, told in all": Says(
        spool(WN, leg(WN, 60, inline=[valve(at="30 in", gasket=None, takes="18 in")])), ("items.cautions", 0), ""
    ),
    "a ring joint has the table's gap": Says(
        spool(WN, leg(WN, 60, inline=[valve(at="30 in", gasket=None, facing="RTJ", length="11 in")])), ("items.cautions", 0),
        "† its length, a flange, a thread or a ring gap beside it rests on a value from memory. ",
    ),
    "welded in, no gasket": Says(
        spool(WN, leg(WN, 60, inline=[{"item": "valve", "length": "5 in", "at": "30 in", "ends": "butt"}])), ("items.cautions", 0), ""
    ),
    "pieces beside slip-ons": Says(
        spool(WN, leg(WN, 60, inline=[valve(at="30 in", flange=SO)])), ("pieces.cut_text", 1), "20-3/4†", "528†"
    ),
}  # fmt: skip


def job_of_sentences() -> str:
    """A job that holds a spool for each sentence."""
    spools = [{"mark": f"S{at}", **case.spool} for at, case in enumerate(SAID.values(), start=1)]
    return job_text(spools, "inch", RULES)


@cache
def said_in(edition: str) -> Live:
    """The workbook of a job with all these spools."""
    return live_book(job_of_sentences(), edition)


def rows_of(live: Live, mark: str, table: str) -> list[int]:
    """Rows of a table that belong to a spool."""
    return [row for row, value in enumerate(live.column(f"{table}.spool")) if value == mark]


@pytest.mark.parametrize(
    ("name", "edition"),
    [(name, edition) for name, case in SAID.items() for edition in EDITIONS if case.only in ("", edition)],
)
def test_it_is_said(name: str, edition: str) -> None:
    case, live = SAID[name], said_in(edition)
    (column, at) = case.where
    table = column.partition(".")[0]
    row = rows_of(live, f"S{list(SAID).index(name) + 1}", "pieces" if table == "cuts" else table)[at]
    wanted = case.mm if edition == "mm" and case.mm else case.text
    assert (live.value(column, row) or "") == wanted


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_is_said_waits_for_the_precision(edition: str) -> None:
    """A length cannot be put into words without it: the sentence is missing, and no cell holds an error value."""
    live = said_in(edition)
    live.put_all({("rules.precision", 0): None})
    found = live.errors()
    live.reset()
    live.calculate()
    assert not found


# -- take-outs where limits lie ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["elbow", "elbow_short_radius"])
@pytest.mark.parametrize(
    ("angle", "as_for"),
    [
        (90.25, 90), (90, 90), (89.75, 90), (89.7499, 0), (45.25, 45), (45.2501, 0), (44.75, 45), (44.7499, 0), (60, 0),
    ],
)  # fmt: skip
def test_a_turn_is_the_stock_one_up_to_the_limit(kind: str, angle: float, as_for: float) -> None:
    """NPS 6: 9 and 3-3/4 in long radius, 6 in short radius; any other turn is cut down from the 90."""
    live = turning()
    radius = 9.0 if kind == "elbow" else 6.0
    wanted = {90.0: radius, 45.0: 3.75 if kind == "elbow" else 6.0 * math.tan(math.radians(angle / 2))}.get(
        as_for, radius * math.tan(math.radians(angle / 2))
    )
    if kind == "elbow_short_radius" and as_for == 45:
        assert wanted == pytest.approx(6 * math.tan(math.radians(angle / 2)))  # there is no short-radius 45
    row = rows_of(live, f"{kind} {angle}", "legs")
    assert live.value("legs.turn_end", row[0]) == pytest.approx(angle, abs=1e-7)
    assert live.value("legs.takeout_end", row[0]) == pytest.approx(wanted, abs=1e-7)
    assert live.value("legs.takeout_start", row[1]) == pytest.approx(wanted, abs=1e-7)


@cache
def turning() -> Live:
    angles = (90.25, 90, 89.75, 89.7499, 45.25, 45.2501, 44.75, 44.7499, 60)
    return live_book(
        job_text(
            [
                {"mark": f"{kind} {angle}", **spool(WN, *bent(angle, kind))}
                for kind in ("elbow", "elbow_short_radius")
                for angle in angles
            ]
        ),
        "inch",
    )


@pytest.mark.parametrize(
    ("angle", "kind", "wanted"),
    [
        (60, "elbow", 3.75), (67.5, "elbow", 3.75), (67.51, "elbow", 9.0), (88, "elbow", 9.0), (20, "elbow_short_radius", 6.0),
    ],
)  # fmt: skip
def test_a_stock_elbow_keeps_its_take_out(angle: float, kind: str, wanted: float) -> None:
    live = live_book(job_text([{"mark": "A", **spool(WN, *bent(angle, kind, fitting="stock"))}]), "inch")
    assert live.value("legs.takeout_end", 0) == wanted


def one_piece(end: str, size: str, schedule: str, edition: str, **more: Any) -> Live:
    return live_book(
        job_text([{"mark": "A", **spool("bevel", leg(end, 60, **more), size=size, schedule=schedule)}]), edition
    )


@pytest.mark.parametrize(
    ("size", "schedule", "inches", "mm"),
    [
        # E and E1 of ASME B16.9, either side of the limiting wall
        ("6", "STD", 3.5, 89), ("6", "XS", 4.0, 102),  # 0.28, 0.432 against 0.43
        ("8", "XS", 4.0, 102), ("8", "100", 5.0, 127),  # 0.5 on the limit; 0.594 above
        ("26", "XS", 10.5, 267),  # no limiting wall above NPS 24
    ],
)  # fmt: skip
def test_a_cap_is_longer_above_the_limiting_wall(size: str, schedule: str, inches: float, mm: float) -> None:
    assert one_piece("cap", size, schedule, "inch").value("legs.takeout_end", 0) == inches
    assert one_piece("cap", size, schedule, "mm").value("legs.takeout_end", 0) == mm


@pytest.mark.parametrize(
    ("size", "schedule", "wanted"), [("2", "STD", 0.154), ("2-1/2", "XS", 0.25), ("3", "XS", 0.25), ("3", "STD", 0.216)]
)
def test_the_pipe_of_a_slip_on_is_set_back_by_the_lesser(size: str, schedule: str, wanted: float) -> None:
    """0.154 and 0.216 are thinner than 1/4 in; 0.276 and 0.3 are thicker."""
    assert one_piece(SO, size, schedule, "inch").value("legs.takeout_end", 0) == wanted


def test_a_socket_weld_flange_is_pulled_back_from_the_bottom() -> None:
    """NPS 1 class 150: 0.6875 through the hub, socket 0.5 deep, 1/16 pulled back: pipe 1/4 in behind the face."""
    assert one_piece(SW, "1", "XS", "inch").value("legs.takeout_end", 0) == pytest.approx(0.6875 - 0.5 + 0.0625)
    assert one_piece(SW, "1", "XS", "inch").value("legs.gaps", 0) == 0


def test_the_gate_valve_of_the_brief() -> None:
    """A flanged 6 in class 150 gate takes 10.5 + 2 × 1/8 + 2 × 3.5 in, and a root gap at each weld neck."""
    live = live_book(job_text([{"mark": "A", **spool("bevel", leg("bevel", 96, inline=[valve(at="48 in")]))}]), "inch")
    assert live.value("items.taken", 0) == 10.5 + 2 * 0.125 + 2 * 3.5 + 2 * GAP
    assert live.column("pieces.cut_length")[:2] == [48 - 8.875 - GAP, 48 - 8.875 - GAP]
    assert live.column("pieces.mark")[:3] == ["A-L1-1", "A-L1-2", None]


@pytest.mark.parametrize("end", ["start", "end"])
def test_a_valve_bolted_to_the_flange_of_an_end(end: str) -> None:
    """Against a flange: its gasket and half its length from the face; one pipe, one weld of its own flange."""
    kind = {"start": (WN, "bevel"), "end": ("bevel", WN)}[end]
    live = live_book(job_text([{"mark": "A", **spool(kind[0], leg(kind[1], 96, inline=[valve(against=end)]))}]), "inch")
    assert live.value("items.centre", 0) == (5.375 if end == "start" else 96 - 5.375)
    assert live.column("pieces.cut_length")[:2] == [96 - 10.5 - 0.25 - 3.5 - GAP, None]
    assert live.value("spools.shop_welds", 0) == 1


# -- the clock on legs straight up and down ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("leg_up", "next_leg", "hours", "angle"),
    [
        # going down, 12 is north and east is 3; going up, west is 3
        (-60, {"north": 40}, 12, 0), (-60, {"east": 40}, 3, 90), (-60, {"north": -40}, 6, 180), (-60, {"east": -40}, 9, 270),
        (60, {"north": 40}, 12, 0), (60, {"east": -40}, 3, 90), (60, {"north": -40}, 6, 180), (60, {"east": 40}, 9, 270),
        (-60, {"east": 40, "north": 40}, 1.5, 45), (60, {"east": 40, "north": 40}, 10.5, 315),
        (-60, {"east": 20, "north": 40, "up": -30}, 1, 27),
    ],
)  # fmt: skip
def test_the_clock_of_a_leg_straight_up_or_down(
    leg_up: int, next_leg: Mapping[str, int], hours: float, angle: int
) -> None:
    live = live_book(
        job_text([{"mark": "A", **spool(WN, leg("elbow", up=leg_up), {**next_leg, "end": "bevel"})}]), "inch"
    )
    assert (live.value("legs.roll_at_end", 0), live.value("legs.roll_degrees", 0)) == (hours, angle)
    assert live.value("legs.roll_arc", 0) == pytest.approx(math.pi * 6.625 * angle / 360)


@pytest.mark.parametrize(
    ("way", "next_leg", "hours"),
    [
        ({"east": 60}, {"up": 40}, 12), ({"east": 60}, {"north": -40}, 3), ({"north": 60}, {"east": 40}, 3),
        ({"north": -60}, {"east": 40}, 9), ({"east": -60}, {"up": -40}, 6), ({"north": 60}, {"east": 30, "up": 30}, 1.5),
        ({"north": 60}, {"east": 1, "up": 14}, 12), ({"north": 60}, {"east": 10, "up": 37.3}, 12.5),
        ({"east": 60, "up": 60}, {"east": 40, "up": -40}, 6),
    ],
)  # fmt: skip
def test_the_clock_of_a_level_or_sloping_leg(
    way: Mapping[str, int], next_leg: Mapping[str, float], hours: float
) -> None:
    """Seen the way the spool is walked: 12 is up, going north east is 3, going east south is 3."""
    live = live_book(
        job_text([{"mark": "A", **spool(WN, {**way, "end": "elbow"}, {**next_leg, "end": "bevel"})}]), "inch"
    )
    assert live.value("legs.roll_at_end", 0) == hours


# -- what only typing reaches --------------------------------------------------------------------------------------------

LEG_1: Mapping[str, Value] = {
    "legs.spool": "A",
    "legs.leg": "L1",
    "legs.east": 60.0,
    "legs.end": "elbow",
    "legs.size": "6",
    "legs.schedule": "STD",
}
LEG_2: Mapping[str, Value] = {
    "legs.spool": "A",
    "legs.leg": "L2",
    "legs.north": 60.0,
    "legs.end": "bevel",
    "legs.size": "6",
    "legs.schedule": "STD",
}
SPOOL: Mapping[str, Value] = {"spools.mark": "A", "spools.start": WN, "spools.flange_class": "150", "spools.size": "6"}

Cells = dict[tuple[str, int], Value]


def typed(*rows: Mapping[str, Value], **more: Value) -> Cells:
    """Cells for a spool, its first legs, and more of them by `table__column__row`."""
    cells: Cells = {(name, 0): value for name, value in SPOOL.items()}
    for at, given in enumerate(rows):
        cells |= {(name, at): value for name, value in given.items()}
    for name, value in more.items():
        table, column, number = name.split("__")
        cells[f"{table}.{column}", int(number)] = value
    return cells


HEADER: tuple[Mapping[str, Value], Mapping[str, Value]] = (
    {**LEG_1, "legs.east": 96.0, "legs.end": "bevel"},
    {
        **LEG_1,
        "legs.leg": "V1",
        "legs.from": "B1",
        "legs.east": None,
        "legs.up": 40.0,
        "legs.size": "2",
        "legs.end": "bevel",
    },
)
"""A pipe with room for a branch, and the branch."""


def outlet(**other: Value) -> dict[str, Value]:
    """A weldolet on that pipe, with some cells otherwise."""
    cells: dict[str, Value] = {"spool": "A", "name": "B1", "on": "L1", "at": 48.0, "kind": "weldolet"}
    cells |= {"size": "2", "schedule": "STD", "height": 1.5, **other}
    return {f"outlets__{name}__0": value for name, value in cells.items()}


SECOND: Mapping[str, Value] = {
    "spool": "A", "name": "B2", "on": "L1", "at": 52.0, "kind": "weldolet", "size": "2", "schedule": "STD", "height": 1.5,
    "towards": "up",
}  # fmt: skip
"""Another weldolet on it, 4 in further along."""


def second(**other: Value) -> dict[str, Value]:
    """That one in the second row, with some cells otherwise."""
    return {f"outlets__{name}__1": value for name, value in {**SECOND, **other}.items()}


CROWD: dict[str, Value] = {
    f"outlets__{name}__{row}": value
    for row, clock in enumerate([12, 5, 6, 7, 8, 12])
    for name, value in {
        **SECOND, "name": f"B{row}", "at": 48.0 + row / 2, "towards": None, "clock_typed": clock
    }.items()
}  # fmt: skip
"""Six round a large pipe; the first and the last stand in one line."""

TYPED: dict[str, tuple[Cells, str, int, str]] = {
    "spool unknown": (typed({**LEG_1, "legs.spool": "B"}), "legs.stops", 0, "This spool is not on the Spools sheet."),
    "starts with a socket elbow of no class": (
        typed(LEG_1, spools__start__0="elbow", spools__start_joint__0="socket"), "legs.stops", 0,
        "Give the class of the socket or threaded fitting that it starts with: 3000, 6000 … (Spools).",
    ),
    "starts with a socket elbow that is not made": (
        typed(LEG_1, spools__start__0="elbow", spools__start_joint__0="socket", spools__fitting_class__0="9000"), "legs.stops", 0,
        "There is no socket fitting of class 9000 in this size to start with.",
    ),
    "not together": (
        typed(LEG_1, {**LEG_2, "legs.spool": "B"}, LEG_2, spools__mark__1="B"), "legs.stops", 2, "The rows of one spool must stand together.",
    ),
    "no name": (typed({**LEG_1, "legs.leg": None}), "legs.stops", 0, "Name the leg."),
    "twice": (typed(LEG_1, {**LEG_2, "legs.leg": "L1"}), "legs.stops", 1, "Two legs of the spool have this name."),
    "from nowhere": (typed(LEG_1, {**LEG_2, "legs.from": "L7"}), "legs.stops", 1, "It starts from a leg that is not above it."),
    "from itself": (typed(LEG_1, {**LEG_2, "legs.from": "L2"}), "legs.stops", 1, "It starts from a leg that is not above it."),
    "from a later one": (typed({**LEG_1, "legs.from": "L2"}, LEG_2), "legs.stops", 0, "It starts from a leg that is not above it."),
    "no length": (typed({**LEG_1, "legs.east": None}), "legs.stops", 0, "It has no length."),
    "length of 0": (typed({**LEG_1, "legs.east": 0.0}), "legs.stops", 0, "It has no length."),
    "length in words": (typed({**LEG_1, "legs.east": "five feet"}), "legs.stops", 0, "East: not a number. It has no length."),
    "too far": (typed({**LEG_1, "legs.east": 1e6}), "legs.stops", 0, "East: over 10000 ft. It has no length."),
    "no end": (typed({**LEG_1, "legs.end": None}), "legs.stops", 0, "Say what stands at its end."),
    "end unknown": (typed({**LEG_1, "legs.end": "elbo"}), "legs.stops", 0, "At its end: not in the list."),
    "no such pipe": (typed({**LEG_1, "legs.schedule": "7"}), "legs.stops", 0, "The pipe table has no such size and schedule."),
    "no size": (typed({**LEG_1, "legs.size": None}), "legs.stops", 0, "Give size and schedule."),
    "a third leg": (typed(LEG_1, LEG_2, {**LEG_2, "legs.leg": "L3", "legs.from": "L1"}), "legs.stops", 2, "Another leg starts here already: a tee or a lateral takes two, a cross three."),
    "four at a tee": (
        typed({**LEG_1, "legs.end": "tee"}, {**LEG_2, "legs.from": "L1"}, {**LEG_2, "legs.leg": "L3", "legs.north": -60.0, "legs.from": "L1"},
              {**LEG_2, "legs.leg": "L4", "legs.north": None, "legs.east": 60.0, "legs.from": "L1"}),
        "legs.stops", 3, "A tee joins three legs.",
    ),
    "after a flange": (typed({**LEG_1, "legs.end": WN}, LEG_2), "legs.stops", 0, "Nothing can start from this end."),
    "size changes": (typed(LEG_1, {**LEG_2, "legs.size": "4"}), "legs.stops", 0, "The size changes here: use a reducer."),
    "item, made up": (
        typed(LEG_1, LEG_2, details__make_up__0="yes", items__spool__0="A", items__leg__0="L1", items__at__0=30.0, items__ends__0="butt", items__length__0=5.0),
        "legs.stops", 0, "A leg made up fitting to fitting has no room for an item.",
    ),
    "spool wrong": (typed(LEG_1, spools__start_trim__0=-3.0), "legs.stops", 0, "See the Spools sheet."),
    "detail wrong": (typed(LEG_1, LEG_2, details__takeout__0=-3.0), "legs.stops", 0, "See Leg details."),
    "outlet without a name": (typed(*HEADER, **outlet(name=None)), "outlets.stops", 0, "Name the outlet."),
    "outlet named as a leg": (typed(*HEADER, **outlet(name="L1")), "outlets.stops", 0, "The name is taken: each leg and outlet of a spool needs one of its own."),
    "outlet on nothing": (typed(*HEADER, **outlet(on="L9")), "outlets.stops", 0, "The spool has no leg L9 to stand on."),
    "outlet of no kind": (typed(*HEADER, **outlet(kind="olet")), "outlets.stops", 0, "Unknown kind: weldolet, sockolet, threadolet, half_coupling, stub_in, stub_on or nozzle."),
    "outlet without a size": (typed(*HEADER, **outlet(size=None)), "outlets.stops", 0, "Give the size of the branch."),
    "outlet without a place": (typed(*HEADER, **outlet(at=None)), "outlets.stops", 0, "Say where it stands: at."),
    "outlet without a height": (typed(*HEADER, **outlet(height=None)), "outlets.stops", 0, "Type its height: the maker's data, or measured."),
    "outlet near another": (
        typed(HEADER[0], **outlet(towards="up"), **second()), "outlets.cautions", 0,
        '1-5/8" is left to outlet B2, 2" is wanted. ',
    ),
    "outlet beyond the rule": (
        typed(HEADER[0], **outlet(towards="up"), **second(at=52.375)),
        "outlets.cautions", 0, "",
    ),
    "outlet that runs into another": (
        typed(HEADER[0], **outlet(towards="up"), **second(at=50.0)),
        "outlets.cautions", 1, 'It runs into outlet B1: 3/8" too near. ',
    ),
    "outlets crowded round": (
        typed({**HEADER[0], "legs.size": "24"}, **CROWD), "outlets.cautions", 0,
        "Another outlet further along, the fifth or more, is nearer than the rule: measure round the header.",
    ),
    "outlet without a schedule": (
        typed(HEADER[0], **outlet(schedule=None, towards="up")), "outlets.cautions", 0, "Give its schedule: the hole follows from the bore.",
    ),
    "outlet of a thread too large": (
        typed({**HEADER[0], "legs.size": "36"}, **outlet(kind="threadolet", size="30", schedule="STD", towards="up")), "outlets.stops", 0,
        "The thread table has no such size.",
    ),
    "branch of another size": (typed(*HEADER, **outlet(size="1", schedule="80")), "outlets.stops", 0, "The leg that starts from it has another size."),
    "branch above its header": (
        typed({**HEADER[1]}, HEADER[0], **outlet()), "legs.stops", 0, "It starts from an outlet whose header is not above it.",
    ),
    "branch above its header, outlet": (
        typed({**HEADER[1]}, HEADER[0], **outlet()), "outlets.stops", 0, "The leg that starts from it must stand below its header on the Route.",
    ),
    "outlet on a made up leg": (
        typed(*HEADER, **outlet(), details__make_up__0="yes"), "outlets.stops", 0,
        "Its header is made up fitting to fitting: there is no pipe to stand on.",
    ),
    "outlet wrong": (typed(*HEADER, **outlet(at=None)), "legs.stops", 0, "See Outlets."),
    "outlet told twice": (
        typed(*HEADER, **outlet(towards="up")), "outlets.cautions", 0, "Its leg says the way it points: what is typed here is not used.",
    ),
    "cocked outlet": (
        typed(HEADER[0], {**HEADER[1], "legs.east": 2.0}, **outlet()), "outlets.cautions", 0, "Cocked by 2.86° on its header: the gap under it tapers by ",
    ),
    "flat branch": (
        typed({**HEADER[0], "legs.east": 200.0}, {**HEADER[1], "legs.east": 120.0}, **outlet(kind="stub_on", height=None)), "outlets.cautions", 0,
        "A branch as flat as this leaves no room for the torch in its crotch: ask the welder.",
    ),
    "saddle": (
        typed(HEADER[0], {**HEADER[1], "legs.east": 20.0}, **outlet(kind="stub_on", height=None)), "pieces.cautions", 1,
        "Saddle at its start: the length is to the long point,",
    ),
    "threaded outlet": (typed(*HEADER, **outlet(kind="threadolet")), "outlets.cautions", 0, "† its make-up rests on a value from memory."),
    "no start": (typed(LEG_1, spools__start__0=None), "spools.stops", 0, "Say what it starts with."),
    "two marks": (typed(LEG_1, spools__mark__1="A"), "spools.stops", 1, "Two spools have this mark."),
    "no leg": (typed(LEG_1, spools__mark__1="B"), "spools.stops", 1, "No leg belongs to it."),
    "star": (typed(LEG_1, spools__mark__1="B*"), "spools.stops", 1, "A mark may not have * ? or ~ in it."),
    "question": (typed(LEG_1, spools__mark__1="B?"), "spools.stops", 1, "A mark may not have * ? or ~ in it."),
    "wave": (typed(LEG_1, spools__mark__1="~B"), "spools.stops", 1, "A mark may not have * ? or ~ in it."),
    "start facing nowhere": (
        typed(LEG_1, spools__start__0="bevel", spools__start_facing__0="RTJ"), "spools.stops", 0, "No flange stands at its start: no facing there.",
    ),
    "start gasket nowhere": (
        typed(LEG_1, spools__start__0="bevel", spools__start_gasket__0=0.125), "spools.stops", 0, "No flange stands at its start: no gasket there.",
    ),
    "gasket at an item": (
        typed({**LEG_1, "legs.end": WN}, more__gasket__0=0.125, items__spool__0="A", items__leg__0="L1", items__against__0="end", items__ends__0="flanged",
              items__flange__0=WN, items__length__0=10.5),
        "more.stops", 0, "An item is bolted there: give its gasket with the item.",
    ),
    "no ring joint": (
        typed({**LEG_1, "legs.end": WN, "legs.size": "1/2"}, spools__size__0="1/2", more__facing__0="RTJ"), "legs.stops", 0,
        "The tables have no ring joint facing for weld neck flange, class 150, size 1/2: choose another facing, or type the take-out. " + NO_END.strip(),
    ),
    "no ring joint, start": (
        typed({**LEG_1, "legs.size": "1/2"}, spools__size__0="1/2", spools__facing__0="RTJ"), "legs.stops", 0,
        "The tables have no ring joint facing for weld neck flange, class 150, size 1/2: choose another facing for the start, or type its take-out. " + NO_BEGINNING.strip(),
    ),
    "no ring joint, typed": (
        typed({**LEG_1, "legs.end": WN, "legs.size": "1/2"}, more__facing__0="RTJ", details__takeout__0=2.0), "legs.stops", 0, "",
    ),
    "no ring joint, item": (
        typed({**LEG_1, "legs.size": "1/2"}, items__spool__0="A", items__leg__0="L1", items__at__0=30.0, items__ends__0="flanged",
              items__flange__0=WN, items__length__0=4.25, items__facing__0="RTJ"),
        "items.stops", 0, "The tables have no ring joint facing for such a flange beside it: choose another facing, or type what it takes in all. "
        "Its length, ends or flange are missing, or the table has no such flange; for socket ends type what it takes in all.",
    ),
    "no such valve": (
        typed(LEG_1, items__spool__0="A", items__leg__0="L1", items__at__0=30.0, items__ends__0="flanged", items__flange__0=WN, items__valve__0="gate",
              items__flange_class__0="900"),
        "items.stops", 0, "The valve table has no length for gate, RF, flanged ends, class 900, size 6: type it. "
        "Its length, ends or flange are missing, or the table has no such flange; for socket ends type what it takes in all.",
    ),
    "another length": (
        typed(LEG_1, items__spool__0="A", items__leg__0="L1", items__at__0=30.0, items__ends__0="flanged", items__flange__0=WN, items__valve__0="gate",
              items__length__0=11.0),
        "items.cautions", 0, 'Its length is typed: the table has 10-1/2", 1/2" less.',
    ),
    "ring joint": (
        typed({**LEG_1, "legs.end": WN}, more__facing__0="RTJ", more__gasket__0=0.1875), "legs.cautions", 0, 'End: take-out with ring joint R43 and gasket 3/16".',
    ),
    "flat face": (
        typed({**LEG_1, "legs.end": WN}, spools__facing__0="FF"), "legs.cautions", 0, "Start: take-out with flat face. End: take-out with flat face.",
    ),
    "flat face of a typed take-out": (
        typed({**LEG_1, "legs.end": WN}, more__facing__0="FF", details__takeout__0=2.0), "legs.cautions", 0, "✎ take-out typed.",
    ),
    "facing nowhere": (typed(LEG_1, more__facing__0="RTJ"), "more.stops", 0, "No flange stands at its end: no facing."),
    "gasket nowhere": (typed(LEG_1, more__gasket__0=0.125), "more.stops", 0, "No flange stands at its end: no gasket."),
    "more wrong": (typed(LEG_1, more__gasket__0=0.125), "legs.stops", 0, "See More on legs."),
    "blind nowhere": (typed(LEG_1, more__blind__0="yes"), "more.stops", 0, "No flange stands at its end: nothing to bolt a blind to."),
    "old stock of a tee": (typed({**LEG_1, "legs.end": "tee"}, more__stock__0="old"), "more.stops", 0, "Old stock is for long-radius elbows and returns."),
    "flat nowhere": (typed(LEG_1, more__flat__0="top"), "more.stops", 0, "Only an eccentric reducer has a flat side."),
    "radius nowhere": (typed(LEG_1, more__radius__0=9.0), "more.stops", 0, "Radius and tangent are for a bend; the other elbows have theirs from the tables."),
    "pulled elbow": (typed(LEG_1, more__pulled__0="yes"), "more.stops", 0, "Only a bend is pulled."),
    "pulled with a tangent": (
        typed({**LEG_1, "legs.end": "bend"}, more__radius__0=9.0, more__tangent__0=1.0, more__pulled__0="yes"), "more.stops", 0,
        "A pulled bend has no tangent of its own.",
    ),
    "branch of no lateral": (typed(LEG_1, more__takeout_branch__0=9.0), "more.stops", 0, "Only a lateral has a take-out on a branch."),
    "lateral half said": (
        typed({**LEG_1, "legs.end": "lateral"}, details__takeout__0=4.0, more__takeout_branch__0=9.0), "more.stops", 0,
        "Type the three take-outs of the lateral: on this leg and the next (Leg details), on the branch here.",
    ),
    "union not said": (
        typed({**LEG_1, "legs.end": "union"}, details__joint__0="threaded"), "more.stops", 0,
        "Type the take-out of the union (Leg details): half of it as made up.",
    ),
    "bend without radius": (typed({**LEG_1, "legs.end": "bend"}, LEG_2), "legs.stops", 0, "Give the radius of the bend (More on legs)."),
    "socket cap": (typed({**LEG_1, "legs.end": "cap"}, details__joint__0="socket"), "legs.stops", 0, "No take-out for its end"),
    "socket reducer": (
        typed({**LEG_1, "legs.end": "reducer"}, details__joint__0="socket"), "legs.stops", 0, "There is no socket fitting of this kind: use other, with take-outs.",
    ),
    "elbow on a fillet": (
        typed(LEG_1, LEG_2, details__joint__0="fillet"), "legs.stops", 0,
        "A fitting of this kind is butt, socket or threaded: say another joint (Leg details).",
    ),
    "starts with an elbow on nothing": (
        typed(LEG_1, LEG_2, spools__start__0="elbow", spools__start_joint__0="none"), "legs.stops", 0,
        "What it starts with is butt, socket or threaded: say another joint (Spools).",
    ),
    "sockets made up": (
        typed(LEG_1, LEG_2, details__joint__0="socket", details__make_up__0="yes"), "legs.stops", 0,
        "Socket and threaded fittings need a pipe between them, if only a nipple: no make-up.",
    ),
    "pulled bend with a trim": (
        typed({**LEG_1, "legs.end": "bend"}, LEG_2, more__radius__0=9.0, more__pulled__0="yes", details__trim__0=2.0), "legs.stops", 0,
        "A pulled bend is one pipe, bent at its radius: clear its take-outs and trim (Leg details).",
    ),
    "item inside a return": (
        typed({**LEG_1, "legs.end": "return"}, {**LEG_2, "legs.end": "return", "legs.north": 18.0},
              {**LEG_1, "legs.leg": "L3", "legs.east": -60.0, "legs.end": "bevel"}, items__spool__0="A", items__leg__0="L2", items__at__0=9.0,
              items__ends__0="butt", items__length__0=2.0),
        "legs.stops", 1, "The leg inside a return has no pipe, so no item.",
    ),
    "no fitting class": (
        typed(LEG_1, LEG_2, details__joint__0="socket"), "legs.stops", 0,
        "Give the class of its socket or threaded fitting: 3000, 6000 … (More on legs).",
    ),
    "no such fitting": (
        typed(LEG_1, LEG_2, details__joint__0="threaded", more__fitting_class__0="3000"), "legs.stops", 0,
        "There is no threaded fitting of class 3000 in this size.",
    ),
    "item before a pulled bend": (
        typed({**LEG_1, "legs.end": "bend"}, LEG_2, more__radius__0=9.0, more__pulled__0="yes", items__spool__0="A", items__leg__0="L1",
              items__at__0=30.0, items__ends__0="butt", items__length__0=5.0),
        "legs.stops", 0, "A leg that runs into a pulled bend has no items: end it with weld before the bend.",
    ),
    "old stock of a large elbow": (typed(LEG_1, LEG_2, more__stock__0="old"), "legs.stops", 0, "The table of old-stock elbows has no such size."),
    "three at a lateral": (
        typed({**LEG_1, "legs.end": "lateral"}, {**LEG_2, "legs.from": "L1", "legs.north": None, "legs.east": 60.0},
              {**LEG_2, "legs.leg": "L3", "legs.from": "L1", "legs.east": 60.0}, {**LEG_2, "legs.leg": "L4", "legs.from": "L1"}),
        "legs.stops", 3, "A lateral joins three legs.",
    ),
    "five at a cross": (
        typed({**LEG_1, "legs.end": "cross"}, {**LEG_2, "legs.from": "L1"}, {**LEG_2, "legs.leg": "L3", "legs.north": -60.0, "legs.from": "L1"},
              {**LEG_2, "legs.leg": "L4", "legs.north": None, "legs.east": 60.0, "legs.from": "L1"}, {**LEG_2, "legs.leg": "L5", "legs.from": "L1"}),
        "legs.stops", 4, "A cross joins four legs.",
    ),
    "closes to nothing": (typed(LEG_1, LEG_2, more__close_to__1="L9"), "legs.stops", 1, "It closes to a leg that is not above it."),
    "starts inside": (typed(LEG_1, spools__start__0="return"), "spools.stops", 0, "A spool cannot start with this: begin at another end, or use other with a take-out."),
    "starts with an old tee": (typed(LEG_1, spools__start__0="tee", spools__start_stock__0="old"), "spools.stops", 0, "Old stock is for long-radius elbows."),
    "starts flat": (typed(LEG_1, spools__start_flat__0="top"), "spools.stops", 0, "Only an eccentric reducer has a flat side."),
    "starts with a union": (typed(LEG_1, spools__start__0="union"), "spools.stops", 0, "Type the take-out of the union: half of it as made up."),
    "starts blind": (typed(LEG_1, spools__start__0="bevel", spools__start_blind__0="yes"), "spools.stops", 0, "It starts with no flange: nothing to bolt a blind to."),
    "other": (typed({**LEG_1, "legs.end": "other"}), "details.stops", 0, "Type the take-out of the other item."),
    "by 0": (typed(LEG_1, details__by_angle__0=0.0), "details.stops", 0, "The angle must not be 0."),
    "by 90": (typed(LEG_1, details__by_angle__0=90.0), "details.stops", 0, "Set or roll by: over 89 deg."),
    "item nowhere": (typed(LEG_1, items__spool__0="A", items__leg__0="L9"), "items.stops", 0, "The Route has no such leg."),
    "item without a place": (
        typed(LEG_1, items__spool__0="A", items__leg__0="L1"), "items.stops", 0, "Say where it stands: at, or against an end.",
    ),
    "measured in words": (typed(LEG_1, LEG_2, cuts__measured_start__0="3 1/2"), "cuts.stops", 0, "measured: not a number."),
    "measured below 0": (typed(LEG_1, LEG_2, cuts__measured_end__0=-1.0), "pieces.stops", 0, "Look at Cut steps: a measured take-out cannot be right."),
    "other revision": (typed(LEG_1, LEG_2, spools__revision__0="B", pieces__cut_to__0="A"), "pieces.stops", 0, "Cut to another revision than the drawing's."),
    "same revision": (typed(LEG_1, LEG_2, spools__revision__0="B", pieces__cut_to__0="B"), "pieces.stops", 0, ""),
    "other without a name": (typed({**LEG_1, "legs.end": "other"}, details__takeout__0=3.0), "pieces.end_item", 0, "other item"),
    "sketch": (typed(LEG_1, LEG_2, sketch__two__0=3.0), "sketch.check_1", 0, "✗ Choose two work points that the spool has: 0 is its start, 1 the end of its first leg."),
    "gap under": (typed(rules__root_gap__0=0.09), "rules.check_1", 0, "✗ The root gap is smaller than the smallest one allowed."),
    "gap on the smallest": (typed(rules__root_gap__0=0.09375), "rules.check_1", 0, ""),
    "gap over": (typed(rules__root_gap__0=0.16), "rules.check_2", 0, "✗ The root gap is larger than the largest one allowed."),
    "gap on the largest": (typed(rules__root_gap__0=0.15625), "rules.check_2", 0, ""),
    "fit-up rule blank": (typed(rules__root_face__0=None), "rules.check_3", 0, "✗ A fit-up rule is blank: what rests on it stays blank."),
    "cutting rule blank": (typed(rules__stock_length__0=None), "rules.check_4", 0, "✗ A rule for cut lengths is blank: what rests on it stays blank."),
    "precision": (typed(rules__precision__0=0.3), "rules.check_5", 0, "✗ The precision must go into one inch a whole number of times: 1/16, 1/8, 0.1 …"),
    "precision of a tenth": (typed(rules__precision__0=0.1), "rules.check_5", 0, ""),
}  # fmt: skip
NEEDED = {
    "fit-up": ("rules.check_3", "root_gap", "root_gap_min", "root_gap_max", "hi_lo_max", "root_face", "bevel_angle", "no_bevel_wall", "single_bevel_wall"),
    "cutting": (
        "rules.check_4", "precision", "shrinkage_per_weld", "stock_angle_within", "cocked_max", "slip_on_setback", "socket_pullback", "shortest_piece", "stock_length",
    ),
}  # fmt: skip
TYPED["class of the leg alone"] = (
    typed(LEG_1, spools__flange_class__0=None, details__flange_class__0="150"),
    "legs.takeout_start",
    0,
    "3.5",
)
NOWHERE = {**LEG_2, "legs.from": "L7", "legs.end": "other"}
TYPED["from nowhere, no take-out"] = (typed(LEG_1, NOWHERE), "legs.stops", 1, "No take-out for its end")
TYPED["spool unknown, and no more"] = (typed({**LEG_1, "legs.spool": "B"}), "legs.stops", 0, "!No take-out for its end")
TYPED["other without leg name"] = (
    typed({**LEG_1, "legs.leg": None, "legs.end": "other"}),
    "details.stops",
    0,
    "Type the take-out of the other item.",
)
ITEM: dict[str, Value] = {
    "items__spool__0": "A",
    "items__leg__0": "L1",
    "items__at__0": 30.0,
    "items__length__0": 5.0,
    "items__ends__0": "flanged",
}
TYPED["item without a class of its own"] = (
    typed(LEG_1, LEG_2, **ITEM, items__flange__0=WN),
    "items.taken",
    0,
    str(5 + 2 * 3.5 + 2 * GAP),
)
TYPED["item where nothing is known of the start"] = (
    typed(LEG_1, LEG_2, **ITEM, items__flange__0=WN, spools__start__0="other"),
    "items.stops",
    0,
    "!reaches into",
)
TYPED["item where nothing is known of the end"] = (
    typed({**LEG_1, "legs.end": "other"}, **ITEM, items__flange__0=WN),
    "items.stops",
    0,
    "!reaches into",
)
TYPED["piece without a length, after a leg of two"] = (
    typed(LEG_1, {**LEG_2, "legs.end": "other"}, **ITEM, items__flange__0=WN),
    "pieces.stops",
    2,
    "No cut length",
)
TYPED["spool unknown, no length"] = (typed({**LEG_1, "legs.spool": "B"}), "pieces.stops", 0, "No cut length")
TYPED["spool unknown, no revision"] = (
    typed({**LEG_1, "legs.spool": "B"}, pieces__cut_to__0="A"),
    "pieces.stops",
    0,
    "!Cut to another",
)
TYPED["sketch of a spool without legs"] = (
    typed(LEG_1, spools__mark__1="B", sketch__spool__0="B"),
    "sketch.told",
    0,
    "this spool has no legs yet",
)
TYPED["start of a spool without legs"] = (
    typed(LEG_1, spools__mark__1="B", spools__start__1="cap", sketch__spool__0="B"),
    "points.end",
    0,
    "cap",
)
TYPED["sketch of a leg from nowhere"] = (
    typed(LEG_1, {**LEG_2, "legs.from": "L7"}, sketch__two__0=2.0),
    "sketch.straight_pair",
    0,
    "",
)
TYPED["no schedule"] = (typed({**LEG_1, "legs.schedule": None}), "legs.stops", 0, "Give size and schedule.")
TYPED["no schedule, and no more"] = (typed({**LEG_1, "legs.schedule": None}), "legs.stops", 0, "!The pipe table")
TYPED["no size, and no more"] = (typed({**LEG_1, "legs.size": None}), "legs.stops", 0, "!The pipe table")
TYPED |= {
    f"nothing but a spool: {sentence}": (typed({"legs.spool": "A"}), "legs.stops", 0, sentence)
    for sentence in ("Name the leg.", "It has no length.", "Say what stands at its end.", "Give size and schedule.")
}
TYPED |= {
    f"no {rule}": ({(f"rules.{rule}", 0): None}, check, 0, "is blank: what rests on it stays blank.")
    for check, *rules in NEEDED.values()
    for rule in rules
}


TYPED |= {
    "outlet named as the start": (
        typed(HEADER[0], {**HEADER[1], "legs.from": "start"}, **outlet(name="start")), "legs.stops", 1, "Another leg starts here already",
    ),
    "outlet on a leg with a typed take-out": (
        typed({**HEADER[0], "legs.end": "elbow"}, HEADER[1], **outlet(), details__takeout_out__0=9.0), "legs.cautions", 1, "",
    ),
}  # fmt: skip
TYPED["outlet on a pulled pipe, and its leg"] = (
    typed(
        {**HEADER[0], "legs.end": "bend"},
        LEG_2,
        {**HEADER[1], "legs.leg": "L3"},
        **outlet(),
        more__radius__0=20.0,
        more__pulled__0="yes",
    ),
    "legs.stops",
    2,
    "",
)
RETURN = (
    {**LEG_1, "legs.end": "return"},
    {**LEG_2, "legs.end": "return", "legs.north": 18.0},
    {**LEG_1, "legs.leg": "L3", "legs.east": -60.0, "legs.end": "bevel"},
)
"""A pipe that comes back."""
TYPED |= {
    "return of old stock in a size that has none": (
        typed(*RETURN, more__stock__0="old"), "legs.stops", 1, "The table of old-stock elbows has no such size.",
    ),
    "return whose inner leg has no length yet": (
        typed(RETURN[0], {**RETURN[1], "legs.north": None}), "legs.stops", 1, "It has no length.",
    ),
    "return whose first leg has no length yet": (
        typed({**RETURN[0], "legs.east": None}, *RETURN[1:]), "legs.stops", 2, "!After a return",
    ),
}  # fmt: skip
TYPED |= {
    "threaded ends against an end": (
        typed({**LEG_1, "legs.size": "1", "legs.schedule": "80", "legs.end": "plain"}, spools__size__0="1", items__spool__0="A", items__leg__0="L1",
              items__against__0="end", items__ends__0="threaded", items__length__0=4.0),
        "items.stops", 0, "Threaded ends take a nipple between: say at.",
    ),
    "no thread of this size": (
        typed({**LEG_1, "legs.end": "plain", "legs.size": "30"}, items__spool__0="A", items__leg__0="L1", items__at__0=30.0, items__ends__0="threaded", items__length__0=4.0),
        "items.stops", 0, "The tables have no thread of this size: type what it takes in all. "
        "Its length, ends or flange are missing, or the table has no such flange; for socket ends type what it takes in all.",
    ),
}  # fmt: skip

TYPED["by the smallest angle"] = (typed(LEG_1, details__by_angle__0=0.01), "details.advance", 0, "5729.577")

PULLED: dict[str, Value] = {"more__radius__0": 30.0, "more__pulled__0": "yes"}
SOCKETS: dict[str, Value] = {
    "spools__size__0": "1", "spools__joints__0": "socket", "spools__fitting_class__0": "3000", "spools__start__0": "cap",
    "rules__socket_pullback__0": 0.0625,
}  # fmt: skip
INCH_1: dict[str, Value] = {"legs.size": "1", "legs.schedule": "80"}
TYPED |= {
    "facing where the leg has no name": (
        typed({**LEG_1, "legs.leg": None}, more__facing__0="FF"), "more.stops", 0, "No flange stands at its end: no facing.",
    ),
    "lateral where the leg has no name": (
        typed({**LEG_1, "legs.leg": None, "legs.end": "lateral"}), "more.stops", 0, "Type the three take-outs of the lateral",
    ),
    "pulled, with what the next leg takes": (
        typed({**LEG_1, "legs.end": "bend"}, LEG_2, **PULLED, details__takeout_out__0=9.0), "legs.stops", 0, "clear its take-outs and trim",
    ),
    "room for less than the gap past a pulled bend": (
        typed({**LEG_1, "legs.end": "bend"}, {**LEG_2, "legs.north": 39.05, "legs.end": "elbow"}, **PULLED), "legs.stops", 1, "No straight pipe is left here",
    ),
    "room for the gap past a pulled bend": (
        typed({**LEG_1, "legs.end": "bend"}, {**LEG_2, "legs.north": 39.2, "legs.end": "elbow"}, **PULLED), "legs.stops", 1, "!No straight pipe is left here",
    ),
    "ring joints beside an item, of the class of its leg": (
        typed(
            LEG_1, LEG_2, **{**ITEM, "items__leg__0": "L2"}, items__flange__0=WN, items__facing__0="RTJ", details__flange_class__1="300",
        ),
        "items.taken", 0, str(5 + 2 * (4.1245 + 0.22 + GAP)),
    ),
    "socket item, and a flange that it does not have": (
        typed(LEG_1, LEG_2, **{**ITEM, "items__ends__0": "socket"}, items__flange__0=SO), "items.cautions", 0, "",
    ),
    "no such valve, of the class of its leg": (
        typed(
            LEG_1, LEG_2, **{**ITEM, "items__leg__0": "L2", "items__length__0": None}, items__flange__0=WN,
            items__valve__0="gate", details__flange_class__1="900",
        ),
        "items.stops", 0, "=The valve table has no length for gate, RF, flanged ends, class 900, size 6: type it. "
        "Its length, ends or flange are missing, or the table has no such flange; for socket ends type what it takes in all. ",
    ),
    "valve between ring joints, as long as the table has it": (  # ASME B16.10: NPS 6 gate, class 600, 22-1/8 in
        typed(
            LEG_1, LEG_2, **{**ITEM, "items__leg__0": "L2", "items__length__0": None}, items__flange__0=WN,
            items__valve__0="gate", items__facing__0="RTJ", details__flange_class__1="600",
        ),
        "items.table_length", 0, "=22.125",
    ),
    "between two items, the second without a length": (
        typed(
            LEG_1, **ITEM, items__flange__0=WN,
            **{name.replace("__0", "__1"): value for name, value in ITEM.items()} | {"items__at__1": 45.0, "items__length__1": None},
        ),
        "cuts.items_known", 1, "",
    ),
    "bent pipe, whose far end takes what nobody knows": (  # a quarter of a turn of radius 30
        typed({**LEG_1, "legs.end": "bend"}, {**LEG_2, "legs.end": "other"}, **PULLED), "cuts.bent_on", 0, "47.12388",
    ),
    "kind of an outlet typed as an end": (typed({**LEG_1, "legs.end": "weldolet"}), "pieces.end_item", 0, "=weldolet"),
    "union where the spool has no mark": (typed(spools__mark__0=None, spools__start__0="union"), "spools.stops", 0, ""),
    "sockets run into one another, and no pipe after": (
        typed({**LEG_1, **INCH_1, "legs.east": 6.0}, {**LEG_2, **INCH_1, "legs.north": 2.2, "legs.end": "elbow"}, **SOCKETS, details__make_up__0="yes"),
        "pieces.stops", 0, 'run into one another; 7/8" of it go into them.',
    ),
}  # fmt: skip


@cache
def blank() -> Live:
    return live_book(None, "inch")


@pytest.mark.parametrize("name", list(TYPED))
def test_it_is_said_of_what_is_typed(name: str) -> None:
    cells, column, row, wanted = TYPED[name]
    live = blank()
    before = {place: live.value(*place) for place in cells}
    live.put_all(cells)
    try:
        told, wrong = str(live.value(column, row) or ""), live.errors()
    finally:
        live.put_all(before)
    assert wrong == []
    assert says(told, wanted)


def test_an_end_that_is_not_said_yet_has_no_dagger() -> None:
    """The lengths of flanges by PN are from memory, but nobody has said that a flange stands there."""
    live = live_book(None, "mm")
    cells = typed(
        {**LEG_1, "legs.east": 2000.0, "legs.end": None}, spools__start__0="bevel", details__flange_class__0="PN16"
    )
    live.put_all(cells)
    assert (live.value("legs.memory_end"), live.value("legs.cautions")) == (0, None)
    live.put_all({("legs.end", 0): WN})
    assert live.value("legs.cautions") == DAGGER


def says(told: str, wanted: str) -> bool:
    """Whether a cell says these words, from a word's beginning on; with = before them, these alone; with !, not these;
    nothing, where none are."""
    if wanted.startswith("!"):
        return wanted[1:] not in told
    if wanted.startswith("="):
        return wanted[1:] == told
    return re.search(rf"(?<!\S){re.escape(wanted)}", told) is not None if wanted else told == ""


def test_every_check_has_a_case() -> None:
    """A check that no case above reaches would be said, or not said, with nobody to see it."""
    told = [
        *(text for case in SAID.values() for text in (case.text, case.mm)),
        *(wanted for _, _, _, wanted in TYPED.values()),
        *(sentence for _, _, _, sentence in SHEET_ERRORS.values()),
    ]
    missing = []
    for sheet in SHEETS:
        template = shop().shelf.sheet(sheet)
        for check in [*template.check, *(each for table in template.table for each in table.check)]:
            pieces = re.findall(r'"([^"]{6,})"', check.say) if check.say.startswith("=") else [check.say.strip()]
            if not any(any(piece.strip() in text for text in told) for piece in pieces):
                missing.append(f"{sheet}: {check.say}")
    assert missing == []


# -- measured take-outs and the length as cut ----------------------------------------------------------------------------


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_measured_take_out_replaces_the_tables(edition: str) -> None:
    live = live_book(DEMO.read_text(encoding="utf-8"), edition)
    unit = 1.0 if edition == "inch" else 25.4
    before = live.column("pieces.cut_length")
    row = live.column("pieces.mark").index("SP-03-L1")
    assert str(live.value("pieces.cut_text", row)).endswith("†")
    table = (live.value("cuts.takeout_start", row), live.value("cuts.takeout_end", row))
    live.put_all(
        {("cuts.measured_start", row): table[0] + 0.2 * unit, ("cuts.measured_end", row): table[1] - 0.05 * unit}
    )
    after = live.column("pieces.cut_length")
    assert after[row] == pytest.approx(before[row] - 0.15 * unit, abs=1e-9)
    assert "†" not in str(live.value("pieces.cut_text", row))  # measured, and not from memory any more
    assert [value for at, value in enumerate(after) if at != row] == [
        value for at, value in enumerate(before) if at != row
    ]
    live.put_all({("cuts.measured_start", row): 0, ("cuts.measured_end", row): None})  # 0 is measured too
    assert live.value("pieces.cut_length", row) == pytest.approx(before[row] + table[0], abs=1e-9)


def test_a_measured_take_out_makes_up_for_one_that_is_not_there() -> None:
    """An elbow that cannot be made, or an end without a table, can still be cut by what is in the hand."""
    live = live_book(job_text([{"mark": "A", **spool(WN, *bent(95))}]), "inch")
    assert live.value("pieces.cut_length", 0) is None
    live.put_all({("cuts.measured_end", 0): 9.5})
    assert live.value("pieces.cut_length", 0) == pytest.approx(60 - 3.5 - 9.5 - 2 * GAP)


@pytest.mark.parametrize(
    ("off", "verdict"),
    [
        (0.0, "✓ within"), (0.0625, "✓ within"), (-0.0625, "✓ within"), (0.0626, "✗ outside"), (-0.0626, "✗ outside"),
        (0.0624, "✓ within"), (30.0, "✗ outside"), (None, "… not cut yet"), ("23 3/4", "… not cut yet"),
    ],
)  # fmt: skip
def test_the_verdict_on_the_length_as_cut(off: float | str | None, verdict: str) -> None:
    live = demo()
    cut = live.value("pieces.cut_length", 0)
    as_cut = cut + off if isinstance(off, float) else off
    live.put_all({("pieces.as_cut", 0): as_cut})
    assert live.value("pieces.verdict", 0) == verdict
    if isinstance(off, float):
        assert live.value("pieces.difference", 0) == pytest.approx(off, abs=1e-12)
    else:
        assert live.value("pieces.difference", 0) is None
    if isinstance(off, str):
        assert "Length as cut: not a number." in str(live.value("pieces.stops", 0))
    live.put_all({("pieces.as_cut", 0): None})


@pytest.mark.parametrize(
    ("revision", "verdict"), [("B", "✓ within"), ("b", "✓ within"), ("A", "✗ outside"), (None, "✓ within")]
)
def test_a_piece_cut_to_another_revision_is_outside(revision: str | None, verdict: str) -> None:
    live = demo()
    live.put_all({("pieces.as_cut", 0): live.value("pieces.cut_length", 0), ("pieces.cut_to", 0): revision})
    assert live.value("pieces.verdict", 0) == verdict
    live.put_all({("pieces.as_cut", 0): None, ("pieces.cut_to", 0): None})


@cache
def demo() -> Live:
    return live_book(DEMO.read_text(encoding="utf-8"), "inch")
