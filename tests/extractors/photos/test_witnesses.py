"""Third photos that surely show one of two move what is thought of the pair, within bounds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.photos.features import Floats
from extractors.photos.witnesses import heard

WHOLE = np.array([[0, 0], [100, 0], [100, 100], [0, 100]], np.float32)
LEFT = np.array([[0, 0], [40, 0], [40, 100], [0, 100]], np.float32)
RIGHT = LEFT + np.array([55, 0], np.float32)


@dataclass(frozen=True)
class Two:
    later: int
    earlier: int
    odds: float
    outlines: tuple[Floats, Floats] = (WHOLE, WHOLE)


def moved(pairs: list[Two]) -> dict[tuple[int, int], float]:
    """What is thought of every pair afterwards, less what was thought before."""
    before = np.array([pair.odds for pair in pairs])
    after = heard(pairs, before)
    return {
        (pair.later, pair.earlier): float(now - was)
        for pair, now, was in zip(pairs, after, before, strict=True)
    }


def copies_of(photo: int, others: range, part: Floats = WHOLE) -> list[Two]:
    return [Two(other, photo, 8.0, (WHOLE, part)) for other in others]


def links(photo: int, others: range, odds: float) -> list[Two]:
    return [Two(max(photo, other), min(photo, other), odds) for other in others]


def test_a_doubtful_copy_gains_where_the_other_copies_know_it() -> None:
    pairs = [Two(1, 0, 1.0), *copies_of(0, range(2, 8)), *links(1, range(2, 8), 5.0)]
    assert moved(pairs)[1, 0] == pytest.approx(5.0)


def test_what_looks_like_a_copy_loses_where_no_other_copy_knows_it() -> None:
    pairs = [Two(1, 0, 4.0), *copies_of(0, range(2, 8))]
    assert moved(pairs)[1, 0] == pytest.approx(-4.0)


def test_a_few_witnesses_are_not_heard() -> None:
    pairs = [Two(1, 0, 1.0), *copies_of(0, range(2, 5)), *links(1, range(2, 5), 5.0)]
    assert moved(pairs)[1, 0] == 0


def test_who_shows_another_part_is_no_witness() -> None:
    """A collage shows two pictures: the copies of one say nothing of the other."""
    pairs = [Two(1, 0, 4.0, (WHOLE, LEFT)), *copies_of(0, range(2, 9), RIGHT)]
    assert moved(pairs)[1, 0] == 0


def test_no_witness_is_heard_about_what_is_plain() -> None:
    for odds in (-8.0, 12.0):
        assert moved([Two(1, 0, odds), *copies_of(0, range(2, 9))])[1, 0] == 0


@given(st.lists(st.floats(-12, 15), min_size=1, max_size=20), st.floats(-6, 9), st.randoms())
def test_what_witnesses_say_is_bounded_and_the_order_of_pairs_changes_nothing(
    odds: list[float], start: float, random: object
) -> None:
    pairs = [Two(1, 0, start), *copies_of(0, range(2, 2 + len(odds)))]
    pairs += [Two(number + 2, 1, one) for number, one in enumerate(odds)]
    first = moved(pairs)
    assert -4.0 - 1e-9 <= first[1, 0] <= 8.0 + 1e-9
    random.shuffle(pairs)  # type: ignore[attr-defined]
    assert moved(pairs) == pytest.approx(first)
