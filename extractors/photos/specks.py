"""Dust, scratches and noise: marks that every photo has of its own and shares with its copies only.

Two shots of one thing agree in all that is large. Compared at nearly the full size of the grey
pictures, they agree neither in their specks nor in the noise of what is calm.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.features import Floats

Mask = npt.NDArray[np.bool_]

_FINE, _COARSE = (3, 0.6), (7, 1.8)  # px, spread of the two blurs whose difference is looked at
_LEAST_SPECK, _STANDS_OUT = 4.0, 4.5  # grey levels, times the usual
_CALM = 1.0  # grey levels; less is noise
_REACH, _STRAY = 9, 2  # px; strong px that may lie around a speck
_MARGIN = 11  # px around what stands out that are not calm
_LEAST_CALM = 400
_ALIKE_NEAR = 6.0  # px that vary together
_OWN_SPECK, _OWN_STANDS_OUT = 6.0, 6.0  # grey levels, times the usual: sure to be a speck,
_LACKING = 0.3  # of its strength; less in the other photo, within a px, and the other lacks it
_MOSTLY = 0.5  # of the specks of a photo
_UNSURE, _USUAL = 600.0, 0.6  # what a pair without specks is given: summed squares, correlation


@dataclass(frozen=True, slots=True)
class Specks:
    """Small marks apart from all others, of either photo: the correlation there, how many px they
    have, and how many px were compared. `noise` is the correlation where nothing is to be seen,
    `sure` the same in standard errors, `spread` the smaller spread there in grey levels. `own` is
    how many specks each photo has that the other lacks (the smaller number), where that is most of
    either's: an edit takes specks away or adds some, another shot does both.
    """

    likeness: float = _USUAL
    marked: float = 0.0
    compared: float = 0.0
    noise: float = 0.0
    sure: float = 0.0
    spread: float = 0.0
    own: float = 0.0


NOT_SEEN = Specks()


def specks_of(work_a: Floats, work_b: Floats, inside: Mask) -> Specks:
    """Compare two pictures of one shape laid over each other."""
    bands = _band(work_a), _band(work_b)
    strengths = np.abs(bands[0]), np.abs(bands[1])
    usual = [float(np.median(strength[::4, ::4])) for strength in strengths]
    strong, busy = (
        _either(strengths, [max(least, _STANDS_OUT * one) for one in usual])
        for least in (_LEAST_SPECK, _CALM)
    )
    found = inside & _grown(_apart(strong & inside), 3)
    likeness = _likeness(bands[0][found], bands[1][found])
    calm = inside > _grown(busy, _MARGIN)
    noise = _noise(bands[0][calm], bands[1][calm])
    counts = float(np.count_nonzero(found)), float(np.count_nonzero(inside))
    lacking = [
        _lacking(bands[one], bands[1 - one], max(_OWN_SPECK, _OWN_STANDS_OUT * usual[one]), inside)
        for one in (0, 1)
    ]
    return Specks(likeness, *counts, *noise, own=float(min(lacking)))


def _band(work: Floats) -> Floats:
    fine, coarse = (cv2.GaussianBlur(work, (n, n), blur) for n, blur in (_FINE, _COARSE))
    return np.asarray(fine - coarse)


def _either(strengths: tuple[Floats, Floats], limits: list[float]) -> Mask:
    one, other = (side > limit for side, limit in zip(strengths, limits, strict=True))
    return np.asarray(one | other)


def _grown(mask: Mask, side: int) -> Mask:
    around = np.ones((side, side), np.uint8)
    return np.asarray(cv2.dilate(mask.view(np.uint8), around).view(np.bool_))


def _apart(strong: Mask) -> Mask:
    """Strong places with hardly others around them, farther than a speck reaches."""
    near, far = (
        cv2.boxFilter(strong.view(np.uint8), cv2.CV_16S, (side, side), normalize=False)
        for side in (_REACH, 2 * _REACH + 1)
    )
    return np.asarray(strong & (far - near <= _STRAY))


def _lacking(mine: Floats, other: Floats, least: float, inside: Mask) -> int:
    """How many specks stronger than `least` the other photo lacks; 0 if it has most of them."""
    specks = _apart(inside & (np.abs(mine) > least))
    if not specks.any():
        return 0
    near = np.ones((3, 3), np.uint8)
    darker, lighter = (cv2.dilate(np.maximum(sign * other, 0), near) for sign in (-1, 1))
    there = np.where(mine > 0, lighter, darker)
    gone = _count(specks & (there < _LACKING * np.abs(mine)))
    return gone if gone >= _MOSTLY * _count(specks) else 0


def _count(marks: Mask) -> int:
    return int(cv2.connectedComponents(_grown(marks, 3).view(np.uint8))[0]) - 1


def _likeness(a: Floats, b: Floats) -> float:
    """Correlation, drawn to the usual one where there is little to compare."""
    spread = (float(a @ a) * float(b @ b)) ** 0.5
    return (float(a @ b) + _USUAL * _UNSURE) / float(spread + _UNSURE)


def _noise(a: Floats, b: Floats) -> tuple[float, float, float]:
    """Correlation of the noise, in standard errors too, and the smaller spread."""
    if len(a) < _LEAST_CALM:
        return 0.0, 0.0, 0.0
    low = min(float(a @ a), float(b @ b)) / len(a)
    likeness = float(a @ b) / (float(a @ a) ** 0.5 * float(b @ b) ** 0.5 + 1e-3 * len(a))
    return likeness, likeness * (len(a) / _ALIKE_NEAR) ** 0.5, low**0.5
