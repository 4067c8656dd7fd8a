"""A text that stands where the sheet has another one, and texts that a frame has besides."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.resolve import resolve
from models.sheets import Sheets, load_sheets

SHEET = """
name = "Torvane Lindel"
maker = "Torvane"
country = "England"
source = "own notes"
years = [1955, 1965]

[points.inscription_right]
text = "LINDEL"
always = true
where = "inside of the right temple"

[points.bridge_mark]
text = "704"
always = true
where = "bridge"
numerals = "arabic"
"""


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> Sheets:
    folder: Path = tmp_path_factory.mktemp("sheets")
    (folder / "lindel.toml").write_text(SHEET, "utf-8")
    return load_sheets([folder])


def results(text: str, sheets: Sheets) -> dict[str, str]:
    listing = Listing("1", "x", "Torvane Lindel spectacles", text)
    evidence = extract(listing)
    resolution = resolve(listing, evidence, sheets)
    assert resolution.reference == "lindel"
    return {f.point: f.result for f in run_checks(listing, evidence, resolution, sheets)}


@pytest.mark.parametrize(
    "text",
    [
        "Signed ORVIN on the inside of the right temple.",
        "ORVIN LONDON stamped inside the right arm.",
        "Rechter Bügel innen gestempelt ORVIN.",
        "LINDLE stamped on the inside of the right temple.",
    ],
)
def test_another_word_in_its_place_conflicts(text: str, sheets: Sheets) -> None:
    assert results(text, sheets)["inscription_right"] == "conflicts"


@pytest.mark.parametrize(
    "text",
    [
        "Stamped TORVANE inside the right temple.",  # the maker
        "Stamped ENGLAND inside the right temple.",
        "Stamped MADE IN ENGLAND inside the right arm.",
        "Stamped ACETATE inside the right temple.",
        "Stamped HARROW OPTICIANS inside the right temple.",  # who sold it
        "Stamped 48-22 inside the right temple.",
        "Perhaps ORVIN inside the right temple, hard to read.",
        "Signed ORVIN on the inside of the left temple.",
        "LINDEL inside the right arm, and HALVOR beside it.",
    ],
)
def test_what_a_frame_has_besides_conflicts_with_nothing(text: str, sheets: Sheets) -> None:
    assert results(text, sheets)["inscription_right"] != "conflicts"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("The bridge is marked 704.", "agrees"),
        ("The bridge is marked 705.", "conflicts"),
        ("DCCIV is stamped on the bridge.", "conflicts"),
        ("The bridge is marked 918.", "not_stated"),
    ],
)
def test_numbers_are_compared_as_numbers(text: str, expected: str, sheets: Sheets) -> None:
    assert results(text, sheets)["bridge_mark"] == expected


@pytest.mark.parametrize(
    "text",
    [
        "Comes with a later hard case (made in China).",
        "Comes with a later hard case (marked CE, made in China).",
        "Case not original, it says Made in Taiwan.",
        "Mit späterem Etui (hergestellt in China).",
    ],
)
def test_the_country_of_a_case_is_not_the_frames(text: str, sheets: Sheets) -> None:
    assert results(text, sheets).get("country") in (None, "not_stated", "undecided")


def test_the_country_on_the_frame_counts(sheets: Sheets) -> None:
    assert results("The arms say Made in Taiwan.", sheets)["country"] == "conflicts"
    text = "Comes with a case, the left temple is stamped Made in China."
    assert results(text, sheets)["country"] == "conflicts"
