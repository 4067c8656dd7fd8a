"""The edge of a picture that was put into another, or shown on a screen, is seen there."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from extractors.photos.decode import Pixels
from extractors.photos.frames import frame_seen

WIDTH, HEIGHT = 300, 220
CORNERS = np.array([[0, 0], [WIDTH, 0], [WIDTH, HEIGHT], [0, HEIGHT]], np.float32)


def _picture() -> Pixels:
    rng = np.random.default_rng(3)
    grey = np.full((HEIGHT, WIDTH), 150, np.uint8)
    for _ in range(30):
        x, y = int(rng.integers(0, WIDTH)), int(rng.integers(0, HEIGHT))
        cv2.circle(grey, (x, y), int(rng.integers(6, 22)), int(rng.integers(90, 230)), -1)
    return grey


def _shown(places: list[list[float]], ground: int) -> tuple[Pixels, np.ndarray]:
    """The picture with its corners at `places` of a larger one, and the matrix that lays it."""
    matrix = cv2.getPerspectiveTransform(CORNERS, np.array(places, np.float32))
    larger = cv2.warpPerspective(_picture(), matrix, (400, 320), borderValue=ground)
    return np.asarray(larger), np.asarray(matrix)


SCREEN = [[60.0, 40.0], [350.0, 55.0], [330.0, 290.0], [45.0, 270.0]]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("ground", [20, 255])
def test_the_edge_of_a_screen_is_seen(ground: int, mirrored: bool) -> None:
    larger, matrix = _shown(SCREEN, ground)
    mine = _picture()
    if mirrored:
        mine = np.ascontiguousarray(mine[:, ::-1])
        matrix = matrix @ np.array([[-1.0, 0, WIDTH - 1], [0, 1, 0], [0, 0, 1]])
    assert frame_seen(mine, larger, matrix) > 0.8
    assert frame_seen(larger, mine, np.linalg.inv(matrix)) > 0.8


def test_a_crop_shows_no_edge() -> None:
    whole = cv2.GaussianBlur(_picture(), (0, 0), 9)
    part = np.ascontiguousarray(whole[40:180, 50:250])
    shift = np.array([[1.0, 0, 50], [0, 1, 40], [0, 0, 1]])
    assert frame_seen(part, whole, shift) < 0.1


def test_equal_pictures_show_no_edge() -> None:
    assert frame_seen(_picture(), _picture(), np.eye(3)) == 0.0


def test_another_ground_of_the_same_grey_shows_no_edge() -> None:
    flat = np.full((HEIGHT, WIDTH), 140, np.uint8)
    larger = np.full((320, 400), 142, np.uint8)
    shift = np.array([[1.0, 0, 50], [0, 1, 40], [0, 0, 1]])
    assert frame_seen(flat, larger, shift) == 0.0
