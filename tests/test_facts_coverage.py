"""Every collected fact is in the product, or listed with the reason why not.

The facts lie beside the repository, not in it. Where they are absent the tests that read them are skipped; what the
lists below say of the product itself is tested everywhere.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import pytest
from table_checks import settle

from workbook_builder.tables import load
from workbook_builder.template import Shelf

ROOT = Path(__file__).resolve().parent.parent
FACTS = ROOT.parent / "shared" / "facts"
LIBRARY = load()

needs_facts = pytest.mark.skipif(
    not FACTS.is_dir(), reason="the collected facts are not beside the repository (../shared/facts)"
)

# -- files -------------------------------------------------------------------------------------------------------------

Row = Mapping[str, str]

TWO_DECIMALS = 0.00501
"""Inches printed with two decimals stand for an exact fraction, which is carried."""


@dataclass(frozen=True)
class Carried:
    """A file of values and the table that carries them.

    Attributes:
        table: the table.
        keys: the keys of the table's rows that a row of the file fills.
        columns: column of the file -> field of the table.
        printed: columns that are printed with two decimals and carried as the exact fraction.
        left: columns that are not carried, with the reason.
    """

    table: str
    keys: Callable[[Row], list[str]]
    columns: Mapping[str, str]
    printed: frozenset[str] = frozenset()
    left: Mapping[str, str] = field(default_factory=dict)


def by(*names: str, join: str = "|") -> Callable[[Row], list[str]]:
    return lambda row: [join.join(row[name] for name in names)]


@cache
def sizes() -> list[str]:
    return [str(value) for value in LIBRARY.table("nominal_size").column("size", "inch").values]


def band(row: Row) -> list[str]:
    """Every size of a row that holds from one size to another."""
    first, last = sizes().index(row["nps_from"]), sizes().index(row["nps_to"])
    known = set(LIBRARY.table("fitting_tolerance").column("size", "inch").values)
    return [size for size in sizes()[first : last + 1] if size in known]


@cache
def facts(name: str) -> list[dict[str, str]]:
    with (FACTS / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


WORDS = dict.fromkeys(
    ("note", "source", "status", "confidence", "wall_sources", "mass_lb_basis"),
    "status, source and note of the row, in the tables' own words",
)
SIZE = {"dn": "in nominal_size", "od_in": "in nominal_size", "od_mm": "in nominal_size", "od_mm_exact": "od_in × 25.4"}
FRACTION_TEXT = "the same number as text"

VALVES = {"long pattern": "ball long", "short pattern": "ball short"}
"""A ball valve's pattern is part of its name here: the two have lengths of their own."""

FILES: dict[str, Carried | str] = {
    "README.md": "tells what the files are",
    "fittings_notes.md": "sources, corrections and doubts: in sources, notes and statuses of the tables; the 45s that "
    "it names in the tests",
    "flanges_notes.md": "sources, corrections and doubts: in sources, notes and statuses of the tables",
    "limits.md": "spool_tolerance, misalignment_limit, flange_alignment_limit, end_squareness_limit, "
    "weld_height_limit, end_preparation, welded_length_tolerance, welded_angle_tolerance, fitting_tolerance; examples "
    "of the sheets Limits by range and Pocket sums; rules and cautions of the spool workbook. Not carried: preheat and "
    "hydrotest (98 to 101: not fit-up, and they changed by edition), deposition rates and operating factors (81 to 83: "
    "no published number holds for a shop), flattening of bends (39: no bends), what has no number (21, 36, 38, 55, 73 "
    "to 75)",
    "worked_examples.csv": "row by row below",
    "b16_9_tolerances_ranges.csv": "the numbers of b16_9_tolerances.csv once more, by the ranges as printed",
    "b36_10_pipe.csv": Carried(
        "pipe",
        by("nps", "designation"),
        {
            "od_in": "od_in",
            "od_mm": "od_mm",
            "wall_in": "wall_in",
            "wall_mm": "wall_mm",
            "mass_lb_ft": "mass_lb_ft",
            "mass_kg_m": "mass_kg_m",
            "standard": "standard",
        },
        left={"od_mm_exact": "od_in × 25.4", **WORDS},
    ),
    "b36_10_pipe_unlabelled_walls.csv": Carried(
        "pipe_wall",
        lambda row: [f"{row['nps']}|{float(row['wall_in']):g}"],
        {one: one for one in ("od_in", "od_mm", "wall_in", "wall_mm", "mass_lb_ft", "mass_kg_m")},
        left=WORDS,
    ),
    "b16_9_elbows.csv": Carried(
        "elbow",
        by("nps"),
        {
            f"{theirs}_{unit}": f"{ours}_{unit}"
            for theirs, ours in (
                ("lr90_A", "long_90"),
                ("lr45_B", "long_45"),
                ("sr90_A", "short_90"),
                ("lr180_O", "long_return_centre"),
                ("lr180_K", "long_return_back"),
                ("sr180_O", "short_return_centre"),
                ("sr180_K", "short_return_back"),
            )
            for unit in ("in", "mm")
        },
        frozenset(f"{one}_in" for one in ("lr90_A", "lr45_B", "sr90_A", "lr180_O", "lr180_K", "sr180_O", "sr180_K")),
        SIZE | WORDS,
    ),
    "b16_9_elbows_3d.csv": Carried(
        "elbow_3d",
        by("nps"),
        {
            "r3d90_A_in": "radius_90_in",
            "r3d90_A_mm": "radius_90_mm",
            "r3d45_B_in": "radius_45_in",
            "r3d45_B_mm": "radius_45_mm",
        },
        frozenset({"r3d90_A_in"}),
        WORDS,
    ),
    "b16_9_tees.csv": Carried(
        "tee",
        by("nps"),
        {"C_in": "run_in", "C_mm": "run_mm", "M_in": "branch_in", "M_mm": "branch_mm"},
        frozenset({"C_in", "M_in"}),
        SIZE | WORDS,
    ),
    "b16_9_reducing_tees.csv": Carried(
        "reducing_tee",
        by("run_nps", "outlet_nps", join="x"),
        {"C_in": "run_in", "C_mm": "run_mm", "M_in": "branch_in", "M_mm": "branch_mm"},
        frozenset({"C_in", "M_in"}),
        WORDS,
    ),
    "b16_9_reducers.csv": Carried(
        "reducer",
        by("large_nps", "small_nps", join="x"),
        {"H_in": "length_in", "H_mm": "length_mm"},
        frozenset({"H_in"}),
        dict.fromkeys(("ecc_offset_in", "ecc_offset_mm"), "worked out here from the diameters, and not rounded")
        | WORDS,
    ),
    "b16_9_caps.csv": Carried(
        "cap",
        by("nps"),
        {
            "E_in": "length_in",
            "E_mm": "length_mm",
            "limiting_wall_in": "limiting_wall_in",
            "limiting_wall_mm": "limiting_wall_mm",
            "E1_in": "length_heavy_in",
            "E1_mm": "length_heavy_mm",
        },
        frozenset({"E_in", "E1_in"}),
        SIZE | WORDS,
    ),
    "b16_9_tolerances.csv": Carried(
        "fitting_tolerance",
        band,
        {
            "od_bevel_plus_in": "od_plus_in",
            "od_bevel_minus_in": "od_minus_in",
            "od_bevel_plus_mm": "od_plus_mm",
            "od_bevel_minus_mm": "od_minus_mm",
            "id_end_pm_in": "bore_in",
            "id_end_pm_mm": "bore_mm",
            "min_wall_fraction": "minimum_wall",
            **{
                f"{theirs}_pm_{unit}": f"{ours}_{unit}"
                for theirs, ours in (
                    ("ctr_end_ABCM", "centre_to_end"),
                    ("ctr_end_3D", "centre_to_end_3d"),
                    ("reducer_H", "reducer_length"),
                    ("cap_E", "cap_length"),
                    ("ret_O", "return_centre"),
                    ("ret_K", "return_back"),
                    ("ret_U", "return_alignment"),
                    ("offangle_Q", "off_angle"),
                    ("offplane_P", "off_plane"),
                )
                for unit in ("in", "mm")
            },
        },
        frozenset(
            {"od_bevel_plus_in", "od_bevel_minus_in", "id_end_pm_in"}
            | {
                f"{one}_pm_in"
                for one in (
                    "ctr_end_ABCM",
                    "ctr_end_3D",
                    "reducer_H",
                    "cap_E",
                    "ret_O",
                    "ret_K",
                    "ret_U",
                    "offangle_Q",
                    "offplane_P",
                )
            }
        ),
        WORDS,
    ),
    "b16_5_flanges.csv": Carried(
        "flange",
        by("class", "nps"),
        {
            "od_in": "od_in",
            "od_mm_std": "od_mm",
            "tf_in": "thickness_flat_in",
            "tf_mm_std": "thickness_flat_mm",
            "rf_height_in": "raised_face_in",
            "rf_height_mm": "raised_face_mm",
            "rf_od_in": "raised_face_od_in",
            "rf_od_mm": "raised_face_od_mm",
            "y_wn_in": "weld_neck_flat_in",
            "y_wn_mm_std": "weld_neck_flat_mm",
            "y_so_in": "slip_on_flat_in",
            "y_so_mm_std": "slip_on_flat_mm",
            "y_thd_in": "threaded_flat_in",
            "y_thd_mm_std": "threaded_flat_mm",
            "y_sw_in": "socket_weld_flat_in",
            "y_sw_mm_std": "socket_weld_flat_mm",
            "y_lap_in": "lap_joint_in",
            "y_lap_mm_std": "lap_joint_mm",
            "len_wn_rf_in": "weld_neck_in",
            "len_wn_rf_mm": "weld_neck_mm",
            "len_so_rf_in": "slip_on_in",
            "len_so_rf_mm": "slip_on_mm",
            "len_thd_rf_in": "threaded_in",
            "len_thd_rf_mm": "threaded_mm",
            "len_sw_rf_in": "socket_weld_in",
            "len_sw_rf_mm": "socket_weld_mm",
            "socket_depth_in": "socket_depth_in",
            "socket_depth_mm": "socket_depth_mm",
            "bolt_circle_in": "bolt_circle_in",
            "bolt_circle_mm": "bolt_circle_mm",
            "bolt_count": "bolt_count",
            "hole_in": "hole_in",
            "hole_mm": "hole_mm",
            "bolt_dia": "bolt",
            "bolt_in": "bolt_diameter_in",
            "stud_len_rf_in": "stud_length_in",
            "stud_len_rf_mm_std": "stud_length_mm",
        },
        frozenset(
            {
                "od_in",
                "tf_in",
                "rf_height_in",
                "rf_od_in",
                "y_wn_in",
                "y_so_in",
                "y_thd_in",
                "y_sw_in",
                "y_lap_in",
                "socket_depth_in",
                "bolt_circle_in",
                "hole_in",
                "stud_len_rf_in",
            }
        ),
        {
            "dn": "in nominal_size",
            "rf_height_mm_std": "the rounded 2 or 7 mm: never to be added",
            "tf_lap_in": "a lap joint's thickness joins no pipe",
            "tf_lap_mm_std": "a lap joint's thickness joins no pipe",
            "len_wn_rf_frac": FRACTION_TEXT,
            "len_so_rf_frac": FRACTION_TEXT,
            "hole_dia": FRACTION_TEXT,
            "stud_len_rtj_mm_std": "in ring_joint",
            "taken_from_class": "said in the note",
            **WORDS,
        },
    ),
    "b16_47.csv": Carried(
        "flange_large",
        by("series", "class", "nps"),
        {
            "od_in": "od_in",
            "od_mm_std": "od_mm",
            "tf_in": "thickness_flat_in",
            "tf_mm_std": "thickness_flat_mm",
            "rf_height_in": "raised_face_in",
            "rf_od_in": "raised_face_od_in",
            "rf_od_mm_std": "raised_face_od_mm",
            "y_wn_in": "weld_neck_flat_in",
            "y_wn_mm_std": "weld_neck_flat_mm",
            "len_wn_rf_in": "weld_neck_in",
            "len_wn_rf_mm": "weld_neck_mm",
            "bolt_circle_in": "bolt_circle_in",
            "bolt_circle_mm_std": "bolt_circle_mm",
            "bolt_count": "bolt_count",
            "hole_in": "hole_in",
            "hole_mm": "hole_mm",
            "bolt_dia": "bolt",
            "stud_len_rf_in": "stud_length_in",
        },
        frozenset({"od_in", "tf_in", "rf_height_in", "rf_od_in", "y_wn_in", "len_wn_rf_in", "bolt_circle_in"}),
        {"dn": "in nominal_size", "hole_dia": FRACTION_TEXT, **WORDS},
    ),
    "rtj_facings.csv": Carried(
        "ring_joint",
        by("class", "nps"),
        {
            "ring_no": "ring",
            "pitch_dia_mm": "pitch_diameter_mm",
            "groove_depth_e_mm": "groove_depth_mm",
            "groove_depth_e_in": "groove_depth_in",
            "groove_width_f_mm": "groove_width_mm",
            "approx_gap_in": "gap_in",
            "approx_gap_mm": "gap_mm",
            "len_wn_rtj_in": "weld_neck_in",
            "len_wn_rtj_mm": "weld_neck_mm",
        },
        frozenset({"groove_depth_e_in", "len_wn_rtj_in"}),
        {"dn": "in nominal_size", **WORDS},
    ),
    "gaskets.csv": Carried(
        "gasket",
        by("gasket"),
        {
            "standard": "standard",
            "thk_new_in": "thickness_in",
            "thk_new_mm": "thickness_mm",
            "thk_compressed_in": "compressed_in",
            "thk_compressed_mm": "compressed_mm",
            "fitup_gap_in": "fit_up_gap_in",
            "fitup_gap_mm": "fit_up_gap_mm",
        },
        left=WORDS,
    ),
    "b16_11_socket_weld.csv": Carried(
        "socket_weld_fitting",
        by("class", "nps"),
        {
            f"{theirs}_{unit}": f"{ours}_{unit}"
            for theirs, ours in (
                ("a90", "elbow_90"),
                ("a_tee_cross", "tee"),
                ("a45", "elbow_45"),
                ("socket_depth_min", "socket_depth"),
                ("coupling_e", "coupling"),
                ("half_coupling_f", "half_coupling"),
            )
            for unit in ("in", "mm")
        }
        | {"socket_bore_min_mm": "socket_bore_mm"},
        frozenset(
            f"{one}_in" for one in ("a90", "a_tee_cross", "a45", "socket_depth_min", "coupling_e", "half_coupling_f")
        ),
        {
            "dn": "in nominal_size",
            "gap_in": "one number for all, in the table's description",
            "gap_mm": "the same",
            **WORDS,
        },
    ),
    "b16_11_threaded.csv": Carried(
        "threaded_fitting",
        by("class", "nps"),
        {
            f"{theirs}_{unit}": f"{ours}_{unit}"
            for theirs, ours in (
                ("a90", "elbow_90"),
                ("a_tee_cross", "tee"),
                ("c45", "elbow_45"),
                ("coupling_w", "coupling"),
                ("half_coupling", "half_coupling"),
            )
            for unit in ("in", "mm")
        }
        | {"min_thread_b_mm": "thread_length_mm", "min_thread_l2_mm": "effective_thread_mm"},
        frozenset(f"{one}_in" for one in ("a90", "a_tee_cross", "c45", "coupling_w", "half_coupling")),
        {"dn": "in nominal_size", **WORDS},
    ),
    "npt_threads.csv": Carried(
        "pipe_thread",
        by("nps"),
        {
            "tpi": "threads_per_inch",
            "l1_handtight_in": "hand_tight_in",
            "l1_handtight_mm": "hand_tight_mm",
            "l2_effective_in": "effective_in",
            "l2_effective_mm": "effective_mm",
            "l3_wrench_in": "wrench_in",
            "l3_wrench_turns": "wrench_turns",
            "l1_plus_l3_in": "make_up_in",
            "l1_plus_l3_mm": "make_up_mm",
            "shop_engagement_in": "shop_make_up_in",
        },
        left={
            "pipe_od_in": "in nominal_size",
            "pitch_in": "1 ÷ threads per inch",
            "l1_turns": "the length × threads per inch",
            **WORDS,
        },
    ),
    "b16_10_valves.csv": Carried(
        "valve",
        lambda row: [f"{VALVES.get(row['pattern'], row['valve_type'])}|{row['class']}|{row['nps']}"],
        {
            "pattern": "pattern",
            "ftf_rf_mm": "face_to_face_mm",
            "ftf_rf_in": "face_to_face_in",
            "ete_bw_mm": "weld_ends_mm",
            "ete_rtj_mm": "ring_joint_mm",
            "tol_mm": "tolerance_mm",
        },
        left={
            "dn": "in nominal_size",
            "ftf_rf_frac": FRACTION_TEXT,
            "includes_rf": "always yes: in the column's title",
            **WORDS,
        },
    ),
    "en1092_flanges.csv": Carried(
        "flange_en",
        by("pn", "dn"),
        {
            "pipe_od_mm": "pipe_od_mm",
            "flange_od_d_mm": "od_mm",
            "bolt_circle_k_mm": "bolt_circle_mm",
            "bolt_count": "bolt_count",
            "hole_d_mm": "hole_mm",
            "bolt": "bolt",
            "thickness_c2_mm": "thickness_mm",
            "length_h2_mm": "weld_neck_mm",
            "rf_height_f1_mm": "raised_face_mm",
        },
        left={"h2_includes_rf": "always yes: in the column's title", **WORDS},
    ),
    "pipe_tolerances.csv": Carried(
        "pipe_tolerance",
        lambda row: [str(facts("pipe_tolerances.csv").index(dict(row)) + 1)],
        {
            "spec": "specification",
            "quantity": "measured",
            "over_in": "over_in",
            "under_in": "under_in",
            "over_mm": "over_mm",
            "under_mm": "under_mm",
        },
        left={
            "nps_from": "size_from, in words",
            "nps_to": "size_to, in words",
            "over": "the same as text; percents in over_percent",
            "under": "the same as text; percents in under_percent",
            "unit": "in the column's title",
            **WORDS,
        },
    ),
}


@cache
def table_rows(name: str) -> dict[str, dict[str, str]]:
    """A table's file by its first column, as text."""
    with (ROOT / "reference_tables" / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    first = next(iter(rows[0]))
    return {row[first]: row for row in rows}


def same(ours: str, theirs: str, printed: bool) -> bool:
    """Whether two cells say one thing: equal text, equal numbers, or a fraction and its two decimals."""
    if ours == theirs:
        return True
    try:
        apart = abs(number(ours) - number(theirs))
    except ValueError:
        return False
    return apart <= (TWO_DECIMALS if printed else 1e-9)


def number(said: str) -> float:
    """A decimal, or a whole number and a fraction."""
    whole, _, part = said.rpartition("-") if "/" in said and "-" in said else ("", "", said)
    upper, _, lower = part.partition("/")
    return float(whole or 0) + float(upper) / float(lower or 1)


def differences(name: str, carried: Carried) -> Iterator[tuple[str, str]]:
    """Cells of a file that its table does not carry as they are, and rows that only one of the two has."""
    ours = table_rows(carried.table)
    seen = set()
    for row in facts(name):
        for key in carried.keys(row):
            if key not in ours:
                yield f"{key}", "is not carried"
                continue
            seen.add(key)
            for theirs, mine in carried.columns.items():
                if not same(ours[key][mine], row[theirs], theirs in carried.printed):
                    yield f"{key} {mine}", f"{ours[key][mine]} here, {row[theirs]} collected"
    for key in ours.keys() - seen:
        yield f"{key}", "was not collected"


@needs_facts
def test_every_file_is_in_the_product_or_listed_with_a_reason() -> None:
    there = {path.name for path in FACTS.iterdir() if path.is_file()}
    assert there == set(FILES)


@needs_facts
@pytest.mark.parametrize("name", [name for name, said in FILES.items() if isinstance(said, Carried)])
def test_collected_values_are_carried(name: str) -> None:
    carried = FILES[name]
    assert isinstance(carried, Carried)
    assert settle(dict(differences(name, carried)), SETTLED.get(name, {})) == []


@needs_facts
@pytest.mark.parametrize("name", [name for name, said in FILES.items() if isinstance(said, Carried)])
def test_every_column_is_carried_or_left_with_a_reason(name: str) -> None:
    carried = FILES[name]
    assert isinstance(carried, Carried)
    keys = {
        "nps",
        "class",
        "series",
        "run_nps",
        "outlet_nps",
        "large_nps",
        "small_nps",
        "nps_from",
        "nps_to",
        "designation",
    }
    keys |= {"gasket", "valve_type", "pn", "dn"}
    there = set(facts(name)[0]) - keys
    assert there <= set(carried.columns) | set(carried.left), there - set(carried.columns) - set(carried.left)


SIXTEENTH = "printed 0.01 in over: an older length less 0.06; the exact sixteenth is carried, as the column says"
SETTLED: dict[str, dict[str, str]] = {
    "b16_9_elbows.csv": {"2-1/2 long_return_centre_mm": "two tables read print 191; 190 is from memory"},
    "b16_5_flanges.csv": dict.fromkeys(
        (
            "150|22 weld_neck_flat_in",
            "300|4 weld_neck_flat_in",
            "300|4 slip_on_flat_in",
            "300|4 threaded_flat_in",
            "300|5 weld_neck_flat_in",
            "300|6 weld_neck_flat_in",
            "300|8 weld_neck_flat_in",
            "300|12 slip_on_flat_in",
            "300|12 threaded_flat_in",
            "300|20 weld_neck_flat_in",
        ),
        SIXTEENTH,
    ),
    "b16_47.csv": dict.fromkeys(
        (
            "A|150|30 weld_neck_flat_in",
            "A|150|34 weld_neck_flat_in",
            "A|300|26 thickness_flat_in",
            "A|300|28 thickness_flat_in",
            "A|300|30 thickness_flat_in",
            "A|300|32 thickness_flat_in",
            "A|300|34 weld_neck_flat_in",
            "A|300|36 thickness_flat_in",
            "A|300|42 weld_neck_flat_in",
            "A|300|44 thickness_flat_in",
            "B|150|26 thickness_flat_in",
            "B|150|36 weld_neck_flat_in",
            "B|150|38 thickness_flat_in",
            "B|150|38 weld_neck_flat_in",
            "B|150|44 thickness_flat_in",
            "B|150|44 weld_neck_flat_in",
            "B|150|48 weld_neck_flat_in",
        ),
        SIXTEENTH,
    ),
    "gaskets.csv": {"ring joint (RTJ)": "a ring's gap differs by class and size: ring_joint has it"},
}
"""Cells in which file and table differ, each settled."""


# -- worked examples, row by row ---------------------------------------------------------------------------------------

EXAMPLES: dict[str, tuple[str, ...] | str] = {
    "simple offset 60 deg": ("pocket.travel 13.8564 in", "pocket.advance 6.9288 in"),
    "true offset (rolling)": ("pocket.true_offset 14.42 in",),
    "simple offset 45 run": ("pocket.advance 10 in",),
    "tangent table": ("pocket.cut_takeout 0.4142 in", "pocket.cut_takeout 0.5774 in", "pocket.cut_takeout 1.000 in"),
    "cut length 45 offset": ("pocket.travel 16.92 in", "pocket.between 14.92 in"),
    "offset multipliers 45": ("pocket.travel 1.4142 in", "pocket.advance 1.0 in", "pocket.travel 1 in"),
    "offset multipliers 67.5": (
        "pocket.travel 1.0824 in",
        "pocket.advance 0.4142 in",
        "pocket.travel 2.6131 in",
        "pocket.travel 1 in",
    ),
    "offset constants": (
        "pocket.travel 1.1547 in",
        "pocket.travel 1.414 in",
        "pocket.travel 2.6131 in",
        "pocket.advance 0.5774 in",
        "pocket.advance 1.000 in",
        "pocket.advance 2.4142 in",
    ),
    "odd-angle elbow arcs": ("pocket.outside_arc 6.2832 in", "pocket.inside_arc 3.1416 in"),
    "elbow arc per degree": ("pocket.outside_arc 0.06981333 in", "pocket.inside_arc 0.034906666 in"),
    "mitre cutback": ("pocket.cutback 45.00 mm", "pocket.cutback_half 22.50 mm", "pocket.mitre_round 527.85 mm"),
    "mitre cut angle": ("pocket.mitre_cut 15 deg",),
    "mitre layout method": "a method, no number: named beside the result cutback_half",
    "tee template crotch": "a method for laying out a template, no number; branches are cut from the tables' tees",
    "centreline finding": "a method for quartering a pipe with a square, no number",
    "bolt circle straddle": ("pocket.off_one 1.0353 in", "pocket.off_other 3.8637 in"),
    "bolt-hole chord constant n=4": ("pocket.chord_constant 0.70711",),
    "bolt-hole chord constant n=8": ("pocket.chord_constant 0.38268",),
    "bolt-hole chord constant n=12": ("pocket.chord_constant 0.25882",),
    "bolt-hole chord constant n=16": ("pocket.chord_constant 0.19509",),
    "bolt-hole chord constant n=36": ("pocket.chord_constant 0.0872",),
    "bolt-hole chord constant n=40": ("pocket.chord_constant 0.0785",),
    "weld metal fillet": ("pocket.fillet 0.424 lb/ft",),
    "weld metal elements t=3/8 in; gap 1/8 in; bevel 30 deg per side": (
        "pocket.rectangle 0.159 lb/ft",
        "pocket.triangle 0.138 lb/ft",
    ),
    "weld metal elements t=1/2 in; gap 1/8 in; bevel 30 deg per side": (
        "pocket.rectangle 0.212 lb/ft",
        "pocket.triangle 0.245 lb/ft",
    ),
    "cap element": ("pocket.cap 0.141 lb/ft", "pocket.cap 0.212 lb/ft", "pocket.cap 0.283 lb/ft"),
    "fillet consumption": (
        "pocket.fillet 0.106 lb/ft",
        "pocket.fillet_filler 0.193 lb/ft",
        "pocket.fillet_filler 0.133 lb/ft",
        "pocket.fillet_filler 0.118 lb/ft",
    ),
    "electrode lb per pipe joint": "electrodes used by a pipeline crew with its own bevel and passes: no formula of "
    "the weld's section gives them",
    "stub loss efficiency electrode 12 in; base 65 %; stub 2, 3, 4, 5 in": tuple(
        f"pocket.stub_efficiency {one}" for one in (0.542, 0.487, 0.433, 0.379)
    ),
    "stub loss efficiency electrode 14 in; base 65 %; stub 2, 3, 4, 5 in": tuple(
        f"pocket.stub_efficiency {one}" for one in (0.557, 0.511, 0.464, 0.418)
    ),
    "shrinkage rule": "a range, no formula: the job's rule shrinkage_per_weld takes what the shop measured",
    "counterbore": ("pocket.counterbore 11.505 in",),
    "pipe bore": ("pocket.bore 4.026 in", "pocket.bore 102.26 mm"),
}


@cache
def shipped_examples() -> set[str]:
    """Every expected value of every shipped worked example: name and value."""
    shelf = Shelf()
    return {
        f"{example.table or name}.{what} {value}"
        for name in shelf.names("sheets")
        for example in shelf.sheet(name).example
        for what, value in example.expect.items()
    }


def example_of(row: Row) -> str:
    """Which of the lines above a row of the file is: its topic, or topic and inputs."""
    return next((one for one in (f"{row['topic']} {row['inputs']}", row["topic"]) if one in EXAMPLES), "")


@needs_facts
def test_every_collected_example_is_worked_or_listed_with_a_reason() -> None:
    rows = facts("worked_examples.csv")
    assert [row for row in rows if not example_of(row)] == []
    assert {example_of(row) for row in rows} == set(EXAMPLES)


@pytest.mark.parametrize("topic", [topic for topic, said in EXAMPLES.items() if not isinstance(said, str)])
def test_collected_examples_are_examples_of_a_sheet(topic: str) -> None:
    assert set(EXAMPLES[topic]) <= shipped_examples()


# -- it can fail -------------------------------------------------------------------------------------------------------


def test_listed_tables_and_fields_are_there() -> None:
    for said in FILES.values():
        if isinstance(said, Carried):
            fields = {one.name for one in LIBRARY.table(said.table).fields}
            assert set(said.columns.values()) <= fields, said.table
        else:
            assert len(said) > 10


@needs_facts
def test_a_changed_value_and_a_lost_row_are_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    carried = FILES["b16_9_tees.csv"]
    assert isinstance(carried, Carried)
    rows = {size: dict(row) for size, row in table_rows("tee").items()}
    rows["6"]["run_mm"] = "144"
    del rows["8"]
    monkeypatch.setattr("test_facts_coverage.table_rows", lambda name: rows)
    assert dict(differences("b16_9_tees.csv", carried)) == {
        "6 run_mm": "144 here, 143 collected",
        "8": "is not carried",
    }


@needs_facts
def test_a_new_file_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in FILES:
        (tmp_path / name).touch()
    monkeypatch.setattr("test_facts_coverage.FACTS", tmp_path)
    test_every_file_is_in_the_product_or_listed_with_a_reason()
    (tmp_path / "new.csv").touch()
    with pytest.raises(AssertionError):
        test_every_file_is_in_the_product_or_listed_with_a_reason()
