"""Outlines that are only added speak for a copy; outlines of its own in either photo do not."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from extractors.photos.features import Floats
from extractors.photos.outlines import NOT_SEEN, outlines_of

INSIDE = np.ones((160, 200), bool)


def _scene(seed: int) -> Floats:
    rng = np.random.default_rng(seed)
    scene = np.full(INSIDE.shape, 120.0, np.float32)
    for _ in range(14):
        x, y = (int(rng.integers(10, side - 10)) for side in INSIDE.shape[::-1])
        grey = float(rng.integers(20, 235))
        cv2.circle(scene, (x, y), int(rng.integers(6, 26)), grey, -1, cv2.LINE_AA)
    return np.asarray(cv2.GaussianBlur(scene, (5, 5), 1.1))


def _written_over(scene: Floats) -> Floats:
    done = scene.astype(np.uint8)
    for y in range(30, 160, 40):
        cv2.putText(done, "QUARRAN", (10, y), cv2.FONT_HERSHEY_SIMPLEX, 1, (255,), 2, cv2.LINE_AA)
    mixed = (0.65 * scene + 0.35 * done).astype(np.float32)
    return np.asarray(cv2.GaussianBlur(mixed, (5, 5), 1.1))


@pytest.mark.parametrize(
    "edited",
    [
        lambda scene: 255 * (scene / 255) ** 1.8,
        lambda scene: np.round(scene / 40) * 40,
        lambda scene: scene * 0.5 + 90,
        _written_over,
    ],
    ids=["other tones", "posterised", "less contrast", "written over"],
)
def test_an_edited_picture_keeps_the_outlines_of_the_other(edited: object) -> None:
    scene = _scene(1)
    found = outlines_of(scene, np.asarray(edited(scene), np.float32), INSIDE)  # type: ignore[operator]
    assert found.kept > 0.9


def test_what_is_written_over_a_picture_is_lost_in_one_photo_only() -> None:
    scene = _scene(1)
    found = outlines_of(scene, _written_over(scene), INSIDE)
    assert found.kept > 0.9 > found.lost + 0.1


@pytest.mark.parametrize("seed", range(5))
def test_two_scenes_keep_few_outlines_of_each_other(seed: int) -> None:
    found = outlines_of(_scene(seed), _scene(seed + 100), INSIDE)
    assert found.lost <= found.kept < 0.5


def test_either_photo_may_come_first() -> None:
    one, other = _scene(1), _written_over(_scene(1))
    assert outlines_of(one, other, INSIDE) == outlines_of(other, one, INSIDE)


@pytest.mark.parametrize("inside", [np.zeros_like(INSIDE), INSIDE])
def test_where_nothing_is_to_be_seen_nothing_is_said(inside: np.ndarray) -> None:
    even = np.full(INSIDE.shape, 90.0, np.float32)
    found = outlines_of(even, even, inside)
    assert (found.kept, found.along) == (NOT_SEEN.kept, NOT_SEEN.along)
