"""Local contrast: what phones and filters do to make a picture look crisp or lit from all sides.

Every stroke of grey depends on what lies around it, so no tone curve explains it. CONTRASTS as
EDITS in edits.py, but no set draws from them by itself: train.py adds them.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt

from tests.evaluation.photo_benchmark.goods import Image

Grey = npt.NDArray[np.float32]
_LEVELS = np.linspace(0, 255, 20).astype(np.float32)
_SMALL = 4  # times; what is far around a pixel is seen at a quarter of the size


def _of_luma(image: Image, change: Callable[[Grey], Grey]) -> Image:
    ycc = cv2.cvtColor(image, cv2.COLOR_RGB2YCrCb)
    luma = np.clip(change(ycc[..., 0].astype(np.float32)), 0, 255)
    ycc[..., 0] = luma.astype(np.uint8)
    return np.asarray(cv2.cvtColor(ycc, cv2.COLOR_YCrCb2RGB), np.uint8)


def _around(luma: Grey, spread: float) -> Grey:
    """The mean around every pixel, by a bell of so many px."""
    size = (luma.shape[1] // _SMALL, luma.shape[0] // _SMALL)
    small = cv2.resize(luma, size, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), max(0.6, spread / _SMALL))
    return np.asarray(cv2.resize(soft, luma.shape[::-1], interpolation=cv2.INTER_LINEAR))


def _evened(image: Image, rng: np.random.Generator) -> Image:
    """Mean and spread around every pixel drawn towards the same everywhere."""
    spread = image.shape[1] * rng.uniform(0.02, 0.12)
    wanted, least = rng.uniform(35, 60), rng.uniform(5, 12)
    strength, drawn = rng.uniform(0.35, 0.9), rng.uniform(0.1, 0.7)

    def change(luma: Grey) -> Grey:
        mean = _around(luma, spread)
        deviation = np.sqrt(_around((luma - mean) ** 2, spread))
        gain = np.minimum(wanted / (deviation + least), 4.0)
        even = mean * (1 - drawn) + 128 * drawn + (luma - mean) * gain
        return np.asarray(luma * (1 - strength) + even * strength, np.float32)

    return _of_luma(image, change)


def _shadows(image: Image, rng: np.random.Generator) -> Image:
    """Dark parts lifted and light ones held back, the detail kept or made stronger."""
    spread = image.shape[1] * rng.uniform(0.015, 0.08)
    power, gain = rng.uniform(0.4, 0.75), rng.uniform(1.0, 1.7)
    held = rng.uniform(0.0, 0.35)

    def change(luma: Grey) -> Grey:
        mean = _around(luma, spread)
        lifted = 255 * (mean / 255) ** power
        base = lifted - held * np.maximum(lifted - 150, 0)
        return np.asarray(base + gain * (luma - mean), np.float32)

    return _of_luma(image, change)


def _bands(image: Image, rng: np.random.Generator) -> Image:
    """Detail of several sizes made stronger, each by an amount of its own, the whole flatter."""
    gains = rng.uniform(0.2, 1.6, 3)
    flatter = rng.uniform(0.55, 0.95)

    def change(luma: Grey) -> Grey:
        steps = [luma, *(_around(luma, luma.shape[1] * share) for share in (0.004, 0.015, 0.06))]
        out = 128 + flatter * (steps[-1] - 128)
        for gain, fine, coarse in zip(gains, steps, steps[1:], strict=False):
            out = out + (1 + gain) * (fine - coarse)
        return np.asarray(out, np.float32)

    return _of_luma(image, change)


def _ranked(image: Image, rng: np.random.Generator) -> Image:
    """Every pixel by the share of what lies around it that is darker, mixed with the picture."""
    spread = image.shape[1] * rng.uniform(0.04, 0.15)
    strength = rng.uniform(0.3, 0.75)

    def change(luma: Grey) -> Grey:
        darker = np.stack([_around((luma < level).astype(np.float32), spread) for level in _LEVELS])
        place = luma / 255 * (len(_LEVELS) - 1)
        low = np.clip(place.astype(np.intp), 0, len(_LEVELS) - 2)[None]
        below = np.take_along_axis(darker, low, 0)[0]
        above = np.take_along_axis(darker, low + 1, 0)[0]
        rank = below + (above - below) * (place - low[0])
        return np.asarray(luma * (1 - strength) + 255 * rank * strength, np.float32)

    return _of_luma(image, change)


CONTRASTS = {
    name: (frozenset({"filtered"}), change)
    for name, change in (
        ("evened", _evened),
        ("shadows", _shadows),
        ("bands", _bands),
        ("ranked", _ranked),
    )
}
