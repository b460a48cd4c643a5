"""How cells look: four kinds told apart without colour, number formats by kind of unit, widths for Arial.

Typed cells are boxed and unlocked, computed ones plain, looked-up ones italic, verdicts carry a sign. Colour comes
second.
"""

from __future__ import annotations

import re
from typing import Any

from .book import Field
from .errors import TemplateError, unknown
from .template import Column, Constant, Input, Result

FONT = "Arial"
SIZE = 10
INK = "#1B2631"
QUIET = "#566573"
PAPER_TYPED = "#FDF6E3"
PAPER_HEAD = "#E8ECEF"
PAPER_BAND = "#D5DBDF"
PAPER_CAUTION = "#FBE9DD"
PAPER_GOOD = "#DCEBF7"
PAPER_BAD = "#F7CFAE"
PAPER_OPEN = "#EEEEEE"

PENCIL = "✎"
DAGGER = "†"

FRACTION = "# ??/??"

COMPUTED = {
    "length": {"inch": "0.000", "mm": "0.0"},
    "angle": {"inch": "0.00", "mm": "0.00"},
    "mass": {"inch": "0.0", "mm": "0.0"},
    "mass_per_length": {"inch": "0.00", "mm": "0.00"},
    "area": {"inch": "0.000", "mm": "0"},
    "volume": {"inch": "0.00", "mm": "0"},
    "slope": {"inch": "0.000", "mm": "0.0"},
    "number": {"inch": "General", "mm": "General"},
    "money": {"inch": "#,##0.00", "mm": "#,##0.00"},
    "date": {"inch": "yyyy-mm-dd", "mm": "yyyy-mm-dd"},
    "text": {"inch": "General", "mm": "General"},  # in a cell of text format an edited formula turns into its own text
}
TYPED = {
    "text": {"inch": "@", "mm": "@"},  # so that a size typed as 1/2 stays one
    "length": {"inch": FRACTION, "mm": "0.##"},
    "slope": {"inch": FRACTION, "mm": "0.##"},
    "angle": {"inch": "0.##", "mm": "0.##"},
}
NAMED = {
    "fraction": {"inch": FRACTION, "mm": "0"},
    "whole": {"inch": "0", "mm": "0"},
    "count": {"inch": "0", "mm": "0"},
    "clock": {"inch": "0.0", "mm": "0.0"},
    "fine": {"inch": "0.0000", "mm": "0.00"},
    "one": {"inch": "0.0", "mm": "0.0"},
    "ratio": {"inch": "0.00", "mm": "0.00"},
}


RAW = re.compile(r"[0#?@]|General|yy")
"""What a spreadsheet's own number format holds at least one of."""


def number_format(field: Field, edition: str) -> str:
    """A field's number format: what it declares by name, else what its kind asks for."""
    if field.format:
        named = NAMED.get(field.format)
        if named is None and not RAW.search(field.format):
            raise TemplateError(
                f"unknown format {field.format!r}", file=field.file, place=field.name,
                allowed=unknown(field.format, NAMED, "formats"),
            )  # fmt: skip
        return named[edition] if named else field.format
    if field.typed and field.unit_kind in TYPED:
        return TYPED[field.unit_kind][edition]
    return COMPUTED.get(field.unit_kind, COMPUTED["number"])[edition]


def is_lookup(field: Field) -> bool:
    """Whether a field's values come from a reference table."""
    return field.kind == "reference" or isinstance(field.declared, Column) and field.declared.lookup


def is_verdict(field: Field) -> bool:
    """Whether a field holds verdicts."""
    return isinstance(field.declared, (Column, Result)) and field.declared.verdict


def cell_look(field: Field, edition: str) -> dict[str, Any]:
    """Properties of a field's cells."""
    look: dict[str, Any] = {
        "font_name": FONT, "font_size": SIZE, "font_color": INK, "valign": "vcenter",
        "num_format": number_format(field, edition),
    }  # fmt: skip
    if field.unit_kind in ("text", "date"):
        look["align"] = "left"
        look["indent"] = 1
        if field.kind in ("column", "reference") and not field.typed:
            look["text_wrap"] = True
    if field.typed:
        look |= {"border": 1, "border_color": "#7B8A97", "bg_color": PAPER_TYPED, "locked": False}
    elif field.kind == "column" or field.kind == "reference":
        look |= {"bottom": 4, "bottom_color": "#AEB6BD"}
    if is_lookup(field):
        look["italic"] = True
    if is_verdict(field):
        look["bold"] = True
    if isinstance(field.declared, (Constant, Input, Result)) and not field.typed:
        look |= {"align": "left" if field.unit_kind in ("text", "date") else "right"}
    return look


def single_look(field: Field, edition: str) -> dict[str, Any]:
    """Properties of a typed cell that holds a formula: a computed number, which is no round fraction."""
    return cell_look(field, edition) | {"num_format": COMPUTED.get(field.unit_kind, COMPUTED["number"])[edition]}


def shown_unit(field: Field) -> str:
    """The unit beside a cell; a date speaks for itself."""
    return "" if field.unit_kind == "date" else field.unit


def text_look(style: str) -> dict[str, Any]:
    """Properties of running text and headings."""
    base: dict[str, Any] = {"font_name": FONT, "font_size": SIZE, "font_color": INK, "valign": "vcenter"}
    extra: dict[str, dict[str, Any]] = {
        "title": {"font_size": 18, "bold": True},
        "headline": {"font_size": SIZE, "align": "right", "font_color": QUIET},
        "purpose": {"font_size": 11, "text_wrap": True},
        "heading": {"font_size": 13, "bold": True, "bottom": 2},
        "table": {"font_size": 13, "bold": True},
        "text": {"text_wrap": True},
        "note": {"text_wrap": True, "font_color": QUIET},
        "source": {"text_wrap": True, "font_color": QUIET, "italic": True},
        "caution": {"text_wrap": True, "bold": True, "bg_color": PAPER_CAUTION, "left": 5},
        "label": {"text_wrap": True},
        "unit": {"font_color": QUIET},
        "head": {"bold": True, "text_wrap": True, "bg_color": PAPER_HEAD, "align": "center", "top": 2},
        "band": {"bold": True, "bg_color": PAPER_BAND, "align": "center", "left": 1, "right": 1},
        "head_unit": {"bg_color": PAPER_HEAD, "align": "center", "font_color": QUIET, "bottom": 2},
        "seed": {"bg_color": PAPER_HEAD, "font_size": 4},
        "sample": {"align": "center", "text_wrap": True},
    }
    return base | extra[style]
