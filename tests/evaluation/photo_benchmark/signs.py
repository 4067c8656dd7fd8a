"""Translucent signs over a picture: a word across it, small words all over it, a badge. SIGNS as
EDITS in edits.py, but no set draws from them by itself: make.families does when told to.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from tests.evaluation.photo_benchmark.goods import Image

Layer = npt.NDArray[np.uint8]

_FONTS = (cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_DUPLEX, cv2.FONT_HERSHEY_TRIPLEX)


def _word(rng: np.random.Generator) -> str:
    return "".join(chr(int(rng.choice([65, 97])) + int(v)) for v in rng.integers(0, 26, 6))


def _blended(image: Image, layer: Layer, rng: np.random.Generator) -> Image:
    """The layer over the picture in one shade, so that what lies under it is still seen."""
    strength = layer.astype(np.float32)[..., None] / 255 * float(rng.uniform(0.15, 0.6))
    shade = float(rng.choice([0.0, 60.0, 128.0, 255.0])) if rng.random() < 0.5 else 255.0
    if shade == 255.0 and image.mean() > 190:
        shade = 90.0
    return np.clip(image * (1 - strength) + shade * strength, 0, 255).astype(np.uint8)


def _turned(layer: Layer, degrees: float) -> Layer:
    height, width = layer.shape
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    return np.asarray(cv2.warpAffine(layer, matrix, (width, height)), np.uint8)


def _tiled(image: Image, rng: np.random.Generator) -> Image:
    height, width = image.shape[:2]
    side = int(np.hypot(height, width)) + 2
    layer: Layer = np.zeros((side, side), np.uint8)
    scale, font, word = width / rng.uniform(500, 1200), int(rng.choice(_FONTS)), _word(rng)
    step = int(scale * rng.uniform(60, 130)) + 12
    for row, y in enumerate(range(0, side, step)):
        for x in range(-step * (row % 2), side, int(scale * 200) + 20):
            cv2.putText(layer, word, (x, y), font, scale, 255, max(1, width // 500), cv2.LINE_AA)
    layer = _turned(layer, float(rng.choice([0, 20, 30, 45, -30])))
    top, left = (side - height) // 2, (side - width) // 2
    return _blended(image, layer[top : top + height, left : left + width], rng)


def _across(image: Image, rng: np.random.Generator) -> Image:
    height, width = image.shape[:2]
    layer: Layer = np.zeros((height, width), np.uint8)
    scale, font = width / rng.uniform(180, 320), int(rng.choice(_FONTS))
    at = (int(width * rng.uniform(0.02, 0.3)), int(height * rng.uniform(0.4, 0.75)))
    cv2.putText(layer, _word(rng), at, font, scale, 255, max(2, width // 120), cv2.LINE_AA)
    return _blended(image, _turned(layer, float(rng.choice([0, 0, 15, 30, -25]))), rng)


def _badge(image: Image, rng: np.random.Generator) -> Image:
    height, width = image.shape[:2]
    layer: Layer = np.zeros((height, width), np.uint8)
    reach = int(min(height, width) * rng.uniform(0.08, 0.22))
    at = (int(width * rng.uniform(0.2, 0.8)), int(height * rng.uniform(0.2, 0.8)))
    cv2.circle(layer, at, reach, 255, -1 if rng.random() < 0.5 else reach // 6, cv2.LINE_AA)
    start = (at[0] - reach * 2 // 3, at[1] + reach // 8)
    cv2.putText(layer, _word(rng), start, 0, reach / 70, 120, max(1, reach // 25), cv2.LINE_AA)
    return _blended(image, layer, rng)


SIGNS = {
    name: (frozenset({"overlay"}), change)
    for name, change in (("tiled_sign", _tiled), ("sign_across", _across), ("badge", _badge))
}
