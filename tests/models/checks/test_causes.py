"""One cause counts once; look-alikes, editions, conditions, wear, dates and their innocence."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.records import Finding
from models.resolve import resolve
from models.sheets import Sheets, load_sheets, sheet_from_text

SHEETS = load_sheets([Path(__file__).parents[2] / "evaluation" / "check_sheets"])


def told(title: str, text: str) -> dict[str, Finding]:
    listing = Listing("1", "x", title, text)
    evidence = extract(listing)
    found = run_checks(listing, evidence, resolve(listing, evidence, SHEETS), SHEETS)
    return {f.point: f for f in found}


def test_wrong_unit_is_one_innocent_cause() -> None:
    found = told("Vennerby 318", "lens 480 mm, bridge 230 mm")
    sizes = [found["lens_width"], found["bridge"]]
    assert {f.result for f in sizes} == {"undecided"}
    assert len({f.cause for f in sizes}) == 1
    assert all("if in" in f.why for f in sizes)


def test_swapped_axes_are_one_innocent_cause() -> None:
    found = told("Vennerby 318", "lens 38 x 45 mm")
    assert found["lens_width"].result == found["lens_height"].result == "undecided"
    assert found["lens_width"].cause == found["lens_height"].cause == "swapped"


def test_sizes_of_a_look_alike_are_one_cause_and_say_so() -> None:
    found = told("Mirovale Costa II", "lens 58 x 52 mm, bridge 15 mm, temple 132 mm")
    wrong = [f for f in found.values() if f.result == "conflicts"]
    assert {f.cause for f in wrong} == {"measures_as:mirovale-costa"}
    assert all("it measures as the Mirovale Costa" in f.why for f in wrong)


def test_several_wrong_sizes_share_their_cause() -> None:
    found = told("Vennerby 318", "lens 56 mm, bridge 15 mm, temple 160 mm")
    wrong = [f for f in found.values() if f.result == "conflicts"]
    assert len(wrong) == 3
    assert len({f.cause for f in wrong}) == 1


def test_temple_to_the_bend_is_not_held_against_the_full_length() -> None:
    assert told("Vennerby 318", "arms 95 mm to the bend")["temple_length"].result != "conflicts"


def test_sibling_sizes_are_told_apart_by_an_honest_ruler() -> None:
    """46 x 59 against 51 x 61 over the rim (common practice, no source)."""
    small = told("Orlenza Tavoy Petite", "rim 61 mm wide and 51 mm high")
    large = told("Orlenza Tavoy", "rim 59 mm wide and 46 mm high")
    assert small["rim_height"].result == large["rim_height"].result == "conflicts"
    honest = told("Orlenza Tavoy Petite", "rim 58 mm wide and 47 mm high")
    assert {honest["rim_height"].result, honest["rim_width"].result} == {"agrees"}


@pytest.mark.parametrize(
    ("title", "text", "result"),
    [
        ("Orlenza Tavoy black", "black pads", "agrees"),
        ("Orlenza Tavoy black", "clear pads", "conflicts"),
        ("Orlenza Tavoy tortoise", "clear pads", "agrees"),
        ("Orlenza Tavoy tortoise", "black pads", "conflicts"),
        ("Orlenza Tavoy", "black pads", "undecided"),  # colour not said
        ("Orlenza Tavoy", "blue pads", "conflicts"),  # wrong whatever the colour
        ("Orlenza Merrin black", "no core wire to be seen", None),  # the rule does not hold
        ("Orlenza Merrin honey", "no core wire to be seen", "conflicts"),
    ],
)
def test_point_under_a_condition(title: str, text: str, result: str | None) -> None:
    point = "core_wire" if "wire" in text else "nose_pads"
    finding = told(title, text).get(point)
    assert (finding.result if finding else None) == result


@pytest.mark.parametrize(
    ("title", "text", "result"),
    [
        ("Orlenza Tavoy", "gold rivets", "undecided"),  # right on an edition not named
        ("Orlenza Tavoy Regatta", "gold rivets", "agrees"),
        ("Orlenza Tavoy Regatta", "silver rivets", "conflicts"),
        ("Orlenza Tavoy", "silver rivets", "agrees"),
        ("Orlenza Tavoy", "black rivets", "conflicts"),
        ("Orlenza Tavoy", "gold rivets, REGATTA 74 engraved inside the left temple", "agrees"),
        ("Quistell Lantern", "gold rivets", "agrees"),  # known by its own point
    ],
)
def test_edition_replaces_its_points(title: str, text: str, result: str) -> None:
    assert told(title, text)["rivet_colour"].result == result


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("no name inside the right arm", "conflicts"),  # stamped: it stays
        ("the stamp in the right arm is worn away", "undecided"),
        ("VENNERBY 318 stamped inside the right arm", "agrees"),
        ("VENNERBY 318 printed inside the right arm", "conflicts"),
        ("VENNERBY 318 engraved inside the right arm", "undecided"),  # loose wording
        ("VENNERBY 318 stamped inside the left arm", "conflicts"),
        ("VENNERBY 319 stamped inside the right arm", "conflicts"),
    ],
)
def test_inscription(text: str, result: str) -> None:
    assert told("Vennerby 318", text)["inscription_right"].result == result


def test_print_may_wear_away() -> None:
    finding = told("Vennerby 318", "nothing inside the left arm")["inscription_left"]
    assert finding.result == "undecided"
    assert "wear may explain it" in finding.why


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("CE inside the arm", "conflicts"),
        ("CE on the lens", "undecided"),
        ("an importer's sticker inside the arm shows CE", "undecided"),
        ("old stock, CE inside the arm", "undecided"),
        ("reissue of 2012, CE inside the arm", "undecided"),
        ("possibly CE inside the arm, hard to read", "undecided"),
    ],
)
def test_mark_and_its_innocent_readings(text: str, result: str) -> None:
    finding = told("Vennerby 318 1950s", text)["mark_date"]
    assert finding.result == result
    assert finding.explanations


@pytest.mark.parametrize("text", ["CE on the case", "the box is marked CE", "no CE mark"])
def test_mark_that_is_not_on_the_frame_counts_for_nothing(text: str) -> None:
    finding = told("Vennerby 318 1950s", text).get("mark_date")
    assert finding is None or finding.result == "undecided"


def test_conflict_names_value_expectation_and_source() -> None:
    finding = told("Vennerby 318", "three barrel hinges")["hinge_barrels"]
    assert finding.result == "conflicts"
    assert "three barrel" in finding.why
    assert (finding.stated, finding.expected) == ("3", "5")
    assert finding.source == "nine pieces handled"


def test_two_statements_of_one_size_are_told() -> None:
    finding = told("Vennerby 318", "lens 45 mm. In the title of my list: lens 53 mm")["lens_width"]
    assert finding.check == "itself"
    assert "as 45 mm and as 53 mm" in finding.why


@pytest.mark.parametrize(("complete", "result"), [("true", "conflicts"), ("false", "undecided")])
def test_sizes_of_two_combinations_do_not_stand_together(complete: str, result: str) -> None:
    sheet, _ = sheet_from_text(
        'name = "Korvell Ridge"\n[sizes]\nbasis = "printed"\n'
        f'complete = {complete}\ncombinations = ["44-20-135", "48-22-140", "52-24-145"]',
        "ridge.toml",
        "ridge",
    )
    assert sheet is not None
    listing, sheets = Listing("1", "x", "Korvell Ridge", "44-24-135"), Sheets((sheet,))
    evidence = extract(listing)
    found = run_checks(listing, evidence, resolve(listing, evidence, sheets), sheets)
    bridge = next(f for f in found if f.point == "bridge")
    assert bridge.result == result
    assert "with lens width 44 mm and temple length 135 mm" in (bridge.expected or "")
