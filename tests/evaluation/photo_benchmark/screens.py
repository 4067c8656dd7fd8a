"""Photos of a screen with the stripes that its grid and the camera's make together.

The stripes lie before the camera, so that they are seen aslant as the picture is; some bend a
little, some cross others. SCREENS as EDITS, but no set draws from them by itself: make.families
does when told to.
"""

from __future__ import annotations

import cv2
import numpy as np

from tests.evaluation.photo_benchmark.edits import clip
from tests.evaluation.photo_benchmark.goods import Image, make_room
from tests.evaluation.photo_benchmark.varied import Step, corners_of, glare, varied_step

Rng = np.random.Generator
_WORKING = 512.0  # px; stripes are drawn so far apart as they are where pictures are compared


def _stripes(height: int, width: int, rng: Rng) -> Image:
    """(h, w) factors near 1: waves 5 to 27 px apart where the longer side is 512 px."""
    y, x = np.mgrid[0:height, 0:width].astype(np.float32) * (_WORKING / max(height, width))
    factors = np.ones((height, width), np.float32)
    for _ in range(1 if rng.random() < 0.7 else 2):
        apart, way = np.exp(rng.uniform(np.log(5), np.log(27))), rng.uniform(0, np.pi)
        along = x * np.cos(way) + y * np.sin(way)
        across = (y * np.cos(way) - x * np.sin(way)) / _WORKING
        bent = rng.normal(0, 0.6) * across**2 if rng.random() < 0.4 else 0.0
        wave = np.sin(2 * np.pi * (along / apart + bent) + rng.uniform(0, 6.3))
        factors += rng.uniform(0.01, 0.11) * wave
    return factors


def _corners_seen(width: int, height: int, rng: Rng) -> tuple[Image, bool]:
    """Where the corners of the screen are seen, and whether anything is seen around it."""
    corners = corners_of(width, height)
    inwards = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]]) * [width, height]
    loose = rng.normal(0, width * 0.02, (4, 2))
    if rng.random() < 0.5:
        return (corners - inwards * rng.uniform(0.03, 0.1) + loose).astype(np.float32), False
    return (corners + inwards * rng.uniform(0.02, 0.15) + loose).astype(np.float32), True


def _around(image: Image, rng: Rng) -> Image:
    """What stands around the screen."""
    height, width = image.shape[:2]
    if rng.random() < 0.3:
        room = cv2.resize(make_room(rng), (width, height)).astype(np.float32)
        return np.asarray(room * rng.uniform(0.2, 0.7))
    return np.full((height, width, 3), rng.integers(5, 110, 3), np.float32)


def _striped(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    corners = corners_of(width, height)
    seen_at, is_framed = _corners_seen(width, height, rng)
    matrix = cv2.getPerspectiveTransform(corners, seen_at)
    lit = image * _stripes(height, width, rng)[..., None] * rng.uniform(0.7, 1.1, 3)
    size = (width, height)
    seen = cv2.warpPerspective(
        lit.astype(np.float32), matrix, size, borderMode=cv2.BORDER_REPLICATE
    )
    if is_framed:
        where = cv2.warpPerspective(np.ones((height, width), np.float32), matrix, size)
        thick = max(1, width // int(rng.integers(25, 120)))
        edge = cv2.dilate(where, np.ones((3, 3), np.uint8), iterations=thick)[..., None]
        frame = np.asarray(rng.integers(0, 250, 3) if rng.random() < 0.3 else [12, 12, 14])
        ground = _around(image, rng) * (1 - edge) + frame * edge
        seen = np.where(where[..., None] > 0.5, seen, ground)
    soft = cv2.GaussianBlur(
        seen + glare(height, width, rng, 0.35, 110)[..., None], (0, 0), rng.uniform(0.5, 1.5)
    )
    return clip(soft + rng.normal(0, rng.uniform(1, 4), soft.shape))


def _and_more(image: Image, rng: Rng) -> Image:
    """The same after or before another edit."""
    other = varied_step(rng)
    steps = [_striped, other] if rng.random() < 0.5 else [other, _striped]
    for step in steps:
        image = np.ascontiguousarray(step(image, rng))
    return image


_TILTED = frozenset({"perspective"})
SCREENS: dict[str, tuple[frozenset[str], Step]] = {
    **{f"striped_{number}": (_TILTED, _striped) for number in range(8)},
    **{f"striped_and_{number}": (_TILTED, _and_more) for number in range(4)},
}
