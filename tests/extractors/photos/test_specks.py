"""Dust and noise tell a copy from another shot of the same thing."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from extractors.photos.features import Floats
from extractors.photos.specks import NOT_SEEN, specks_of

EVERYWHERE = np.ones((300, 400), bool)


def _shot(seed: int, dust: int = 25, grain: float = 1.5) -> Floats:
    """A plain round thing on a plain ground, with dust and noise of its own."""
    rng = np.random.default_rng(seed)
    picture = np.full(EVERYWHERE.shape, 225, np.float32)
    cv2.circle(picture, (200, 150), 90, 60.0, 12, cv2.LINE_AA)
    for _ in range(dust):
        at = (int(rng.integers(5, 395)), int(rng.integers(5, 295)))
        cv2.circle(picture, at, 1, float(rng.uniform(120, 190)), -1, cv2.LINE_AA)
    return np.asarray(picture + rng.normal(0, grain, picture.shape), np.float32)


def _saved(picture: Floats, quality: int) -> Floats:
    stored = cv2.imencode(".jpg", np.clip(picture, 0, 255), [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
    return np.asarray(cv2.imdecode(stored, cv2.IMREAD_GRAYSCALE), np.float32)


@pytest.mark.parametrize("quality", [95, 80, 60])
def test_a_copy_saved_anew_keeps_its_dust(quality: int) -> None:
    shot = _shot(1)
    assert specks_of(shot, _saved(shot, quality), EVERYWHERE).likeness > 0.8


def test_a_darker_softer_copy_keeps_its_dust() -> None:
    shot = _shot(1)
    soft = np.asarray(cv2.GaussianBlur(shot * 0.7, (0, 0), 0.8), np.float32)
    assert specks_of(shot, soft, EVERYWHERE).likeness > 0.75


def test_another_shot_has_other_dust() -> None:
    found = specks_of(_shot(1), _shot(2), EVERYWHERE)
    assert found.likeness < 0.3
    assert found.marked > 100


def test_of_two_shots_each_has_dust_that_the_other_lacks() -> None:
    assert specks_of(_shot(1), _shot(2), EVERYWHERE).own > 10


@pytest.mark.parametrize("quality", [95, 60, 30])
def test_a_copy_has_no_dust_of_its_own_beside_lacking_some(quality: int) -> None:
    shot = _shot(1)
    assert specks_of(shot, _saved(shot, quality), EVERYWHERE).own == 0
    cleaned = np.asarray(cv2.medianBlur(shot, 5), np.float32)
    assert specks_of(shot, cleaned, EVERYWHERE).own == 0


def test_noise_of_a_copy_agrees_and_that_of_another_shot_does_not() -> None:
    shot = _shot(1, dust=0)
    copy, other = (specks_of(shot, b, EVERYWHERE) for b in (_saved(shot, 92), _shot(2, dust=0)))
    assert copy.noise > 0.5
    assert copy.sure > 20
    assert abs(other.noise) < 0.03
    assert other.sure < 3


def test_without_marks_the_usual_is_given() -> None:
    plain: npt.NDArray[np.float32] = np.full(EVERYWHERE.shape, 200, np.float32)
    found = specks_of(plain, plain, EVERYWHERE)
    assert found.likeness == pytest.approx(NOT_SEEN.likeness)
    assert (found.marked, found.noise, found.spread) == pytest.approx((0.0, 0.0, 0.0), abs=1e-3)
