"""Pairs that a third photo suggests: laid by way of it, and none without a common part."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.photos.align import Alignment, apply
from extractors.photos.closing import Link, Suggestion, suggest
from extractors.photos.first_look import aligned_odds

SQUARE = np.array([[0, 0], [100, 0], [100, 100], [0, 100]], np.float32)
LEFT = np.array([[0, 0], [45, 0], [45, 100], [0, 100]], np.float32)
RIGHT = LEFT + np.array([50, 0], np.float32)


def link(
    later: int,
    earlier: int,
    *,
    shift: float = 0.0,
    mirrored: bool = False,
    parts: tuple[np.ndarray, np.ndarray] = (SQUARE, SQUARE),
    odds: float = 5.0,
) -> Link:
    matrix = np.diag([-1.0 if mirrored else 1.0, 1.0, 1.0])
    matrix[0, 2] = shift
    return Link(later, earlier, Alignment(matrix, mirrored, 50, 50, 60, 9.0), parts, odds)


def suggested(
    links: list[Link], known: frozenset[tuple[int, int]] = frozenset(), room: int = 80
) -> list[Suggestion]:
    return suggest(links, known, np.full(10, room, np.intp))


@pytest.mark.parametrize(
    ("links", "expected"),
    [
        ([link(2, 1), link(1, 0)], [(2, 0)]),
        ([link(2, 0), link(1, 0)], [(2, 1)]),
        ([link(2, 1), link(2, 0)], [(1, 0)]),
        ([link(1, 0)], []),
        ([link(3, 2), link(1, 0)], []),
    ],
)
def test_two_photos_linked_to_a_third_are_suggested(
    links: list[Link], expected: list[tuple[int, int]]
) -> None:
    assert [(one.later, one.earlier) for one in suggested(links)] == expected


def test_nothing_known_is_suggested_again() -> None:
    assert not suggested([link(2, 1), link(1, 0)], known=frozenset({(2, 0)}))


def test_a_photo_with_no_room_left_gets_no_suggestion() -> None:
    assert not suggested([link(2, 1), link(1, 0)], room=0)


def test_tiles_of_one_collage_do_not_suggest_each_other() -> None:
    collage = [link(2, 1, parts=(LEFT, SQUARE)), link(2, 0, parts=(RIGHT, SQUARE))]
    assert not suggested(collage)


def test_the_surest_third_photo_says_how_they_lie() -> None:
    sure = [link(3, 2, shift=1, odds=9), link(2, 0, shift=1, odds=9)]
    unsure = [link(3, 1, shift=30, odds=2), link(1, 0, shift=30, odds=2)]
    (found,) = (one for one in suggested([*unsure, *sure]) if (one.later, one.earlier) == (3, 0))
    assert found.matrix[0, 2] == pytest.approx(2)


@given(
    st.floats(-40, 40), st.floats(-40, 40), st.booleans(), st.booleans(), st.permutations([0, 1, 2])
)
def test_the_matrix_goes_by_way_of_the_third(
    first: float, second: float, flip: bool, again: bool, places: list[int]
) -> None:
    """Wherever the third photo stands in the order, points go where both links send them."""
    to_third = {0: (first, flip), 1: (second, again)}
    photo, other, third = places
    links, moves = [], {}
    for number, (shift, mirrored) in ((photo, to_third[0]), (other, to_third[1])):
        one = link(max(number, third), min(number, third), shift=shift, mirrored=mirrored)
        links.append(one)
        matrix = one.alignment.matrix
        moves[number] = matrix if number > third else np.linalg.inv(matrix)
    (found,) = suggested(links)
    expected = np.linalg.inv(moves[found.earlier]) @ moves[found.later]
    assert apply(found.matrix, SQUARE) == pytest.approx(apply(expected, SQUARE), abs=1e-6)
    assert found.mirrored == (flip != again)


def test_more_matches_speak_for_a_copy() -> None:
    few, many = (Alignment(np.eye(3), False, n, n, 200, 1.0) for n in (10, 150))
    assert aligned_odds(many) > aligned_odds(few)
