"""Cell by cell: do two photos, laid over each other, really show the same pixels?

The common part is warped to at most 256 px, cut into cells of 24 px and correlated in each cell at
two blurs. Cells at the edge of the common part are left out, because they fake disagreement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.align import Matrix, apply
from extractors.photos.decode import Pixels
from extractors.photos.drift import Moments, Tones, drift_of, normal_of
from extractors.photos.features import Floats
from extractors.photos.frames import frame_seen
from extractors.photos.outlines import NOT_SEEN as NO_OUTLINES
from extractors.photos.outlines import Outlines, outlines_of
from extractors.photos.relief import NOT_SEEN as NO_RELIEF
from extractors.photos.relief import Relief, relief_of
from extractors.photos.settle import (
    ANY,
    SIMILAR,
    Places,
    nearest_similarity,
    places_of,
    step_of,
)
from extractors.photos.specks import NOT_SEEN, Specks, specks_of
from extractors.photos.tone import ToneCurve, tone_curve

_SIDE, _FULL_SIDE = 256, 448
_BLOCK = 8  # px; means are taken of blocks, cells are made of blocks
_BLOCKS = 3  # a side of a cell
_STRIDE = 2  # blocks from cell to cell: cells overlap by a third
_CELL = _BLOCK * _BLOCKS
PLAIN = 2.2  # grey levels of spread; less is plain
_STEP = _BLOCK * _STRIDE
_ERODE = 4
_AROUND = np.ones((2 * _ERODE + 1, 2 * _ERODE + 1), np.uint8)
_RING = 0.17  # of the shorter side: how far the border of the common part reaches in
_EDGE = 5.0  # grey levels of fine detail; more is an outline, not dust
_FAINT = 4.0  # grey levels of detail at half size; more is an outline
_LEAST_AREA = 48.0 * 48
_NEAR, _WIDER = np.ones((3, 3), np.uint8), np.ones((5, 5), np.uint8)
_AGREES, _WORTH_A_LOOK, _WORTH_OUTLINES = 0.9, 0.3, 0.1
_ROUNDS, _LEAST_GAIN, _HOPELESS = 3, 0.0005, 0.2
_FORGIVEN = 0.0008  # of correlation
_SETTLED = 0.06  # px at half size; less is not worth another round
_FULL = np.array([[2.0, 0, 0.5], [0, 2.0, 0.5], [0, 0, 1]])  # px at half size to working px
_HALF = np.linalg.inv(_FULL)
_SAME, _OTHER = 0.85, 0.5  # correlations of a cell
_ALIKE = 0.97  # correlation
MOST_TEXTURE = 20.0  # grey levels
_NEARLY_ALL = 0.003  # of correlation that is lacking; a tone curve can hardly better it
_BETTER, _NOT_WORSE = 0.6, 0.02  # what a tone curve leaves of it, and adds to cells not alike
_BENT = 0.002  # of the size, from corner to corner; less is flat


@dataclass(frozen=True, slots=True)
class Ground:
    """What the border of the common part says: goods stand in the middle, the ground around them.

    `same` and `other` are the shares of the border's cells that are textured in either photo and
    correlate above .85 and below .5 (both small on an even ground); `dust` is the correlation of
    the finest detail, outlines left out, in the border, and `dust_all` in the whole common part.
    """

    same: float
    other: float
    dust: float
    dust_all: float


@dataclass(frozen=True, slots=True)
class Shade:
    """What lies between the outlines, grain and faint shades, in three bands from fine to coarse.

    `likeness` is the correlation in each band, `strength` the smaller spread of both photos in grey
    levels: like goods are drawn alike, but light and ground are not; and where one photo has lost
    its grain, that it does not agree says nothing.
    """

    likeness: tuple[float, float, float]
    strength: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Agreement:
    """Cells of the common part (rows, columns): correlation at the fine and the coarse blur,
    texture (spread in grey levels, the larger of both), corners (0 a straight edge, 1 texture both
    ways), sharpness, means (less 128), and which cells count; `levels` are the means before a tone
    curve was taken out of either photo.

    `plain` is the correlation of the finest detail over all plain cells, `tone_off` how far the
    cells' means lie from a straight line.

    `matrix` lays photo a over photo b, mended; `to_work` is the matrix from photo b's px to cells'
    px, `b_polygon` and `a_polygon` outline the common part in each photo's px. `specks` and
    `outlines` say something only where a closer look was worth it, `framed` (see frames.py) only
    of photos that do not lie flat over each other.
    """

    fine: Floats
    coarse: Floats
    texture: Floats
    texture_a: Floats
    texture_b: Floats
    corners: Floats
    drift: Floats
    moved: Floats
    plain: float
    tone_off: tuple[float, float]
    ground: Ground
    shade: Shade
    sharp_a: Floats
    sharp_b: Floats
    means_a: Floats
    means_b: Floats
    valid: npt.NDArray[np.bool_]
    levels_a: Floats
    levels_b: Floats
    matrix: Matrix
    to_work: Matrix
    a_polygon: Floats
    b_polygon: Floats
    share_a: float
    share_b: float
    specks: Specks = NOT_SEEN
    outlines: Outlines = NO_OUTLINES
    framed: float = 0.0
    relief: Relief = NO_RELIEF


def common_part(
    size_a: tuple[int, int], size_b: tuple[int, int], matrix: Matrix
) -> tuple[Floats, Floats]:
    """The outline of what both photos show, in px of a and in px of b; (0, 2) if nothing."""
    outline = apply(matrix, _corners(size_a)).astype(np.float32)
    area, polygon = cv2.intersectConvexConvex(outline, _corners(size_b))
    if area < 1 or polygon is None:
        return np.zeros((0, 2), np.float32), np.zeros((0, 2), np.float32)
    in_b = polygon.reshape(-1, 2)
    in_a = apply(np.linalg.inv(matrix), in_b).astype(np.float32)
    return in_a, in_b


def _corners(size: tuple[int, int]) -> Floats:
    width, height = size
    return np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)


def area_of(polygon: Floats) -> float:
    """The area of an outline, px; 0 where there is none."""
    return float(cv2.contourArea(polygon)) if len(polygon) > 2 else 0.0


def share_in_common(one: Floats, other: Floats) -> float:
    """What two convex outlines have in common, as a share of the smaller one."""
    smaller = min(area_of(one), area_of(other))
    if smaller <= 0:
        return 0.0
    common, _ = cv2.intersectConvexConvex(one, other)
    return float(common) / smaller


class Picture:
    """A grey picture (h, w) uint8 and its halvings, each made once."""

    def __init__(self, grey: Pixels) -> None:
        self.size: tuple[int, int] = (grey.shape[1], grey.shape[0])
        self._halvings: list[tuple[Pixels, Matrix]] = [(grey, np.eye(3))]

    def halved(self, times: int) -> tuple[Pixels, Matrix]:
        """Halved so many times, and the matrix from its px to those of the whole picture."""
        while len(self._halvings) <= times:
            grey, to_whole = self._halvings[-1]
            size = (grey.shape[1] // 2, grey.shape[0] // 2)
            x, y = grey.shape[1] / size[0], grey.shape[0] / size[1]
            half = np.array([[x, 0, (x - 1) / 2], [0, y, (y - 1) / 2], [0, 0, 1.0]])
            # at half the size, linear is the mean of four, and fast
            self._halvings.append((cv2.resize(grey, size), to_whole @ half))
        return self._halvings[times]


def compare(grey_a: Pixels, grey_b: Pixels, matrix: Matrix) -> Agreement | None:
    """Compare what both photos show; None if the common part is too small."""
    return compare_pictures(Picture(grey_a), Picture(grey_b), matrix)


def compare_pictures(a: Picture, b: Picture, matrix: Matrix) -> Agreement | None:
    """As `compare`; a picture compared more than once keeps its halvings."""
    laid = lay_over(a, b, matrix)
    return None if laid is None else compare_settled(settled(laid))


def lay_over(a: Picture, b: Picture, matrix: Matrix) -> Laid | None:
    """A first look at what both photos show; None if the common part is too small."""
    polygons = common_part(a.size, b.size, matrix)
    in_a, in_b = polygons
    area_a, area_b = area_of(in_a), area_of(in_b)
    if min(area_a, area_b) < _LEAST_AREA:
        return None
    to_work, shape = _work_frame(in_a, in_b, area_a, area_b, matrix)
    if min(shape) < _CELL + 2 * _ERODE:
        return None
    inside = _inside(apply(to_work, in_b), shape)
    valid = _valid(inside)
    if np.count_nonzero(valid) < 2:
        return None
    base = _base_of(_warp(b, to_work, shape))
    lie = _Lie(matrix, to_work, polygons, (a.size, b.size))
    return Laid(a, b, lie, base, inside, valid, _tried(a, base, valid, to_work @ matrix))


def settled(laid: Laid) -> Laid:
    """Lay photo a so that the cells agree best, if it still covers enough of b."""
    best = _settled(laid)
    a, b, to_work = laid.a, laid.b, laid.lie.to_work
    mended = np.linalg.inv(to_work) @ best.matrix
    part = common_part(a.size, b.size, mended)
    if min(area_of(side) for side in part) < _LEAST_AREA:
        return laid
    inside = _inside(apply(to_work, part[1]), laid.inside.shape)
    lie = _Lie(mended, to_work, part, laid.lie.sizes)
    return replace(laid, lie=lie, inside=inside, seen=best)


def compare_settled(laid: Laid) -> Agreement | None:
    """Compare what both photos show as they are laid; None if too little is left of it.

    Where a tone curve explains one photo by the other, it is taken out first.
    """
    seen = _seen(laid)
    found = _cells(seen, laid.base, laid.lie)
    if found is None:
        return None
    toned = _toned(laid, found)
    if toned is not None:
        laid, seen, found = toned
    share = _agreeing(found)
    if share >= _WORTH_OUTLINES:
        outlines = outlines_of(seen.soft_a, seen.soft_b, seen.inside > 0)
        found = replace(found, outlines=outlines, relief=_relief(laid))
    if share >= _WORTH_A_LOOK:
        specks = _specks(laid.a, laid.b, found)
        found = replace(found, specks=specks, framed=_framed(laid))
    return found


def _seen(laid: Laid) -> _Seen:
    base = laid.base
    work_a = _warp(laid.a, laid.lie.to_work @ laid.lie.matrix, laid.inside.shape)
    return _Seen(work_a, base.work, _soft(work_a), _soft(base.work), laid.inside)


def _toned(laid: Laid, found: Agreement) -> tuple[Laid, _Seen, Agreement] | None:
    """The photos without the tone curve between them, laid and compared anew; None if there is
    none, or the cells do not agree far better without it.
    """
    left, well = _lacking(found)
    if left < _NEARLY_ALL:
        return None
    some_a, some_b = laid.seen.half[::2] + 128, laid.base.half[::2] + 128
    curve = tone_curve(some_a, some_b, laid.inside[::4, ::2] > 0)
    if curve is None:
        return None
    other = settled(_without(laid, curve))
    seen = _seen(other)
    better = _cells(seen, other.base, other.lie)
    if better is None:
        return None
    left_after, well_after = _lacking(better)
    if left_after > _BETTER * left or well_after > well + _NOT_WORSE:
        return None
    raw = {name: getattr(found, name) for name in ("sharp_a", "sharp_b", "levels_a", "levels_b")}
    return other, seen, replace(better, **raw)


def _without(laid: Laid, curve: ToneCurve) -> Laid:
    """One of the photos with the levels of the other."""
    to_work_a = laid.lie.to_work @ laid.lie.matrix
    if curve.of_a:
        a = Picture(curve.applied(laid.a.halved(0)[0]))
        return replace(laid, a=a, seen=_tried(a, laid.base, laid.valid, to_work_a))
    b = Picture(curve.applied(laid.b.halved(0)[0]))
    base = _base_of(_warp(b, laid.lie.to_work, laid.inside.shape))
    return replace(laid, b=b, base=base, seen=_tried(laid.a, base, laid.valid, to_work_a))


def _lacking(found: Agreement) -> tuple[float, float]:
    """How far the cells' mean correlation is from 1, and the share of those that are not alike."""
    texture = np.where(found.texture > PLAIN, found.texture, 0)
    weights = weights_of_cells(texture, found.corners)[found.valid]
    total = max(float(weights.sum()), 1e-6)
    alike = np.maximum(found.fine, found.coarse)[found.valid] > _ALIKE
    coarse = float(weights @ found.coarse[found.valid])
    return 1 - coarse / total, 1 - float(weights[alike].sum()) / total


def weights_of_cells(texture: Floats, corners: Floats) -> Floats:
    """How much each cell counts: texture up to 20 grey levels, straight edges little."""
    return np.asarray(np.minimum(texture, MOST_TEXTURE) * (0.08 + np.minimum(1.0, 3.0 * corners)))


def _framed(laid: Laid) -> float:
    """What frames.py says; a photo of a screen is bent, and its edge is to be seen."""
    matrix = laid.lie.matrix
    width, height = laid.lie.sizes[0]
    if abs(matrix[2, 0]) * width + abs(matrix[2, 1]) * height < _BENT * abs(matrix[2, 2]):
        return 0.0
    return frame_seen(laid.a.halved(0)[0], laid.b.halved(0)[0], matrix)


def _relief(laid: Laid) -> Relief:
    """What relief.py says, at half the working size."""
    half = laid.seen.half
    inside = cv2.resize(laid.inside, half.shape[::-1], interpolation=cv2.INTER_NEAREST)
    return relief_of(half, laid.base.half, inside)


def _agreeing(found: Agreement) -> float:
    """The share of the texture that agrees."""
    weights = found.texture[found.valid]
    agree = np.maximum(found.fine, found.coarse)[found.valid] > _AGREES
    return float((weights * agree).sum() / max(float(weights.sum()), 1e-6))


def _specks(a: Picture, b: Picture, found: Agreement) -> Specks:
    """Dust is seen at nearly the full size of the grey pictures only."""
    in_a, in_b = found.a_polygon, found.b_polygon
    areas = area_of(in_a), area_of(in_b)
    to_work, shape = _work_frame(in_a, in_b, *areas, found.matrix, side=_FULL_SIDE)
    work_a, work_b = _warp(a, to_work @ found.matrix, shape), _warp(b, to_work, shape)
    return specks_of(work_a, work_b, _inside(apply(to_work, in_b), shape) > 0)


@dataclass(frozen=True, slots=True, eq=False)
class _Base:
    """Photo b as it is warped (`work`), and what is laid over again and again, made once.

    `raw` is the picture at half size, `half` the same softened and less 128; `mean` and `square`
    are the means over cells of that and of its square.
    """

    work: Floats
    raw: Floats
    half: Floats
    mean: Floats
    square: Floats


def _base_of(work_b: Floats) -> _Base:
    raw = _block_means(work_b, 2)
    half = _soft(raw) - 128
    mean, square = _sums(np.stack([half, half * half]), _BLOCK // 2)
    return _Base(work_b, raw, half, mean, square)


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """Both photos warped to one frame, the same softened, and where both are seen."""

    a: Floats
    b: Floats
    soft_a: Floats
    soft_b: Floats
    inside: Pixels


@dataclass(frozen=True, slots=True, eq=False)
class _Lie:
    """How two photos lie: matrix a -> b, b -> working px, the common part in each, their sizes."""

    matrix: Matrix
    to_work: Matrix
    polygons: tuple[Floats, Floats]
    sizes: tuple[tuple[int, int], tuple[int, int]]

    def shares(self) -> list[float]:
        """The share of either photo that the common part is."""
        both = zip(self.polygons, self.sizes, strict=True)
        return [area_of(polygon) / float(size[0] * size[1]) for polygon, size in both]

    def scale(self) -> float:
        """How much larger photo b shows the common part."""
        in_a, in_b = self.polygons
        return math.sqrt(area_of(in_b) / area_of(in_a))


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    """Photo a laid by a matrix (its px -> working px): at half size, softened and less 128, the
    cells, and how well they agree.
    """

    matrix: Matrix
    half: Floats
    tones: Tones
    worth: float


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Photos a and b as they lie over each other, seen at half the working size.

    `inside` is where both are seen, `valid` the cells that lie there all over.
    """

    a: Picture
    b: Picture
    lie: _Lie
    base: _Base
    inside: Pixels
    valid: npt.NDArray[np.bool_]
    seen: _Tried

    def cells(self) -> tuple[Floats, ...]:
        """(n,) of the valid cells: correlation, spread of a and of b, means of a and of b."""
        return tuple(values[self.valid] for values in _correlation_of(self.seen.tones))


def _tried(a: Picture, base: _Base, valid: npt.NDArray[np.bool_], to_work_a: Matrix) -> _Tried:
    half = _soft(_warp(a, _HALF @ to_work_a, base.half.shape)) - 128
    tones = _tones(half, base)
    return _Tried(to_work_a, half, tones, _worth(tones, valid))


def _settled(laid: Laid) -> _Tried:
    """Photo a laid by a matrix that is mended while the cells agree better.

    Most edits neither stretch nor bend: a similarity that does nearly as well is taken instead.
    """
    rows, columns = np.indices(laid.valid.shape)
    middles = np.stack([columns, rows], -1) * (_STEP / 2) + (_CELL / 2 - 1) / 2
    ground = _Settling(laid.a, laid.base, places_of(laid.valid, middles))
    best = ground.mended(laid.seen, ANY, _ROUNDS)
    if best.worth < _HOPELESS:
        return laid.seen
    start = ground.tried(nearest_similarity(best.matrix, laid.inside.shape))
    straight = ground.mended(start, SIMILAR, 1)
    return straight if straight.worth > best.worth - _FORGIVEN else best


def _valid(inside: Pixels) -> npt.NDArray[np.bool_]:
    """The cells that are seen in both photos all over."""
    return np.asarray(_sums(inside.astype(np.float32)[None], _BLOCK)[0] > 0.99)


@dataclass(frozen=True, slots=True, eq=False)
class _Settling:
    """Photo a, what it is to be laid over, and the places of the valid cells."""

    a: Picture
    base: _Base
    places: Places

    def tried(self, matrix: Matrix) -> _Tried:
        """Photo a laid by a matrix."""
        return _tried(self.a, self.base, self.places.valid, matrix)

    def mended(self, first: _Tried, kind: Floats, rounds: int) -> _Tried:
        """The best in so many rounds."""
        shape = self.base.half.shape
        best = first
        for _ in range(rounds):
            if not _HOPELESS <= best.worth < 1 - _LEAST_GAIN:  # no correlation is more than 1
                break
            normal = normal_of(_moments(best.half, self.base.half, best.tones))
            seen_from = step_of(normal, self.places, kind)
            if seen_from is None or _reach(seen_from, shape) < _SETTLED:
                break
            tried = self.tried(_FULL @ np.linalg.inv(seen_from) @ _HALF @ best.matrix)
            if tried.worth < best.worth + _LEAST_GAIN:
                break
            best = tried
        return best


def _worth(tones: Tones, valid: npt.NDArray[np.bool_]) -> float:
    """The mean correlation of the cells, weighted by texture."""
    correlation, spread_a, spread_b, _, _ = _correlation_of(tones)
    weights = (np.minimum(spread_a, spread_b) + np.float32(0.1))[valid]
    return float(correlation[valid] @ weights) / float(weights.sum())


def _reach(seen_from: Matrix, shape: tuple[int, ...]) -> float:
    """The farthest that a corner moves, px."""
    corners = _corners((shape[1], shape[0]))
    return float(np.abs(apply(seen_from, corners) - corners).max())


def _work_frame(
    in_a: Floats, in_b: Floats, area_a: float, area_b: float, matrix: Matrix, side: int = _SIDE
) -> tuple[Matrix, tuple[int, int]]:
    """(matrix from b's px to the working px, its shape): `side` px at most, of the coarser one."""
    left, top = in_b.min(0)
    width, height = in_b.max(0) - (left, top)
    finest = min(1.0, (area_a / area_b) ** 0.5)
    scale = min(finest, side / max(width, height))
    to_work = np.array([[scale, 0, -left * scale], [0, scale, -top * scale], [0, 0, 1.0]])
    shape = (int(height * scale) // _BLOCK * _BLOCK, int(width * scale) // _BLOCK * _BLOCK)
    return to_work, shape


def _warp(picture: Picture, matrix: Matrix, shape: tuple[int, ...]) -> Floats:
    """Warp to (h, w); a picture that shrinks much is halved first, so that nothing aliases."""
    (m00, m01, _), (m10, m11, _), _ = matrix.tolist()
    shrink = 1 / max(1e-3, abs(m00 * m11 - m01 * m10) ** 0.5)
    times, shorter = 0, min(picture.size)
    while shrink > 1.7 and shorter > 16:
        times, shrink, shorter = times + 1, shrink / 2, shorter // 2
    grey, to_whole = picture.halved(times)
    warped = cv2.warpPerspective(
        grey, matrix @ to_whole, shape[::-1], borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(warped, np.float32)


def _inside(polygon: npt.NDArray[np.float64], shape: tuple[int, int]) -> Pixels:
    mask: Pixels = np.zeros(shape, np.uint8)
    cv2.fillConvexPoly(mask, np.rint(polygon).astype(np.int32), 1)
    mask[0], mask[-1], mask[:, 0], mask[:, -1] = 0, 0, 0, 0
    return cv2.erode(mask, _AROUND)


def _block_means(image: Floats, block: int) -> Floats:
    size = (image.shape[1] // block, image.shape[0] // block)
    return np.asarray(cv2.resize(image, size, interpolation=cv2.INTER_AREA), np.float32)


def _sums(images: Floats, block: int) -> Floats:
    """(images, rows, columns): the mean of every cell, three by three blocks, every two blocks."""
    below = images.reshape(-1, images.shape[2])  # below each other: one call for all
    blocks = _block_means(below, block)
    means = blocks.reshape(len(images), -1, blocks.shape[1])
    rows, columns = (_STRIDE * ((side - _BLOCKS) // _STRIDE) + 1 for side in means.shape[1:])
    total = means[:, :rows:_STRIDE, :columns:_STRIDE].copy()
    for number in range(1, _BLOCKS**2):
        y, x = divmod(number, _BLOCKS)
        total += means[:, y : y + rows : _STRIDE, x : x + columns : _STRIDE]
    total /= np.float32(_BLOCKS**2)
    return total


def _fill_products(images: Floats, pairs: tuple[tuple[Floats, Floats], ...]) -> None:
    """Fill in each image with the product of a pair, without copies between."""
    for image, (one, other) in zip(images, pairs, strict=True):
        np.multiply(one, other, out=image)


def _tones(a: Floats, base: _Base) -> Tones:
    """The cells of two pictures at half size, less 128."""
    images = np.empty((3, *a.shape), np.float32)
    images[0] = a
    _fill_products(images[1:], ((a, a), (a, base.half)))
    mean, square, product = _sums(images, _BLOCK // 2)
    return Tones(mean, base.mean, square, base.square, product)


def _tones_between(a: Floats, b: Floats) -> Tones:
    """The cells of two pictures at full size, less 128."""
    images = np.empty((5, *a.shape), np.float32)
    images[0], images[1] = a, b
    _fill_products(images[2:], ((a, a), (b, b), (a, b)))
    return Tones(*_sums(images, _BLOCK))


def _correlation_of(m: Tones) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Per cell: correlation, spread of a and of b, means of a and of b."""
    var_a, var_b = np.maximum(m.aa - m.a**2, 0), np.maximum(m.bb - m.b**2, 0)
    correlation = (m.ab - m.a * m.b) / np.sqrt(var_a * var_b + 0.5)
    return correlation, np.sqrt(var_a), np.sqrt(var_b), m.a, m.b


def _fill_slopes(half: Floats, across: Floats, down: Floats) -> None:
    """Fill in grey levels per px, across and down."""
    cv2.Sobel(half, cv2.CV_32F, 1, 0, dst=across, scale=1 / 8)
    cv2.Sobel(half, cv2.CV_32F, 0, 1, dst=down, scale=1 / 8)


def _corners_in(xx: Floats, yy: Floats, xy: Floats) -> Floats:
    """Per cell, 0 to 1: how far its texture runs in two directions; a straight edge gives 0.

    The ratio of the eigenvalues of the structure tensor (Harris and Stephens 1988), from the means
    of the products of the slopes.
    """
    middle, off = (xx + yy) / 2, np.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    return np.asarray((middle - off) / (middle + off + 4.0 / 64))


def _moments(a: Floats, b: Floats, tones: Tones) -> Moments:
    """What drift.py needs, over the cells of two pictures at half size, less 128."""
    images = np.empty((9, *a.shape), np.float32)
    dx, dy = images[:2]
    _fill_slopes(a, dx, dy)
    products = ((dx, dx), (dy, dy), (dx, dy), (a, dx), (a, dy), (b, dx), (b, dy))
    _fill_products(images[2:], products)
    return Moments(tones, *_sums(images, _BLOCK // 2))


def _products_of_slopes(half: Floats) -> tuple[Floats, Floats, Floats]:
    dx, dy = np.empty((2, *half.shape), np.float32)
    _fill_slopes(half, dx, dy)
    xx, yy, xy = _sums(np.stack([dx * dx, dy * dy, dx * dy]), _BLOCK // 2)
    return xx, yy, xy


def _plain_correlation(seen: _Seen, chosen: npt.NDArray[np.bool_]) -> float:
    """Correlation of the finest detail over all plain cells together: dust, scratches, weave.

    Two photos of like goods have the same outlines, but not the same dust. 0 where all is textured.
    """
    if np.count_nonzero(chosen) < 3:
        return 0.0
    m = _tones_between(*(work - cv2.blur(work, (9, 9)) for work in (seen.a, seen.b)))
    covariance = (m.ab - m.a * m.b)[chosen].sum()
    spread = (m.aa - m.a**2)[chosen].sum() * (m.bb - m.b**2)[chosen].sum()
    return float(covariance / np.sqrt(max(float(spread), 1e-3)))


def _ground(seen: _Seen, better: Floats, texture: Floats) -> Ground:
    """Judge the border of the common part apart from its middle."""
    depth = cv2.distanceTransform(seen.inside, cv2.DIST_L1, 3)
    border = seen.inside & (depth < _RING * min(seen.inside.shape))
    cells = _sums(border.astype(np.float32)[None], _BLOCK)[0] > 0.5
    textured = cells & (texture > PLAIN)
    count = max(1, int(np.count_nonzero(cells)))
    a, b = (work - cv2.blur(work, (5, 5)) for work in (seen.a, seen.b))
    outline = cv2.dilate(_strong(a, b, _EDGE), _NEAR)
    return Ground(
        int(np.count_nonzero(textured & (better > _SAME))) / count,
        int(np.count_nonzero(textured & (better < _OTHER))) / count,
        _dust(a, b, border > outline),
        _dust(a, b, seen.inside > outline),
    )


def _strong(a: Floats, b: Floats, least: float) -> Pixels:
    """Where the detail of either picture is stronger than `least`."""
    strong = np.maximum(np.abs(a), np.abs(b)) > least
    return np.asarray(strong.view(np.uint8))


def _shade(seen: _Seen, half_a: Floats, half_b: Floats) -> Shade:
    """Compare what lies between the outlines, band by band."""
    fine = tuple(work - cv2.blur(work, (3, 3)) for work in (seen.a, seen.b))
    smooth = tuple(cv2.blur(half, (5, 5)) for half in (half_a, half_b))
    middle = half_a - smooth[0], half_b - smooth[1]
    coarse = tuple(one - cv2.blur(one, (21, 21)) for one in smooth)
    outline = cv2.dilate(_strong(middle[0], middle[1], _FAINT), _WIDER)
    shape = (half_a.shape[1], half_a.shape[0])
    between = cv2.resize(seen.inside, shape, interpolation=cv2.INTER_NEAREST) > outline
    wide = cv2.resize(
        between.view(np.uint8), seen.inside.shape[::-1], interpolation=cv2.INTER_NEAREST
    )
    bands = (
        _band(fine[0], fine[1], wide > 0),
        _band(middle[0], middle[1], between),
        _band(coarse[0], coarse[1], between),
    )
    return Shade((bands[0][0], bands[1][0], bands[2][0]), (bands[0][1], bands[1][1], bands[2][1]))


def _band(a: Floats, b: Floats, where: npt.NDArray[np.bool_]) -> tuple[float, float]:
    """Correlation at the places chosen, and the smaller spread; 0, 0 where there are few."""
    count = np.count_nonzero(where)
    if count < 150:
        return 0.0, 0.0
    chosen = where.astype(np.float32)  # to multiply with: to pick places takes ten times as long
    x, y = ((one - _dot(one, chosen) / count) * chosen for one in (a, b))
    spread = _dot(x, x) / count, _dot(y, y) / count
    together = _dot(x, y) / count
    return together / (spread[0] * spread[1] + 1e-4) ** 0.5, min(spread) ** 0.5


def _dust(a: Floats, b: Floats, where: npt.NDArray[np.bool_]) -> float:
    """Correlation of fine detail at the places chosen; near 0 where there is hardly any."""
    count = np.count_nonzero(where)
    if count < 200:
        return 0.0
    chosen = where.astype(np.float32)
    x, y = a * chosen, b * chosen
    return _dot(x, y) / float((_dot(x, x) * _dot(y, y)) ** 0.5 + 0.1 * count)


def _dot(a: Floats, b: Floats) -> float:
    return float(np.vdot(a, b))


def _tone_off(means_a: Floats, means_b: Floats) -> tuple[float, float]:
    """How far the cells' means lie from a straight line, in grey levels: median and upper tenth.

    Light and reflections differ between two photos; an edit moves all cells alike.
    """
    if len(means_a) < 4:
        return 0.0, 0.0
    a, b = means_a - means_a.mean(), means_b - means_b.mean()
    spread_a, spread_b = ((float(side @ side) / len(side)) ** 0.5 for side in (a, b))
    if min(spread_a, spread_b) < 1.0:
        return 0.0, 0.0
    off = np.sort(np.abs(b - a * (float(a @ b) / float(a @ a)))) / max(1.0, spread_b / 25)
    return _quantile(off, 0.5), _quantile(off, 0.9)


def _quantile(rising: Floats, share: float) -> float:
    """Between two values in proportion."""
    at = share * (len(rising) - 1)
    low, high = rising[int(at)], rising[min(int(at) + 1, len(rising) - 1)]
    return float(low + (high - low) * (at - int(at)))


def _sharpness(works: tuple[Floats, Floats], spreads: tuple[Floats, Floats]) -> list[Floats]:
    """Of either photo, per cell: the mean step from pixel to pixel against the spread."""
    steps = np.zeros((2, *works[0].shape), np.float32)
    for step, work in zip(steps, works, strict=True):
        cv2.absdiff(work[:, 1:], work[:, :-1], dst=step[:, :-1])
    means = _sums(steps, _BLOCK)
    return [mean / (spread + 2.0) for mean, spread in zip(means, spreads, strict=True)]


def _soft(image: Floats) -> Floats:
    return np.asarray(cv2.GaussianBlur(image, (5, 5), 1.1))


def _cells(seen: _Seen, base: _Base, lie: _Lie) -> Agreement | None:
    valid = _valid(seen.inside)
    if np.count_nonzero(valid) < 2:
        return None
    fine = _correlation_of(_tones_between(seen.soft_a - 128, seen.soft_b - 128))[0]
    raw_a = _block_means(seen.a, 2)
    half_a = _soft(raw_a) - 128
    moments = _moments(half_a, base.half, _tones(half_a, base))
    coarse, texture_a, texture_b, means_a, means_b = _correlation_of(moments.tones)
    corners = np.minimum(
        _corners_in(moments.xx, moments.yy, moments.xy),
        _corners_in(*_products_of_slopes(base.half)),
    )
    across, down, moved = drift_of(moments)
    texture = np.maximum(texture_a, texture_b)
    sharp_a, sharp_b = _sharpness((seen.a, seen.b), (texture_a, texture_b))
    share_a, share_b = lie.shares()
    return Agreement(
        fine=fine,
        coarse=coarse,
        texture=texture,
        texture_a=texture_a,
        texture_b=texture_b,
        corners=corners,
        drift=np.stack([across, down]) * 2,
        moved=moved,
        plain=_plain_correlation(seen, valid & (texture < PLAIN)),
        tone_off=_tone_off(means_a[valid], means_b[valid]),
        ground=_ground(seen, np.maximum(fine, coarse), texture),
        shade=_shade(seen, raw_a, base.raw),
        sharp_a=sharp_a,
        sharp_b=sharp_b,
        means_a=means_a,
        means_b=means_b,
        levels_a=means_a,
        levels_b=means_b,
        valid=valid,
        matrix=lie.matrix,
        to_work=lie.to_work,
        a_polygon=lie.polygons[0],
        b_polygon=lie.polygons[1],
        share_a=share_a,
        share_b=share_b,
    )


def cell_middles(
    agreement: Agreement,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """The middles of the valid cells, (n, 2) px of a and (n, 2) px of b."""
    rows, columns = np.nonzero(agreement.valid)
    middles = np.stack([columns, rows], 1) * float(_STEP) + _CELL / 2
    in_b = apply(np.linalg.inv(agreement.to_work), middles.astype(np.float32))
    return apply(np.linalg.inv(agreement.matrix), in_b.astype(np.float32)), in_b
