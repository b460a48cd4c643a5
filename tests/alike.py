"""Where a workbook and the walk differ: legs, pieces and totals, cell by cell, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from paperwork import in_feet, said
from walk import Beside, Leg, Piece, Spool, Walk

NEAR = 1e-8
"""Relative: angles go through arc functions in another way than the sheet's."""

Values = dict[str, list[Any]]


@dataclass
class Rows:
    """A workbook's values with the rows that belong to a leg, piece or item."""

    values: Values

    def __post_init__(self) -> None:
        self.piece_row = {mark: row for row, mark in enumerate(self.values["cuts.mark"]) if mark}

    def leg(self, leg: Leg, column: str) -> Any:
        return self.values[f"legs.{column}"][leg.row]

    def piece(self, piece: Piece, column: str) -> Any:
        row = self.piece_row[piece.mark]
        table = "pieces" if f"pieces.{column}" in self.values else "cuts"
        return self.values[f"{table}.{column}"][row]

    def items(self, leg: Leg) -> list[Beside]:
        """The items of a leg in the order in which they stand, as the workbook has them."""
        keys = zip(self.values["items.spool"], self.values["items.leg"], strict=True)
        rows = [row for row, key in enumerate(keys) if key == (leg.spool, leg.name)]
        rows.sort(key=lambda row: float(self.values["items.centre"][row]))
        columns = [self.values[f"items.{name}"] for name in ("half", "side_take", "share")]
        return [Beside(*(column[row] for column in columns)) for row in rows]


def same(book: Any, walk: Any) -> bool:
    """Whether the workbook and the walk agree; a blank is None."""
    book = None if book == "" else book
    if book is None or walk is None or isinstance(walk, (str, bool)):
        return bool(book) is walk if isinstance(walk, bool) else book == walk
    return bool(abs(book - walk) <= NEAR * max(1.0, abs(walk)))


def unlike(place: str, pairs: dict[str, tuple[Any, Any]]) -> Iterator[str]:
    for name, (book, walk) in pairs.items():
        if not same(book, walk):
            yield f"{place}: {name}: the workbook has {book!r}, the walk {walk!r}"


def legs_unlike(rows: Rows, spool: Spool) -> Iterator[str]:
    """Where a spool's rows on the Route are not what the walk finds."""
    for leg in spool.legs:
        pairs: dict[str, tuple[Any, Any]] = {
            "spool": (rows.leg(leg, "spool"), leg.spool),
            "leg": (rows.leg(leg, "leg"), leg.name),
            "length": (rows.leg(leg, "length"), leg.length),
            "direction": (rows.leg(leg, "direction"), direction(leg)),
            "turn_start": (rows.leg(leg, "turn_start"), leg.turn_start),
            "turn_end": (rows.leg(leg, "turn_end"), leg.turn_end),
            "od": (rows.leg(leg, "od"), leg.od),
            "wall": (rows.leg(leg, "wall"), leg.wall),
            "share_start": (rows.leg(leg, "share_start"), leg.at_start.gaps),
            "share_end": (rows.leg(leg, "share_end"), leg.at_end.gaps),
            "piece_count": (rows.leg(leg, "piece_count"), len(leg.pieces)),
            "field_welds": (rows.leg(leg, "field_welds"), leg.field_welds),
            "roll_at_end": (rows.leg(leg, "roll_at_end"), leg.roll.hours if leg.roll else None),
            "roll_degrees": (rows.leg(leg, "roll_degrees"), leg.roll.degrees if leg.roll else None),
            "roll_arc": (rows.leg(leg, "roll_arc"), leg.roll.arc if leg.roll else None),
        }
        for at, axis in enumerate("xyz"):
            pairs[f"{axis}_start"] = (rows.leg(leg, f"{axis}_start"), float(leg.start[at]))
            pairs[f"{axis}_end"] = (rows.leg(leg, f"{axis}_end"), float(leg.end[at]))
        for side, end, node in (("start", leg.at_start, leg.node), ("end", leg.at_end, leg.end_node)):
            # where legs cannot meet as they do, the workbook says so, and a take-out more or less tells nothing
            if not node.wrong - {"takeout", "run sizes"}:
                pairs[f"takeout_{side}"] = (rows.leg(leg, f"takeout_{side}"), end.takeout)
                if end.takeout is not None:
                    pairs[f"memory_{side}"] = (rows.leg(leg, f"memory_{side}"), end.doubtful)
                pairs[f"role_{side}"] = (rows.leg(leg, f"role_{side}"), end.role or None)
        if not leg.node.wrong | leg.end_node.wrong:
            pairs["shop_welds"] = (rows.leg(leg, "shop_welds"), leg.shop_welds)
            gaps = 1 if leg.make_up is not None else leg.at_start.gaps + leg.at_end.gaps
            pairs["gaps"] = (rows.leg(leg, "gaps"), gaps * rows.values["rules.root_gap"][0])
            if leg.make_up is not None:
                pairs["make_up_difference"] = (rows.leg(leg, "make_up_difference"), leg.make_up - leg.length)
        yield from unlike(f"{leg.spool} {leg.name}", pairs)


def pieces_unlike(rows: Rows, spool: Spool, walk: Walk) -> Iterator[str]:
    """Where a spool's pieces are not what the walk finds."""
    for leg in spool.legs:
        if (leg.node.wrong | leg.end_node.wrong) - {"run sizes"} or any(item.beside is None for item in leg.items):
            continue  # what cannot be made: `test_what_cannot_be_made_is_said`
        for piece in leg.pieces:
            pairs = {
                "spool": (rows.piece(piece, "spool"), leg.spool),
                "leg": (rows.piece(piece, "leg"), leg.name),
                "size": (rows.piece(piece, "size"), leg.size),
                "schedule": (rows.piece(piece, "schedule"), leg.schedule),
                "cut_length": (rows.piece(piece, "cut_length"), piece.cut_length),
                "mass": (rows.piece(piece, "mass"), piece.mass),
                "trim": (rows.piece(piece, "trim"), piece.trim),
                "shrinkage": (rows.piece(piece, "shrinkage"), piece.shrinkage),
                "bevel_face": (rows.piece(piece, "bevel_face"), piece.bevel_face),
                "bevel_depth": (rows.piece(piece, "bevel_depth"), piece.bevel_depth),
                "memory": (rows.piece(piece, "memory"), piece.doubtful),
                "field_weld": (rows.piece(piece, "field_weld"), "FW" if piece.field_ends else None),
            }
            if piece.cut_length is not None:
                dagger = "†" if piece.doubtful else ""
                step = walk.rules["precision"]
                pairs["cut_text"] = (rows.piece(piece, "cut_text"), said(piece.cut_length, step, walk.edition) + dagger)
                if walk.edition == "inch":
                    pairs["cut_feet"] = (rows.piece(piece, "cut_feet"), in_feet(piece.cut_length, step))
            yield from unlike(piece.mark, pairs)
        places = [float(row) for row in sorted(each.centre for each in leg.items)]
        keys = zip(rows.values["items.spool"], rows.values["items.leg"], strict=True)
        found = [rows.values["items.centre"][row] for row, key in enumerate(keys) if key == (leg.spool, leg.name)]
        yield from unlike(f"{leg.spool} {leg.name}", {"items": (len(found), len(places))})
        for at, (book, place) in enumerate(zip(sorted(found), places, strict=True)):
            yield from unlike(f"{leg.spool} {leg.name} item {at + 1}", {"centre": (book, place)})


def totals_unlike(rows: Rows, walk: Walk) -> Iterator[str]:
    """Where the rows of the Spools sheet are not the walk's sums."""
    for at, spool in enumerate(walk.spools):
        if spool.wrong - {"run sizes"}:
            continue
        pieces = [piece for leg in spool.legs for piece in leg.pieces]
        pairs = {
            "mark": spool.mark,
            "legs": len(spool.legs),
            "pieces": len(pieces),
            "pipe": sum(piece.cut_length or 0.0 for piece in pieces),
            "pipe_mass": sum(piece.mass or 0.0 for piece in pieces),
            "shop_welds": sum(leg.shop_welds for leg in spool.legs),
            "field_welds": sum(leg.field_welds for leg in spool.legs),
        }
        yield from unlike(
            spool.mark, {name: (rows.values[f"spools.{name}"][at], value) for name, value in pairs.items()}
        )


def direction(leg: Leg) -> str:
    """Compass and slope in words."""

    def shown(angle: float) -> str:
        return f"{math.floor(round(angle * 10, 6) + 0.5) / 10:g}°"

    east, north, up = (0.0 if abs(each) <= 1e-9 else float(each) for each in leg.vector)
    words = []
    if east or north:
        word = "north" if north > 0 else "south" if north < 0 else ""
        if east and north:
            word += f" {shown(math.degrees(math.atan(abs(east / north))))} "
        words.append(word + ("east" if east > 0 else "west" if east < 0 else ""))
    if up:
        slope = f" {shown(math.degrees(math.asin(abs(up) / leg.length)))}" if words else ""
        words.append(("up" if up > 0 else "down") + slope)
    return ", ".join(words)


# -- what is said ------------------------------------------------------------------------------------------------------


def unsaid(walk: Walk, rows: Rows, sentences: Mapping[str, Sequence[str]]) -> list[str]:
    """A spool that cannot be made has a message in one of its rows at least, one that can has none.

    Args:
        sentences: by the walk's word for a mistake, what the Route may say of it.
    """
    found: list[str] = []
    for spool in walk.spools:
        pieces = [piece for leg in spool.legs for piece in leg.pieces]
        told = [rows.leg(leg, "stops") for leg in spool.legs] + [rows.piece(piece, "stops") for piece in pieces]
        if bool("".join(told)) != bool(spool.wrong):
            found.append(f"{spool.mark}: wrong is {spool.wrong or 'nothing'}, and the workbook says {told}")
        for node in spool.nodes:
            for word in node.wrong - {"takeout"}:
                legs = [arm.leg for arm in node.arms]
                if not any(sentence in rows.leg(leg, "stops") for leg in legs for sentence in sentences[word]):
                    found.append(f"{spool.mark}: nothing is said of {word}")
    return found


IN_LINE = "Of three legs at a tee two must be in line."
SENTENCES: Mapping[str, Sequence[str]] = {
    "no turn": ["No turn here: use weld."],
    "over 90": ["cannot be made with one elbow"],
    "turns": ["this end makes no turn"],
    "lateral": ["use lateral, or a stock tee that may be cocked", IN_LINE],
    "enters": ["by run or branch"],
    "run sizes": ["Both legs of the run must have one size."],
    "in line": [IN_LINE],
}
"""What the Route says of the mistakes that the plain walk knows."""
