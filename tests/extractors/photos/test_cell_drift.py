"""Cells of an edited picture lie in their place; those of another shot do not."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from extractors.photos.agreement import Agreement, _Base, _moments, _sums, _tones, compare
from extractors.photos.align import apply
from extractors.photos.drift import drift_of, unevenness
from extractors.photos.features import Floats
from extractors.photos.settle import nearest_similarity
from tests.extractors.photos.made_pictures import Pixels, scene

GREY = cv2.cvtColor(scene(7, (400, 512)), cv2.COLOR_RGB2GRAY)
SAME = np.eye(3)


def _compared(one: Pixels, other: Pixels) -> Agreement:
    agreement = compare(one, other, SAME)
    assert agreement is not None
    return agreement


def _rest(agreement: Agreement) -> float:
    places = np.stack(np.nonzero(agreement.valid), 1).astype(np.float32)
    shifts = np.stack([side[agreement.valid] for side in agreement.drift], 1)
    weights = agreement.corners[agreement.valid] * (agreement.moved[agreement.valid] > 0.5)
    return unevenness(places, shifts, weights)[1]


@pytest.mark.parametrize(("across", "down"), [(0.6, 0.0), (0.0, -0.6), (0.4, 0.4), (0.0, 0.0)])
def test_a_shift_of_a_cell_is_measured(across: float, down: float) -> None:
    y, x = np.mgrid[0:64, 0:64].astype(np.float32)

    def waves(u: float, v: float) -> Floats:
        return np.asarray(90 * np.sin((x + u) / 3) + 90 * np.cos((y + v) / 3), np.float32)

    a, b = waves(0, 0), waves(across, down)
    base = _Base(b, b, b, *_sums(np.stack([b, b * b]), 4))
    seen = drift_of(_moments(a, b, _tones(a, base)))
    # b shows at x what a shows at x + across
    assert abs(float(np.median(seen[0])) - across) < 0.12
    assert abs(float(np.median(seen[1])) - down) < 0.12
    assert float(seen[2].min()) > 0.95


@pytest.mark.parametrize(
    "move",
    [
        np.array([[1, 0, 1.7], [0, 1, -0.8], [0, 0, 1]]),
        np.array([[0.995, -0.008, 2.0], [0.008, 0.995, 0.0], [0, 0, 1]]),
        np.array([[1, 0.004, 0.0], [0, 1.004, 0.5], [2e-5, 0, 1]]),
    ],
    ids=["shift", "turn", "slant"],
)
def test_a_matrix_a_little_off_is_mended(move: npt.NDArray[np.float64]) -> None:
    moved = cv2.warpPerspective(GREY, move, GREY.shape[::-1], borderMode=cv2.BORDER_REPLICATE)
    found = _compared(GREY, moved).matrix
    places = np.array([[60, 60], [450, 60], [450, 340], [60, 340]], np.float32)
    assert np.abs(apply(found, places) - apply(move, places)).max() < 0.35


def test_a_plain_copy_is_laid_by_a_similarity() -> None:
    small = cv2.resize(GREY, None, fx=0.7, fy=0.7, interpolation=cv2.INTER_AREA)
    bent = np.array([[0.702, 0.002, 0.4], [0.0, 0.697, 0.3], [4e-6, 0, 1]])
    agreement = compare(GREY, small, bent)
    assert agreement is not None
    linear = agreement.matrix[:2, :2] / agreement.matrix[2, 2]
    assert np.allclose(linear @ linear.T / np.linalg.det(linear), np.eye(2), atol=1e-9)
    assert np.allclose(agreement.matrix[2, :2], 0, atol=1e-12)


@pytest.mark.parametrize("flip", [1.0, -1.0])
def test_a_similarity_is_its_own_nearest(flip: float) -> None:
    turn = np.array([[0.8 * flip, -0.3, 5], [0.3 * flip, 0.8, -7], [0, 0, 1]])
    assert np.allclose(nearest_similarity(turn, (192, 256)), turn)


@pytest.mark.parametrize("edit", ["darker", "blurred", "grainy", "covered"])
def test_cells_of_an_edited_picture_lie_in_their_place(edit: str) -> None:
    rng = np.random.default_rng(1)
    edited = {
        "darker": (GREY * 0.6).astype(np.uint8),
        "blurred": cv2.GaussianBlur(GREY, (0, 0), 1.5),
        "grainy": np.clip(GREY + rng.normal(0, 12, GREY.shape), 0, 255).astype(np.uint8),
        "covered": cv2.circle(GREY.copy(), (380, 300), 70, 200, -1),
    }[edit]
    assert _rest(_compared(GREY, edited)) < 0.35


def test_cells_of_another_shot_lie_off_their_place() -> None:
    y, x = np.mgrid[0 : GREY.shape[0], 0 : GREY.shape[1]].astype(np.float32)
    nearer = cv2.remap(
        GREY, x + 3 * np.sin(y / 30), y + 3 * np.sin(x / 35), cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT,
    )  # fmt: skip
    assert _rest(_compared(GREY, nearer)) > 0.6


def test_nothing_known_is_far_off() -> None:
    places = np.zeros((5, 2), np.float32)
    plain, rest, left = unevenness(places, places, np.zeros(5, np.float32))
    assert min(plain, rest) >= 1.0
    assert left.shape == (5, 2)


@pytest.mark.parametrize(
    "off",
    [
        np.array([[1, 0, 2.0], [0, 1, -1.5], [0, 0, 1]]),
        np.array([[1.008, 0.004, 0.0], [-0.004, 1.01, -1.0], [0, 0, 1]]),
    ],
)
def test_a_copy_laid_a_little_off_is_moved_into_its_place(off: np.ndarray) -> None:
    agreement = compare(GREY, GREY, off)
    assert agreement is not None
    shifts = np.hypot(*(side[agreement.valid] for side in agreement.drift))
    assert float(np.median(shifts)) < 0.25
    assert float(agreement.fine[agreement.valid].mean()) > 0.99
