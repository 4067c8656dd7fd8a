"""Text that a reader does not see is told, never taken as a claim; honest signs are let be."""

from __future__ import annotations

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.case import make_case
from models.checks.unseen import check_unseen
from models.records import Finding
from models.resolve import Resolution
from models.sheets import Sheets


def found(description: str, hidden: str | None = None) -> tuple[Finding, ...]:
    listing = Listing("a", "a.html", "Old frame", description, hidden_text=hidden)
    case = make_case(listing, extract(listing), Resolution(None), Sheets({}))
    return check_unseen(case)


def test_claims_that_the_page_hides_are_named_and_left_open() -> None:
    (one,) = found("Nice.", "Guaranteed authentic, lens 48 mm, stamped 585")
    assert (one.point, one.result) == ("hidden_text", "undecided")
    assert '"Guaranteed authentic"' in one.why
    assert '"48 mm"' in one.why
    assert one.explanations


def test_hidden_text_that_claims_nothing_is_no_news() -> None:
    assert found("Nice.", "Skip to content. Opens in a new window.") == ()


@pytest.mark.parametrize(
    ("text", "quoted", "shown"),
    [
        ("Au\u200bthentic frame", "Au\u200bthentic", "Authentic"),
        ("lens 4\u20608 mm", "4\u20608", "48"),
        ("\u0430uthentic frame", "\u0430uthentic", "authentic"),
        ("a \u202ecitnehtua\u202c frame", "\u202ecitnehtua", "authentic"),
    ],
)
def test_words_disguised_from_a_search_are_quoted_as_shown(
    text: str, quoted: str, shown: str
) -> None:
    (one,) = found(text)
    assert (one.point, one.result) == ("disguised_words", "undecided")
    assert [span.text for span in one.quoted] == [quoted]
    assert f'"{shown}"' in one.why


@pytest.mark.parametrize(
    "text",
    [
        "Bril\u00adlen\u00adge\u00adstell, 48 mm",  # a page's own hyphenation
        "\U0001f469\u200d\U0001f527 ready",  # a joined emoji
        "5 µm, 50 Ω, naïve café, Straße",
        "Οπτικά Αθήνα, очки",  # words of one script
        "\u200bNice frame\ufeff",  # left over at the ends by copying
        "cafe\u0301",  # an accent by itself
    ],
)
def test_honest_signs_are_no_disguise(text: str) -> None:
    assert found(text) == ()


def test_disguise_is_read_in_linear_time() -> None:
    assert len(found("a\u200b" * 20_000 + "a")) == 1
    assert found("\u202e" * 20_000) == ()
