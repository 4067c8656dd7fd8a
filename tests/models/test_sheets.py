"""Sheets: every way to write a value, every thing that can be wrong, and the rest still loads."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.errors import UserError
from models.sheet_reading import number_range, read_condition
from models.sheet_records import Condition, ReferenceSheet, Rule, Years
from models.sheet_schema import schema
from models.sheets import SHIPPED, line_of, load_sheets, sheet_from_text

EVALUATION_SHEETS = Path(__file__).parents[1] / "evaluation" / "check_sheets"


def sheet(text: str) -> ReferenceSheet:
    """A sheet of the given lines that must load without a problem."""
    read, problems = sheet_from_text(f'name = "Vennerby Halm"\n{text}', "halm.toml", "halm")
    assert not problems, problems
    assert read is not None
    return read


def rule(text: str) -> Rule:
    """The only rule of a sheet with one point."""
    (only,) = sheet(text).rules
    return only


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (46, (46, 46, None)),
        (46.5, (46.5, 46.5, None)),
        ("46", (46, 46, None)),
        ("46 mm", (46, 46, None)),
        ("46mm ± 1", (46, 46, 1)),
        ("46 +/- 0,5", (46, 46, 0.5)),
        ("46-48", (46, 48, None)),
        ("46 to 48 mm", (46, 48, None)),
        ("4.6 cm", (46, 46, None)),
        ([46, 48], (46, 48, None)),
        ("broad", None),
        (True, None),
    ],
)
def test_size_is_read_however_it_is_written(written: object, expected: object) -> None:
    assert number_range(written) == expected


@pytest.mark.parametrize(
    ("line", "years"),
    [
        ("years = [1958, 1964]", Years(1958, 1964)),
        ('years = "1958-1964"', Years(1958, 1964)),
        ('years = "1960s"', Years(1960, 1969)),
        ('years = "from 1958"', Years(1958, None)),
        ('years = "until 1964"', Years(None, 1964)),
        ("years = { from = 1958, to = 1964 }", Years(1958, 1964)),
        ("years = { from = 1958 }", Years(1958, None)),
        ("years = 1961", Years(1961, 1961)),
        ("production_years = [1958, 1964]", Years(1958, 1964)),
    ],
)
def test_years_are_read_however_they_are_written(line: str, years: Years) -> None:
    assert sheet(line).years == years


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        ("colour is black", Condition("colour", ("black",))),
        ("the frame is black or red", Condition("colour", ("black", "red"))),
        ("colour is not black", Condition("colour", ("black",), True)),
        ("edition is Regatta", Condition("edition", ("regatta",))),
        ("rivet colour = gold", Condition("rivet_colour", ("gold",))),
    ],
)
def test_condition_is_read_from_plain_words(text: str, condition: Condition) -> None:
    assert read_condition(text) == condition


@pytest.mark.parametrize(
    "block",
    [
        '[[point]]\nname = "hinge_barrels"\nalways = 7',
        "[points.hinge_barrels]\nalways = 7",
        "[point.hinge_barrels]\nvalue = 7",
        "[points]\nhinge_barrels = 7",
        '[[points]]\nname = "Hinge barrels"\nmust_be = 7',
    ],
)
def test_point_may_be_a_list_or_a_table(block: str) -> None:
    assert (rule(block).point, rule(block).values, rule(block).force) == (
        "hinge_barrels",
        ("7",),
        "always",
    )


def test_points_of_both_forms_are_one_list() -> None:
    read = sheet('[points.hinge_barrels]\nalways = 7\n[[point]]\nname = "badge"\nnever = "any"')
    assert [r.point for r in read.rules] == ["hinge_barrels", "badge"]


@pytest.mark.parametrize(
    ("line", "values", "never", "force"),
    [
        ('always = "lozenge"', ("lozenge",), (), "always"),
        ('always = ["lozenge", "square"]', ("lozenge", "square"), (), "always"),
        ('usually = "lozenge"', ("lozenge",), (), "usually"),
        ('never = "round"', (), ("round",), "always"),
        ('never = "any"', (), ("any",), "always"),
        ("never = true", (), ("any",), "always"),
        ('always = "none"', (), ("any",), "always"),
        ("always = false", (), ("any",), "always"),
    ],
)
def test_force_of_a_point(
    line: str, values: tuple[str, ...], never: tuple[str, ...], force: str
) -> None:
    read = rule(f"[points.rivet_shape]\n{line}")
    assert (read.values, read.never, read.force) == (values, never, force)


def test_otherwise_is_the_contrary_of_the_conditions_before() -> None:
    read = sheet(
        '[[point]]\nname = "nose_pads"\nalways = "black"\nwhen = "colour is black"\n'
        '[[point]]\nname = "nose_pads"\nalways = "clear"\notherwise = true'
    )
    assert read.rules[1].when == (Condition("colour", ("black",), True),)


@pytest.mark.parametrize(
    ("sizes", "count", "complete"),
    [
        ('combinations = ["44-20-135", "46/22/140"]\ncomplete = true', 2, True),
        ("combinations = [{ lens_width = 44, bridge = 20 }]", 1, True),
        ("combinations = [{ lens = 44, dbl = 20 }, { lens = 46, dbl = 22 }]", 2, False),
        ('list = ["44-20-135"]\ncomplete = "no"', 1, False),
    ],
)
def test_sizes_are_whole_combinations(sizes: str, count: int, complete: bool) -> None:
    read = sheet(f"[sizes]\n{sizes}").sizes
    assert (len(read.combinations), read.complete) == (count, complete)
    assert read.combinations[0].dimensions[0].quantity == "lens_width"


@pytest.mark.parametrize(
    ("text", "says", "fix"),
    [
        ('name = "A B"\nname = "C"', "is not valid TOML", "twice"),
        ("name = A B", "is not valid TOML", "quotes"),
        ('title_ = "x"', "name is missing", "name ="),
        ('name = "A B"\ncolor_ = 1', "unknown key 'color_'", "keys known"),
        ('name = "A B"\naliasses = ["x"]', "line 2: unknown key 'aliasses'", "mean 'aliases'"),
        ('name = "A B"\nyears = "long ago"', "line 2: no year in 'long ago'", "1958"),
        ('name = "A B"\nyears = [1964, 1958]', "1964 comes after 1958", "first year first"),
        ('name = "A B"\n[sizes]\nlens_width = "wide"', "line 3: lens_width", "write lens_width"),
        ('name = "A B"\n[sizes]\nlens_width = 4600', "is no length in mm", "write lens_width"),
        ('name = "A B"\n[[point]]\nalways = 7', "has no name", "hinge_barrels"),
        ('name = "A B"\n[points.x]\nalwys = 1', "key 'point.alwys'", "did you mean 'always'"),
        ('name = "A B"\n[points.x]\nwhen = "dark out tonight"', "is not understood", "is black"),
        ('name = "A B"\n[points.x]\nsure = "very much"', "no degree of sureness", "certain"),
        ('name = "A B"\nmarks = ["CE"]', "marks must be a table", "[marks]"),
        ('name = "A B"\n[[look_alike]]\nhow = "x"', "names no reference", "reference ="),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named_with_its_fix(text: str, says: str, fix: str) -> None:
    _, problems = sheet_from_text(text, "a.toml", "a")
    assert problems
    assert all(p.source == "a.toml" for p in problems)
    assert any(says in p.what and fix in p.do for p in problems), problems


def test_broken_sheet_does_not_stop_the_others(tmp_path: Path) -> None:
    (tmp_path / "broken.toml").write_text("name = ", encoding="utf-8")
    (tmp_path / "latin.toml").write_bytes(b'name = "\xff"')
    (tmp_path / "good.toml").write_text('name = "Vennerby Halm"', encoding="utf-8")
    sheets = load_sheets([tmp_path], shipped=False)
    assert [s.id for s in sheets.sheets] == ["good"]
    assert sorted(p.source for p in sheets.problems) == ["broken.toml", "latin.toml"]


def test_own_sheet_takes_the_place_of_a_shipped_one(tmp_path: Path) -> None:
    (tmp_path / "m.toml").write_text(
        'id = "orlenza-merrin"\nname = "Orlenza Merrin"', encoding="utf-8"
    )
    sheets = load_sheets([tmp_path])
    assert [s.file for s in sheets.sheets if s.id == "orlenza-merrin"] == ["m.toml"]


def test_two_sheets_with_one_id_are_both_kept(tmp_path: Path) -> None:
    for name in ("a", "b"):
        (tmp_path / f"{name}.toml").write_text('id = "x"\nname = "A B"', encoding="utf-8")
    sheets = load_sheets([tmp_path], shipped=False)
    assert [s.id for s in sheets.sheets] == ["x", "x-2"]
    assert "two sheets have the id 'x'" in sheets.problems[0].what


def test_missing_folder_is_the_users_to_fix(tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        load_sheets([tmp_path / "nowhere"])
    assert caught.value.hint


def test_shipped_sheets_load_clean() -> None:
    sheets = load_sheets()
    assert len(sheets.sheets) == 6
    assert sheets.problems == ()


@pytest.mark.parametrize(
    "file",
    sorted([*SHIPPED.rglob("*.toml"), *EVALUATION_SHEETS.glob("*.toml")]),
    ids=lambda f: f.stem,
)
def test_sheet_files_fit_the_schema(file: Path) -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(tomllib.loads(file.read_text(encoding="utf-8")), schema())
    json.dumps(schema())


VALUES: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["name", "always", "from", "x", "lens_width"]), inner, max_size=3
        )
    ),
    max_leaves=8,
)


@given(
    st.sampled_from(
        ["aliases", "years", "sizes", "point", "edition", "marks", "picture", "country"]
    ),
    VALUES,
)
def test_no_value_breaks_the_reader(key: str, value: Any) -> None:
    from models.sheet_reading import Notes, read_sheet

    notes = Notes()
    read = read_sheet({"name": "Vennerby Halm", key: value}, "a.toml", "a", notes)
    assert read.name == "Vennerby Halm"


def test_unknown_basis_is_named_with_its_line_and_left_out() -> None:
    text = 'name = "A B"\n[sizes]\nbasis = "guessed"\nlens_width = 46\n'
    sheet, problems = sheet_from_text(text, "a.toml", "a")
    assert sheet is not None
    assert sheet.fixed[0].basis is None
    assert [p.what for p in problems] == ["line 3: basis = 'guessed' is not known, left out"]


@pytest.mark.parametrize(
    ("body", "what"),
    [
        ("[points.hinge_barrels]\nalways = " + "9" * 4_000, "far too large"),
        ("[points.hinge_barrels]\nalways = " + "9" * 5_000, "far too large"),
        ("a" + ".a" * 20_000 + " = 1", "nested too deeply"),
    ],
)
def test_absurd_values_are_told_and_do_not_stop_the_rest(body: str, what: str) -> None:
    sheet, problems = sheet_from_text(f'name = "A B"\n{body}', "a.toml", "a")
    assert sheet is None
    assert what in problems[0].what


def test_two_figures_end_a_span_of_years() -> None:
    sheet, _ = sheet_from_text('name = "Korvell Ridge"\nyears = "1955-62"', "a.toml", "a")
    assert sheet is not None
    assert (sheet.years.first, sheet.years.last) == (1955, 1962)


def _read(body: str) -> ReferenceSheet:
    sheet, problems = sheet_from_text(f'name = "Orlenza Merrin"\n{body}', "m.toml", "merrin")
    assert problems == []
    assert sheet is not None
    return sheet


def test_keys_of_a_notebook_are_understood() -> None:
    sheet = _read('also = ["Nine"]\norigin = "Italy"\nhinge_barrels = 7\n[size]\nrim = "62 x 52"')
    assert (sheet.aliases, sheet.country) == (("Nine",), ("Italy",))
    assert {(d.quantity, d.low_mm) for d in sheet.fixed} == {("rim_width", 62), ("rim_height", 52)}
    assert [(r.point, r.values) for r in sheet.rules] == [("hinge_barrels", ("7",))]


def test_values_with_their_colours_are_one_rule_each() -> None:
    sheet = _read('[points]\npads = { clear = "all other colours", black = "black frames" }')
    black, clear = sheet.rules
    assert (black.values, black.when[0].values, black.when[0].negated) == (
        ("black",),
        ("black",),
        False,
    )
    assert (clear.values, clear.when[0].negated) == (("clear",), True)


@pytest.mark.parametrize(
    ("known_by", "values"),
    [
        ('known_by = "rivet_colour is silver"', ("silver",)),
        ('known_by = "silver rivets"', ("silver",)),
        ('known_by = ["rivet_color is silver"]', ("silver",)),
        ('known_by = { rivet_colour = "silver" }', ("silver",)),
    ],
)
def test_what_an_edition_is_known_by_is_its_value(known_by: str, values: tuple[str, ...]) -> None:
    sheet = _read(f'[points]\nrivet_colour = "gold"\n[[edition]]\nname = "Plata"\n{known_by}')
    (edition,) = sheet.editions
    assert [(r.point, r.values) for r in edition.rules] == [("rivet_colour", values)]


def test_edition_inherits_words_of_the_point() -> None:
    sheet = _read(
        "[points.case_clasp]\nalways='brass'\ntopic=['snap']\ncues={ brass=['yellow metal'] }\n"
        "[edition.Nine.points]\ncase_clasp='steel'"
    )
    (rule,) = sheet.editions[0].rules
    assert rule.topic == ("snap",)
    assert rule.cues["brass"] == ("yellow metal",)


@pytest.mark.parametrize(
    ("line", "force", "values"),
    [
        ('how_often = "always"', "always", ("present",)),
        ("always = true", "always", ("present",)),
        ('how_often = "usually"', "usually", ("present",)),
    ],
)
def test_inscription_is_there_always_or_usually(
    line: str, force: str, values: tuple[str, ...]
) -> None:
    (rule,) = _read(f"[points.inscription_left]\ntext = 'ORLENZA'\n{line}").rules
    assert (rule.force, rule.values) == (force, values)


@pytest.mark.parametrize(
    ("basis", "written", "expected"),
    [
        ("ruler", "61x51-20-142", {"rim_width": 61, "rim_height": 51, "bridge": 20,
                                   "temple_length": 142}),
        ("ruler", "59 x 46 mm", {"rim_width": 59, "rim_height": 46}),
        ("printed", "50x44-20", {"lens_width": 50, "lens_height": 44, "bridge": 20}),
        ("ruler", "46 x 22 x 140", {"lens_width": 46, "bridge": 22, "temple_length": 140}),
    ],
)  # fmt: skip
def test_a_size_over_the_rim_is_read_as_one_writes_it(
    basis: str, written: str, expected: dict[str, float]
) -> None:
    text = f'name = "A B"\n[sizes]\nbasis = "{basis}"\ncombinations = ["{written}"]\n'
    sheet, problems = sheet_from_text(text, "a.toml", "a")
    assert sheet is not None
    assert not problems
    (size,) = sheet.sizes.combinations
    assert {d.quantity: d.low_mm for d in size.dimensions} == expected


def test_look_alike_is_found_by_its_name_written_with_dashes(tmp_path: Path) -> None:
    (tmp_path / "minor.toml").write_text('name = "Torvane Lindel Minor"\n', "utf-8")
    found = load_sheets([tmp_path]).find("torvane-lindel-minor")
    assert found is not None
    assert found.id == "minor"


def test_look_alike_is_found_by_a_spelling_of_its_id(tmp_path: Path) -> None:
    (tmp_path / "orlenza_tavoy.toml").write_text('name = "Orlenza Tavoy"', encoding="utf-8")
    (tmp_path / "merrin.toml").write_text(
        'name = "Orlenza Merrin"\n[points]\nhinge_barrels = 7\n[[look_alike]]\n'
        'reference = "orlenza_tavoy"\ntell_by = ["barrels", "temples"]',
        encoding="utf-8",
    )
    merrin = load_sheets([tmp_path], shipped=False).get("merrin")
    assert merrin is not None
    assert merrin.look_alikes[0].reference == "orlenza-tavoy"
    assert merrin.look_alikes[0].tell_by == ("hinge_barrels", "temple_length")


@pytest.mark.parametrize(
    ("key", "line"), [("edition.rivets", 6), ("edition Plata", 5), ("rivets", 3), ("nowhere", 0)]
)
def test_line_is_that_of_the_table(key: str, line: int) -> None:
    text = 'name = "A B"\n[points]\nrivets = "gold"\n[[edition]]\nname = "Plata"\nrivets = "x"\n'
    assert line_of(text, key) == (f"line {line}: " if line else "")
