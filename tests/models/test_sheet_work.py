"""Working with sheets: start, draft, advise, print, try, cover."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Evidence, Listing
from models.checks.catalogue import run_checks
from models.checks.corpus import Examined
from models.resolve import resolve
from models.sheet_advice import check_sheets
from models.sheet_work import (
    STEPS,
    coverage,
    draft_from_listings,
    sheet_from_answers,
    sheet_rows,
    try_sheets,
    with_tried,
)
from models.sheets import Sheets, load_sheets, sheet_from_text

MERRIN = "Orlenza Merrin"


def read(texts: list[str], title: str = MERRIN) -> list[tuple[Listing, Evidence]]:
    listings = [Listing(str(n), "x", title, text) for n, text in enumerate(texts)]
    return [(listing, extract(listing)) for listing in listings]


def sheets_of(*texts: str) -> Sheets:
    read_sheets = [sheet_from_text(t, f"{n}.toml", f"s{n}") for n, t in enumerate(texts)]
    assert all(not problems for _, problems in read_sheets), read_sheets
    return Sheets(tuple(s for s, _ in read_sheets if s))


def test_answers_to_all_steps_make_a_sheet_without_problems() -> None:
    text = sheet_from_answers({step.key: step.example for step in STEPS})
    sheet, problems = sheet_from_text(text, "new.toml", "new")
    assert problems == []
    assert sheet is not None
    assert sheet.sizes.complete
    assert {"hinge_barrels", "rivet_shape", "inscription_left"} <= set(sheet.points)


def test_only_a_name_makes_a_sheet_too() -> None:
    sheet, problems = sheet_from_text(sheet_from_answers({"name": MERRIN}), "n.toml", "n")
    assert problems == []
    assert sheet is not None


def test_answers_are_quoted_safely() -> None:
    text = sheet_from_answers({"name": 'A "B" \\ C', "source": "x\ny"})
    sheet, problems = sheet_from_text(text, "n.toml", "n")
    assert problems == []
    assert sheet is not None
    assert sheet.name == 'A "B" \\ C'


def test_draft_counts_what_listings_say_and_is_a_guess() -> None:
    texts = ["lens 46, seven barrel hinges", "lens 46, seven barrel hinges", "lens 52, 5 barrels"]
    text = draft_from_listings(MERRIN, read(texts), load_sheets())
    assert "lens_width = 46  # stated 3 times: 46, 46, 52" in text
    assert 'usually = "7"  # 7 2x, 5 1x' in text
    sheet, problems = sheet_from_text(text, "d.toml", "d")
    assert problems == []
    assert sheet is not None
    assert sheet.sure == "guess"


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ("", "no size at all"),
        ("[sizes]\nlens_width = { value = 46, tolerance = 0.2 }", "finer than a ruler reads"),
        ('[sizes]\ncombinations = ["44-20", "46-22"]', "list is not complete"),
        ("[sizes]\nlens_width = 52\nbridge = 18\nframe_width = 110", "narrower than two lenses"),
        ("[points.hinge_barrells]\nalways = 5", "typing slip"),
        ("[points.badge]\nwhy = 'x'", "says nothing"),
        ("[points.badge]\nalways = 'plate'\nnever = 'plate'", "both admitted and never so"),
        ("[points.case_clasp]\nalways = 'brass'", "a point of your own"),
        ("[points.badge]\nalways = 'plate'", "no question for"),
        ("[points.rivet_shape]\nalways = 'banana'", "only the very word 'banana'"),
        ("[points.inscription_left]\ntext = 'A'\nhow = 'shouted'", "no way of making a mark"),
        ("[points.inscription_left]\ntext = 'A'\nwhere = 'elsewhere'", "names no side"),
        ("[[look_alike]]\nreference = 'x-y'", "has no telling point"),
        ("[[look_alike]]\nreference = 'x-y'\ntell_by = ['badge']", "has no sheet"),
        ("[points.badge]\nalways = 'plate'", "no source is named"),
        ("", "no production years"),
    ],
)
def test_sheets_that_may_judge_badly_are_warned_of(body: str, says: str) -> None:
    warnings = check_sheets(sheets_of(f'name = "A B"\n{body}'))
    assert any(says in w.what for w in warnings), warnings
    assert all(w.do for w in warnings)


def test_warning_names_the_line() -> None:
    body = 'name = "A B"\n[[point]]\nname = "badge"\nalways = "plate"'
    warnings = check_sheets(sheets_of(body))
    assert any(w.what.startswith("line 3: warning: badge: no question") for w in warnings)


@pytest.mark.parametrize(
    ("point", "value"),
    [("rivet_shape", "diamond"), ("screw_slot", "cross-head"), ("hinge_barrels", "seven")],
)
def test_everyday_word_for_a_value_is_not_warned_of(point: str, value: str) -> None:
    warnings = check_sheets(sheets_of(f'name = "A B"\n[points.{point}]\nalways = "{value}"'))
    assert not [w for w in warnings if "very word" in w.what]


def test_cue_words_make_a_value_known() -> None:
    cues = '[points.rivet_shape]\nalways = "banana"\ncues = { banana = ["bent"] }'
    assert not [w for w in check_sheets(sheets_of(f'name = "A B"\n{cues}')) if "very" in w.what]


def test_shared_alias_is_warned_of() -> None:
    sheets = sheets_of('name = "A B"\naliases = ["C"]', 'name = "D E"\naliases = ["c"]')
    assert any("belongs to several sheets" in w.what for w in check_sheets(sheets))


def test_look_alike_that_is_the_same_is_warned_of() -> None:
    badge = '[points.badge]\nalways = "plate"'
    one = f'name = "A B"\n{badge}\n[[look_alike]]\nreference = "A C"\ntell_by = ["badge"]'
    other = f'name = "A C"\n{badge}'
    assert any("tells nothing apart" in w.what for w in check_sheets(sheets_of(one, other)))


def test_shipped_sheets_raise_few_warnings() -> None:
    warned = [w for w in check_sheets(load_sheets()) if "list is not complete" not in w.what]
    assert warned == []


def test_changed_sheet_lists_what_would_move() -> None:
    before = sheets_of('name = "Orlenza Merrin"\n[points.hinge_barrels]\nalways = 7')
    after = sheets_of('name = "Orlenza Merrin"\n[points.hinge_barrels]\nalways = 5')
    moves = try_sheets(before, after, read(["seven barrel hinges", "nice frame"]))
    (move,) = moves
    assert move.id == "0"
    assert move.changes == (("hinge_barrels", "agrees", "conflicts"),)


def test_coverage_tells_silent_points(tmp_path: Path) -> None:
    sheets = load_sheets()
    rows = []
    for listing, evidence in read(["seven barrel hinges", "lozenge rivets"]):
        resolution = resolve(listing, evidence, sheets)
        findings = run_checks(listing, evidence, resolution, sheets)
        rows.append(Examined(listing, evidence, resolution, findings))
    first = coverage(sheets, rows)[0]
    assert (first.reference, first.listings) == ("orlenza-merrin", 2)
    assert 0 < first.stated_share < 1
    assert "screw_slot" in first.silent
    assert "hinge_barrels" not in first.silent


def test_page_tells_what_an_edition_is_known_by_and_its_sizes() -> None:
    (sheet,) = sheets_of(
        'name = "A B"\n[points]\nrivet_colour = "gold"\n[edition.Plata]\nyear = 1977\n'
        'known_by = "silver rivets"\nsizes = ["54-20-145"]'
    ).sheets
    told = {name: text for name, text, _ in sheet_rows(sheet)}
    assert told["Edition Plata"] == "known by: the rivet colour is silver; made 1977"
    assert told["size 1 (Plata)"] == (
        "lens width 54 mm ± 1, bridge 20 mm ± 1, temple length 145 mm ± 3, by ruler"
    )


def test_rows_tell_the_source_of_the_whole_sheet_once() -> None:
    (sheet,) = sheets_of(
        'name = "A B"\nsource = "two pieces"\n[sizes]\ncombinations = ["46-22-140"]\n'
        '[points.badge]\nalways = "plate"'
    ).sheets
    assert [row for row in sheet_rows(sheet) if "two pieces" in row[1:]] == [
        ("Source", "two pieces", "")
    ]


def test_renamed_copy_is_tried_as_a_new_version() -> None:
    before = sheets_of(f'name = "{MERRIN}"\n[points]\nhinge_barrels = 7')
    changed, _ = sheet_from_text(
        f'name = "{MERRIN}"\n[points]\nhinge_barrels = 5', "copy.toml", "copy"
    )
    assert changed is not None
    after, told = with_tried(before, Sheets((changed,)))
    assert [sheet.id for sheet in after.sheets] == ["s0"]
    assert told == ("copy.toml is tried as a new version of s0",)
    (move,) = try_sheets(before, after, read(["Seven barrels."]))
    assert move.changes == (("hinge_barrels", "agrees", "conflicts"),)
