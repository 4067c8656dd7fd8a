"""What is not said of the frame changes no finding: other goods, post, wearer, other years."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.resolve import resolve
from models.sheets import load_sheets

SHEETS = load_sheets([Path(__file__).parents[2] / "evaluation" / "check_sheets"])

LISTINGS = (
    ("Vennerby 318", "Lens 46 mm, bridge 22 mm, temple 140 mm. Good condition."),
    ("Vennerby 318, black", "Clear nose pads, seven barrels, slotted screws"),
    ("Mirovale Costa II", "Total width of the front 150 mm, bridge 18 mm. Round rivets."),
    ("Orlenza Tavoy", "Gold rivets, phillips screws. Made in Germany. From 1995."),
    ("Orlenza Merrin", "Left arm stamped ORLENZA"),
)

UNRELATED = (
    "Postage to Italy and Germany possible. Photos taken in 2023. Smoke free home.",
    "Versand aus Österreich, auch nach Italien.",
    "Habe noch eine schwarze Tasche und goldene Ringe im Angebot.",
    "Also have a black handbag and a 1985 camera for sale.",
    "Sent tracked in a box 18 x 12 x 8 cm, weight 60 g. Selling since 2004, 100% feedback.",
    "My wife has a small face; pictures show her wearing a black dress.",
    "Photos taken in 2023 with a 50 mm lens.",
    "Please see my other items: round mirrors, gold pens, black handbags, silver rivets.",
    "Also for sale: a Bellmark with three barrels.",
    "Included: a second frame, unbranded, with round rivets.",
    "I add for free a broken Corvane frame with five barrels and round rivets, for parts.",
    "The case is stamped OPTIK MEYER, made in Germany.",
    "Das Etui ist aus Italien, Made in Italy.",
    "Receipt from 1998 enclosed.",
    "My grandmother wore it until 1988.",
    "I bought it at a flea market in 1996.",
    "Acquired at auction, 2011.",
    "In einer Auktion 2009 ersteigert.",
    "Acheté en brocante en 2003.",
    "Je vends aussi une monture dorée à rivets ronds.",
    "Comprate al mercatino nel 2001.",
    "Vendo anche una montatura nera con rivetti tondi.",
    "También vendo una montura negra con remaches redondos.",
)


def told(title: str, text: str) -> set[tuple[str, str]]:
    listing = Listing("1", "x", title, text)
    evidence = extract(listing)
    found = run_checks(listing, evidence, resolve(listing, evidence, SHEETS), SHEETS)
    return {(f.point, f.result) for f in found if f.result in ("conflicts", "agrees")}


@pytest.mark.parametrize("sentence", UNRELATED)
def test_unrelated_sentence_changes_no_finding(sentence: str) -> None:
    for title, text in LISTINGS:
        assert told(title, f"{text} {sentence}") == told(title, text), (title, sentence)


@pytest.mark.parametrize(("title", "text"), LISTINGS)
def test_capitals_or_small_letters_change_no_finding(title: str, text: str) -> None:
    assert told(title.upper(), text.upper()) == told(title, text)
    assert told(title.lower(), text.lower()) == told(title, text)


def test_lenses_fitted_later_date_no_frame() -> None:
    found = told("Orlenza Merrin", "Prescription lenses fitted in 1999.")
    assert not any(point == "production_years" for point, _ in found)


def test_name_of_the_model_on_a_toy_claims_nothing() -> None:
    listing = Listing("1", "x", "Merrin toy train, boxed", "Locomotive runs well.")
    assert resolve(listing, extract(listing), SHEETS).reference is None
