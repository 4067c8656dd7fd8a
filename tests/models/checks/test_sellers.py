"""What a seller's other listings tell: only with conflicts, only above what is usual."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.records import Evidence, Listing
from models.checks.corpus import Corpus, Examined
from models.checks.sellers import ALIKE, check_sellers, how_alike, shift_of
from models.features import signs_of
from models.records import Finding
from models.resolve import Resolution
from models.weights import load_weights

WRONG = Finding("points", "hinge_barrels", "conflicts", "hard", "why")
chances = st.floats(0.01, 0.99)


def _one(key: str, seller: str | None, *findings: Finding, text: str = "") -> Examined:
    listing = Listing(key, key, "a frame", text or f"piece {key}", seller_id=seller)
    return Examined(listing, Evidence(key), Resolution("vennerby-318"), findings)


def _market(*own: Examined, plain: int = 40) -> Corpus:
    others = (_one(f"p{n}", f"seller {n // 2}") for n in range(plain))
    return Corpus((*own, *others))


def test_conflicts_of_the_same_sellers_other_listings_are_told() -> None:
    own = [_one(f"a{n}", "ann", WRONG) for n in range(4)]
    found = check_sellers(_market(*own, _one("last", "ann")), {})
    (finding,) = found["last"]
    assert finding.result == "undecided"
    assert finding.stated == "4 of 4"
    assert set(finding.about) == {"a0", "a1", "a2", "a3"}
    signs = signs_of(Listing("x", "x"), Evidence("x"), (finding,), None, (), load_weights())
    assert [s.weight.code for s in signs] == [f"seller.others.{finding.strength}"]


def test_other_sellers_and_those_without_conflicts_get_no_finding() -> None:
    own = [_one(f"a{n}", "ann", WRONG) for n in range(4)]
    assert set(check_sellers(_market(*own), {})) <= {"a0", "a1", "a2", "a3"}


@pytest.mark.parametrize("seller", [None, "ann"])
def test_a_lone_listing_or_an_unnamed_seller_gets_no_finding(seller: str | None) -> None:
    corpus = _market(_one("a", seller, WRONG), _one("b", None, WRONG), _one("c", None))
    assert check_sellers(corpus, {}) == {}


def test_the_same_words_again_are_the_same_piece() -> None:
    own = [_one(f"a{n}", "ann", WRONG, text="the same") for n in range(4)]
    assert check_sellers(_market(*own), {}) == {}


def test_in_a_small_folder_nothing_is_usual() -> None:
    own = [_one(f"a{n}", "ann", WRONG) for n in range(4)]
    assert check_sellers(Corpus((*own, _one("last", "ann"))), {}) == {}


def test_findings_over_all_listings_count_too() -> None:
    reused = Finding("photo_reuse", "photos", "conflicts", "hard", "why", about=("z",))
    own = [_one(f"a{n}", "ann") for n in range(5)]
    found = check_sellers(_market(*own), {f"a{n}": (reused,) for n in range(4)})
    assert "a4" in found


def test_likeness_rises_where_sellers_are_alike_and_falls_where_they_are_not() -> None:
    alike = [[0.9, 0.9, 0.9]] * 20 + [[0.1, 0.1, 0.1]] * 60
    mixed = [[0.9, 0.1, 0.1], [0.1, 0.1, 0.1], [0.1, 0.9, 0.1], [0.1, 0.1, 0.9]] * 20
    assert how_alike(alike) > ALIKE > how_alike(mixed)


@given(st.lists(st.lists(chances, min_size=1, max_size=6), min_size=1, max_size=20))
def test_likeness_is_a_share(groups: list[list[float]]) -> None:
    assert 0.0 <= how_alike(groups) <= 0.9


@given(st.lists(chances, min_size=1, max_size=8), chances, st.floats(0.0, 0.9))
def test_others_never_speak_in_favour_and_worse_others_never_lower(
    others: list[float], usual: float, alike: float
) -> None:
    before = shift_of(others, usual, alike)
    worse = [min(0.99, chance + 0.1) for chance in others]
    assert 0.0 <= before <= shift_of(worse, usual, alike) + 1e-12
