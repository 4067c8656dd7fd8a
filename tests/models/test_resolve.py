"""Which reference a listing claims."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.records import Evidence, Listing
from models.resolve import Resolution, resolve
from models.sheets import load_sheets

SHEETS = load_sheets([Path(__file__).parents[1] / "evaluation" / "check_sheets"])
MERRIN, TAVOY, PETITE = "orlenza-merrin", "orlenza-tavoy", "orlenza-tavoy-petite"


def claimed(title: str, text: str = "", specifics: tuple[tuple[str, str], ...] = ()) -> Resolution:
    listing = Listing("1", "x", title, text, specifics=specifics)
    return resolve(listing, Evidence("1"), SHEETS)


@pytest.mark.parametrize(
    ("title", "reference"),
    [
        ("Orlenza Merrin vintage frames", MERRIN),
        ("ORLENZA MERRIN", MERRIN),
        ("orlenza merin 1960s", MERRIN),  # a typing slip
        ("Orlenza Mrerin", MERRIN),  # two letters exchanged
        ("OrlenzaMerrin", MERRIN),  # joined
        ("Orlen za Merrin", MERRIN),  # split
        ("Orlenza vintage Merrin", MERRIN),  # a word between
        ("Merrin by Orlenza", MERRIN),
        ("Örlenza Mérrin", MERRIN),
        ("Orlenza Tavoy Petite", PETITE),
        ("Tavoy Petit by Orlenza", PETITE),
        ("Orlenza Tavoy, petite", PETITE),
        ("Orlenza Tavoy", TAVOY),
        ("Quistell 4107", "quistell-4107"),
        ("Quistell mod. 4107", "quistell-4107"),
        ("Quistell 4170", None),  # digits admit no slip
        ("Mirovale Costa 2", "mirovale-costa-ii"),
        ("Mirovale Costa II", "mirovale-costa-ii"),
        ("Mirovale Costa Two", "mirovale-costa-ii"),
        ("Mirovale Costa", "mirovale-costa"),
        ("two Mirovale Costa frames", "mirovale-costa"),
        ("Haldrume no. XII", "haldrume-12"),
        ("Frames like an Orlenza Merrin", None),
        ("Not an Orlenza Merrin", None),
        ("Orlenza Merrin style frame", None),
        ("In the style of the Orlenza Merrin", None),
        ("Case for Orlenza Merrin", None),
        ("Screws to fit Orlenza Merrin", None),
        ("Copy of the Orlenza Merrin", None),
        ("Brille im Stil von Orlenza Merrin", None),
        ("Orlenza Merrin, not the Tavoy", MERRIN),
        ("Mirovale Costa - not the later Costa II", "mirovale-costa"),
        ("an old lantern", None),
        ("narrow frame", None),
    ],
)
def test_title_claims(title: str, reference: str | None) -> None:
    assert claimed(title).reference == reference


def test_specifics_come_before_description() -> None:
    specifics = (("Brand", "Orlenza"), ("Model", "Tavoy Petite"))
    assert claimed("Vintage frame", "Orlenza Merrin", specifics).reference == PETITE


def test_brand_and_model_in_two_labels_are_one_name() -> None:
    specifics = (("Brand", "Vennerby"), ("Model", "318"))
    assert claimed("1950s spectacles", "", specifics).reference == "vennerby-318"


def test_label_that_is_more_exact_than_the_title_counts() -> None:
    assert claimed("Orlenza Tavoy", "", (("Model", "Tavoy Petite"),)).reference == PETITE


def test_description_counts_last() -> None:
    assert claimed("Orlenza glasses", "A lovely Merrin.").reference == MERRIN


@pytest.mark.parametrize(
    ("title", "candidates"),
    [
        ("Orlenza Merrin or Tavoy?", {MERRIN, TAVOY}),
        ("Orlenza glasses", {MERRIN, TAVOY, PETITE}),
        ("Like an Orlenza Merrin", {MERRIN}),
    ],
)
def test_open_claims_name_their_candidates(title: str, candidates: set[str]) -> None:
    found = claimed(title)
    assert found.reference is None
    assert {c.reference for c in found.candidates} == candidates
    assert all(c.why for c in found.candidates)


def test_name_without_a_sheet_is_told() -> None:
    assert claimed("Bramwick Otter cat-eye glasses").named == "Bramwick Otter"


@pytest.mark.parametrize(
    ("title", "text", "named"),
    [
        # met in a demo listing
        ("Corrowby panto glasses, look like an Orlenza Merrin", "not an Orlenza.", "Corrowby"),
        ("Corrowby Otter, could pass for an Orlenza Merrin", "", "Corrowby Otter"),
        ("Corrowby Brille, sieht aus wie eine Orlenza Merrin", "", "Corrowby"),
        ("Alte Corrowby Brille, erinnert an die Orlenza Tavoy", "Keine Orlenza.", "Corrowby"),
        ("Lunettes Corrowby, on dirait des Orlenza Merrin", "", "Corrowby"),
        ("Lunettes Corrowby 52, ressemblent aux Orlenza Merrin", "", "Corrowby 52"),
        ("Corrowby panto glasses, not Orlenza", "", "Corrowby"),
        ("Corrowby Otter, Orlenza-style", "", "Corrowby Otter"),
    ],
)
def test_another_makers_piece_that_is_compared_wants_a_sheet_of_its_own(
    title: str, text: str, named: str
) -> None:
    found = claimed(title, text)
    assert (found.reference, found.candidates, found.named) == (None, (), named)


def test_another_brand_in_a_label_wants_a_sheet_of_its_own() -> None:
    found = claimed("panto glasses like an Orlenza Merrin", "", (("Brand", "Corrowby"),))
    assert (found.candidates, found.named) == ((), "Corrowby")
    unbranded = claimed("panto glasses like an Orlenza Merrin", "", (("Brand", "Unbranded"),))
    assert [c.reference for c in unbranded.candidates] == [MERRIN]


@pytest.mark.parametrize(
    ("title", "named"),
    [
        ("Vintage Pair Old Glasses", None),
        ("Antique Glasses Lot", None),
        ("Old Spectacles 1950", None),
        ("1950s Cat-Eye Frame", None),
        ("Alte Hornbrille", None),
        ("Lunettes Anciennes", None),
        ("VINTAGE TORTOISE ROUND SUNGLASSES", None),
        ("Pair of Vintage Bramwick Otter", "Bramwick Otter"),
        ("Vintage Bramwick 318 Sunglasses", "Bramwick 318"),
        ("BRAMWICK VINTAGE OTTER GLASSES", "BRAMWICK VINTAGE OTTER"),
        ("Rare Bramwick 1960s", "Bramwick"),
    ],
)
def test_words_that_name_nothing_are_no_name(title: str, named: str | None) -> None:
    assert claimed(title).named == named


@pytest.mark.parametrize(
    ("title", "edition"),
    [
        ("Orlenza Tavoy Regatta", "Regatta"),
        ("Orlenza Tavoy Regatta edition of 1974", "Regatta"),
        ("Orlenza Tavoy, not the Regatta", None),
        ("Quistell Harrow reissue", "reissue"),
        ("Orlenza Tavoy", None),
    ],
)
def test_edition_is_named(title: str, edition: str | None) -> None:
    assert claimed(title).edition == edition


def test_quoted_words_are_the_sellers() -> None:
    found = claimed("Lovely ORLENZA Merrin frame")
    (span,) = found.quoted
    assert "Lovely ORLENZA Merrin frame\n"[span.start : span.end] == span.text == "ORLENZA Merrin"


@given(st.text(max_size=60), st.text(max_size=80))
def test_any_text_is_resolved_or_left_open(title: str, text: str) -> None:
    found = claimed(title, text)
    whole = f"{title}\n{text}"
    assert all(whole[s.start : s.end] == s.text for s in found.quoted)


@pytest.mark.parametrize(
    ("title", "text", "alone"),
    [
        ("Vennerby 318 case only", "Brown leather.", True),
        ("Case for Vennerby 318", "No glasses included.", True),
        ("Nur das Etui für Vennerby 318", "Ohne Brille.", True),
        ("Étui d'origine pour Vennerby 318", "Étui seul, sans lunettes.", True),
        ("Astuccio Vennerby 318", "Solo custodia, occhiali non inclusi.", True),
        ("Estuche Vennerby 318", "Sin las gafas.", True),
        ("Vennerby 318 with case", "I cannot read without glasses.", False),
        ("Vennerby 318", "Only the case is worn, no frame damage.", False),
        ("Vennerby 318 mit Etui", "Die Brille ist nicht verbogen.", False),
    ],
)
def test_a_case_alone_is_no_frame(title: str, text: str, alone: bool) -> None:
    listing = Listing("1", "x", title, text)
    resolution = resolve(listing, Evidence(listing.id), SHEETS)
    assert (resolution.reference is None) == alone
    assert ("not the frame" in resolution.why) == alone
