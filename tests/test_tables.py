# ruff: noqa: E501  (lists of names and reasons stay in one piece)
"""The reference tables that ship: their description, their values, and the module that reads them."""

from __future__ import annotations

import csv
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import frictionless
import pytest
import table_checks as checks

from workbook_builder import tables
from workbook_builder.errors import TableError
from workbook_builder.tables import Library, load

FOLDER = Path(tables.__file__).resolve().parent.parent / "reference_tables"
LIBRARY = load()

Check = Callable[[Library], list[str]]

CHECKS: tuple[Check, ...] = (
    checks.rows_have_source_and_status,
    checks.memory_is_marked,
    checks.keys_are_unique,
    checks.fields_are_described,
    checks.sizes_are_known,
    checks.sizes_ascend,
    checks.editions_agree,
    checks.inches_are_fractions,
    checks.pipe_agrees_with_sizes,
    checks.pipe_masses,
    checks.pipe_bores_and_areas,
    checks.pipe_walls_rise,
    checks.pipe_walls_equal,
    checks.elbow_radii,
    checks.return_backs,
    checks.forty_fives,
    checks.lengths_rise_with_size,
    checks.tees_fit,
    checks.branches_follow_the_pattern,
    checks.reducers_fit,
    checks.caps_and_stub_ends_fit,
    checks.flange_drilling,
    checks.flange_lengths,
    checks.flanges_rise_with_size,
    checks.flanges_rise_with_class,
    checks.small_sizes_borrow_a_class,
    checks.elbows_3d,
    checks.things_grow_with_size,
    checks.small_bore_fittings_fit,
    checks.threads_follow_their_formulas,
    checks.en_flanges_fit,
    checks.ring_joints_fit,
    checks.valves_fit,
    checks.gaskets_fit,
    checks.walls_without_a_name_have_none,
    checks.iso_classes_widen,
    checks.heights_rise_with_the_wall,
    checks.slopes_agree,
    checks.tolerances_fit,
    checks.bevels_cover_every_wall,
)

# check, table, key, field, spoiled value: one slip that the check must report
SPOILS: tuple[tuple[Check, str, str, str, str], ...] = (
    (checks.rows_have_source_and_status, "tee", "6", "source", "heard somewhere"),
    (checks.rows_have_source_and_status, "tee", "6", "status_mm", ""),
    (checks.memory_is_marked, "stub_end", "6", "status", "published, seen once"),
    (checks.keys_are_unique, "tee", "6", "size", "5"),
    (checks.sizes_are_known, "reducer", "8x6", "small_size", "7"),
    (checks.sizes_ascend, "pipe", "6|STD", "size", "24"),
    (checks.editions_agree, "elbow", "6", "long_90_mm", "228"),
    (checks.editions_agree, "flange", "150|6", "bolt_circle_mm", ""),
    (checks.inches_are_fractions, "tee", "6", "run_in", "5.62"),
    (checks.pipe_agrees_with_sizes, "pipe", "6|STD", "od_in", "6.65"),
    (checks.pipe_masses, "pipe", "6|STD", "mass_lb_ft", "18.97"),
    (checks.pipe_masses, "pipe", "6|STD", "mass_kg_m", "28.29"),
    (checks.pipe_bores_and_areas, "pipe", "6|STD", "bore_in", "6.064"),
    (checks.pipe_bores_and_areas, "pipe", "6|STD", "bore_area_mm2", "18638.8"),
    (checks.pipe_bores_and_areas, "pipe", "6|STD", "outside_area_ft2_ft", "1.7345"),
    (checks.pipe_walls_rise, "pipe", "6|XS", "wall_in", "0.27"),
    (checks.pipe_walls_equal, "pipe", "6|40", "wall_mm", "7.12"),
    (checks.elbow_radii, "elbow", "6", "long_90_in", "9.125"),
    (checks.elbow_radii, "elbow", "6", "short_90_in", "6.0625"),
    (checks.return_backs, "elbow", "6", "long_return_back_in", "12.375"),
    (checks.forty_fives, "elbow", "6", "long_45_in", "3.875"),
    (checks.lengths_rise_with_size, "cap", "6", "length_mm", "75"),
    (checks.tees_fit, "reducing_tee", "6x4", "run_in", "5.5"),
    (checks.tees_fit, "reducing_tee", "6x4", "branch_mm", "138"),
    (checks.branches_follow_the_pattern, "reducing_tee", "24x12", "branch_in", "15.75"),
    (checks.reducers_fit, "reducer", "8x6", "offset_in", "1.0625"),
    (checks.reducers_fit, "reducer", "8x6", "length_mm", "153"),
    (checks.caps_and_stub_ends_fit, "cap", "6", "length_heavy_in", "3.25"),
    (checks.flange_drilling, "flange", "150|6", "bolt_count", "10"),
    (checks.flange_drilling, "flange", "150|6", "hole_in", "0.75"),
    (checks.flange_drilling, "flange", "150|6", "bolt_circle_in", "10.125"),
    (checks.flange_drilling, "flange", "150|6", "stud_length_in", "4.5"),
    (checks.flange_lengths, "flange", "150|6", "weld_neck_in", "3.4375"),
    (checks.flange_lengths, "flange", "300|6", "raised_face_in", "0.25"),
    (checks.flanges_rise_with_size, "flange", "150|6", "od_in", "9.5"),
    (checks.flanges_rise_with_class, "flange", "300|6", "thickness_in", "0.9375"),
    (checks.small_sizes_borrow_a_class, "flange", "400|2", "lap_joint_mm", "36"),
    (checks.inches_are_fractions, "fitting_tolerance", "6", "centre_to_end_in", "0.06"),
    (checks.editions_agree, "valve", "gate|150|6", "face_to_face_mm", "268"),
    (checks.pipe_masses, "pipe_wall", "18|1", "mass_lb_ft", "171.73"),
    (checks.flange_drilling, "flange_large", "A|150|36", "bolt_circle_in", "44"),
    (checks.flange_drilling, "flange_large", "A|150|48", "raised_face_od_in", "55"),
    (checks.elbows_3d, "elbow_3d", "6", "radius_45_mm", "187"),
    (checks.elbows_3d, "elbow_3d", "6", "radius_90_in", "18.0625"),
    (checks.things_grow_with_size, "valve", "gate|300|8", "face_to_face_mm", "400"),
    (checks.small_bore_fittings_fit, "socket_weld_fitting", "3000|1", "tee_mm", "22"),
    (checks.small_bore_fittings_fit, "socket_weld_fitting", "3000|1", "socket_bore_mm", "33.4"),
    (checks.small_bore_fittings_fit, "threaded_fitting", "6000|1", "elbow_45_in", "1.25"),
    (checks.threads_follow_their_formulas, "pipe_thread", "1-1/2", "hand_tight_in", "0.402"),
    (checks.threads_follow_their_formulas, "pipe_thread", "3/8", "effective_in", "0.0478"),
    (checks.en_flanges_fit, "flange_en", "10|100", "hole_mm", "24"),
    (checks.en_flanges_fit, "flange_en", "16|300", "weld_neck_mm", "27"),
    (checks.ring_joints_fit, "ring_joint", "300|6", "weld_neck_in", "4.1875"),
    (checks.ring_joints_fit, "ring_joint", "300|6", "pitch_diameter_mm", "211.2"),
    (checks.valves_fit, "valve", "gate|600|6", "weld_ends_mm", "560"),
    (checks.gaskets_fit, "gasket", "flat sheet 1/8", "compressed_in", "0.13"),
    (checks.walls_without_a_name_have_none, "pipe_wall", "6|0.25", "wall_in", "0.28"),
    (checks.iso_classes_widen, "welded_length_tolerance", "120-400", "class_b_mm", "5"),
    (checks.iso_classes_widen, "welded_angle_tolerance", "0-400", "class_a_deg", "0.2"),
    (checks.heights_rise_with_the_wall, "weld_height_limit", "B31.3|0.5", "height_in", "0.03125"),
    (checks.slopes_agree, "flange_alignment_limit", "ES-3 face", "slope_inch", "0.0469"),
    (checks.tolerances_fit, "pipe_od_tolerance", "6", "over_in", "0.09375"),
    (checks.bevels_cover_every_wall, "end_preparation", "single", "wall_over_mm", "5"),
)


def spoil(folder: Path, name: str, key: str, field: str, value: str) -> Path:
    """A copy of the tables with one cell changed; the row is found by its first column."""
    copy = folder / "copy"
    shutil.copytree(FOLDER, copy)
    path = copy / f"{name}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        lines = list(csv.reader(file))
    at = lines[0].index(field)
    [row] = [line for line in lines[1:] if line[0] == key]
    assert row[at] != value, f"{name} {key} {field} is {value!r} already"
    row[at] = value
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows(lines)
    return copy


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_tables_pass(check: Check) -> None:
    assert check(LIBRARY) == []


@pytest.mark.parametrize("spoiled", SPOILS, ids=lambda s: f"{s[0].__name__}-{s[1]}-{s[2]}-{s[3]}".replace("/", "_"))
def test_checks_can_fail(spoiled: tuple[Check, str, str, str, str], tmp_path: Path) -> None:
    check, *cell = spoiled
    findings = check(load(spoil(tmp_path, *cell)))
    assert findings, f"{check.__name__} does not see {cell}"


def test_every_check_is_spoiled() -> None:
    seen = {spoiled[0] for spoiled in SPOILS}
    # the description itself is spoiled in test_description_of_one_edition
    assert [c.__name__ for c in CHECKS if c not in seen] == ["fields_are_described"]


def test_description_of_one_edition(tmp_path: Path) -> None:
    def change(package: dict[str, Any]) -> None:
        field = package["resources"][0]["schema"]["fields"][2]
        field["unit"] = "mm"

    assert checks.fields_are_described(load(described_otherwise(tmp_path, change))) != []


# --- the description ----------------------------------------------------------------------------------------------


def package() -> dict[str, Any]:
    said = json.loads((FOLDER / tables.DESCRIPTION).read_text(encoding="utf-8"))
    assert isinstance(said, dict)
    return said


@pytest.mark.parametrize("name", LIBRARY.names())
def test_hash(name: str) -> None:
    table = LIBRARY.table(name)
    found = table.fingerprint()
    assert found == table.hash, (
        f"{table.path} changed and its entry did not: check status, sources and notes, then set its hash to {found}"
    )


def test_a_changed_file_has_another_fingerprint(tmp_path: Path) -> None:
    table = load(spoil(tmp_path, "tee", "6", "note", "changed")).table("tee")
    assert table.fingerprint() != table.hash


def test_every_file_is_described() -> None:
    described = {resource["path"] for resource in package()["resources"]}
    assert {path.name for path in FOLDER.glob("*.csv")} == described


def findings_of_frictionless(folder: Path) -> list[str]:
    report = frictionless.validate(str(folder / tables.DESCRIPTION))
    return [] if report.valid else [str(error) for error in report.flatten(["rowNumber", "fieldName", "type", "note"])]


def test_description_and_data_fit_the_open_standard() -> None:
    assert findings_of_frictionless(FOLDER) == []


@pytest.mark.parametrize(
    ("name", "key", "field", "value"),
    [
        ("tee", "6", "run_in", "five"),
        ("tee", "6", "size", "5"),
        ("tee", "6", "status_mm", "seen"),
        ("tee", "6", "note", "x"),
    ],
)
def test_the_open_standard_can_fail(name: str, key: str, field: str, value: str, tmp_path: Path) -> None:
    assert findings_of_frictionless(spoil(tmp_path, name, key, field, value)) != []


def test_description_has_no_unknown_property() -> None:
    resource = {
        "name", "path", "profile", "title", "description", "standard", "edition", "sources", "status", "hash", "encoding",
        "format", "mediatype", "schema",
    }  # fmt: skip
    field = {
        "name", "type", "title", "description", "quantity", "kind", "unit", "edition", "status", "computed", "constraints",
    }  # fmt: skip
    for described in package()["resources"]:
        assert described.keys() - resource == set(), described["name"]
        for one in described["schema"]["fields"]:
            assert one.keys() - field == set(), f"{described['name']}.{one['name']}"


def test_files_are_plain() -> None:
    for path in (*FOLDER.glob("*.csv"), FOLDER / tables.DESCRIPTION):
        data = path.read_bytes()
        assert b"\r" not in data, path.name
        assert data.endswith(b"\n"), path.name
        assert not data.startswith(b"\xef\xbb\xbf"), path.name


# --- the module ---------------------------------------------------------------------------------------------------


def described_otherwise(folder: Path, change: Callable[[dict[str, Any]], None]) -> Path:
    """A copy of the tables with a changed description."""
    copy = folder / "copy"
    shutil.copytree(FOLDER, copy)
    said = package()
    change(said)
    (copy / tables.DESCRIPTION).write_text(json.dumps(said), encoding="utf-8")
    return copy


def test_values_are_typed_by_edition() -> None:
    inch = {column.name: column for column in LIBRARY.table("elbow").columns("inch")}
    mm = {column.name: column for column in LIBRARY.table("elbow").columns("mm")}
    at = inch["size"].values.index("6")
    assert (inch["long_90"].values[at], inch["long_90"].unit, inch["long_90"].kind) == (9.0, "in", "length")
    assert (mm["long_90"].values[at], mm["long_90"].unit) == (229.0, "mm")
    assert inch["short_90"].values[0] is None
    assert inch["size"].unit == ""
    assert LIBRARY.table("flange").column("bolt_count", "inch").values[0] == 4
    assert inch.keys() == mm.keys()


def test_every_column_names_its_status() -> None:
    cap = {column.name: column.status for column in LIBRARY.table("cap").columns("inch")}
    assert cap["length"] == "status"
    assert cap["limiting_wall"] == "limiting_wall_status"
    assert cap["size"] == ""


def test_computed_columns_say_how() -> None:
    assert "outside diameters" in LIBRARY.table("reducer").column("offset", "inch").computed
    assert LIBRARY.table("reducer").column("length", "inch").computed == ""


def test_table_tells_its_standing() -> None:
    table = LIBRARY.table("pipe")
    assert table.standard == "ASME B36.10M and B36.19M"
    assert "not seen" in table.edition_of_standard
    assert len(table.sources) > 1
    assert table.title
    assert table.status


def test_unknown_names_offer_the_nearest() -> None:
    with pytest.raises(TableError, match="no table 'elbows'; did you mean 'elbow'"):
        LIBRARY.table("elbows")
    with pytest.raises(TableError, match="has no column 'long90'; did you mean 'long_90'"):
        LIBRARY.table("elbow").column("long90", "inch")
    with pytest.raises(TableError, match="edition 'metric'; allowed editions: inch, mm"):
        LIBRARY.table("elbow").columns("metric")  # type: ignore[arg-type]


def test_damaged_files_are_named(tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(FOLDER, copy)
    path = copy / "tee.csv"
    whole = path.read_text(encoding="utf-8")
    for damaged, said in (
        (whole.replace("size,", "sizes,", 1), "tee.csv: line 1: the heading is sizes"),
        (whole + "50,1\n", "tee.csv: line 35: the row has 2 cells"),
        (whole.replace("\n6,5.625", "\n6,5-5/8", 1), "tee.csv: line 13: run_in is '5-5/8'"),
        (whole.replace("\n6,5.625", "\n6,nan", 1), "tee.csv: line 13: run_in is 'nan'"),
        ("", "the heading is nothing"),
    ):
        path.write_text(damaged, encoding="utf-8")
        with pytest.raises(TableError) as caught:
            load(copy).table("tee").columns("inch")
        assert said in str(caught.value)
    path.write_bytes(b"\xff")
    with pytest.raises(TableError, match="not UTF-8"):
        load(copy).table("tee").columns("inch")
    path.unlink()
    with pytest.raises(TableError, match=r"tee\.csv: tee: cannot be read"):
        load(copy).table("tee").columns("inch")


def _without(key: str) -> Callable[[dict[str, Any]], None]:
    return lambda said: said["resources"][0].pop(key)


def _field(**changed: object) -> Callable[[dict[str, Any]], None]:
    return lambda said: said["resources"][0]["schema"]["fields"][2].update(changed)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda said: said.pop("resources"), "lists no resources"),
        (_without("title"), "nominal_size: 'title' is None"),
        (_without("sources"), "nominal_size: it names no sources"),
        (_without("schema"), "nominal_size: it has no schema"),
        (_without("hash"), "nominal_size: 'hash' is None"),
        (lambda said: said["resources"][0].update(path="../x.csv"), "path '../x.csv'; a file of the same folder"),
        (lambda said: said["resources"].append(said["resources"][0]), "'nominal_size' is described twice"),
        (lambda said: said["resources"].append(1), "a resource is not an object"),
        (lambda said: said["resources"][0]["schema"]["fields"].append(1), "a field is not an object"),
        (_field(type="numbers"), "type 'numbers'; did you mean 'number'"),
        (_field(edition="inches"), "edition 'inches'"),
        (_field(quantity="size"), "quantity 'size' twice in the inch edition"),
        (_field(status="standing"), "has no status column 'standing' in the inch edition"),
    ],
)
def test_damaged_descriptions_are_named(change: Callable[[dict[str, Any]], None], said: str, tmp_path: Path) -> None:
    with pytest.raises(TableError) as caught:
        load(described_otherwise(tmp_path, change))
    assert said in str(caught.value)


def test_a_folder_without_tables(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"datapackage\.json: cannot be read"):
        load(tmp_path)
    (tmp_path / tables.DESCRIPTION).write_text("{", encoding="utf-8")
    with pytest.raises(TableError, match=r"datapackage\.json: is not JSON"):
        load(tmp_path)


def test_reading_needs_the_standard_library_only() -> None:
    code = (
        "import sys; from workbook_builder.tables import load; load().table('pipe').columns('inch');"
        "print(sorted({n.split('.')[0] for n in sys.modules} & {'frictionless', 'pint', 'openpyxl', 'formualizer', 'formulas'}))"
    )
    root = Path(tables.__file__).resolve().parent.parent
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root)
    assert done.stdout.strip() == "[]"


def test_tables_are_found_when_installed_apart(tmp_path: Path) -> None:
    root = Path(tables.__file__).resolve().parent.parent
    shutil.copytree(root / "workbook_builder", tmp_path / "code" / "workbook_builder")
    shutil.copytree(FOLDER, tmp_path / "code" / "workbook_builder" / "data" / "reference_tables")
    code = "from workbook_builder.tables import load; print(len(load().table('tee').columns('mm')))"
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(tmp_path / "code")},
    )
    assert done.stdout.strip() == str(len(LIBRARY.table("tee").columns("mm")))


def test_the_module_knows_no_trade() -> None:
    source = Path(tables.__file__).read_text(encoding="utf-8")
    for word in ("pipe", "flange", "elbow", "weld", "schedule", "nps"):
        assert word not in source.casefold()
