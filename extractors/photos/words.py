"""Descriptors -> words: the nearest entries of a codebook for the upper and the lower half.

The lower half is read mirrored, with the same codebook, so that mirroring a picture merely swaps
the two parts of each word (Jegou et al., "Product quantization", IEEE TPAMI 33(1), 2011).
"""

from __future__ import annotations

import base64
import functools
import json
from importlib import resources

import numpy as np
import numpy.typing as npt

from extractors.photos.features import MIRROR, Floats

_HALF = 64
_LOWER_MIRRORED = MIRROR[:_HALF]  # places of the lower half, in the order of the mirrored upper


@functools.cache
def codebook() -> Floats:
    """(k, 64) float32, in the units of the stored descriptors."""
    text = (resources.files("extractors.photos") / "data" / "codebook.json").read_text("utf-8")
    stored = json.loads(text)
    flat = np.frombuffer(base64.b64decode(stored["entries"]), np.uint8)
    return flat.reshape(-1, _HALF).astype(np.float32) / np.float32(stored["steps"])


@functools.cache
def _half_norms() -> Floats:
    return np.asarray((codebook() ** 2).sum(1) / 2, np.float32)


def _nearest_two(half: Floats) -> npt.NDArray[np.uint16]:
    """(n, 2): the nearest and the second nearest entry."""
    score = half @ codebook().T
    score -= _half_norms()
    rows = np.arange(len(half))
    first = score.argmax(1)
    score[rows, first] = -np.inf
    return np.stack([first, score.argmax(1)], 1).astype(np.uint16)


def find_words(descriptors: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint16]:
    """(n, 4): upper nearest, upper second, lower nearest, lower second."""
    if not len(descriptors):
        return np.zeros((0, 4), np.uint16)
    upper = descriptors[:, :_HALF].astype(np.float32)
    lower = descriptors[:, _LOWER_MIRRORED].astype(np.float32)
    return np.concatenate([_nearest_two(upper), _nearest_two(lower)], 1)
