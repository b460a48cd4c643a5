"""A second opinion on everything that the Route says of a leg, sentence by sentence, from `staged_route.py`.

The whole text of each cell is held, so that a sentence too many is seen as well as one too few.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

import hand_routes
import rare_routes
from gauges import Place, Value, fine, kind_words
from live import Live
from outlet_jobs import BENT, HEADER
from staged_route import (
    CLOSED,
    COCKED,
    HAIR,
    HALF,
    JOINTS,
    MOST_ALONG,
    QUARTER,
    REDUCERS,
    TEES,
    LegRow,
    Route,
    alike_words,
    cells_of,
    degrees_said,
    flag,
    positive,
    text,
)
from staging import Case, Scene
from walk import between
from walk_ends import CORNERS, COUPLINGS, FOLLOWERS, RETURNS, SMALL

Sentences = Iterator[str]
FAR = {"inch": "10000 ft", "mm": "3000 m"}


def thin(route: Route, size: float) -> str:
    """A thin thing with its unit."""
    return fine(size, route.edition) + ('"' if route.edition == "inch" else "")


# -- what cannot be made -----------------------------------------------------------------------------------------------


def _typed_wrong(leg: LegRow) -> Sentences:
    """Cells that are not what they should be."""
    route = leg.route
    for axis in ("east", "north", "up"):
        value = route.cell(f"legs.{axis}", leg.number)
        if isinstance(value, str):
            yield f"{axis.capitalize()}: not a number."
        elif value is not None and abs(value) > (120000.0 if route.edition == "inch" else 3000000.0):
            yield f"{axis.capitalize()}: {'over ' if value > 0 else 'under -'}{FAR[route.edition]}."
    if leg.end and leg.end not in JOINTS:
        yield "At its end: not in the list."
    if leg.size and not route.place("nominal_size.size", leg.size):
        yield "Size: not in the list."
    if leg.schedule and not leg.pipe_row:
        yield "Sched.: not in the list for this size."


def _row_wrong(leg: LegRow) -> Sentences:
    """Where the row does not stand as a leg of its spool."""
    before = leg.route.by_number.get(leg.number - 1)
    if leg.spool_row is None:
        yield "This spool is not on the Spools sheet."
    apart = before is None or not alike_words(before.spool, leg.spool)
    if apart and any(alike_words(each.spool, leg.spool) for each in leg.above):
        yield "The rows of one spool must stand together."
    if not leg.name:
        yield "Name the leg."
    if any(alike_words(each.key, leg.key) for each in leg.above):
        yield "Two legs of the spool have this name."
    if leg.parent_row is None:
        yield (
            "It starts from an outlet whose header is not above it."
            if leg.outlet_row
            else "It starts from a leg that is not above it."
        )
    if leg.length is None:
        yield "It has no length."
    if not leg.end:
        yield "Say what stands at its end."
    if leg.size and leg.schedule and not leg.pipe_row:
        yield "The pipe table has no such size and schedule."
    if not leg.size or not leg.schedule:
        yield "Give size and schedule."


def _turn_wrong(leg: LegRow) -> Sentences:
    turn = leg.turn_end
    if turn is not None:
        if leg.end in CORNERS and leg.near_to(turn, 0.0):
            yield "No turn here: use weld."
        if leg.end in CORNERS and turn > leg.most_turn:
            yield f"A turn of {degrees_said(turn)} cannot be made with one elbow."
        if leg.end in ("weld", *REDUCERS, "coupling", "union") and not leg.near_to(turn, 0.0):
            yield f"The next leg turns by {degrees_said(turn)}: this end makes no turn."
    if leg.kids and leg.end in CLOSED:
        yield "Nothing can start from this end."
    if _size_changes(leg):
        yield "The size changes here: use a reducer."


FLAT_WRONG = "The flat side must be square to the pipe: give another side."


def _fitting_wrong(leg: LegRow) -> Sentences:
    if leg.end in ("reducing_elbow", *RETURNS) and leg.turn_end is not None and not leg.near_to(leg.turn_end, QUARTER):
        yield f"The next leg turns by {degrees_said(leg.turn_end)}: this fitting is made for 90°."
    yield from _joint_wrong(leg)
    yield from _bend_wrong(leg)
    if leg.end == "lateral" and leg.kids and not leg.straight_kids:
        yield "One leg must go straight on from a lateral."
    if leg.end == "eccentric_reducer" and leg.kid and leg.more("flat") and leg.kid.shift is None:
        yield FLAT_WRONG


def _joint_wrong(leg: LegRow) -> Sentences:
    joint, small, turn = leg.end_joint, leg.end_joint in SMALL, leg.bend_turn
    if leg.end == "elbow" and small and turn is not None:  # noqa: SIM102 (which corner, and then which turn)
        if not any(leg.near_to(turn, stock) for stock in (QUARTER, HALF)):
            yield f"Socket and threaded elbows are 90 or 45; {degrees_said(turn)} cannot be made."
    if small and leg.end not in (*FOLLOWERS, "other", "cap", "socket_weld_flange", "threaded_flange"):
        yield f"There is no {joint} fitting of this kind: use other, with take-outs."
    if leg.end in FOLLOWERS and joint in ("fillet", "none"):
        yield "A fitting of this kind is butt, socket or threaded: say another joint (Leg details)."
    if leg.end in (*COUPLINGS, "union") and not small:
        yield "Couplings and unions are socket or threaded: say its joint (Leg details)."
    if leg.small_end and leg.end != "union":
        table = "socket_weld_fitting" if joint == "socket" else "threaded_fitting"
        if not leg.end_fitting_class:
            yield "Give the class of its socket or threaded fitting: 3000, 6000 … (More on legs)."
        elif not leg.route.facts.row(table, key=leg.end_fitting_key):
            yield f"There is no {joint} fitting of class {leg.end_fitting_class} in this size."


def _bend_wrong(leg: LegRow) -> Sentences:
    if leg.end == "bend" and leg.more_number("radius") is None and leg.typed_end is None:
        yield "Give the radius of the bend (More on legs)."
    typed = (leg.typed_end, leg.detail_number("takeout_out"), leg.detail_number("trim"))
    if leg.pulled and any(each is not None for each in typed):
        yield "A pulled bend is one pipe, bent at its radius: clear its take-outs and trim (Leg details)."
    if leg.pulled and leg.kid and leg.kid.schedule != leg.schedule:
        yield "A pulled bend is one pipe: both legs have one schedule."
    old = leg.stock == "old" or leg.first and leg.start_stock == "old"
    if leg.parent_row is not None and old and not leg.route.place("elbow_old_stock.size", leg.size):
        yield "The table of old-stock elbows has no such size."


def _pipe_wrong(leg: LegRow) -> Sentences:
    """What its own pipe does not allow."""
    ends = ((leg.end, leg.end_joint), (leg.start_kind, leg.start_joint))
    if leg.parent_row is not None and leg.made_up and any(how in SMALL and kind != "other" for kind, how in ends):
        yield "Socket and threaded fittings need a pipe between them, if only a nipple: no make-up."
    if leg.threaded and leg.wall is not None and leg.thread_depth is not None and leg.wall - leg.thread_depth <= HAIR:
        yield "Its pipe cannot be threaded: the thread is as deep as the wall."
    if leg.pulled and leg.item_rows:
        yield "A leg that runs into a pulled bend has no items: end it with weld before the bend."
    if leg.start_pulled and leg.of_items("at_start"):
        yield "A pulled bend is one pipe with the leg after it: no item stands against it."
    one_pipe = leg.pulled or leg.start_pulled
    if leg.start_pulled is not None and (leg.pulled and not leg.kids or one_pipe and leg.made_up):
        yield "A pulled bend needs a pipe on both sides."
    room = None if leg.straight is None or leg.gaps is None else leg.straight - leg.gaps
    bent = leg.start_pulled is not None and one_pipe and not leg.item_rows and not leg.made_up
    if bent and room is not None and room < -HAIR:
        yield "No straight pipe is left here: a pulled bend runs into what stands at the other end."
    if leg.inside and leg.item_rows:
        yield "The leg inside a return has no pipe, so no item."


def _differ(one: float | None, other: float | None, step: float | None) -> bool:
    """Whether two lengths are more than a step apart; what is not known is not."""
    return one is not None and other is not None and step is not None and abs(one - other) > step + HAIR


def _start_wrong(leg: LegRow) -> Sentences:
    """What is wrong with what it starts from."""
    if leg.first and leg.start_kind in FOLLOWERS and leg.start_joint in ("fillet", "none"):
        yield "What it starts with is butt, socket or threaded: say another joint (Spools)."
    if leg.first:
        yield from _beginning_wrong(leg)
    if leg.tee_wrong_start and leg.typed_start is None:
        yield _branch_words(leg.tee_wrong_start, leg.start_joint, leg.start_fitting_class)
    follow = leg.of_spool("joints")
    if follow in SMALL and leg.first and leg.start_kind == "cap" and not leg.of_spool("start_joint"):
        yield (
            f"The cap at the start does not follow the spool's joints: for a {follow} one say joint {follow} "
            "and its take-out, else joint butt (Spools)."
        )
    yield from _return_wrong(leg)
    if leg.first and leg.flat_along is not None and abs(leg.flat_along) > MOST_ALONG:
        yield FLAT_WRONG


def _beginning_wrong(leg: LegRow) -> Sentences:
    """What its spool starts with and the tables have not."""
    joint = leg.start_joint
    if leg.start_kind in (*COUPLINGS, "union") and joint not in SMALL:
        yield "It starts with what is socket or threaded: say the joint of the start (Spools)."
    if leg.small_at_start and leg.start_kind != "union" and leg.typed_start is None:
        table = "socket_weld_fitting" if joint == "socket" else "threaded_fitting"
        if not leg.start_fitting_class:
            yield "Give the class of the socket or threaded fitting that it starts with: 3000, 6000 … (Spools)."
        elif not leg.route.facts.row(table, key=leg.start_fitting_key):
            yield f"There is no {joint} fitting of class {leg.start_fitting_class} in this size to start with."
    taken = leg.typed_start is not None or positive(leg.route.facts.value(leg.reducer_start, "length")) is not None
    if leg.start_kind in REDUCERS and not taken:
        sizes = (leg.of_spool("size"), leg.size)
        asked = f"the table has none {sizes[0]} × {sizes[1]}, give others" if all(sizes) else "give two sizes"
        asked = "give two sizes" if sizes[0] == sizes[1] else asked
        told = "The reducer it starts with goes from the spool's size to the leg's"
        yield f"{told}: {asked}, or type its take-out (Spools)."


def _return_wrong(leg: LegRow) -> Sentences:
    before = leg.parent
    if before is None or leg.start_kind not in RETURNS:
        return
    if leg.inside:
        if leg.end != leg.start_kind:
            yield "The leg inside a return ends in the same return: give it that end."
        centres, step = before.return_centres, leg.route.step
        if _differ(leg.length, centres, step):
            yield (
                f"The return is {leg.route.said(centres or 0.0)} from centre to centre, "
                f"the drawing says {leg.route.said(leg.length or 0.0)}."
            )
    elif leg.way is not None and before.comes_in is not None and between(leg.way, -before.comes_in) > leg.route.near:
        yield "After a return the pipe runs back the way it came."


def _branch_words(wrong: int, joint: str, fitting_class: str) -> str:
    if wrong == 1:
        return (
            "Tees have branches up to the size of their run, here the branch is larger: "
            "type the take-outs (Leg details)."
        )
    return (
        f"There is no {joint} fitting of class {fitting_class} in the size of the branch: take another class, "
        "or type the take-outs (Leg details)."
    )


def _made_wrong(leg: LegRow) -> Sentences:
    """Fittings that nobody makes."""
    route, kid = leg.route, leg.kid
    if leg.tee_wrong and leg.typed_end is None:
        yield _branch_words(leg.tee_wrong, leg.end_joint, leg.end_fitting_class)
    follow = leg.of_spool("joints")
    if follow in SMALL and leg.end == "cap" and not leg.detail("joint"):
        yield (
            f"A cap does not follow its spool's joints: for a {follow} cap say joint {follow} and its take-out, "
            "else joint butt (Leg details)."
        )
    if leg.end == "reducing_elbow" and kid:
        small, large = sorted((route.nominal(leg.size), route.nominal(kid.size)))
        if kid.size == leg.size:
            yield "Both ends of this reducing elbow have one size: use elbow."
        if small < large / 2:
            yield (
                f"There is no reducing elbow {leg.size} × {kid.size}, they go down to half of the larger size: "
                "use an elbow and a reducer."
            )
    bend = leg.end == "bend" and route.step is not None
    if bend and leg.radius is not None and leg.od is not None and leg.radius <= leg.od / 2 + HAIR:
        yield (f"It cannot be bent: the radius must be over half of the outside diameter, {route.said(leg.od / 2)}.")


LEANS = "The branch does not stand square to the run: use lateral, or a stock tee that may be cocked."


def _tee_wrong(leg: LegRow) -> Sentences:
    if leg.end == "tee" and leg.role_end == "?" and len(leg.kids) == leg.square_kids == 1:
        yield "Say whether it enters the tee by run or branch (Leg details)."
    if leg.role_end == "?" and (len(leg.kids) > 1 or not leg.square_kids):
        yield LEANS
    if leg.end == "cross" and _out_of_line(leg):
        yield "The legs of a cross lie in two lines, square to one another."


def _join_wrong(leg: LegRow) -> Sentences:
    """How it meets the other legs where it starts."""
    others, alone = leg.others, leg.first and leg.elder is None
    square = sum(each.turn_class == 90 for each in leg.beside)
    asked = alone and leg.role_start == "?"
    if asked and others == square == 1:
        yield "Say whether the first leg enters the tee by run or branch (Spools)."
    leans = leg.role_start == "?" and leg.turn_class == -1
    if leans or asked and others is not None and (others > 1 or not square):
        yield LEANS
    if leg.start_kind in TEES and leg.near_to(leg.other_turn, 0.0):
        yield "Two legs leave the tee the same way."
    in_run = leg.start_kind == "tee" and leg.role_start == "run" and leg.turn_class == 90
    if in_run and leg.other_turn is not None and not leg.near_to(leg.other_turn, 180.0):
        yield "Of three legs at a tee two must be in line."
    if leg.start_kind == "tee" and others is not None and others > 2:
        yield "A tee joins three legs."
    if leg.elder and leg.start_kind not in (*TEES, "other", "lateral"):
        yield "Another leg starts here already: a tee or a lateral takes two, a cross three."
    if leg.start_kind == "lateral" and others is not None and others > 2:
        yield "A lateral joins three legs."
    if leg.start_kind == "cross" and others is not None and others > 3:
        yield "A cross joins four legs."
    yield from _sizes_wrong(leg)


def _out_of_line(leg: LegRow) -> bool:
    """Whether more than two legs would lie in a line of a cross, or two that do not lie in one."""
    square = [each.way for each in leg.kids if each.turn_class == 90 and each.way is not None]
    if leg.straight_kids > 1 or len(square) > 2:
        return True
    return len(square) == 2 and between(square[0], -square[1]) > leg.route.near


def _sizes_wrong(leg: LegRow) -> Sentences:
    run, branch = "Both legs of the run must have one size.", "Both branches of a cross must have one size."
    if leg.turn_class is None:
        return
    if leg.role_start == "run" and leg.turn_class == 0 and leg.size != leg.run_at_start:
        yield run
    if leg.start_kind != "cross":
        if leg.role_start == "run" and leg.other and leg.turn_class == 90 and leg.size != leg.other.size:
            yield run
        return
    turning = leg.parent.pointer if leg.parent else None
    if leg.role_start == "run" and leg.turn_class == 90 and turning and leg.size != turning.size:
        yield run
    facing = leg.parent if leg.turn_class == 0 else turning
    if leg.role_start == "branch" and facing and leg.size != facing.size:
        yield branch


def _size_changes(leg: LegRow) -> bool:
    ends = ({*CORNERS} - {"reducing_elbow"}) | {*RETURNS, "weld", "coupling", "union"}
    return leg.kid is not None and leg.end in ends and leg.kid.size != leg.size


def _facing_wrong(leg: LegRow) -> Sentences:
    sides = (
        (
            leg.end, leg.facing_end, leg.facing_more_end, leg.typed_end, leg.flange_class,
            "facing, or type the take-out.",
        ),
        (
            leg.start_kind, leg.facing_start, leg.facing_more_start, leg.typed_start, leg.start_class,
            "facing for the start, or type its take-out.",
        ),
    )  # fmt: skip
    for kind, facing, more, typed, flange_class, tail in sides:
        if facing == "RTJ" and more is None and typed is None:
            yield (
                f"The tables have no ring joint facing for {kind_words(kind, '')}, class {flange_class}, "
                f"size {leg.size}: choose another {tail}"
            )


def _elsewhere(leg: LegRow) -> Sentences:
    """What other sheets say of it."""
    route = leg.route
    if leg.spool_row and route.cell("spools.stops", leg.spool_row):
        yield "See the Spools sheet."
    if route.cell("details.stops", leg.number):
        yield "See Leg details."
    if route.cell("more.stops", leg.number):
        yield "See More on legs."
    outlets = {*leg.outlet_rows, leg.outlet_row} - {0}
    if any(route.cell("outlets.stops", row) for row in outlets):
        yield "See Outlets."
    if any(route.cell("items.stops", row) for row in leg.item_rows):
        yield "See Items."
    if leg.made_up and leg.item_rows:
        yield "A leg made up fitting to fitting has no room for an item."


def _closing_wrong(leg: LegRow) -> Sentences:
    """Where its end does not follow from what is said of it."""
    if leg.shift is not None and any(leg.missed):
        yield "After an eccentric reducer give only coordinates along the leg: its centreline is shifted."
    up, fall = leg.to_point[2], leg.fall
    if leg.adrift and leg.falls_to and fall is not None and up is not None:
        goes = "It does not fall" if fall == 0 else "It falls" if fall > 0 else "It rises"
        stands = "as high as" if abs(up) <= HAIR else "higher than" if up > 0 else "lower than"
        yield f"{goes}, but its end is {stands} its start: see the fall and the elevation."
    elif leg.adrift:
        yield (
            "Nothing says how far it runs along its bearing: give a run, or a point that lies that way (More on legs)."
        )


AT_END, AT_START = ("turn_stops", "fitting_stops", "made_stops", "tee_stops"), ("start_stops", "join_stops")
"""What is said of the fittings at a leg's ends, which others may share."""


def shared_faults(route: Route, found: Mapping[int, Mapping[str, Sequence[str]]]) -> dict[Place, Value]:
    """Which ends of which legs meet at a fitting of which something is said, at whichever of its legs."""
    at_start = {number: any(each[name] for name in AT_START) for number, each in found.items()}
    at_end = {
        leg.number: any(found[leg.number][name] for name in AT_END) or any(at_start[kid.number] for kid in leg.kids)
        for leg in route.legs
    }
    cells: dict[Place, Value] = {}
    for leg in route.legs:
        cells["legs.start_told", leg.at] = flag(at_start[leg.number])
        cells["legs.end_told", leg.at] = flag(at_end[leg.number])
        cells["legs.end_wrong", leg.at] = flag(_end_wrong(leg, at_end))
        if leg.start_node is None:
            wrong: Value = None
        elif leg.outlet_row:
            wrong = 0.0
        elif leg.parent:
            wrong = flag(_end_wrong(leg.parent, at_end))
        else:
            wrong = flag(any(at_start[each.number] for each in leg.beside))
        cells["legs.start_wrong", leg.at] = wrong
    return cells


def _end_wrong(leg: LegRow, at_end: Mapping[int, bool]) -> bool:
    """A return is one fitting from the leg before it to the leg after it."""
    twin = leg.parent if leg.inside else leg.kid if leg.end in RETURNS else None
    return at_end[leg.number] or twin is not None and at_end[twin.number]


def stops_of(leg: LegRow) -> dict[str, list[str]]:
    """What cannot be made of a leg: every sentence, and those of the columns that gather them."""
    parts = {
        "turn_stops": [*_turn_wrong(leg)],
        "fitting_stops": [*_fitting_wrong(leg)],
        "made_stops": [*_made_wrong(leg)],
        "tee_stops": [*_tee_wrong(leg)],
        "start_stops": [*_start_wrong(leg)],
        "join_stops": [*_join_wrong(leg)],
        "pipe_stops": [*_pipe_wrong(leg)],
        "facing_stops": [*_facing_wrong(leg)],
        "closing_stops": [*_closing_wrong(leg)],
    }
    told = [*_typed_wrong(leg), *_row_wrong(leg)]
    for name in (*AT_END, *AT_START, "pipe_stops", "facing_stops"):
        told += parts[name]
    if leg.end and leg.spool_row and leg.takeout_end is None:
        before = any(parts[name] for name in (*AT_END, "facing_stops"))
        told.append(
            "No take-out for its end: the leg after it has no length."
            if leg.kid and leg.kid.way is None
            else f"No take-out for its end: {'see the message before, or ' if before else ''}type one (Leg details)."
        )
    if leg.start_kind and leg.takeout_start is None:
        where = "see the leg before, or type one"
        if leg.first:
            where = "see the Spools sheet, or type one there"
        told.append(f"No take-out for its start: {'see Outlets' if leg.outlet_row else where}.")
    told += [*_elsewhere(leg), *parts["closing_stops"]]
    if leg.close_said and leg.close_row is None:
        told.append("It closes to a leg that is not above it.")
    return {**parts, "stops": told}


# -- what to look at ---------------------------------------------------------------------------------------------------


def _taper(leg: LegRow, off: float) -> float | None:
    return None if leg.od is None or leg.route.step is None else leg.od * math.tan(math.radians(off))


def _over_caution(leg: LegRow, off: float, advice: str) -> str:
    most = leg.route.rule("cocked_max")
    if most is None or off <= most + HAIR:
        return "."
    return f", over the caution of {degrees_said(most)}: {advice}."


def _elbow_cautions(leg: LegRow) -> Sentences:
    turn, fit, route = leg.bend_turn, leg.fit_turn, leg.route
    if leg.end in CORNERS and leg.kept and turn is not None and fit is not None and not leg.near_to(turn, fit):
        off = abs(turn - fit)
        taper = _taper(leg, off)
        if taper is not None:
            advice = _over_caution(leg, off, "cut the elbow or share it between both joints")
            yield (
                f"Stock elbow cocked by {degrees_said(off, 2)}: the gap tapers by {route.said(taper)} "
                f"if one joint takes it all{advice}"
            )
    nominal = route.nominal(leg.size) * (1.0 if route.edition == "inch" else 25.0)
    bend = leg.end == "bend" and route.step is not None
    if bend and leg.radius is not None and leg.od is not None and leg.od / 2 + HAIR < leg.radius < nominal - HAIR:
        yield (
            f"Tight: a bend of less than one nominal size, {route.said(nominal)}, flattens and wrinkles; "
            "ask the bender (common practice, no source)."
        )


def _thread_caution(leg: LegRow) -> Sentences:
    wall, depth, usual = leg.wall, leg.thread_depth, leg.standard_wall
    if not leg.threaded or wall is None or depth is None or usual is None:
        return
    if wall < usual - HAIR and wall - depth > HAIR:
        left, takes, rest = (thin(leg.route, size) for size in (wall, depth, wall - depth))
        yield (
            f"Thin for a thread: {left} of wall, the thread takes {takes}, {rest} is left. "
            "Lighter than standard weight is not threaded (common practice, no source)."
        )


def _closing_cautions(leg: LegRow) -> Sentences:
    route = leg.route
    if route.step is None:
        return
    missed = "".join(leg.missed_said())
    if leg.shift is None and missed:
        yield f"Misclosure to its point: {missed[2:]}."
    if leg.misclosed is None or leg.finish is None or leg.closing_point is None:
        return
    if not route.steps(leg.misclosed):
        yield f"Closes on {leg.close_said}."
        return
    words = f"Misclosure to {leg.close_said}: {route.said(leg.misclosed)}"
    ways = ((" too far east", " too far west"), (" too far north", " too far south"), (" too high", " too low"))
    for off, (over, under) in zip(leg.finish - leg.closing_point, ways, strict=True):
        if route.steps(float(off)):
            words += f", {route.said(abs(float(off)))}{over if off > 0 else under}"
    yield words + "."


def _tee_cautions(leg: LegRow) -> Sentences:
    turn = leg.turn_start
    if not leg.cocked_tee or turn is None or leg.turn_class != 90 or leg.near_to(turn, QUARTER):
        return
    off = abs(turn - QUARTER)
    assert off <= COCKED + HAIR
    taper = _taper(leg, off)
    if taper is not None:
        advice = _over_caution(leg, off, "share it or cut the branch")
        told = f"the gap at its branch tapers by {leg.route.said(taper)}"
        yield f"Stock {leg.start_kind} cocked by {degrees_said(off, 2)}: {told}{advice}"


def _reducer_cautions(leg: LegRow) -> Sentences:
    if leg.shift is not None and leg.route.step is not None:
        way = "towards" if leg.shift >= 0 else "away from"
        yield f"Its centreline is {leg.route.said(abs(leg.shift))} {way} the flat side of the reducer ({leg.flat})."


def _make_up_caution(leg: LegRow) -> Sentences:
    difference, route = leg.make_up_difference, leg.route
    if difference is None or leg.length is None or route.step is None:
        return
    words = f"Make-up gives {route.said(leg.length + difference)}, the drawing {route.said(leg.length)}: "
    if not route.steps(difference):
        yield words + "they agree."
    else:
        yield words + f"{route.said(abs(difference))} {'longer' if difference > 0 else 'shorter'}."


def _facing_cautions(leg: LegRow) -> Sentences:
    start_ring = text(leg._ring(leg.start_class).get("ring"))
    end_ring = text(leg._ring(leg.flange_class).get("ring"))
    sides = (
        ("Start", leg.facing_start, start_ring, leg.facing_more_start, leg.typed_start, leg.gasket_start),
        ("End", leg.facing_end, end_ring, leg.facing_more_end, leg.typed_end, leg.gasket_end),
    )
    for side, facing, ring, more, typed, gasket in sides:
        if more is None or gasket is None or leg.route.step is None:
            continue
        holds = ["flat face" if facing == "FF" else f"ring joint {ring}"] if more != 0 and typed is None else []
        holds += [f"gasket {thin(leg.route, gasket)}"] if gasket > 0 else []
        if holds:
            yield f"{side}: take-out with {' and '.join(holds)}."


BUTT_ONLY = {*REDUCERS, *RETURNS, "elbow_short_radius", "elbow_3d", "reducing_elbow", "lateral"}


def _butt_only_cautions(leg: LegRow) -> Sentences:
    """Fittings that a socket or threaded spool has in another make."""
    follow = leg.of_spool("joints")
    ends = [(leg.end, "end", "Leg details")]
    if leg.first:
        ends.append((leg.start_kind, "start", "Spools"))
    for kind, where, sheet in ends if follow in SMALL else ():
        if kind in BUTT_ONLY or kind == "bend" and not leg.pulled:
            yield (
                f"At its {where}: {kind_words(kind, 'butt')}, butt-welded, with a root gap; "
                f"for a {follow} one say other ({sheet})."
            )


def cautions_of(leg: LegRow) -> dict[str, list[str]]:
    """What is to be looked at on a leg: every sentence, and those of the columns that gather them."""
    parts = {
        "elbow_cautions": [*_elbow_cautions(leg)],
        "closing_cautions": [*_closing_cautions(leg)],
        "tee_cautions": [*_tee_cautions(leg)],
        "reducer_cautions": [*_reducer_cautions(leg)],
        "facing_cautions": [*_facing_cautions(leg)],
    }
    told = ["No leg follows: the elbow is taken as a quarter turn."] if leg.end in CORNERS and not leg.kids else []
    if leg.end in TEES and not leg.kids:
        told.append(f"No leg follows: the {leg.end} is taken as entered by its {leg.role_end}.")
    if leg.end == "cross" and len(leg.kids) in (1, 2):
        bare = "One opening of the cross stays" if len(leg.kids) == 2 else "Two openings of the cross stay"
        told.append(f"{bare} bare.")
    told += [*_butt_only_cautions(leg), *parts["elbow_cautions"], *_thread_caution(leg)]
    if leg.end == "eccentric_reducer" and not leg.more("flat"):
        told.append(
            "Eccentric, and nothing says which side is flat: "
            "the next leg is drawn on the same centreline (More on legs)."
        )
    told += [*parts["closing_cautions"], *parts["tee_cautions"], *parts["reducer_cautions"], *_make_up_caution(leg)]
    if leg.typed_end is not None or leg.typed_start is not None:
        told.append("✎ take-out typed.")
    told += parts["facing_cautions"]
    if leg.memory_start is not None and leg.memory_start + leg.memory_end > 0:
        told.append("† a take-out rests on a value from memory.")
    return {**parts, "cautions": told}


# -- the cells ---------------------------------------------------------------------------------------------------------


def written(sentences: list[str]) -> str:
    """Sentences as a cell holds them."""
    return "".join(f"{sentence} " for sentence in sentences)


def expected_route_rows(book: Live) -> dict[Place, Value]:
    """Everything that the rows of the Route hold, worked out and said, by name and row."""
    route = Route(book)
    found = cells_of(route)
    counts = [0, 0]
    wrong = {leg.number: stops_of(leg) for leg in route.legs}
    found |= shared_faults(route, wrong)
    for leg in route.legs:
        stops, cautions = wrong[leg.number], cautions_of(leg)
        told: dict[str, Any] = {name: written(each) or None for name, each in (stops | cautions).items()}
        counts[0] += bool(stops["stops"])
        counts[1] += bool(cautions["cautions"])
        told |= {"stopped": float(bool(stops["stops"])), "cautioned": float(bool(cautions["cautions"]))}
        if route.step is not None:
            words = leg.missed_said()
            told |= {f"{axis}_missed": words[at] or None for at, axis in enumerate(("east", "north", "up"))}
        found |= {(f"legs.{name}", leg.at): value for name, value in told.items()}
    found["route.legs_told", 0] = f"{counts[0]} ✗, {counts[1]} to look at"
    return found


# -- scenes ------------------------------------------------------------------------------------------------------------

SHEETS = ("route",)
BUILT = (
    "rules", "spools", "route", "details", "leg_more", "outlets", "items", "cutlist", "cut_steps", "ends", "fitup",
    "key", "tables_used",
)  # fmt: skip
RULES: tuple[tuple[str, Value], ...] = (
    ("precision", 1 / 3), ("precision", None), ("root_gap", None), ("stock_angle_within", None), ("cocked_max", None),
    ("slip_on_setback", None), ("socket_pullback", None), ("thread_make_up_by", "shop practice"), ("cocked_max", 2.0),
    ("stock_angle_within", 2.5),
)  # fmt: skip
"""What a rule may be otherwise: blank, or another's."""


Made = Callable[[Live], tuple[Mapping[Place, Value], Sequence[Case]]]


def held(book: Live, typed: Mapping[Place, Value]) -> dict[Place, Value]:
    """What the Route must hold with these cells typed into a workbook, which is then as before."""
    book.put_all(typed)
    found = expected_route_rows(book)
    book.reset()
    book.calculate()
    return found


def _by_hand(edition: str, seeds: Sequence[int], book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """Spools typed into a blank workbook: a sound plan and one with slips by turns."""
    states = [(f"by hand {seed}", hand_routes.by_hand(edition, seed, 0.4 if seed % 3 == 2 else 0.0)) for seed in seeds]
    _, first = states[0]
    blank: dict[Place, Value] = dict.fromkeys(first)
    return first, [Case(name, {**blank, **typed}, held(book, typed)) for name, typed in states]


def _rare(edition: str, book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """Spools that chance hardly brings."""
    states = {name: rare_routes.exactly(edition, spools) for name, spools in rare_routes.RARE.items()}
    places = {place for typed in states.values() for place in typed}
    blank: dict[Place, Value] = dict.fromkeys(sorted(places))
    return blank, [Case(name, {**blank, **typed}, held(book, typed)) for name, typed in states.items()]


def _ruled(edition: str, book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """Such spools with other rules."""
    first = hand_routes.by_hand(edition, 100, 0.0)
    cases = [Case("by hand", first, held(book, first))]
    for name, value in RULES:
        other: dict[Place, Value] = {(f"rules.{name}", 0): value}
        cases.append(Case(f"{name} {value}", other, held(book, {**first, **other}), own=False))
    return first, cases


def _cautioned(edition: str, book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    """Stock fittings that are cocked, and a caution with more digits than are said."""
    chosen = [*rare_routes.RARE["more corners"][:3], *rare_routes.COCKED]
    first = rare_routes.exactly(edition, chosen)
    cases = [Case("cocked", first, held(book, first))]
    for most in (2.04, 2.96, None):
        other: dict[Place, Value] = {("rules.cocked_max", 0): most}
        cases.append(Case(f"caution at {most}", other, held(book, {**first, **other}), own=False))
    return first, cases


def _of_job(book: Live) -> tuple[Mapping[Place, Value], Sequence[Case]]:
    return {}, [Case("as built", {}, expected_route_rows(book))]


def scenes() -> list[Scene]:
    """The Route of spools typed by hand in both editions, and of pipes with outlets."""
    seeds = [("inch", range(1, 12)), ("mm", range(12, 18)), ("inch", range(23, 34))]

    def scene(name: str, edition: str, made: Made) -> Scene:
        return Scene(f"route {name} {edition}", edition, lambda: None, made, SHEETS, BUILT)

    return [
        *(scene(f"by hand, from {those[0]}", edition, partial(_by_hand, edition, those)) for edition, those in seeds),
        *(scene("rarely met", edition, partial(_rare, edition)) for edition in ("inch", "mm")),
        scene("cocked", "inch", partial(_cautioned, "inch")),
        *(scene("by other rules", edition, partial(_ruled, edition)) for edition in ("inch", "mm")),
        Scene("route of lines by bearing", "inch", lambda: rare_routes.LINES, _of_job, SHEETS, BUILT),
        Scene("route of bent pipes", "inch", lambda: BENT, _of_job, SHEETS, BUILT),
        Scene("route of a header", "inch", lambda: HEADER, _of_job, SHEETS, BUILT),
    ]
