"""Several pieces in one listing: each is held against its own reference."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.records import Finding
from models.resolve import Resolution, resolve
from models.sheets import load_sheets

SHEETS = load_sheets([Path(__file__).parents[2] / "evaluation" / "check_sheets"])
BOTH = ("vennerby-318", "orlenza-merrin")


def judged(title: str, text: str) -> tuple[Resolution, dict[str, Finding]]:
    listing = Listing("1", "x", title, text)
    evidence = extract(listing)
    resolution = resolve(listing, evidence, SHEETS)
    return resolution, {f.point: f for f in run_checks(listing, evidence, resolution, SHEETS)}


@pytest.mark.parametrize(
    ("title", "text", "lot"),
    [
        ("Two frames: Vennerby 318 and Orlenza Merrin", "", BOTH),
        ("Vennerby 318 & Orlenza Merrin", "", BOTH),
        ("Lot of 2 old frames", "1) Vennerby 318, black\n2) Orlenza Merrin, amber", BOTH),
        ("Konvolut Brillen", "Eine Vennerby 318 und eine Orlenza Merrin", BOTH),
        ("Lot de deux montures Vennerby 318 et Orlenza Merrin", "", BOTH),
        ("Lotto di due occhiali Vennerby 318 e Orlenza Merrin", "", BOTH),
        ("Lote de dos gafas Vennerby 318 y Orlenza Merrin", "", BOTH),
        ("Vennerby 318 or Orlenza Merrin?", "not sure which", ()),
        ("Vennerby 318 two-tone frame", "The Orlenza Merrin is another model.", ()),
        ("Pair of Vennerby 318 spectacles", "nicer than the Orlenza Merrin", ()),
        ("Lot of 2 frames Vennerby 318", "like the Orlenza Merrin, but wider", ()),
    ],
)
def test_pieces_on_offer(title: str, text: str, lot: tuple[str, ...]) -> None:
    resolution, _ = judged(title, text)
    assert resolution.lot == lot
    assert resolution.reference == ("vennerby-318" if "or Orlenza" not in title else None)


TITLE = "Two frames: Vennerby 318 and Orlenza Merrin"


# five barrels are right on the one, seven on the other
@pytest.mark.parametrize(
    ("text", "result", "of"),
    [
        ("The Vennerby has five barrels. The Merrin has seven barrels.", "agrees", ""),
        ("The Vennerby has five barrel hinges, the Merrin seven barrel ones.", "agrees", ""),
        ("The first one has five barrels. The second one has five barrels.", "conflicts", "Merrin"),
        ("1. five barrels, silver rivets\n2. seven barrels", "agrees", ""),
        ("five barrels (Vennerby) and seven barrels (Merrin)", "agrees", ""),
        ("The Vennerby is black. Its hinges have seven barrels.", "conflicts", "Vennerby"),
        (
            "The Merrin is amber with seven barrels. The other has three barrels.",
            "conflicts",
            "318",
        ),
        ("Die erste hat 3 Glieder. Die zweite hat 7 Glieder.", "conflicts", "Vennerby"),
        ("La premiere a 5 charnons. La seconde a 3 charnons.", "conflicts", "Merrin"),
        ("Both have seven barrels.", "conflicts", "Vennerby"),
        ("Seven barrel hinges.", "not_stated", ""),  # of which of them is not said
    ],
)
def test_words_count_for_the_piece_they_are_said_of(text: str, result: str, of: str) -> None:
    _, found = judged(TITLE, text)
    assert found["hinge_barrels"].result == result
    assert of in found["hinge_barrels"].why


def test_sizes_are_held_against_the_own_sheet() -> None:
    _, found = judged(TITLE, "Vennerby: lens 45 mm, bridge 21 mm.\n\nMerrin: 46-22-140.")
    assert {found[p].result for p in ("lens_width", "bridge", "temple_length")} == {"agrees"}
    _, found = judged(TITLE, "Vennerby: lens 53 mm.\n\nMerrin: 46-22-140.")
    assert found["lens_width"].result == "conflicts"
    assert "of the Vennerby 318" in found["lens_width"].why


def test_words_quoted_stand_in_the_listing() -> None:
    text = "Vennerby: lens 53 mm.\nMerrin: 46-22-140, three barrels."
    _, found = judged(TITLE, text)
    whole = f"{TITLE}\n{text}"
    spans = [span for finding in found.values() for span in finding.quoted]
    assert spans
    assert all(whole[span.start : span.end] == span.text for span in spans)


def test_what_is_stated_of_a_piece_names_the_piece() -> None:
    _, found = judged(TITLE, "Vennerby: lens 45 mm, bridge 21 mm.\n\nMerrin: 46-22-140.")
    assert found["lens_width"].stated == "45 mm (Vennerby 318); 46 mm (Orlenza Merrin)"
    assert found["temple_length"].stated == "140 mm (Orlenza Merrin)"
    assert found["hinge_barrels"].stated is None
