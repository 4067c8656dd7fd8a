"""What differs where both photos show something, and how large its largest piece is."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from extractors.photos.rivals import Rivals, rivals_of

Values = float | npt.NDArray[np.generic]
ALL = tuple(range(20))
PLACES = np.array([(row, column) for row in range(4) for column in range(5)], np.float32)


def _of(likeness: Values, lower: Values, weights: Values = 1.0) -> Rivals:
    full = [np.full(20, one, np.float32) for one in (likeness, lower, weights)]
    return rivals_of(full[0], full[1], full[2], PLACES)


def _cells(*numbers: int) -> npt.NDArray[np.bool_]:
    return np.isin(np.arange(20), numbers)


@pytest.mark.parametrize(
    ("differs", "shows", "rivals"),
    [
        ((), ALL, Rivals(0, 0, 0)),
        ((0, 1, 5, 6), ALL, Rivals(0.2, 0.2, 0.2)),
        ((0, 1, 13, 14, 19), ALL, Rivals(0.25, 0.15, 0.15)),
        ((0, 6, 12, 18), ALL, Rivals(0.2, 0.05, 0.05)),  # corners do not touch
        ((0, 1, 5, 6), (0,), Rivals(0.05, 0.05, 0.2)),  # the other photo is plain there
    ],
)
def test_pieces_that_differ(
    differs: tuple[int, ...], shows: tuple[int, ...], rivals: Rivals
) -> None:
    found = _of(np.where(_cells(*differs), 0.1, 0.99), np.where(_cells(*shows), 9.0, 1.0))
    assert (found.share, found.block, found.other) == pytest.approx(
        (rivals.share, rivals.block, rivals.other)
    )


def test_cells_that_count_nothing_are_left_out() -> None:
    assert _of(0.1, 9.0, 0.0) == Rivals()
    half = _of(0.1, 9.0, _cells(*range(10)))
    assert (half.share, half.block) == pytest.approx((1.0, 1.0))
