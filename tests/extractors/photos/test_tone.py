"""A tone curve of any shape is found and taken out; where there is none, nothing is changed."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest

from extractors.photos.agreement import Agreement, compare
from extractors.photos.decode import Pixels
from extractors.photos.features import Floats
from extractors.photos.tone import tone_curve

SIZE = (240, 320)
CURVES: dict[str, Callable[[Pixels], Pixels]] = {
    "equalised": lambda grey: np.asarray(cv2.equalizeHist(grey)),
    "posterised": lambda grey: (np.minimum(grey.astype(int) // 48 * 48 + 24, 255)).astype(np.uint8),
    "four levels": lambda grey: (grey // 64 * 85).astype(np.uint8),
    "solarised": lambda grey: np.where(grey > 140, 255 - grey, grey).astype(np.uint8),
    "burnt out": lambda grey: np.clip(grey * 1.7 + 40.0, 0, 255).astype(np.uint8),
}


def _scene(seed: int) -> Pixels:
    """Overlapping discs on a slope, a little soft, with a grain of its own."""
    rng = np.random.default_rng(seed)
    scene = np.tile(np.linspace(60, 200, SIZE[1], dtype=np.float32), (SIZE[0], 1))
    for _ in range(45):
        x, y = (int(rng.integers(0, side)) for side in SIZE[::-1])
        cv2.circle(scene, (x, y), int(rng.integers(8, 34)), float(rng.integers(10, 245)), -1)
    soft = cv2.GaussianBlur(scene, (7, 7), 2.0) + rng.normal(0, 2.0, SIZE)
    return np.clip(np.asarray(soft), 0, 255).astype(np.uint8)


def _as_saved(grey: Pixels) -> Pixels:
    _, stored = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 80])
    return np.asarray(cv2.imdecode(stored, cv2.IMREAD_GRAYSCALE))


def _compared(a: Pixels, b: Pixels) -> Agreement:
    found = compare(a, b, np.eye(3))
    assert found is not None
    return found


def _alike(found: Agreement) -> float:
    return float((np.maximum(found.fine, found.coarse)[found.valid] > 0.9).mean())


@pytest.mark.parametrize("name", CURVES)
def test_a_curve_explains_the_edited_picture(name: str) -> None:
    edited = CURVES[name](_scene(1))
    inside = np.ones(SIZE, bool)
    found = tone_curve(_scene(1).astype(np.float32), edited.astype(np.float32), inside)
    assert found is not None
    assert found.left < 0.05


@pytest.mark.parametrize("name", ["posterised", "four levels", "solarised"])
@pytest.mark.parametrize("swap", [False, True])
def test_cells_agree_once_the_curve_is_taken_out(name: str, swap: bool) -> None:
    pictures = [_as_saved(_scene(2)), _as_saved(CURVES[name](_scene(2)))]
    a, b = pictures[::-1] if swap else pictures
    found = _compared(a, b)
    assert _alike(found) > 0.8
    assert not np.array_equal(found.levels_a, found.means_a) or not np.array_equal(
        found.levels_b, found.means_b
    )


@pytest.mark.parametrize(
    "edit",
    [lambda grey: grey, lambda grey: grey * 0.6 + 30, lambda grey: grey[::-1]],
    ids=["same", "faded", "another picture"],
)
def test_no_curve_is_taken_out_where_a_line_does(edit: Callable[[Floats], Floats]) -> None:
    edited = edit(_scene(3).astype(np.float32)).astype(np.uint8)
    found = _compared(_scene(3), np.ascontiguousarray(edited))
    assert np.array_equal(found.levels_a, found.means_a)
    assert np.array_equal(found.levels_b, found.means_b)


def test_another_picture_gains_nothing_by_a_curve() -> None:
    assert _alike(_compared(_scene(4), _scene(5))) < 0.2


def test_few_pixels_have_no_curve() -> None:
    few = np.zeros(SIZE, bool)
    few[:10, :10] = True
    grey = _scene(6).astype(np.float32)
    assert tone_curve(grey, 255 - grey, few) is None
