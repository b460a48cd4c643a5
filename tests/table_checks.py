"""Checks over the reference tables, each a function from a library to its findings.

A check gives one sentence for each value that does not fit, and one for each listed exception that no longer occurs: a
list of exceptions can neither grow nor rot unseen. The tests run them over the tables that ship, where they must find
nothing, and over spoiled copies, where they must find the spoiled value.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from itertools import pairwise

from workbook_builder.tables import Edition, Library, Table, Value

EDITIONS: tuple[Edition, ...] = ("inch", "mm")

STATUSES = ("published, seen twice", "published, seen once", "corrected misprint", "from memory, verify")

Row = Mapping[str, Value]


def settle(found: Mapping[str, str], allowed: Mapping[str, str]) -> list[str]:
    """Findings that are not allowed, and allowed ones that did not occur."""
    new = [f"{key}: {said}" for key, said in found.items() if key not in allowed]
    return new + [
        f"{key}: listed as an exception ({why}), but it fits" for key, why in allowed.items() if key not in found
    ]


def number(row: Row, name: str) -> float:
    """A cell that must hold a number."""
    value = row[name]
    assert isinstance(value, (int, float)), f"{name} is {value!r} in {dict(row)}"
    return value


def text(row: Row, name: str) -> str:
    """A cell that must hold text."""
    value = row[name]
    assert isinstance(value, str), f"{name} is {value!r} in {dict(row)}"
    return value


def label(table: Table, row: Row) -> str:
    """What tells a row apart, in words."""
    by_name = {one.name: one.quantity for one in table.fields}
    return "|".join(str(row[by_name[name]]) for name in table.primary_key)


def by_size(library: Library) -> dict[str, Row]:
    """Rows of the sizes table, inch edition."""
    return {text(row, "size"): row for row in library.table("nominal_size").rows("inch")}


def nominal(library: Library) -> dict[str, float]:
    """Decimal of each nominal size."""
    return {size: number(row, "nominal") for size, row in by_size(library).items()}


def measured(table: Table, edition: Edition) -> Iterator[tuple[str, str]]:
    """Quantity and kind of each column of numbers in one edition."""
    for one in table.columns(edition):
        if one.kind not in ("text", "number"):
            yield one.name, one.kind


# --- the package as a whole ---------------------------------------------------------------------------------------


def rows_have_source_and_status(library: Library) -> list[str]:
    """Every row names its source by a key of its table, every value has a status that is one of the known ones."""
    findings = []
    for name in library.names():
        table = library.table(name)
        keys = {source.split(":", 1)[0] for source in table.sources}
        used: set[str] = set()
        for edition in EDITIONS:
            for row in table.rows(edition):
                where = f"{name} {label(table, row)}"
                said = row.get("source")
                cited = {
                    key
                    for key in keys
                    if isinstance(said, str) and re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", said)
                }
                used |= cited
                if not cited:
                    findings.append(f"{where}: source {said!r} has no key of {sorted(keys)}")
                for one in table.columns(edition):
                    value = row[one.name]
                    if one.name == "status" or one.name.endswith("_status"):
                        if value is not None and value not in STATUSES:
                            findings.append(f"{where}: {one.name} is {value!r}")
                    elif one.status and value is not None and row[one.status] not in STATUSES:
                        findings.append(f"{where}: {one.name} is {value!r} and its {one.status} is {row[one.status]!r}")
        findings += [f"{name}: source {key!r} is described and no row cites it" for key in sorted(keys - used)]
    return findings


def memory_is_marked(library: Library) -> list[str]:
    """A row whose only source is memory has no published status in its main status column."""
    findings = []
    for name in library.names():
        table = library.table(name)
        for edition in EDITIONS:
            for row in table.rows(edition):
                if row["source"] == "memory" and row.get("status") != "from memory, verify":
                    findings.append(f"{name} {label(table, row)}: from memory, and its status is {row.get('status')!r}")
    return findings


def keys_are_unique(library: Library) -> list[str]:
    """The primary key tells rows apart, and rows of one size stand together."""
    findings = []
    for name in library.names():
        table = library.table(name)
        seen: set[str] = set()
        for row in table.rows("inch"):
            key = label(table, row)
            if key in seen:
                findings.append(f"{name} {key}: twice")
            seen.add(key)
    return findings


def fields_are_described(library: Library) -> list[str]:
    """Both editions have the same columns, of the same kind and title, each with the unit of its kind."""
    units = {
        ("length", "inch"): "in",
        ("length", "mm"): "mm",
        ("millimetres", "inch"): "mm",
        ("millimetres", "mm"): "mm",
        ("mass_per_length", "inch"): "lb/ft",
        ("mass_per_length", "mm"): "kg/m",
        ("area", "inch"): "in^2",
        ("area", "mm"): "mm^2",
        ("area_per_length", "inch"): "ft^2/ft",
        ("area_per_length", "mm"): "m^2/m",
        ("angle", "inch"): "deg",
        ("angle", "mm"): "deg",
    }
    findings = []
    for name in library.names():
        table = library.table(name)
        for one in table.fields:
            where = f"{name}.{one.name}"
            if (one.kind == "text") != (one.type == "string"):
                findings.append(f"{where}: kind {one.kind}, type {one.type}")
            for edition in EDITIONS:
                if one.edition in ("", edition) and one.unit != units.get((one.kind, edition), ""):
                    findings.append(f"{where}: kind {one.kind} in {edition} has unit {one.unit!r}")
        inch, mm = ({c.name: (c.title, c.kind, c.status) for c in table.columns(e)} for e in EDITIONS)
        one_sided = ONE_EDITION.get(name, frozenset())
        findings += [
            f"{name}.{quantity}: editions differ"
            for quantity in sorted(inch.keys() | mm.keys())
            if inch.get(quantity) != mm.get(quantity) and quantity not in one_sided
        ]
        findings += [
            f"{name}.{quantity}: listed as of one edition, and both have it"
            for quantity in sorted(one_sided)
            if inch.get(quantity) == mm.get(quantity)
        ]
    return findings


# columns that the sources give in one edition only
ONE_EDITION: dict[str, frozenset[str]] = {
    "flange_en": frozenset({"pipe_od", "od", "bolt_circle", "hole", "thickness", "weld_neck", "raised_face"}),
    "ring_joint": frozenset({"pitch_diameter", "groove_width"}),
    "socket_weld_fitting": frozenset({"socket_bore"}),
    "threaded_fitting": frozenset({"thread_length", "effective_thread", "thread_status"}),
    "valve": frozenset({"tolerance", "tolerance_status"}),
}


def sizes_are_known(library: Library) -> list[str]:
    """Every size is one of the sizes table."""
    known = by_size(library)
    findings = []
    for name in library.names():
        table = library.table(name)
        for column in table.columns("inch"):
            if column.name == "size" or column.name.endswith("_size"):
                # an EN flange whose pipe has no counterpart in NPS leaves its size empty
                values = [value for value in column.values if value is not None or name != "flange_en"]
                findings += [f"{name}.{column.name}: {value!r}" for value in values if value not in known]
    return findings


def sizes_ascend(library: Library) -> list[str]:
    """Rows stand by size within their leading columns, each size one block."""
    value = nominal(library)
    findings = []
    leading = {
        "nominal_size": ("size",),
        "pipe": ("size",),
        "elbow": ("size",),
        "tee": ("size",),
        "reducing_tee": ("run_size",),
        "reducer": ("large_size",),
        "cap": ("size",),
        "stub_end": ("size",),
        "flange": ("class", "size"),
        "elbow_3d": ("size",),
        "fitting_tolerance": ("size",),
        "pipe_od_tolerance": ("size",),
        "flange_en": ("pn", "dn"),
        "ring_joint": ("class", "size"),
        "socket_weld_fitting": ("class", "size"),
        "threaded_fitting": ("class", "size"),
        "pipe_thread": ("size",),
        "pipe_wall": ("size", "wall"),
        "spool_tolerance": ("size",),
    }
    for name, names in leading.items():
        order = [
            tuple(value[str(row[n])] if n.endswith("size") else float(str(row[n])) for n in names)
            for row in library.table(name).rows("inch")
        ]
        findings += [f"{name}: {after} after {before}" for before, after in pairwise(order) if after < before]
    return findings


# How far inch x 25.4 may lie from the millimetre column, by the rounding of the millimetre column.
WHOLE_MM, TENTH_MM, HUNDREDTH_MM = 0.5, 0.05, 0.005
ROUNDING: dict[tuple[str, str], float] = {
    ("nominal_size", "od"): TENTH_MM,
    ("pipe", "od"): TENTH_MM,
    ("pipe", "wall"): HUNDREDTH_MM,
    ("pipe", "bore"): TENTH_MM + 2 * HUNDREDTH_MM,
    ("elbow", "long_90"): WHOLE_MM,
    ("elbow", "long_45"): WHOLE_MM,
    ("elbow", "short_90"): WHOLE_MM,
    ("elbow", "long_return_centre"): WHOLE_MM,
    ("elbow", "long_return_back"): WHOLE_MM,
    ("elbow", "short_return_centre"): WHOLE_MM,
    ("elbow", "short_return_back"): WHOLE_MM,
    ("elbow_old_stock", "long_90"): WHOLE_MM,
    ("elbow_old_stock", "long_45"): WHOLE_MM,
    ("elbow_old_stock", "long_return_centre"): WHOLE_MM,
    ("elbow_old_stock", "long_return_back"): WHOLE_MM,
    ("tee", "run"): WHOLE_MM,
    ("tee", "branch"): WHOLE_MM,
    ("reducing_tee", "run"): WHOLE_MM,
    ("reducing_tee", "branch"): WHOLE_MM,
    ("reducer", "length"): WHOLE_MM,
    ("reducer", "offset"): WHOLE_MM,  # from outside diameters in whole millimetres above NPS 16
    ("cap", "length"): WHOLE_MM,
    ("cap", "limiting_wall"): HUNDREDTH_MM,
    ("cap", "length_heavy"): WHOLE_MM,
    ("stub_end", "long_length"): WHOLE_MM,
    ("stub_end", "short_length"): WHOLE_MM,
    ("flange", "od"): 2.5,  # the standard rounds to 5 mm
    ("flange", "weld_neck"): TENTH_MM,
    ("flange", "slip_on"): TENTH_MM,
    ("flange", "threaded"): TENTH_MM,
    ("flange", "socket_weld"): TENTH_MM,
    ("flange", "lap_joint"): WHOLE_MM,
    ("flange", "socket_depth"): WHOLE_MM,
    ("flange", "thickness"): TENTH_MM,
    ("flange", "raised_face"): TENTH_MM,
    ("flange", "raised_face_od"): TENTH_MM,
    ("flange", "bolt_circle"): TENTH_MM,
    ("flange", "hole"): TENTH_MM,
    ("flange", "bolt_diameter"): HUNDREDTH_MM,
    ("flange", "stud_length"): 2.5,  # the standard rounds to 5 mm
    ("flange", "weld_neck_flat"): WHOLE_MM,
    ("flange", "slip_on_flat"): WHOLE_MM,
    ("flange", "threaded_flat"): WHOLE_MM,
    ("flange", "socket_weld_flat"): WHOLE_MM,
    ("flange", "thickness_flat"): 0.1,  # the standard prints 9.6, 11.2 … for 3/8, 7/16 …
    ("elbow_3d", "radius_90"): WHOLE_MM,
    ("elbow_3d", "radius_45"): WHOLE_MM,
    ("fitting_tolerance", "od_plus"): TENTH_MM,
    ("fitting_tolerance", "od_minus"): TENTH_MM,
    ("fitting_tolerance", "bore"): TENTH_MM,
    ("fitting_tolerance", "centre_to_end"): WHOLE_MM,
    ("fitting_tolerance", "centre_to_end_3d"): WHOLE_MM,
    ("fitting_tolerance", "reducer_length"): WHOLE_MM,
    ("fitting_tolerance", "cap_length"): WHOLE_MM,
    ("fitting_tolerance", "return_centre"): WHOLE_MM,
    ("fitting_tolerance", "return_back"): WHOLE_MM,
    ("fitting_tolerance", "return_alignment"): WHOLE_MM,
    ("fitting_tolerance", "off_angle"): WHOLE_MM,
    ("fitting_tolerance", "off_plane"): WHOLE_MM,
    ("pipe_tolerance", "over"): TENTH_MM,
    ("pipe_tolerance", "under"): TENTH_MM,
    ("pipe_od_tolerance", "over"): TENTH_MM,
    ("pipe_od_tolerance", "under"): TENTH_MM,
    ("flange_large", "od"): WHOLE_MM,
    ("flange_large", "weld_neck"): TENTH_MM,
    ("flange_large", "thickness"): TENTH_MM,
    ("flange_large", "raised_face"): TENTH_MM,
    ("flange_large", "raised_face_od"): WHOLE_MM,
    ("flange_large", "bolt_circle"): 0.18,  # the millimetres follow the printed two decimals: 42.12 for 42-1/8
    ("flange_large", "hole"): TENTH_MM,
    ("flange_large", "bolt_diameter"): HUNDREDTH_MM,
    ("flange_large", "stud_length"): WHOLE_MM,
    ("flange_large", "weld_neck_flat"): WHOLE_MM,
    ("flange_large", "thickness_flat"): 0.22,  # the printed inches are an older thickness less 0.06: 3.07 for 3-1/16
    ("ring_joint", "groove_depth"): HUNDREDTH_MM + 0.001,  # the inches are rounded to 0.001
    ("ring_joint", "gap"): TENTH_MM,
    ("ring_joint", "weld_neck"): TENTH_MM,
    ("socket_weld_fitting", "elbow_90"): WHOLE_MM,
    ("socket_weld_fitting", "tee"): WHOLE_MM,
    ("socket_weld_fitting", "elbow_45"): WHOLE_MM,
    ("socket_weld_fitting", "socket_depth"): WHOLE_MM,
    ("socket_weld_fitting", "coupling"): WHOLE_MM,
    ("socket_weld_fitting", "half_coupling"): WHOLE_MM,
    ("threaded_fitting", "elbow_90"): 0.58,  # 28 mm is printed beside 1-1/8 in
    ("threaded_fitting", "tee"): 0.58,
    ("threaded_fitting", "elbow_45"): 0.58,
    ("threaded_fitting", "coupling"): WHOLE_MM,
    ("threaded_fitting", "half_coupling"): WHOLE_MM,
    ("pipe_thread", "hand_tight"): HUNDREDTH_MM,
    ("pipe_thread", "effective"): HUNDREDTH_MM,
    ("pipe_thread", "wrench"): HUNDREDTH_MM,
    ("pipe_thread", "make_up"): HUNDREDTH_MM,
    ("pipe_thread", "shop_make_up"): TENTH_MM,
    ("valve", "face_to_face"): WHOLE_MM,
    ("valve", "weld_ends"): WHOLE_MM,
    ("valve", "ring_joint"): WHOLE_MM,
    ("ring_joint", "stud_length"): 2.5,  # the standard rounds to 5 mm
    ("gasket", "thickness"): TENTH_MM,
    ("gasket", "compressed"): TENTH_MM,
    ("gasket", "fit_up_gap"): TENTH_MM,
    ("pipe_wall", "od"): TENTH_MM,
    ("pipe_wall", "wall"): HUNDREDTH_MM,
    ("spool_tolerance", "linear"): WHOLE_MM,
    ("misalignment_limit", "limit"): WHOLE_MM,
    ("flange_alignment_limit", "limit"): 0.2,  # 1/8 in is printed 3 mm, 1/16 in 1.5 or 1.6 mm
    ("end_squareness_limit", "limit"): TENTH_MM,
    ("weld_height_limit", "wall_over"): WHOLE_MM,
    ("weld_height_limit", "wall_up_to"): WHOLE_MM,
    ("weld_height_limit", "height"): WHOLE_MM,
    ("end_preparation", "wall_over"): WHOLE_MM,
    ("end_preparation", "wall_up_to"): WHOLE_MM,
}

WHOLE_OD = "the standard rounds the millimetre outside diameter to whole millimetres above NPS 16"
ROUNDED_ODS = ("18", "22", "24", "26", "28", "32", "34", "36", "38", "42", "44", "46", "48")
ROUNDING_EXCEPTIONS: dict[str, str] = {
    **{f"nominal_size {size} od": WHOLE_OD for size in ROUNDED_ODS},
    "pipe 1-1/2|XXS wall": "0.400 in is 10.16 mm; the millimetre source prints 10.15",
    "flange 150|5 lap_joint": "1-7/16 in is 36.5 mm; the millimetre source prints 36",
    "flange 400|8 bolt_circle": "13 in is 330.2 mm; the millimetre source prints 330",
    "flange 600|22 bolt_circle": "30-5/8 in is 777.9 mm; the millimetre source prints 777.7",
    "flange 300|22 lap_joint": "5-11/16 in is 144.5 mm; the standard prints 145 and, in inches, 5.69",
    "flange_large B|300|36 od": "46-1/8 in is 1171.6 mm; the source prints 1171 and, in inches, 46.12",
    "flange_large B|300|40 raised_face_od": "43-7/8 in is 1114.4 mm; the source prints 1115 and, in inches, 43.88",
    "flange_large A|300|42 weld_neck_flat": "7-13/16 in is 198.4 mm; the source prints 199 and, in inches, 7.82",
    "pipe_tolerance 27 over": "1/4 in is printed 6 mm",
    **{
        f"fitting_tolerance {size} {quantity}": "1/8 in is printed 4 mm"
        for quantity, sizes in (("off_angle", ("18", "20", "22", "24")), ("off_plane", ("5", "6", "8")))
        for size in sizes
    },
    **{
        f"fitting_tolerance {size} {quantity}": "3/32 in is printed 3 mm"
        for quantity, sizes in (
            ("centre_to_end_3d", ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "3-1/2", "4", "5", "6", "8")),
            ("off_angle", ("10", "12", "14", "16")),
        )
        for size in sizes
    },
    **{
        f"fitting_tolerance {size} centre_to_end_3d": "printed 6 (0.38) in the excerpt read: one of the two is wrong"
        for size in ("32", "34", "36", "38", "40", "42", "44", "46", "48")
    },
}

# columns where a row may have a value in one edition only, because the other was not read
ONE_SIDED_ROWS = {
    ("elbow_3d", "radius_45"): "no inch table was read",
    ("flange_large", "stud_length"): "no millimetre table was read",
    ("misalignment_limit", "limit"): "some codes give one unit",
    ("weld_height_limit", "wall_over"): "ASME B31.1 was read in inches",
    ("weld_height_limit", "wall_up_to"): "ASME B31.1 was read in inches",
    ("weld_height_limit", "height"): "ASME B31.1 was read in inches",
}


def editions_agree(library: Library) -> list[str]:
    """Inch x 25.4 lies within the rounding of the millimetre column, which is itself never converted."""
    found: dict[str, str] = {}
    findings = []
    allowed = dict(ROUNDING_EXCEPTIONS)
    for name in ("pipe", "pipe_wall"):
        for row in library.table(name).rows("inch"):
            if row["size"] in ROUNDED_ODS:
                allowed |= {f"{name} {row['key']} {q}": WHOLE_OD for q in ("od", "bore") if q in row}
    seen: set[tuple[str, str]] = set()
    one_sided: set[tuple[str, str]] = set()
    for name in library.names():
        table = library.table(name)
        mm = table.rows("mm")
        both = {one.name for one in table.columns("mm")}
        for quantity, kind in measured(table, "inch"):
            if kind != "length" or quantity not in both:
                continue
            seen.add((name, quantity))
            if (name, quantity) not in ROUNDING:
                findings.append(f"{name}.{quantity}: its rounding is not listed")
                continue
            within = ROUNDING[name, quantity] + 1e-9
            for a, b in zip(table.rows("inch"), mm, strict=True):
                inch, metric = a[quantity], b[quantity]
                where = f"{name} {label(table, a)} {quantity}"
                if inch is None or metric is None:
                    one_sided |= {(name, quantity)} if inch != metric else set()
                    if inch != metric and (name, quantity) not in ONE_SIDED_ROWS:
                        found[where] = f"{inch} in, {metric} mm"
                elif abs(number(a, quantity) * 25.4 - number(b, quantity)) > within:
                    found[where] = f"{inch} in is {number(a, quantity) * 25.4:.3f} mm, the table has {metric}"
    findings += [f"{name}.{quantity}: listed, and there is no such column" for name, quantity in ROUNDING.keys() - seen]
    findings += [
        f"{name}.{quantity}: listed as one-sided, and no row is" for name, quantity in ONE_SIDED_ROWS.keys() - one_sided
    ]
    return findings + settle(found, allowed)


# Lengths that are whole parts of an inch, printed to two decimals: parts in an inch, and the columns (empty: all).
PARTS_OF_AN_INCH: dict[str, tuple[int, frozenset[str]]] = {
    "elbow": (16, frozenset()),
    "elbow_old_stock": (16, frozenset()),
    "elbow_3d": (16, frozenset()),
    "tee": (16, frozenset()),
    "reducing_tee": (16, frozenset()),
    "reducer": (16, frozenset({"length"})),
    "cap": (16, frozenset({"length", "length_heavy"})),
    "stub_end": (16, frozenset()),
    "flange": (16, frozenset()),
    "flange_large": (32, frozenset()),
    "fitting_tolerance": (32, frozenset()),
    "pipe_od_tolerance": (64, frozenset()),
    "socket_weld_fitting": (32, frozenset()),
    "threaded_fitting": (32, frozenset()),
    "valve": (8, frozenset()),
    "spool_tolerance": (16, frozenset()),
}


def inches_are_fractions(library: Library) -> list[str]:
    """Lengths printed as two-decimal inches are carried as the exact fraction they stand for."""
    findings = []
    for name, (parts, only) in PARTS_OF_AN_INCH.items():
        table = library.table(name)
        for quantity, kind in measured(table, "inch"):
            if kind != "length" or (only and quantity not in only):
                continue
            for row in table.rows("inch"):
                value = row[quantity]
                if value is not None and (number(row, quantity) * parts) % 1 != 0:
                    findings.append(f"{name} {label(table, row)} {quantity}: {value} in is no 1/{parts}")
    return findings


# --- pipe ---------------------------------------------------------------------------------------------------------


def pipe_agrees_with_sizes(library: Library) -> list[str]:
    """Pipe of a size has the outside diameter of that size."""
    findings = []
    for edition in EDITIONS:
        od = {row["size"]: row["od"] for row in library.table("nominal_size").rows(edition)}
        for row in library.table("pipe").rows(edition):
            if row["od"] != od[row["size"]]:
                findings.append(f"pipe {row['key']}: outside diameter {row['od']}, the size has {od[row['size']]}")
            if row["key"] != f"{row['size']}|{row['schedule']}":
                findings.append(f"pipe {row['key']}: is {row['size']}, {row['schedule']}")
    return findings


# ASME B36.10M: plain-end mass of carbon steel from outside diameter and wall
MASS_FACTORS: dict[Edition, float] = {"inch": 10.69, "mm": 0.0246615}


MASS_EXCEPTIONS: dict[str, str] = {}


def pipe_masses(library: Library) -> list[str]:
    """Masses follow the standard's own formula, to the two decimals they are printed with."""
    found = {}
    for edition, factor in MASS_FACTORS.items():
        for row in (*library.table("pipe").rows(edition), *library.table("pipe_wall").rows(edition)):
            od, wall, mass = number(row, "od"), number(row, "wall"), number(row, "mass_per_length")
            exact = factor * (od - wall) * wall
            if abs(exact - mass) > 0.00501:
                found[f"{row['key']} {edition}"] = f"mass {mass}, the formula gives {exact:.4f}"
    return settle(found, MASS_EXCEPTIONS)


def pipe_bores_and_areas(library: Library) -> list[str]:
    """The bore is the diameter less two walls; the areas are a circle's and a cylinder's, to the digits carried."""
    findings = []
    for edition in EDITIONS:
        around, area, surface = {"inch": (12.0, 0.00005, 0.00005), "mm": (1000.0, 0.05, 0.00005)}[edition]
        for row in library.table("pipe").rows(edition):
            od, bore = number(row, "od"), number(row, "bore")
            for name, exact, within in (
                ("bore", od - 2 * number(row, "wall"), 0.0),
                ("bore_area", math.pi / 4 * bore**2, area),
                ("outside_area", math.pi * od / around, surface),
            ):
                if abs(number(row, name) - exact) > within + 1e-9:
                    findings.append(f"pipe {row['key']}: {name} {row[name]}, the formula gives {exact:.5f} ({edition})")
    return findings


# Schedules whose walls never fall within one size, from thin to heavy.
THIN_TO_HEAVY = (
    ("5", "10", "20", "30", "40", "60", "80", "100", "120", "140", "160"),
    ("STD", "XS", "XXS"),
    ("5S", "10S", "40S", "80S"),
)


def pipe_walls_rise(library: Library) -> list[str]:
    """Within a size a heavier schedule has a heavier wall; the bore stays open."""
    findings = []
    for edition in EDITIONS:
        walls = {text(row, "key"): number(row, "wall") for row in library.table("pipe").rows(edition)}
        for row in library.table("pipe").rows(edition):
            if number(row, "wall") * 2 >= number(row, "od"):
                findings.append(f"pipe {row['key']}: no bore")
        for size in by_size(library):
            for family in THIN_TO_HEAVY:
                known = [(s, walls[f"{size}|{s}"]) for s in family if f"{size}|{s}" in walls]
                findings += [
                    f"pipe {size}: schedule {b} is {y}, schedule {a} is {x} ({edition})"
                    for (a, x), (b, y) in pairwise(known)
                    if y <= x
                ]
    return findings


# Equalities of ASME B36.10M and B36.19M: up to which nominal size two designations are one wall.
SAME_WALL = (("STD", "40", 10.0), ("XS", "80", 8.0), ("40S", "STD", 24.0), ("80S", "XS", 24.0))


def pipe_walls_equal(library: Library) -> list[str]:
    """STD is schedule 40 up to NPS 10, XS is 80 up to NPS 8, 40S is STD and 80S is XS."""
    value = nominal(library)
    findings = []
    for edition in EDITIONS:
        walls = {text(row, "key"): row["wall"] for row in library.table("pipe").rows(edition)}
        for a, b, upto in SAME_WALL:
            for size, nps in value.items():
                x, y = walls.get(f"{size}|{a}"), walls.get(f"{size}|{b}")
                if nps <= upto and x is not None and x != y:
                    findings.append(f"pipe {size}: {a} is {x}, {b} is {y} ({edition})")
    return findings


# --- fittings -----------------------------------------------------------------------------------------------------

LONG_RADIUS_EXCEPTIONS = {
    "1/2": "1-1/2 in: the standard does not go below it",
    "3/4": "1-1/2 in in current editions; 1.5 x NPS was 1-1/8 in, see elbow_old_stock",
}


def elbow_radii(library: Library) -> list[str]:
    """Long radius is 1.5 x NPS, short radius is NPS; a return is twice its elbow."""
    value = nominal(library)
    found, findings = {}, []
    for row in library.table("elbow").rows("inch"):
        size = text(row, "size")
        if number(row, "long_90") != 1.5 * value[size]:
            found[size] = f"long radius {row['long_90']}"
        if row["short_90"] is not None and row["short_90"] != value[size]:
            findings.append(f"elbow {size}: short radius {row['short_90']}")
        for radius in ("long", "short"):
            centre = row[f"{radius}_return_centre"]
            if centre is not None and centre != 2 * number(row, f"{radius}_90"):
                findings.append(f"elbow {size}: {radius} return {centre} is not twice the elbow")
    return findings + settle(found, LONG_RADIUS_EXCEPTIONS)


RETURN_BACK_WITHIN = 0.0505  # in; printed to 1/16, and NPS 1/2 to 1-1/2 are rounded more coarsely


def return_backs(library: Library) -> list[str]:
    """Back to face of a return is half its centres and half the outside diameter."""
    od = {size: number(row, "od") for size, row in by_size(library).items()}
    findings = []
    for row in library.table("elbow").rows("inch"):
        for radius in ("long", "short"):
            back = row[f"{radius}_return_back"]
            if back is None:
                continue
            exact = number(row, f"{radius}_return_centre") / 2 + od[text(row, "size")] / 2
            if abs(number(row, f"{radius}_return_back") - exact) > RETURN_BACK_WITHIN:
                findings.append(f"elbow {row['size']}: {radius} return back to face {back}, half sums give {exact:.4f}")
    return findings


SEEN_TWICE = "in two tables read, so the table's own value; a 45 is never taken from the tangent"
FORTY_FIVE_WITHIN = 0.125
FORTY_FIVES_OFF = ("3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "22", "26", "28", "30", "32")
FORTY_FIVE_EXCEPTIONS = dict.fromkeys(FORTY_FIVES_OFF, SEEN_TWICE)


def forty_fives(library: Library) -> list[str]:
    """A 45 is R x tan(22.5) within 1/8 in, where it is not listed."""
    found = {}
    for row in library.table("elbow").rows("inch"):
        exact = number(row, "long_90") * math.tan(math.radians(22.5))
        if abs(number(row, "long_45") - exact) > FORTY_FIVE_WITHIN + 0.001:
            found[text(row, "size")] = f"45 is {row['long_45']}, the tangent gives {exact:.3f}"
    return settle(found, FORTY_FIVE_EXCEPTIONS)


# columns that need not rise with size, by table
NOT_RISING = {
    ("tee", "branch", "42"): "the standard's own drop, in both tables read",
    ("cap", "limiting_wall", "3/4"): "from memory: 0.18 at NPS 1/2, 0.15 at NPS 3/4",
}
RISING = ("nominal_size", "elbow", "tee", "cap", "stub_end")


def lengths_rise_with_size(library: Library) -> list[str]:
    """No length of a fitting falls as the size grows, where it is not listed."""
    findings = []
    for edition in EDITIONS:
        found = {}
        for name in RISING:
            table = library.table(name)
            for quantity, kind in measured(table, edition):
                rows = [row for row in table.rows(edition) if row[quantity] is not None]
                for before, after in pairwise(rows):
                    if kind == "length" and number(after, quantity) < number(before, quantity):
                        found[f"{name}.{quantity} at {after['size']}"] = (
                            f"{before[quantity]} falls to {after[quantity]} ({edition})"
                        )
        findings += settle(found, {f"{t}.{q} at {s}": why for (t, q, s), why in NOT_RISING.items()})
    return findings


def tees_fit(library: Library) -> list[str]:
    """A reducing tee has its straight tee's run, a smaller outlet, a branch that never grows as the outlet shrinks."""
    value = nominal(library)
    findings = []
    for edition in EDITIONS:
        straight = {row["size"]: row for row in library.table("tee").rows(edition)}
        for size, row in straight.items():
            if number(row, "branch") > number(row, "run"):
                findings.append(f"tee {size}: branch {row['branch']} is longer than the run")
        before: Row | None = None
        for row in library.table("reducing_tee").rows(edition):
            key, tee = text(row, "key"), straight[row["run_size"]]
            if key != f"{row['run_size']}x{row['outlet_size']}":
                findings.append(f"reducing tee {key}: is {row['run_size']} x {row['outlet_size']}")
            if value[text(row, "outlet_size")] >= value[text(row, "run_size")]:
                findings.append(f"reducing tee {key}: the outlet is not smaller")
            if row["run"] != tee["run"]:
                findings.append(f"reducing tee {key}: run {row['run']}, the straight tee has {tee['run']} ({edition})")
            if number(row, "branch") > number(tee, "branch"):
                findings.append(
                    f"reducing tee {key}: branch {row['branch']}, the straight tee has {tee['branch']} ({edition})"
                )
            if before is not None and before["run_size"] == row["run_size"]:
                if value[text(row, "outlet_size")] >= value[text(before, "outlet_size")]:
                    findings.append(f"reducing tee {key}: outlets must shrink within a run")
                if number(row, "branch") > number(before, "branch"):
                    findings.append(f"reducing tee {key}: the branch grows as the outlet shrinks ({edition})")
            before = row
    return findings


# Branch less half the run, one constant for each outlet, for runs of NPS 14 and larger.
OUTLET_CONSTANTS = {
    "6": 2.375, "8": 2.75, "10": 3.125, "12": 3.625, "14": 4.0, "16": 4.0, "18": 4.5, "20": 5.0, "22": 5.5, "24": 6.0,
    "26": 6.5, "28": 6.5, "30": 7.0, "36": 7.0, "38": 7.0, "42": 8.0,
}  # fmt: skip


def branches_follow_the_pattern(library: Library) -> list[str]:
    """Large reducing tees follow the pattern of their outlet, or say in their note that they are doubtful."""
    value = nominal(library)
    findings = []
    for row in library.table("reducing_tee").rows("inch"):
        run = value[text(row, "run_size")]
        doubtful = "doubtful" in str(row["note"])
        if run < 14:
            fits = not doubtful
        else:
            fits = number(row, "branch") - run / 2 == OUTLET_CONSTANTS.get(text(row, "outlet_size"))
        if fits == doubtful:
            findings.append(f"reducing tee {row['key']}: branch {row['branch']}, note {row['note']!r}")
    return findings


def reducers_fit(library: Library) -> list[str]:
    """One length for each large end, never falling; the offset is half the difference of the outside diameters."""
    value = nominal(library)
    findings = []
    for edition in EDITIONS:
        od = {row["size"]: number(row, "od") for row in library.table("nominal_size").rows(edition)}
        before: Row | None = None
        for row in library.table("reducer").rows(edition):
            key = text(row, "key")
            large, small = text(row, "large_size"), text(row, "small_size")
            if key != f"{large}x{small}" or value[small] >= value[large]:
                findings.append(f"reducer {key}: is {large} x {small}")
            if abs(number(row, "offset") - (od[large] - od[small]) / 2) > 1e-9:
                findings.append(
                    f"reducer {key}: offset {row['offset']}, half the difference is {(od[large] - od[small]) / 2}"
                )
            if before is not None:
                same = before["large_size"] == large
                if same and row["length"] != before["length"]:
                    findings.append(f"reducer {key}: length {row['length']}, its neighbour has {before['length']}")
                if number(row, "length") < number(before, "length"):
                    findings.append(f"reducer {key}: length {row['length']} falls from {before['length']}")
            before = row
    return findings


def caps_and_stub_ends_fit(library: Library) -> list[str]:
    """A heavy cap is no shorter than a light one; a short stub end is shorter than a long one."""
    findings = []
    for edition in EDITIONS:
        for row in library.table("cap").rows(edition):
            heavy, wall = row["length_heavy"], row["limiting_wall"]
            if (heavy is None) != (wall is None):
                findings.append(f"cap {row['size']}: longer length {heavy}, limiting wall {wall}")
            if heavy is not None and number(row, "length_heavy") < number(row, "length"):
                findings.append(f"cap {row['size']}: {heavy} is shorter than {row['length']}")
        findings += [
            f"stub end {row['size']}: short {row['short_length']}, long {row['long_length']}"
            for row in library.table("stub_end").rows(edition)
            if number(row, "short_length") >= number(row, "long_length")
        ]
    return findings


# --- flanges ------------------------------------------------------------------------------------------------------

CLASSES = ("150", "300", "400", "600", "900", "1500", "2500")
HUBS = ("weld_neck", "slip_on", "threaded", "socket_weld")


def flange_drilling(library: Library) -> list[str]:
    """Holes are bolt + 1/8 in, inside the flange, clear of each other and of the raised face, in multiples of four."""
    findings = []
    for row in (*library.table("flange").rows("inch"), *library.table("flange_large").rows("inch")):
        key = text(row, "key")
        spare = (
            1.125 if "series" in row else 0.625
        )  # past two faces, a gasket and two nuts as high as the bolt is thick
        n, hole, bolt = number(row, "bolt_count"), number(row, "hole"), number(row, "bolt_diameter")
        circle, od, face = number(row, "bolt_circle"), number(row, "od"), number(row, "raised_face_od")
        if n % 4:
            findings.append(f"flange {key}: {n} bolts")
        if hole != bolt + 0.125:
            findings.append(f"flange {key}: hole {hole}, bolt {bolt}")
        if circle * math.sin(math.pi / n) < hole + 0.12:
            findings.append(f"flange {key}: {circle * math.sin(math.pi / n) - hole:.3f} in between holes")
        if (od - circle - hole) / 2 < 0.35 * bolt:
            findings.append(f"flange {key}: {(od - circle - hole) / 2:.3f} in outside the holes")
        if face > circle - hole:
            findings.append(f"flange {key}: raised face {face} reaches the holes")
        if not 0.25 <= number(row, "stud_length") - (2 * number(row, "thickness") + 0.125 + 2 * bolt) <= spare:
            findings.append(
                f"flange {key}: stud {row['stud_length']} does not fit thickness {row['thickness']} and bolt {bolt}"
            )
        if text(row, "bolt") != fraction(bolt):
            findings.append(f"flange {key}: bolt {row['bolt']!r}, diameter {bolt}")
    return findings


def fraction(value: float) -> str:
    """An eighth as a fitter writes it: 1-1/8."""
    whole, eighths = divmod(round(value * 8), 8)
    if not eighths:
        return str(whole)
    step = math.gcd(eighths, 8)
    part = f"{eighths // step}/{8 // step}"
    return f"{whole}-{part}" if whole else part


def flange_lengths(library: Library) -> list[str]:
    """Lengths over the raised face are the flat-face lengths plus the face: 1/16 in for 150 and 300, else 1/4 in."""
    findings = []
    od = {size: number(row, "od") for size, row in by_size(library).items()}
    for row in library.table("flange").rows("inch"):
        key, rise = text(row, "key"), number(row, "raised_face")
        if key != f"{row['class']}|{row['size']}":
            findings.append(f"flange {key}: is class {row['class']}, size {row['size']}")
        if rise != (0.0625 if row["class"] in ("150", "300") else 0.25):
            findings.append(f"flange {key}: raised face {rise}")
        if number(row, "thickness") != number(row, "thickness_flat") + rise:
            findings.append(f"flange {key}: thickness {row['thickness']}, flat {row['thickness_flat']}")
        for hub in HUBS:
            long, flat = row[hub], row[f"{hub}_flat"]
            if (long is None) != (flat is None) or (long is not None and long != number(row, f"{hub}_flat") + rise):
                findings.append(f"flange {key}: {hub} {long}, flat {flat}")
            if long is not None and number(row, hub) <= number(row, "thickness"):
                findings.append(f"flange {key}: {hub} {long} is within the flange")
        if row["slip_on"] is not None and row["threaded"] != row["slip_on"]:
            findings.append(f"flange {key}: threaded {row['threaded']}, slip-on {row['slip_on']}")
        if row["slip_on"] is not None and number(row, "weld_neck") <= number(row, "slip_on"):
            findings.append(f"flange {key}: weld neck {row['weld_neck']}, slip-on {row['slip_on']}")
        if (row["socket_weld"] is None) != (row["socket_depth"] is None):
            findings.append(f"flange {key}: socket weld {row['socket_weld']}, socket depth {row['socket_depth']}")
        if number(row, "raised_face_od") <= od[text(row, "size")]:
            findings.append(f"flange {key}: raised face {row['raised_face_od']} does not reach past the pipe")
    return findings


SMALL_BOLTS = "twice as many bolts, one size smaller"
FLANGE_FALLS = {
    **{
        f"{c}|2 bolt_diameter": f"{SMALL_BOLTS}: 4 at NPS 1-1/2, 8 at NPS 2"
        for c in ("300", "400", "600", "900", "1500", "2500")
    },
    **{f"{c}|6 bolt_diameter": f"{SMALL_BOLTS}: 8 at NPS 5, 12 at NPS 6" for c in ("900", "1500")},
    **{
        f"900|3 {q}": "class 900 takes class 1500 dimensions up to NPS 2-1/2"
        for q in ("od", "weld_neck", "slip_on", "threaded", "lap_joint", "thickness", "bolt_diameter", "stud_length")
    },
}
FLANGE_RISING = (
    "od",
    "weld_neck",
    "slip_on",
    "threaded",
    "lap_joint",
    "thickness",
    "bolt_circle",
    "bolt_count",
    "bolt_diameter",
    "stud_length",
    "raised_face_od",
)


def flanges_rise_with_size(library: Library) -> list[str]:
    """Within a class nothing falls as the size grows, where it is not listed."""
    found = {}
    rows = library.table("flange").rows("inch")
    for before, after in pairwise(rows):
        if before["class"] != after["class"]:
            continue
        for q in FLANGE_RISING:
            if before[q] is not None and after[q] is not None and number(after, q) < number(before, q):
                found[f"{after['key']} {q}"] = f"{before[q]} falls to {after[q]}"
    return settle(found, FLANGE_FALLS)


def flanges_rise_with_class(library: Library) -> list[str]:
    """At one size a higher class is no smaller; the count of bolts may fall when they grow."""
    findings = []
    rows = {text(row, "key"): row for row in library.table("flange").rows("inch")}
    for size in by_size(library):
        known = [rows[f"{c}|{size}"] for c in CLASSES if f"{c}|{size}" in rows]
        for lower, higher in pairwise(known):
            for q in (
                "od",
                "weld_neck",
                "slip_on",
                "lap_joint",
                "thickness",
                "bolt_circle",
                "bolt_diameter",
                "stud_length",
            ):
                if lower[q] is not None and higher[q] is not None and number(higher, q) < number(lower, q):
                    findings.append(f"flange {higher['key']}: {q} {higher[q]}, class {lower['class']} has {lower[q]}")
            fewer = number(higher, "bolt_count") < number(lower, "bolt_count")
            if fewer and number(higher, "bolt_diameter") <= number(lower, "bolt_diameter"):
                findings.append(f"flange {higher['key']}: fewer bolts of the same size than class {lower['class']}")
    return findings


BORROWED = (("400", "600", 3.5), ("900", "1500", 2.5))


def small_sizes_borrow_a_class(library: Library) -> list[str]:
    """Class 400 up to NPS 3-1/2 is class 600, class 900 up to NPS 2-1/2 is class 1500."""
    value = nominal(library)
    findings = []
    for edition in EDITIONS:
        rows = {text(row, "key"): row for row in library.table("flange").rows(edition)}
        for lower, higher, upto in BORROWED:
            for size, nps in value.items():
                a, b = rows.get(f"{lower}|{size}"), rows.get(f"{higher}|{size}")
                if nps > upto or (a is None and b is None):
                    continue
                if a is None or b is None:
                    findings.append(f"flange {size}: classes {lower} and {higher} must both have it")
                    continue
                differ = [
                    q for q, v in a.items() if v != b[q] and q not in ("key", "class", "note", "status", "source")
                ]
                findings += [f"flange {lower}|{size}: {q} is {a[q]}, class {higher} has {b[q]}" for q in differ]
    return findings


# --- further fittings ---------------------------------------------------------------------------------------------


PRINTED_OFF = "as printed in the one table read, up to 1.5 mm from the tangent"
FORTY_FIVE_3D_EXCEPTIONS = dict.fromkeys(("36", "40", "46"), PRINTED_OFF)


def elbows_3d(library: Library) -> list[str]:
    """A 3D elbow is 3 x NPS to its end; its 45 lies within 1 mm of R x tan(22.5)."""
    value = nominal(library)
    findings, found = [], {}
    for inch, mm in zip(*(library.table("elbow_3d").rows(e) for e in EDITIONS), strict=True):
        size = text(inch, "size")
        if number(inch, "radius_90") != 3 * value[size]:
            findings.append(f"3D elbow {size}: {inch['radius_90']} in")
        exact = 3 * value[size] * 25.4 * math.tan(math.radians(22.5))
        if abs(number(mm, "radius_45") - exact) > 1.0:
            found[size] = f"3D 45 is {mm['radius_45']} mm, the tangent gives {exact:.1f}"
    return findings + settle(found, FORTY_FIVE_3D_EXCEPTIONS)


GROWING = {
    "fitting_tolerance": (),
    "pipe_od_tolerance": (),
    "spool_tolerance": (),
    "elbow_3d": (),
    "pipe_thread": (),
    "socket_weld_fitting": ("class",),
    "threaded_fitting": ("class",),
    "flange_en": ("pn",),
    "ring_joint": ("class",),
    "valve": ("valve", "class"),
    "flange_large": ("series", "class"),
    "pipe_wall": ("size",),
    "welded_length_tolerance": (),
}  # fmt: skip
FALLING = {
    **{
        f"flange_large A|300|38 {q}": "series A class 300 is another design from NPS 38 up, as printed"
        for q in ("od", "weld_neck", "weld_neck_flat", "bolt_circle", "hole", "bolt_diameter", "stud_length")
    },
    **{
        f"ring_joint {key} gap": "the gap follows the ring, not the size"
        for key in ("150|14", "900|2", "1500|2", "2500|1-1/4")
    },
    "ring_joint 900|3 weld_neck": "class 900 takes class 1500 dimensions up to NPS 2-1/2",
    "ring_joint 900|3 stud_length": "class 900 takes class 1500 dimensions up to NPS 2-1/2",
    "pipe_thread 2-1/2 wrench": "three turns to NPS 2, two turns of a coarser thread above",
    "flange_en 16|450 weld_neck": "from memory, noted as doubtful between editions",
    "flange_large A|150|38 thickness": "as printed",
    "flange_large A|150|38 thickness_flat": "as printed",
    "flange_large A|150|38 stud_length": "follows the thickness",
}


def things_grow_with_size(library: Library) -> list[str]:
    """No length falls from row to row within a block, where it is not listed."""
    found: dict[str, str] = {}
    for name, block in GROWING.items():
        table = library.table(name)
        for edition in EDITIONS:
            for quantity, kind in measured(table, edition):
                if kind not in ("length", "millimetres"):
                    continue
                rows = [row for row in table.rows(edition) if row[quantity] is not None]
                for before, after in pairwise(rows):
                    same = all(before[one] == after[one] for one in block)
                    if same and number(after, quantity) < number(before, quantity):
                        where = f"{name} {label(table, after)} {quantity}"
                        found[where] = f"{before[quantity]} falls to {after[quantity]}"
    return settle(found, FALLING)


def small_bore_fittings_fit(library: Library) -> list[str]:
    """A tee has its elbow's length, a heavier class is no shorter, a socket lets its pipe in."""
    findings = []
    od = {row["size"]: number(row, "od") for row in library.table("nominal_size").rows("mm")}
    for name in ("socket_weld_fitting", "threaded_fitting"):
        for edition in EDITIONS:
            rows = {(row["class"], row["size"]): row for row in library.table(name).rows(edition)}
            for (rating, size), row in rows.items():
                if row["tee"] != row["elbow_90"]:
                    findings.append(f"{name} {rating}|{size}: tee {row['tee']}, elbow {row['elbow_90']}")
                if number(row, "elbow_45") > number(row, "elbow_90"):
                    findings.append(f"{name} {rating}|{size}: 45 {row['elbow_45']}, 90 {row['elbow_90']}")
                for (other, same), lighter in rows.items():
                    if same == size and int(str(other)) < int(str(rating)):
                        findings += [
                            f"{name} {rating}|{size}: {q} {row[q]}, class {other} has {lighter[q]}"
                            for q in ("elbow_90", "elbow_45")
                            if number(row, q) < number(lighter, q)
                        ]
    for row in library.table("socket_weld_fitting").rows("mm"):
        clearance = number(row, "socket_bore") - od[row["size"]]
        if not 0.3 <= clearance <= 1.1:
            findings.append(f"socket_weld_fitting {row['key']}: bore {row['socket_bore']} leaves {clearance:.2f} mm")
    return findings


def threads_follow_their_formulas(library: Library) -> list[str]:
    """Effective thread is (0.80 x OD + 6.8) / threads per inch; make-up is hand-tight plus wrench turns, and the
    shop allows the same to a turn and a half.
    """
    od = {size: number(row, "od") for size, row in by_size(library).items()}
    findings = []
    for row in library.table("pipe_thread").rows("inch"):
        size, tpi = text(row, "size"), number(row, "threads_per_inch")
        for name, exact in (
            ("effective", (0.80 * od[size] + 6.8) / tpi),
            ("wrench", number(row, "wrench_turns") / tpi),
            ("make_up", number(row, "hand_tight") + number(row, "wrench_turns") / tpi),
        ):
            if abs(number(row, name) - exact) > 0.000101:
                findings.append(f"pipe_thread {size}: {name} {row[name]}, the formula gives {exact:.4f}")
        if abs(number(row, "make_up") - number(row, "shop_make_up")) * tpi > 1.5:
            findings.append(f"pipe_thread {size}: shop make-up {row['shop_make_up']}, theory {row['make_up']}")
    return findings


def en_flanges_fit(library: Library) -> list[str]:
    """Holes clear the bolts and each other and lie inside the flange; a higher PN is no smaller."""
    findings = []
    rows = {(int(str(row["pn"])), int(str(row["dn"]))): row for row in library.table("flange_en").rows("mm")}
    for (pn, dn), row in rows.items():
        n, hole, circle = number(row, "bolt_count"), number(row, "hole"), number(row, "bolt_circle")
        bolt = int(text(row, "bolt").removeprefix("M"))
        if row["key"] != f"{pn}|{dn}" or n % 4:
            findings.append(f"flange_en {pn}|{dn}: key {row['key']}, {n} bolts")
        if hole - bolt not in (2, 3):
            findings.append(f"flange_en {pn}|{dn}: hole {hole}, bolt M{bolt}")
        if circle * math.sin(math.pi / n) < hole + 3 or circle + hole >= number(row, "od"):
            findings.append(f"flange_en {pn}|{dn}: bolt circle {circle}, hole {hole}, diameter {row['od']}")
        if not number(row, "weld_neck") > number(row, "thickness") > number(row, "raised_face"):
            findings.append(f"flange_en {pn}|{dn}: length {row['weld_neck']}, thickness {row['thickness']}")
        for lower in (p for p, d in rows if d == dn and p < pn):
            findings += [
                f"flange_en {pn}|{dn}: {q} {row[q]}, PN {lower} has {rows[lower, dn][q]}"
                for q in ("od", "bolt_circle", "thickness", "weld_neck")
                if number(row, q) < number(rows[lower, dn], q)
            ]
    return findings


def ring_joints_fit(library: Library) -> list[str]:
    """The length is the flat-face length plus the groove; one ring number is one groove, inside the holes."""
    flanges = {edition: {row["key"]: row for row in library.table("flange").rows(edition)} for edition in EDITIONS}
    findings = []
    grooves: dict[Value, tuple[Value, ...]] = {}
    for inch, mm in zip(*(library.table("ring_joint").rows(e) for e in EDITIONS), strict=True):
        key = text(inch, "key")
        flange = flanges["inch"].get(key)
        if flange is None or key != f"{inch['class']}|{inch['size']}":
            findings.append(f"ring_joint {key}: no such flange")
            continue
        exact = number(flange, "weld_neck_flat") + number(inch, "groove_depth")
        if abs(number(inch, "weld_neck") - exact) > 1e-6:
            findings.append(f"ring_joint {key}: weld neck {inch['weld_neck']}, flat face and groove are {exact}")
        outside = number(mm, "pitch_diameter") + number(mm, "groove_width")
        metric = flanges["mm"][key]
        if outside >= number(metric, "bolt_circle") - number(metric, "hole"):
            findings.append(f"ring_joint {key}: the groove reaches the holes")
        groove = (mm["pitch_diameter"], mm["groove_depth"], mm["groove_width"])
        if grooves.setdefault(mm["ring"], groove) != groove:
            findings.append(f"ring_joint {key}: ring {mm['ring']} has groove {groove}, elsewhere {grooves[mm['ring']]}")
    return findings


def valves_fit(library: Library) -> list[str]:
    """Weld ends of class 300 and up have the flanged length; ring joints lie past the raised faces."""
    findings = []
    for row in library.table("valve").rows("mm"):
        key, face, weld, ring = row["key"], number(row, "face_to_face"), row["weld_ends"], row["ring_joint"]
        if key != f"{row['valve']}|{row['class']}|{row['size']}":
            findings.append(f"valve {key}: is {row['valve']}, {row['class']}, {row['size']}")
        if weld is not None and row["class"] != "150" and weld != face:
            findings.append(f"valve {key}: weld ends {weld}, faces {face}")
        if ring is not None and number(row, "ring_joint") <= face:
            findings.append(f"valve {key}: ring joint {ring}, faces {face}")
        if row["tolerance"] not in (1.5, 3.0):
            findings.append(f"valve {key}: tolerance {row['tolerance']}")
    return findings


def gaskets_fit(library: Library) -> list[str]:
    """A bolted-up gasket is thinner than a new one; the gap lies between the two."""
    return [
        f"gasket {row['gasket']}: new {row['thickness']}, bolted up {row['compressed']}, gap {row['fit_up_gap']}"
        for edition in EDITIONS
        for row in library.table("gasket").rows(edition)
        if not (
            number(row, "compressed") < number(row, "thickness")
            and number(row, "fit_up_gap") <= number(row, "thickness")
            and number(row, "fit_up_gap") >= number(row, "compressed") - (0.006 if edition == "inch" else 0.11)
        )
    ]


def walls_without_a_name_have_none(library: Library) -> list[str]:
    """A wall without a name is not in the table of schedules, and its size's diameter is the same."""
    named = {(row["size"], row["wall"]) for row in library.table("pipe").rows("inch")}
    od = {size: row["od"] for size, row in by_size(library).items()}
    findings = []
    for row in library.table("pipe_wall").rows("inch"):
        if (row["size"], row["wall"]) in named:
            findings.append(f"pipe_wall {row['key']}: has a schedule")
        if row["od"] != od[text(row, "size")]:
            findings.append(f"pipe_wall {row['key']}: outside diameter {row['od']}")
    return findings


# --- limits -------------------------------------------------------------------------------------------------------


def iso_classes_widen(library: Library) -> list[str]:
    """Class A is the closest, D the widest; ranges join; an angle and its slope are one limit."""
    findings = []
    for name in ("welded_length_tolerance", "welded_angle_tolerance"):
        rows = library.table(name).rows("mm")
        for row in rows:
            limits = [number(row, f"class_{c}") for c in "abcd"]
            if limits != sorted(limits):
                findings.append(f"{name} {row['key']}: classes {limits}")
        findings += [
            f"{name} {b['key']}: starts at {b['over']}, the range before ends at {a['up_to']}"
            for a, b in pairwise(rows)
            if a["up_to"] != b["over"]
        ]
    for row in library.table("welded_angle_tolerance").rows("mm"):
        for c in "abcd":
            exact = 1000 * math.tan(math.radians(number(row, f"class_{c}")))
            if abs(number(row, f"class_{c}_slope") - exact) > 0.55:  # printed to whole mm/m, 1° as 18
                findings.append(f"welded_angle_tolerance {row['key']}: {c} {row[f'class_{c}_slope']} mm/m, {exact:.2f}")
    return findings


def heights_rise_with_the_wall(library: Library) -> list[str]:
    """Ranges of wall join, and a heavier wall has no lower limit of cap height."""
    findings = []
    blocks: dict[tuple[Value, Value], list[Row]] = {}
    for row in library.table("weld_height_limit").rows("inch"):
        blocks.setdefault((row["code"], row["applies"]), []).append(row)
    for (code, applies), rows in blocks.items():
        for before, after in pairwise(rows):
            if before["wall_up_to"] != after["wall_over"] or number(after, "height") < number(before, "height"):
                findings.append(f"{code}, {applies}: {after['key']} does not follow {before['key']}")
        if rows[0]["wall_over"] != 0 or rows[-1]["wall_up_to"] is not None:
            findings.append(f"{code}, {applies}: the ranges do not cover every wall")
    return findings


def slopes_agree(library: Library) -> list[str]:
    """A slope in inches per foot and one in millimetres per metre are one limit, to the printed digits."""
    findings = []
    for name in ("flange_alignment_limit", "end_squareness_limit"):
        for inch, mm in zip(*(library.table(name).rows(e) for e in EDITIONS), strict=True):
            a, b = inch["slope"], mm["slope"]
            if (a is None) != (b is None) or (
                a is not None and abs(number(inch, "slope") - number(mm, "slope")) > 0.00021
            ):
                findings.append(f"{name} {inch['key']}: slope {a}, {b}")
            if a is None and inch["limit"] is None:
                findings.append(f"{name} {inch['key']}: no limit")
    return findings


def tolerances_fit(library: Library) -> list[str]:
    """The diameter limits by size are those of the printed bands; the least wall is 87.5 % in both tables."""
    value = nominal(library)
    bands = [
        row
        for row in library.table("pipe_tolerance").rows("inch")
        if row["measured"] == "OD at any point" and row["specification"] == "ASTM A106 / A530 / A999"
    ]
    findings = []
    for row in library.table("pipe_od_tolerance").rows("inch"):
        nps = value[text(row, "size")]
        band = next(band for band in bands if nps <= value[text(band, "size_to")])
        if (row["over"], row["under"]) != (band["over"], band["under"]):
            findings.append(f"pipe_od_tolerance {row['size']}: {row['over']}, {row['under']}")
    under = {
        row["under_percent"]
        for row in library.table("pipe_tolerance").rows("inch")
        if row["measured"] == "wall: minimum at any point"
    }
    least = {number(row, "minimum_wall") for row in library.table("fitting_tolerance").rows("inch")}
    if least != {0.875} or 12.5 not in under:
        findings.append(f"least wall: fittings {least}, pipe {under} % under")
    return findings


def bevels_cover_every_wall(library: Library) -> list[str]:
    """For each way of welding the ranges of wall join."""
    findings = []
    for edition in EDITIONS:
        for welding in ("any", "gas tungsten arc root"):
            rows = [row for row in library.table("end_preparation").rows(edition) if row["welding"] == welding]
            findings += [
                f"end_preparation {b['key']}: from {b['wall_over']}, the one before to {a['wall_up_to']} ({edition})"
                for a, b in pairwise(rows)
                if a["wall_up_to"] != b["wall_over"]
            ]
            if not rows or rows[-1]["wall_up_to"] is not None:
                findings.append(f"end_preparation {welding}: heavy walls are not covered")
    return findings
