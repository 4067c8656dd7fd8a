"""Even stripes all over a picture, as a photo of a screen shows them, found and taken out.

Such stripes stand in the spectrum as single peaks, while outlines and textures spread over it. The
spectrum is the median of windowed blocks (after Welch, IEEE Trans. Audio Electroacoust. 15(2),
1967), so that a fence or a shirt in one corner is left alone; a peak has to stand out from the ring
around it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

import cv2
import numpy as np

from extractors.photos.decode import Pixels
from extractors.photos.features import Floats

_BLOCK = 128  # px at half size
_LEAST_CYCLES, _MOST_CYCLES = 9, 58  # in a block: stripes from 4.4 to 28 px of the picture apart
_STANDS_OUT = 2.0  # log of power above the ring around
_LEAST_SWING = 1.0  # grey levels
_FALL = 3.0  # power falls with frequency at least so; what falls by itself is no peak
_FAINT = 100.0  # of power: noise of less counts nothing
_MOST_PEAKS = 3
_NEAR, _FAR = 4.5, 8.4  # the ring around a peak, in cycles
_MARGIN = math.ceil(_FAR)
_PEAK = 3.2  # how far a peak spreads, likewise
_BENT = 3  # how far stripes seen aslant lie off from block to block, likewise
_REACH = 12  # from the peak of all to the edge of what is looked at in one block
_LEAST_SHARE, _MOST_SHARE = 0.06, 0.82  # of the detail
_STRONG = 13.0  # grey levels
_EVEN = 0.45  # share of the picture where they swing
_LEAST_OF_USUAL, _MOST_OF_USUAL = 0.6, 1.6  # so many times as far as in the middle place
_WHOLE = 2 * _BLOCK  # px of the picture; a block has as many cycles as one at half size


def _window(side: int) -> Floats:
    """Of Hann; those of blocks half a side apart add up to one."""
    wave = 0.5 - 0.5 * np.cos(2 * np.pi * (np.arange(side) + 0.5) / side)
    return np.asarray(np.outer(wave, wave), np.float32)


def _within(reach: int, near: float, far: float) -> Pixels:
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    away = np.hypot(y, x)
    return np.asarray((away >= near) & (away <= far), np.uint8)


_HALF_WINDOW, _WHOLE_WINDOW = _window(_BLOCK), _window(_WHOLE)
_RING = _within(_MARGIN, _NEAR, _FAR)
_DOWN, _ACROSS = np.mgrid[-_BLOCK // 2 : _BLOCK // 2, : _BLOCK // 2 + 1]
_AWAY = np.hypot(_DOWN, _ACROSS)
_RISE = np.asarray(_FALL * np.log(np.maximum(_AWAY, _NEAR)), np.float32)
# straight down, both halves of the spectrum are the same
_SOUGHT = (_AWAY >= _LEAST_CYCLES) & (_AWAY <= _MOST_CYCLES) & ((_ACROSS > 0) | (_DOWN > 0))


@dataclass(frozen=True, slots=True)
class Stripes:
    """Cycles down and across a block of 256 px, and the swing in grey levels."""

    down: int
    across: int
    swing: float


def without_stripes(grey: Pixels) -> Pixels:
    """The picture (h, w) uint8 without even stripes; the picture itself where it has none."""
    found = find_stripes(grey)
    return _without(grey, found) if found else grey


def find_stripes(grey: Pixels) -> tuple[Stripes, ...]:
    """The even stripes of a picture (h, w) uint8, the most striking first.

    None where they are hardly any of the detail (the weave of a cloth) or nearly all of it (a
    rolled shutter: the picture itself), or where they are strong or uneven (lines of text).
    """
    height, width = grey.shape
    half = cv2.resize(grey, (width // 2, height // 2), interpolation=cv2.INTER_AREA)
    half = np.asarray(half, np.float32)
    log_power = _log_power(half)
    power = np.where(_SOUGHT, np.exp(log_power) - np.float32(_FAINT), 0)
    found, share = _peaks(log_power, power)
    if not _LEAST_SHARE <= share <= _MOST_SHARE:
        return ()
    if max(one.swing for one in found) > _STRONG:
        return ()
    return tuple(one for one in found if _evenness(half, one) >= _EVEN)


def _peaks(log_power: Floats, power: Floats) -> tuple[list[Stripes], float]:
    """What stands out, the most striking first, and its share of the power."""
    out = _standing_out(log_power)
    found: list[Stripes] = []
    share = 0.0
    while len(found) < _MOST_PEAKS:
        row, across = (int(at) for at in np.unravel_index(int(out.argmax()), out.shape))
        if out[row, across] < _STANDS_OUT:
            break
        swing = 2 * math.exp(log_power[row, across] / 2) / float(_HALF_WINDOW.sum())
        near = _near(row, across)
        if swing >= _LEAST_SWING:
            found.append(Stripes(row - _BLOCK // 2, across, swing))
            share += float(power[near].sum())
        out[near] = out[_near(_BLOCK - row, -across)] = -np.inf  # it is there twice
    return found, share / max(float(power.sum()), 1e-6)


def _near(row: int, across: int) -> tuple[slice, slice]:
    """The places of a spectrum that a peak spreads over."""
    return slice(max(0, row - 4), row + 5), slice(max(0, across - 4), max(0, across + 5))


def _evenness(half: Floats, one: Stripes) -> float:
    """The share of the picture at half size where the stripes swing about as far as in the middle
    place: lines of text break off at every word.
    """
    down, across = one.down / _BLOCK, one.across / _BLOCK
    apart = 1 / math.hypot(down, across)
    y, x = (np.arange(side, dtype=np.float32) for side in half.shape)
    phase = 2 * np.pi * (down * y[:, None] + across * x[None])
    detail = half - cv2.GaussianBlur(half, (0, 0), apart)
    waves = np.cos(phase), np.sin(phase)
    swing = np.hypot(*(cv2.GaussianBlur(detail * wave, (0, 0), apart) for wave in waves))
    usual = float(np.median(swing))
    return float(np.mean((swing > _LEAST_OF_USUAL * usual) & (swing < _MOST_OF_USUAL * usual)))


def _standing_out(log_power: Floats) -> Floats:
    """How far each frequency stands out from the ring around it; -inf where none is sought."""
    level = log_power + _RISE
    ring = cv2.dilate(_around(level), _RING)[_MARGIN:-_MARGIN, _MARGIN:-_MARGIN]
    return np.where(_SOUGHT, level - ring, -np.inf)


def _log_power(half: Floats) -> Floats:
    """(128, 65): log of the median power of the blocks by cycles down, -64 to 63, and across."""
    blocks = [
        half[y : y + _BLOCK, x : x + _BLOCK]
        for y, x in product(_starts(half.shape[0]), _starts(half.shape[1]))
    ]
    logs = np.log(np.stack([_power(block) for block in blocks]) + np.float32(_FAINT))
    return np.roll(np.median(logs, axis=0), _BLOCK // 2, axis=0)


def _power(block: Floats) -> Floats:
    missing = [_BLOCK - side for side in block.shape]
    if any(missing):
        block = cv2.copyMakeBorder(block, 0, missing[0], 0, missing[1], cv2.BORDER_REFLECT)
    parts = cv2.dft((block - block.mean()) * _HALF_WINDOW, flags=cv2.DFT_COMPLEX_OUTPUT)
    some = parts[:, : _BLOCK // 2 + 1]
    return np.asarray(some[..., 0] ** 2 + some[..., 1] ** 2)


def _starts(side: int) -> list[int]:
    """Where blocks start so that they cover a side."""
    if side <= _BLOCK:
        return [0]
    count = math.ceil(side / _BLOCK)
    return [round(at * (side - _BLOCK) / (count - 1)) for at in range(count)]


def _around(level: Floats) -> Floats:
    """With what lies beyond its edges: a spectrum repeats, and both halves of it are the same."""
    turned = np.roll(level[::-1], 1, axis=0)
    left, right = turned[:, _MARGIN:0:-1], turned[:, -2 : -_MARGIN - 2 : -1]
    wide = np.concatenate([left, level, right], axis=1)
    return np.concatenate([wide[-_MARGIN:], wide, wide[:_MARGIN]])


def _without(grey: Pixels, found: tuple[Stripes, ...]) -> Pixels:
    """Take the stripes out block by block: seen aslant they differ from block to block."""
    height, width = grey.shape
    step = _WHOLE // 2
    sides = [step * (math.ceil(side / step) + 1) for side in (height, width)]
    wide = cv2.copyMakeBorder(
        grey, step, sides[0] - height, step, sides[1] - width, cv2.BORDER_REFLECT
    ).astype(np.float32)
    out = np.zeros_like(wide)
    for y, x in product(range(0, sides[0], step), range(0, sides[1], step)):
        part = slice(y, y + _WHOLE), slice(x, x + _WHOLE)
        if wide[part].shape == (_WHOLE, _WHOLE):
            out[part] += _cleaned(wide[part] * _WHOLE_WINDOW, found)
    return np.asarray(np.clip(np.rint(out[step:, step:][:height, :width]), 0, 255), np.uint8)


def _cleaned(block: Floats, found: tuple[Stripes, ...]) -> Floats:
    """A windowed block without the peaks of the stripes: they are lowered to what lies around."""
    parts = np.fft.fftshift(cv2.dft(block, flags=cv2.DFT_COMPLEX_OUTPUT), axes=(0, 1))
    middle = _WHOLE // 2
    for one in found:
        for sign in (1, -1):
            _lower(parts, middle + sign * one.down, middle + sign * one.across)
    back = np.fft.ifftshift(parts, axes=(0, 1))
    return np.asarray(cv2.idft(back, flags=cv2.DFT_SCALE | cv2.DFT_REAL_OUTPUT))


def _lower(parts: Floats, row: int, column: int) -> None:
    """Lower the peak near one place of a spectrum (256, 256, 2)."""
    top, left = max(0, row - _REACH), max(0, column - _REACH)
    patch = parts[top : row + _REACH + 1, left : column + _REACH + 1]
    size = np.hypot(patch[..., 0], patch[..., 1])
    y, x = np.indices(size.shape)
    near = np.hypot(y + top - row, x + left - column) <= _BENT
    at = np.unravel_index(int(np.where(near, size, -1).argmax()), size.shape)
    away = np.hypot(y - at[0], x - at[1])
    level = float(np.median(size[(away > _NEAR) & (away < _FAR)]))
    patch *= np.where(away <= _PEAK, np.minimum(1, level / np.maximum(size, 1e-6)), 1)[..., None]
