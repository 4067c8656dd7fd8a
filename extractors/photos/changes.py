"""What was done to a picture, in words, read off the geometry and the cells of a matched pair.

Which of the two photos came first is not known here, so every phrase says what differs: "cropped to
62 %" means that one shows 62 % of the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.align import Matrix, apply
from extractors.photos.decode import Pixels
from extractors.photos.evidence import weights_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint, grey_of
from extractors.photos.overprint import overprint_place
from extractors.photos.search import Looked

Greys = tuple[Pixels, Pixels]  # of photos a and b

_WHOLE = 0.955  # share of a photo that counts as all of it
_STEP = 10.0  # grey levels across an outline that is visible
_SMALL_STEP = 1.5
_MOSTLY = 0.8  # of a side of the outline
_OFF = 0.6  # a cell that correlates less shows something else
_TILT_DEGREES = 1.0
_STRETCH = 1.05
_PERSPECTIVE = 0.018  # of the diagonal
_DRAWN = 0.6  # share of one grey level that no photographed ground reaches
_TILE, _BEYOND = 0.025, 0.2  # of a side
_STEPS = (-11.0, -4.0, -3.0, 4.0)  # px outwards of the outline: from and to, within and over it
_SEAM = 1.5  # times as far as within
_BESIDE, _DEEPEST_BAR = 0.03, 0.22  # of a side
_SAME = 0.85  # a cell that correlates more shows the same
_SHARPER = 1.12


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
    greys = grey_of(a), grey_of(b)
    surround = _surround(greys, looked, move)
    found = [
        *(["mirrored"] if looked.alignment.mirrored else []),
        *_turn(move, looked.alignment.mirrored),
        *(["striped, as if photographed from a screen"] if a.striped != b.striped else []),
        *surround,
        *(word for word in _overlay(greys, looked, surround) if _fits(word, surround)),
        *_tone(a, b, looked),
        *_sharpness(looked, move),
        *_size(move),
    ]
    if a.format != b.format:
        found.append("saved in another format ({} and {})".format(*sorted((a.format, b.format))))
    return tuple(found) or ("saved again",)


def _fits(overlay: str, surround: Sequence[str]) -> bool:
    """A strip that differs beside the tile of a collage is the next tile."""
    return not (overlay.startswith("text bar") and "part of a collage" in surround)


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


def _surround(greys: Greys, looked: Looked, move: _Move) -> list[str]:
    """What surrounds the common part: nothing (a crop), a plain border, a page, a collage."""
    shares = looked.shares
    places = (looked.cells.in_a, looked.cells.in_b)
    better = np.maximum(looked.cells.coarse, looked.cells.fine)
    agree, differ = better > _SAME, better < _OFF
    both = zip(greys, shares, looked.outlines, places, strict=True)
    found = [
        "part of a collage"
        if _is_tile(_size_of(grey), polygon, cells[agree], cells[differ])
        else _around(grey, polygon, share, _is_slanted(move))
        for grey, share, polygon, cells in both
        if share < _WHOLE
    ]
    found = [word for word in found if word]
    if len(found) == 2 and all(word.startswith("cropped") for word in found):
        found = [f"cropped to {min(shares):.0%}".replace("%", " %")]
    if min(shares) > 0.8 and _is_slanted(move):
        return [word for word in found if not word.startswith("cropped")]
    return found


def _size_of(grey: Pixels) -> tuple[int, int]:
    return grey.shape[1], grey.shape[0]


def _is_slanted(move: _Move) -> bool:
    """Whether a tilt or a slant cuts off corners or adds some."""
    rest = abs(move.degrees - 90 * round(move.degrees / 90))
    return rest > _TILT_DEGREES or move.bend > _PERSPECTIVE


def _around(grey: Pixels, polygon: Floats, share: float, slanted: bool) -> str:
    """Name what a photo shows around the common part; nothing where a tilt left plain corners."""
    outside = _outside(grey.shape, polygon)
    levels = _levels(grey, outside)
    flat = _share_near(levels, 1)
    over, within = _steps(grey, polygon)
    if not slanted and flat > _DRAWN and not _goes_on(over):
        if bar := _bar_beside(grey.shape, polygon):
            return bar
        even = _is_even_margin(grey.shape, polygon) and share > 0.3
        return "border or frame added" if even else "in a screenshot of a page"
    if not outside.any() or _visible_sides(over, within) < 0.45:
        return f"cropped to {share:.0%}".replace("%", " %")
    ground = _share_near(levels, 4)
    if slanted and ground > _DRAWN and _touches_all_sides(grey.shape, polygon):
        return ""
    if _is_even_margin(grey.shape, polygon) and share > 0.3 and ground > 0.35:
        return "border or frame added"
    return "in a screenshot of a page" if ground > 0.4 else "part of a collage"


def _is_tile(size: tuple[int, int], polygon: Floats, agreeing: Floats, differing: Floats) -> bool:
    """Whether an upright part fills a half or a quarter of the photo, as tiles of a collage do.

    A picture that was cut to fit its tile reaches beyond it, but shows something else there.
    """
    low, high = polygon.min(0) / size, polygon.max(0) / size
    area = float(cv2.contourArea(polygon.astype(np.float32))) / float(np.prod(size))
    if area < 0.93 * float(np.prod(high - low)) or area > 0.7:
        return False
    if len(agreeing) and len(differing):
        first, last = agreeing.min(0) / np.array(size), agreeing.max(0) / np.array(size)
        before, after = (differing / np.array(size)).min(0), (differing / np.array(size)).max(0)
        is_cut = (low < 0.5) & (low > 0.5 - _BEYOND) & (first > 0.505) & (before < 0.495)
        low = np.where(is_cut, 0.5, low)
        is_cut = (high > 0.5) & (high < 0.5 + _BEYOND) & (last < 0.495) & (after > 0.505)
        high = np.where(is_cut, 0.5, high)
    ends = np.stack([low, high])
    near = np.abs(ends[None] - np.array([0, 0.5, 1])[:, None, None]).min(0) < _TILE
    return bool(near.all() and np.prod(high - low) < 0.6)


def _levels(grey: Pixels, outside: npt.NDArray[np.bool_]) -> Floats:
    """(256,) how many px of each grey level lie outside."""
    counts = cv2.calcHist([grey], [0], outside.view(np.uint8), [256], [0, 256])
    return np.asarray(counts).ravel()


def _share_near(levels: Floats, near: int) -> float:
    """The share of the px that have the commonest grey level to within so many: nearly all if they
    were drawn by a program, most on an even ground.
    """
    around = np.convolve(levels, np.ones(2 * near + 1), "same")
    return float(around.max() / max(levels.sum(), 1))


def _touches_all_sides(shape: tuple[int, ...], polygon: Floats) -> bool:
    reach = 0.04 * max(shape[:2])
    low, high = polygon.min(0), np.array([shape[1], shape[0]]) - polygon.max(0)
    return bool((low < reach).all() and (high < reach).all())


def _outside(shape: tuple[int, ...], polygon: Floats) -> npt.NDArray[np.bool_]:
    mask = np.zeros(shape, np.uint8)
    cv2.fillConvexPoly(mask, np.rint(polygon).astype(np.int32), 1)
    return np.asarray(cv2.dilate(mask, np.ones((7, 7), np.uint8)) == 0)


def _visible_sides(over: Floats, within: Floats) -> float:
    """The share of the inner outline across which the grey level jumps, and farther than it does
    within the common part: in a picture full of detail it jumps everywhere.
    """
    if not len(over):
        return 0.0
    return float(np.mean(np.abs(over) > np.maximum(_STEP, _SEAM * np.abs(within))))


def _goes_on(over: Floats) -> bool:
    """Whether the ground goes on across the outline as if nothing were there."""
    return not len(over) or float(np.median(np.abs(over))) < _SMALL_STEP


def _steps(grey: Pixels, polygon: Floats) -> tuple[Floats, Floats]:
    """(n,) steps in grey level outwards over those sides of the outline that lie inside, and within
    the common part beside each.
    """
    height, width = grey.shape
    smooth = cv2.blur(grey, (3, 3))
    ends = np.roll(polygon, -1, axis=0)
    along = np.linspace(0.05, 0.95, 30, dtype=np.float32)[:, None]
    lines = polygon[:, None] + (ends - polygon)[:, None] * along
    normals = np.stack([ends[:, 1] - polygon[:, 1], polygon[:, 0] - ends[:, 0]], 1)
    normals /= np.maximum(np.hypot(*normals.T), 1e-6)[:, None]
    inwards = ((lines.mean(1) - polygon.mean(0)) * normals).sum(1) < 0
    normals[inwards] *= -1
    deep, inner, edge, outer = (lines + far * normals[:, None] for far in _STEPS)
    inside = np.asarray(((outer >= 0) & (outer < (width, height))).all(2))
    seen = inside & (inside.mean(1, keepdims=True) > _MOSTLY)
    over = _at(smooth, outer) - _at(smooth, edge)
    within = _at(smooth, inner) - _at(smooth, deep)
    return over[seen], within[seen]


def _at(smooth: Pixels, points: Floats) -> Floats:
    last = np.array(smooth.shape[::-1]) - 1
    places = np.clip(np.rint(points), 0, last).astype(np.intp)
    return np.asarray(smooth[places[..., 1], places[..., 0]], np.float32)


def _bar_beside(shape: tuple[int, ...], polygon: Floats) -> str:
    """A low bar of full width above or below the common part: a page has more to show."""
    height, width = shape[:2]
    left, top = polygon.min(0)
    right, bottom = polygon.max(0)
    above, below = float(top) / height, 1 - float(bottom) / height
    if left > _BESIDE * width or right < (1 - _BESIDE) * width or max(above, below) > _DEEPEST_BAR:
        return ""
    if min(above, below) > _BESIDE:
        return "text bar at the top and at the bottom" if above + below < _DEEPEST_BAR else ""
    return f"text bar {_where(np.array([0.5, 0.0 if above > below else 1.0]))}"


def _is_even_margin(shape: tuple[int, ...], polygon: Floats) -> bool:
    """Whether the common part sits in the middle with like margins."""
    height, width = shape[:2]
    left, top = polygon.min(0)
    right, bottom = polygon.max(0)
    across, down = (left, width - right), (top, height - bottom)
    even = abs(across[0] - across[1]) < 0.05 * width, abs(down[0] - down[1]) < 0.05 * height
    return bool(all(even))


def _overlay(greys: Greys, looked: Looked, surround: Sequence[str]) -> list[str]:
    """Something laid over one of the two: of what form, and where in photo a."""
    found = _large_overlay(_size_of(greys[0]), looked)
    if found or "part of a collage" in surround:
        return found
    back = np.linalg.inv(looked.alignment.matrix)
    place = overprint_place(greys[1], greys[0], back, looked.outlines[0])
    return [f"logo or sticker {_where(np.array(place))}"] if place else []


def _large_overlay(size: tuple[int, int], looked: Looked) -> list[str]:
    """What takes in whole cells."""
    cells = looked.cells
    better = np.maximum(cells.coarse, cells.fine)
    off = (weights_of(cells) > 0) & (better < _OFF)
    share = float(off.mean())
    if off.sum() < 2 or share > 0.5:
        return []
    places = cells.in_a[off].astype(np.float32) / np.array(size, np.float32)
    every = cells.in_a.astype(np.float32) / np.array(size, np.float32)
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
    means = cells.levels[:, agree].astype(np.float32)
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
    a, b = means.astype(np.float64)
    a, b = a - a.mean(), b - b.mean()
    rest = b - a * ((a @ b) / (a @ a))
    return bool(rest @ rest > 0.2**2 * (b @ b))


def _sharpness(looked: Looked, move: _Move) -> list[str]:
    """Blur, sharpening or grain, where both are of about one size."""
    if not 0.9 < move.size < 1.11 or not looked.cells.sharpness.size:
        return []
    one, two = (float(np.median(part.astype(np.float32))) for part in looked.cells.sharpness)
    ratio = max(one, two) / max(min(one, two), 1e-3)
    return ["filtered (softened, sharpened or grainy)"] if ratio > _SHARPER else []
