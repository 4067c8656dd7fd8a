"""What must hold of the checks whatever the listing says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extractors.catalogue import extract
from extractors.records import Evidence, Listing, Measurement
from models.checks.catalogue import CHECKS, FINDING_CODES, run_checks
from models.checks.measurements import compare
from models.records import Finding
from models.resolve import resolve
from models.sheet_records import Dimension
from models.sheets import load_sheets

SHEETS = load_sheets([Path(__file__).parents[2] / "evaluation" / "check_sheets"])
ORDER = {"agrees": 0, "undecided": 1, "conflicts": 2}


def findings(title: str, text: str) -> tuple[Finding, ...]:
    listing = Listing("1", "x", title, text)
    evidence = extract(listing)
    return run_checks(listing, evidence, resolve(listing, evidence, SHEETS), SHEETS)


def results(title: str, text: str) -> dict[str, str]:
    return {f.point: f.result for f in findings(title, text)}


def size(mm: float, half: float = 0.5, approximate: bool = False) -> Measurement:
    return Measurement("lens_width", mm, mm, approximate, True, "item", 1, half, None, ())


lengths = st.floats(30, 80).map(lambda mm: round(mm, 1))


@given(lengths, lengths, st.floats(0, 4), st.floats(0, 4))
def test_tighter_tolerance_never_turns_conflict_into_agreement(
    stated: float, sheet: float, one: float, other: float
) -> None:
    tight, wide = sorted((one, other))
    base = Dimension("lens_width", sheet, sheet, wide)
    wider = compare(size(stated), base).result
    tighter = compare(size(stated), replace(base, tolerance_mm=tight)).result
    assert ORDER[tighter] >= ORDER[wider]


@given(lengths, lengths)
def test_approximate_size_conflicts_less_and_agrees_less(stated: float, sheet: float) -> None:
    dimension = Dimension("lens_width", sheet, sheet, 1.0)
    exact = compare(size(stated), dimension).result
    about = compare(size(stated, approximate=True), dimension).result
    if about == "conflicts":
        assert exact == "conflicts"
    if about == "agrees":
        assert exact == "agrees"


@pytest.mark.parametrize("inches", [False, True])
@settings(max_examples=25, deadline=None)
@given(lens=st.integers(40, 58))
def test_mm_cm_and_inch_give_one_result(inches: bool, lens: int) -> None:
    mm = results("Vennerby 318", f"Lens width {lens} mm")["lens_width"]
    cm = results("Vennerby 318", f"Lens width {lens / 10:.1f} cm")["lens_width"]
    assert mm == cm
    if inches:
        inch = results("Vennerby 318", f"Lens width {lens / 25.4:.2f} inches")["lens_width"]
        assert inch == mm


UNRELATED = [
    "Posted within two days.",
    "From a smoke-free home.",
    "Feel free to message me with questions.",
    "I also sell watches and old books.",
    "Payment within three days please.",
    "Versand mit der Post.",
    "Thanks for looking!",
]
LISTINGS = [
    ("Vennerby 318", "Three barrel hinges. Arrow rivets, silver. Lens 48 mm, bridge 23 mm."),
    ("Orlenza Merrin black", "Round rivets. ORLENZA stamped inside the left temple. 46-22-140."),
    ("Quistell Harrow", "Badge cut round the letters. QH on the right lens. 1980s."),
    ("Mirovale Costa", "CE inside the right temple. Plastic lenses."),
]


@pytest.mark.parametrize("sentence", UNRELATED)
@pytest.mark.parametrize(("title", "text"), LISTINGS)
def test_unrelated_sentence_changes_no_finding(title: str, text: str, sentence: str) -> None:
    plain = results(title, text)
    assert results(title, f"{text} {sentence}") == plain
    assert results(title, f"{sentence}\n{text}") == plain


@pytest.mark.parametrize(("title", "text"), LISTINGS)
def test_repeats_are_one_statement(title: str, text: str) -> None:
    assert results(title, f"{text}\n{text}") == results(title, text)


@pytest.mark.parametrize(("title", "text"), LISTINGS)
def test_every_finding_is_declared_and_quotes_the_seller(title: str, text: str) -> None:
    whole = f"{title}\n{text}"
    for finding in findings(title, text):
        assert (finding.check, finding.result, finding.strength) in FINDING_CODES
        assert finding.why
        assert all(whole[s.start : s.end] == s.text for s in finding.quoted)
        if finding.result == "conflicts":
            assert finding.quoted
            assert finding.explanations


def test_silence_is_never_a_conflict() -> None:
    for sheet in SHEETS.sheets:
        found = findings(sheet.name, "Nice old frame, see photos.")
        assert {f.result for f in found} <= {"not_stated"}


def test_no_reference_is_said_with_its_reason() -> None:
    (finding,) = findings("Old glasses", "nice")
    assert (finding.result, finding.point) == ("no_reference", "reference")


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=120))
def test_any_text_is_judged_without_error(text: str) -> None:
    listing = Listing("1", "x", "Vennerby 318", text)
    evidence = Evidence("1")
    assert run_checks(listing, evidence, resolve(listing, evidence, SHEETS), SHEETS)


def test_one_check_a_line_in_the_catalogue() -> None:
    assert len(set(CHECKS)) == len(CHECKS)
