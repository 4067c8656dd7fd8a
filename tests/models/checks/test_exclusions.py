"""Two statements of one listing that do not go together, and sentences that only look so."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.features import signs_of
from models.resolve import resolve
from models.sheets import load_sheets
from models.weights import load_weights

SHEETS = load_sheets([Path(__file__).parents[2] / "evaluation" / "check_sheets"])
LENSES = ("original_lenses", "conflicts")
FLAWLESS = ("flawless", "conflicts")
ERA = ("era", "conflicts")
OLD = ("lens_wording", "undecided")
FIRM = ("lens_wording", "conflicts")

SAID = [
    ("Original lenses. New lenses were fitted last week.", {LENSES}),
    ("The lenses are all original, fresh green lenses put in by my optician.", {LENSES}),
    ("Die Gläser sind original. Neue Gläser wurden eingesetzt.", {LENSES}),
    ("Verres d’origine. Verres neufs, posés hier.", {LENSES}),
    ("Lenti originali, con nuove lenti appena montate.", {LENSES}),
    ("Conserva los cristales originales. Cristales nuevos.", {LENSES}),
    ("New lenses were fitted last week.", set()),
    ("Lenses never changed, the original lenses.", set()),
    ("Not the original lenses: new lenses, fitted in May.", set()),
    ("New lenses fitted, the original lenses are included.", set()),
    ("The original lenses were replaced by new ones.", set()),
    ("Original lenses, new old stock.", set()),
    ("Flawless, but for a hairline at the hinge.", {FLAWLESS}),
    ("Neuwertig. Am Steg etwas Kleber.", {FLAWLESS}),
    ("Parfait état, recollée au pont.", {FLAWLESS}),
    ("Perfetto, solo una crepa sul ponte.", {FLAWLESS}),
    ("Como nuevas, con una grieta en la bisagra.", {FLAWLESS}),
    ("Flawless, no cracks, no glue.", set()),
    ("Near mint, a hairline at the hinge.", set()),
    ("Mint condition. The case has a crack.", set()),
    ("A hairline at the hinge, otherwise good.", set()),
    ("From the 1950s. Lenses with UV400 sticker.", {OLD}),
    ("From the 1950s. Original lenses, UV400.", {FIRM}),
    ("From the 1950s. New lenses, UV400.", set()),
    ("From the 1950s. Comes with a pouch marked UV400.", set()),
    ("Années 50. Verres avec protection UV.", {OLD}),
    ("Factory-fitted lenses, freshly glazed in May.", {LENSES}),
    ("Noch mit den Werksgläsern. Frisch eingesetzte Gläser.", {LENSES}),
    ("Senza alcun difetto, incollata sul ponte.", {FLAWLESS}),
    ("From the 1990s. Lenses with UV400 sticker.", {("production_years", "conflicts")}),
]


def _findings(text: str, title: str = "Vennerby 318", specifics: tuple = ()) -> tuple:
    listing = Listing("1", "x", title, text, specifics=specifics)
    evidence = extract(listing)
    return run_checks(listing, evidence, resolve(listing, evidence, SHEETS), SHEETS)


@pytest.mark.parametrize(("text", "expected"), SAID, ids=[text for text, _ in SAID])
def test_statements_are_held_against_each_other(text: str, expected: set) -> None:
    told = {
        (f.point, f.result)
        for f in _findings(text)
        if f.result == "conflicts" or f.point == "lens_wording"
    }
    assert told == expected


ERAS = [
    ("Vennerby 318 1950s", "Made in the 1980s.", True),
    ("Vennerby 318", "Aus den 1980er Jahren. Ein Stück der 1950er Jahre.", True),
    ("Vennerby 318 1950s", "Circa 1958.", False),
    ("Vennerby 318 1950s", "From the early 1960s.", False),
    ("Vennerby 318 50s 60s 70s 80s", "Made about 1958.", False),
    ("Vennerby 318 1950s", "A reissue of the 1990s.", False),
    ("Vennerby 318 1950s", "The receipt is from 1987.", False),
]


@pytest.mark.parametrize(("title", "text", "apart"), ERAS, ids=[f"{t} {x}" for t, x, _ in ERAS])
def test_two_times_of_making_exclude_each_other(title: str, text: str, apart: bool) -> None:
    assert any(f.check == "itself" and f.point == "era" for f in _findings(text, title)) == apart


def test_a_fitting_time_beside_one_far_off_is_left_open_and_counts_once() -> None:
    findings = _findings("Made in the 1980s.", "Vennerby 318 1950s")
    years = next(f for f in findings if f.point == "production_years")
    assert (years.result, years.also_agrees) == ("undecided", True)
    era = next(f for f in findings if f.point == "era")
    assert years.cause == era.cause
    listing = Listing("1", "x", "Vennerby 318 1950s", "Made in the 1980s.")
    signs = signs_of(listing, extract(listing), findings, 0.1, (), load_weights())
    assert [s.weight.code for s in signs if s.weight.family == "text"] == [
        "itself.era.conflicts.soft"
    ]


def test_a_labelled_time_and_another_in_the_text_exclude_each_other() -> None:
    findings = _findings("Made in 1984.", specifics=(("Era", "1950s"),))
    assert any(f.point == "era" for f in findings)


@pytest.mark.parametrize(
    ("title", "text", "result", "strength"),
    [
        ("Vennerby 318 1950s", "Made in the 1980s.", "undecided", "soft"),
        ("Vennerby 318 1950s", "A reissue. Made in the 1990s.", "undecided", "clue"),
        ("Vennerby 318 50s 60s 70s 80s", "A fine frame.", "agrees", "soft"),
        ("Vennerby 318 1950s", "Circa 1958.", "agrees", "soft"),
    ],
)
def test_leaving_out_the_odd_time_gains_no_point(
    title: str, text: str, result: str, strength: str
) -> None:
    years = next(f for f in _findings(text, title) if f.point == "production_years")
    assert (years.result, years.strength) == (result, strength)
    assert years.result == "agrees" or years.also_agrees
