"""A picture made crisp keeps its relief, whatever that does to its grey levels."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from extractors.photos.features import Floats
from extractors.photos.relief import NOT_SEEN, relief_of

INSIDE = np.ones((96, 128), np.uint8)


def _scene(seed: int) -> Floats:
    rng = np.random.default_rng(seed)
    scene = np.linspace(40, 200, INSIDE.shape[1], dtype=np.float32)[None].repeat(INSIDE.shape[0], 0)
    for _ in range(25):
        x, y = (int(rng.integers(0, side)) for side in INSIDE.shape[::-1])
        grey = float(rng.integers(20, 235))
        cv2.circle(scene, (x, y), int(rng.integers(3, 14)), grey, -1, cv2.LINE_AA)
    return np.asarray(cv2.GaussianBlur(scene, (5, 5), 1.1)) - 128


def _evened(scene: Floats) -> Floats:
    mean = cv2.GaussianBlur(scene, (0, 0), 8)
    deviation = np.sqrt(cv2.GaussianBlur((scene - mean) ** 2, (0, 0), 8))
    return np.asarray(40 * (scene - mean) / (deviation + 8), np.float32)


@pytest.mark.parametrize("seed", range(4))
def test_local_contrast_changes_the_levels_but_not_the_relief(seed: int) -> None:
    scene = _scene(seed)
    found = relief_of(scene, _evened(scene), INSIDE)
    assert found.likeness > 0.95
    assert found.likeness > np.corrcoef(scene.ravel(), _evened(scene).ravel())[0, 1]


@pytest.mark.parametrize("seed", range(4))
def test_another_scene_has_another_relief(seed: int) -> None:
    found = relief_of(_scene(seed), _scene(seed + 50), INSIDE)
    assert found.likeness < 0.5
    assert found.low_tenth <= found.low_quarter < 0.3


def test_the_order_of_the_photos_changes_nothing() -> None:
    one, other = _scene(1), _evened(_scene(1)) + 3 * _scene(9)
    there, back = relief_of(one, other, INSIDE), relief_of(other, one, INSIDE)
    assert there.likeness == pytest.approx(back.likeness, abs=1e-5)
    assert there.low_quarter == pytest.approx(back.low_quarter, abs=1e-5)


def test_too_little_in_common_says_nothing() -> None:
    inside = np.zeros(INSIDE.shape, np.uint8)
    inside[:10, :10] = 1
    assert relief_of(_scene(1), _scene(1), inside) == NOT_SEEN


def test_even_pictures_say_nothing() -> None:
    even = np.zeros(INSIDE.shape, np.float32)
    assert relief_of(even, even, INSIDE) == NOT_SEEN
