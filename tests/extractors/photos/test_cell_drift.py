"""Cells of an edited picture lie in their place; those of another shot do not."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from extractors.photos.agreement import Agreement, compare
from extractors.photos.drift import unevenness
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
def test_a_shift_is_measured_in_working_pixels(across: float, down: float) -> None:
    move = np.array([[1, 0, across], [0, 1, down]], np.float32)
    moved = cv2.warpAffine(GREY, move, GREY.shape[::-1], borderMode=cv2.BORDER_REPLICATE)
    agreement = _compared(GREY, moved)
    sure = agreement.valid & (agreement.corners > 0.3) & (agreement.moved > 0.9)
    seen = np.array([np.median(side[sure]) for side in agreement.drift])
    # b shows at x + across what a shows at x: b(x) = a(x - across); two photo px a working px
    assert np.abs(seen - np.array([-across, -down]) / 2).max() < 0.12


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
