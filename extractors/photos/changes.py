"""What was done to a picture, in words, read off the geometry and the cells of a matched pair.

Which of the two photos came first is not known here, so every phrase says what differs: "cropped to
62 %" means that one shows 62 % of the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.align import Matrix, apply
from extractors.photos.evidence import weights_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint, grey_of
from extractors.photos.search import Looked

_WHOLE = 0.955  # share of a photo that counts as all of it
_STEP = 10.0  # grey levels across an outline that is visible
_OFF = 0.6  # a cell that correlates less shows something else
_TILT_DEGREES = 1.0
_STRETCH = 1.05
_PERSPECTIVE = 0.018  # of the diagonal


@dataclass(frozen=True, slots=True)
class _Move:
    """The parts of a matrix: turn in degrees, side ratio, size ratio in px of the stored photos."""

    degrees: float
    stretch: float
    size: float
    bend: float


def describe_changes(a: Fingerprint, b: Fingerprint, looked: Looked) -> tuple[str, ...]:
    """Changes between photo a (later) and photo b (earlier), the most telling first."""
    move = _move(a, b, looked.alignment.matrix, looked.alignment.mirrored)
    found = [
        *(["mirrored"] if looked.alignment.mirrored else []),
        *_turn(move, looked.alignment.mirrored),
        *_surround(a, b, looked, move),
        *_overlay(a, looked),
        *_tone(a, b, looked),
        *_sharpness(looked, move),
        *_size(move),
    ]
    if a.format != b.format:
        found.append("saved in another format ({} and {})".format(*sorted((a.format, b.format))))
    return tuple(found) or ("saved again",)


def _move(a: Fingerprint, b: Fingerprint, matrix: Matrix, mirrored: bool) -> _Move:
    """Take the matrix apart around the middle of photo a."""
    width, height = a.size
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    middle = np.array([width, height], np.float32) / 2
    near = middle + (corners - middle) * 0.25
    affine = cv2.getAffineTransform(near[:3], apply(matrix, near)[:3].astype(np.float32))
    linear = np.asarray(affine)[:, :2]
    if mirrored:
        linear = linear @ np.diag([-1.0, 1.0])
    long, short = np.linalg.svd(linear, compute_uv=False)
    degrees = float(
        np.degrees(np.arctan2(linear[1, 0] - linear[0, 1], linear[0, 0] + linear[1, 1]))
    )
    seen = apply(matrix, corners)
    flat = corners @ np.asarray(affine)[:, :2].T + np.asarray(affine)[:, 2]
    diagonal = float(np.hypot(*(seen.max(0) - seen.min(0))))
    bend = float(np.abs(seen - flat).max()) / max(diagonal, 1.0)
    full = (b.width / b.size[0]) / (a.width / a.size[0])
    return _Move(degrees, float(long / max(short, 1e-6)), float((long * short) ** 0.5) * full, bend)


def _turn(move: _Move, mirrored: bool) -> list[str]:
    quarters = round(move.degrees / 90)
    rest = move.degrees - 90 * quarters
    found = []
    if quarters % 4:
        found.append(f"turned by {abs((quarters * 90 + 179) % 360 - 179)} degrees")
    if move.bend > _PERSPECTIVE:
        found.append("in perspective, as if photographed from a screen or at a slant")
    elif abs(rest) > _TILT_DEGREES:
        found.append(f"tilted by {abs(rest):.0f} degrees")
    if move.stretch > _STRETCH and move.bend <= _PERSPECTIVE:
        found.append(f"stretched by {move.stretch - 1:.0%}".replace("%", " %"))
    return found


def _size(move: _Move) -> list[str]:
    ratio = min(move.size, 1 / max(move.size, 1e-6))
    return [f"resized to {ratio:.0%}".replace("%", " %")] if ratio < 0.94 else []


def _surround(a: Fingerprint, b: Fingerprint, looked: Looked, move: _Move) -> list[str]:
    """What surrounds the common part: nothing (a crop), a plain border, a page, a collage."""
    shares = looked.shares
    found = []
    for photo, share, polygon in zip((a, b), shares, looked.outlines, strict=True):
        if share < _WHOLE:
            found.append(_around(grey_of(photo), polygon, share))
    if len(found) == 2 and all(word.startswith("cropped") for word in found):
        found = [f"cropped to {min(shares):.0%}".replace("%", " %")]
        if _only_corners(shares, move):
            return []
    return found


def _only_corners(shares: tuple[float, float], move: _Move) -> bool:
    """Whether a tilt or a slant alone explains what is cut off on both."""
    rest = abs(move.degrees - 90 * round(move.degrees / 90))
    return min(shares) > 0.8 and (rest > _TILT_DEGREES or move.bend > _PERSPECTIVE)


def _around(grey: Floats, polygon: Floats, share: float) -> str:
    """Name what a photo shows around the common part."""
    outside = _outside(grey.shape, polygon)
    if not outside.any() or _visible_sides(grey, polygon) < 0.45:
        return f"cropped to {share:.0%}".replace("%", " %")
    ground = _ground_share(grey, outside)
    if _is_even_margin(grey.shape, polygon) and share > 0.3 and ground > 0.35:
        return "border or frame added"
    return "in a screenshot of a page" if ground > 0.4 else "part of a collage"


def _outside(shape: tuple[int, ...], polygon: Floats) -> npt.NDArray[np.bool_]:
    mask = np.zeros(shape, np.uint8)
    cv2.fillConvexPoly(mask, np.rint(polygon).astype(np.int32), 1)
    return np.asarray(cv2.dilate(mask, np.ones((7, 7), np.uint8)) == 0)


def _visible_sides(grey: Floats, polygon: Floats) -> float:
    """The share of the inner outline across which the grey level jumps."""
    height, width = grey.shape
    smooth = cv2.blur(grey, (3, 3)).astype(np.float32)
    middle = polygon.mean(0)
    jumps = []
    for start, end in zip(polygon, np.roll(polygon, -1, axis=0), strict=True):
        steps = np.linspace(0.05, 0.95, 30, dtype=np.float32)[:, None]
        line = start + (end - start) * steps
        normal = np.array([end[1] - start[1], start[0] - end[0]], np.float32)
        normal /= max(float(np.hypot(*normal)), 1e-6)
        normal *= np.sign(float((line.mean(0) - middle) @ normal)) or 1.0
        outer, inner = line + 4 * normal, line - 3 * normal
        inside = (outer >= 0).all(1) & (outer < (width, height)).all(1)
        if inside.mean() > 0.8:
            jumps.append(_jumps(smooth, inner[inside], outer[inside]))
    return float(np.mean(jumps)) if jumps else 0.0


def _jumps(smooth: Floats, inner: Floats, outer: Floats) -> float:
    shape = np.array(smooth.shape[::-1]) - 1
    (xi, yi), (xo, yo) = (np.clip(np.rint(p), 0, shape).astype(int).T for p in (inner, outer))
    return float((np.abs(smooth[yi, xi] - smooth[yo, xo]) > _STEP).mean())


def _ground_share(grey: Floats, outside: npt.NDArray[np.bool_]) -> float:
    """The share of what lies outside that has about its commonest grey level."""
    counts = np.bincount(grey[outside].ravel(), minlength=256)
    return float(np.convolve(counts, np.ones(9), "same").max() / max(counts.sum(), 1))


def _is_even_margin(shape: tuple[int, ...], polygon: Floats) -> bool:
    """Whether the common part sits in the middle with like margins."""
    height, width = shape[:2]
    left, top = polygon.min(0)
    right, bottom = polygon.max(0)
    across, down = (left, width - right), (top, height - bottom)
    even = abs(across[0] - across[1]) < 0.05 * width, abs(down[0] - down[1]) < 0.05 * height
    return bool(all(even))


def _overlay(a: Fingerprint, looked: Looked) -> list[str]:
    """Something laid over one of the two: where, and of what form."""
    cells = looked.cells
    better = np.maximum(cells.coarse, cells.fine)
    off = (weights_of(cells) > 0) & (better < _OFF)
    share = float(off.mean())
    if off.sum() < 2 or share > 0.5:
        return []
    places = cells.in_a[off].astype(np.float32) / np.array(a.size, np.float32)
    every = cells.in_a.astype(np.float32) / np.array(a.size, np.float32)
    low, high = (np.quantile(places, q, axis=0) for q in (0.1, 0.9))
    extent, whole = high - low, np.maximum(np.ptp(every, axis=0), 1e-6)
    if (extent > 0.55 * whole).all():
        return ["watermark or pattern all over"] if share > 0.06 else []
    if extent[0] > 0.55 * whole[0] or extent[1] > 0.55 * whole[1]:
        return [f"text bar {_where(places.mean(0))}"]
    return [f"logo or sticker {_where(places.mean(0))}"]


def _where(place: Floats) -> str:
    """A place (0 to 1) of photo a in words.

    >>> _where(np.array([0.9, 0.9]))
    'at lower right'
    """
    across = "left" if place[0] < 0.36 else "right" if place[0] > 0.64 else ""
    down = "upper" if place[1] < 0.36 else "lower" if place[1] > 0.64 else ""
    if not across and not down:
        return "in the middle"
    if not across:
        return "at the top" if down == "upper" else "at the bottom"
    return f"at {down} {across}" if down else f"at the {across}"


def _colours_at(photo: Fingerprint, places: Floats) -> Floats:
    """(n, 3) RGB of a photo's coarse colours at places in px of its grey picture."""
    side = photo.colours.shape[0]
    at = np.clip(places.astype(np.float32) / np.array(photo.size) * side, 0, side - 1).astype(int)
    return np.asarray(photo.colours[at[:, 1], at[:, 0]], np.float32)


def _tone(a: Fingerprint, b: Fingerprint, looked: Looked) -> list[str]:
    """Grey, tint, brightness, contrast: read where both show the same."""
    cells = looked.cells
    agree = np.maximum(cells.coarse, cells.fine) > 0.8
    agree = agree if agree.sum() >= 6 else np.ones(len(agree), bool)
    one, two = (
        _colours_at(photo, places[agree]) for photo, places in ((a, cells.in_a), (b, cells.in_b))
    )
    found = []
    chroma = [float(np.ptp(colours, axis=1).mean()) for colours in (one, two)]
    tint = np.abs(np.diff(one.mean(0) - one.mean()) - np.diff(two.mean(0) - two.mean())).max()
    if min(chroma) < 2.5 and max(chroma) > 6:
        found.append("turned grey")
    elif tint > 9:
        found.append("tinted")
    means = cells.means[:, agree].astype(np.float32)
    level, spread = means.mean(1) + 128, means.std(1) + 1e-3
    if abs(level[0] - level[1]) > 9:
        found.append("brightened or darkened")
    ratio = float(max(spread) / min(spread))
    if ratio > 1.22 and min(spread) > 3:
        found.append("contrast changed")
    if min(spread) > 6 and _bends(means):
        found.append("filtered")
    return found


def _bends(means: Floats) -> bool:
    """Whether the grey levels of one are no straight function of the other's."""
    a, b = means
    slope, shift = np.polyfit(a, b, 1)
    return bool(np.std(b - slope * a - shift) > 0.2 * np.std(b))


def _sharpness(looked: Looked, move: _Move) -> list[str]:
    """Blur, sharpening or grain, where both are of about one size."""
    if not 0.75 < move.size < 1.34 or not looked.cells.sharpness.size:
        return []
    one, two = (float(np.median(part.astype(np.float32))) for part in looked.cells.sharpness)
    ratio = max(one, two) / max(min(one, two), 1e-3)
    return ["filtered (softened, sharpened or grainy)"] if ratio > 1.35 else []
