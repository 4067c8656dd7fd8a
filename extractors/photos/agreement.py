"""Cell by cell: do two photos, laid over each other, really show the same pixels?

The common part is warped to at most 256 px, cut into cells of 24 px and correlated in each cell at
two blurs. Cells at the edge of the common part are left out, because they fake disagreement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.align import Matrix, apply
from extractors.photos.decode import Pixels
from extractors.photos.drift import Moments, drift_of, normal_of
from extractors.photos.features import Floats
from extractors.photos.outlines import NOT_SEEN as NO_OUTLINES
from extractors.photos.outlines import Outlines, outlines_of
from extractors.photos.settle import ANY, SIMILAR, nearest_similarity, step_of
from extractors.photos.specks import NOT_SEEN, Specks, specks_of

_SIDE, _FULL_SIDE = 256, 448
_BLOCK = 8  # px; means are taken of blocks, cells are made of blocks
_BLOCKS = 3  # a side of a cell
_STRIDE = 2  # blocks from cell to cell: cells overlap by a third
_CELL = _BLOCK * _BLOCKS
_PLAIN = 2.2  # grey levels of spread; less is plain
_STEP = _BLOCK * _STRIDE
_ERODE = 4
_RING = 0.17  # of the shorter side: how far the border of the common part reaches in
_EDGE = 5.0  # grey levels of fine detail; more is an outline, not dust
_FAINT = 4.0  # grey levels of detail at half size; more is an outline
_LEAST_AREA = 48.0 * 48
_AGREES, _WORTH_A_LOOK, _WORTH_OUTLINES = 0.9, 0.3, 0.1
_ROUNDS, _LEAST_GAIN, _HOPELESS = 3, 0.0005, 0.2
_FORGIVEN = 0.0008  # of correlation
_SETTLED = 0.06  # px at half size; less is not worth another round
_FULL = np.array([[2.0, 0, 0.5], [0, 2.0, 0.5], [0, 0, 1]])  # px at half size to working px
_HALF = np.linalg.inv(_FULL)
_SAME, _OTHER = 0.85, 0.5  # correlations of a cell


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
    ways), sharpness, means (less 128), and which cells count.

    `plain` is the correlation of the finest detail over all plain cells, `tone_off` how far the
    cells' means lie from a straight line.

    `matrix` lays photo a over photo b, mended; `to_work` is the matrix from photo b's px to cells'
    px, `b_polygon` and `a_polygon` outline the common part in each photo's px. `specks` and
    `outlines` say something only where a closer look was worth it.
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
    matrix: Matrix
    to_work: Matrix
    a_polygon: Floats
    b_polygon: Floats
    share_a: float
    share_b: float
    specks: Specks = NOT_SEEN
    outlines: Outlines = NO_OUTLINES


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


def _area(polygon: Floats) -> float:
    return float(cv2.contourArea(polygon)) if len(polygon) > 2 else 0.0


def compare(grey_a: Pixels, grey_b: Pixels, matrix: Matrix) -> Agreement | None:
    """Compare what both photos show; None if the common part is too small."""
    size_a, size_b = grey_a.shape[::-1], grey_b.shape[::-1]
    in_a, in_b = common_part(size_a, size_b, matrix)
    area_a, area_b = _area(in_a), _area(in_b)
    if min(area_a, area_b) < _LEAST_AREA:
        return None
    to_work_b, shape = _work_frame(in_a, in_b, area_a, area_b, matrix)
    if min(shape) < _CELL + 2 * _ERODE:
        return None
    work_b = _warp(grey_b, to_work_b, shape)
    inside = _inside(apply(to_work_b, in_b), shape)
    mended = np.linalg.inv(to_work_b) @ _settled(grey_a, work_b, inside, to_work_b @ matrix)
    if min(_area(part) for part in common_part(size_a, size_b, mended)) >= _LEAST_AREA:
        matrix = mended
        in_a, in_b = common_part(size_a, size_b, matrix)
        inside = _inside(apply(to_work_b, in_b), shape)
    work_a = _warp(grey_a, to_work_b @ matrix, shape)
    lie = _Lie(matrix, to_work_b, (in_a, in_b), (size_a, size_b))
    found = _cells(work_a, work_b, inside, lie)
    if found is None:
        return None
    share = _agreeing(found)
    if share >= _WORTH_OUTLINES:
        outlines = outlines_of(_soft(work_a), _soft(work_b), inside > 0)
        found = replace(found, outlines=outlines)
    if share >= _WORTH_A_LOOK:
        found = replace(found, specks=_specks(grey_a, grey_b, found))
    return found


def _agreeing(found: Agreement) -> float:
    """The share of the texture that agrees."""
    weights = found.texture[found.valid]
    agree = np.maximum(found.fine, found.coarse)[found.valid] > _AGREES
    return float((weights * agree).sum() / max(float(weights.sum()), 1e-6))


def _specks(grey_a: Pixels, grey_b: Pixels, found: Agreement) -> Specks:
    """Dust is seen at nearly the full size of the grey pictures only."""
    in_a, in_b = found.a_polygon, found.b_polygon
    areas = _area(in_a), _area(in_b)
    to_work, shape = _work_frame(in_a, in_b, *areas, found.matrix, side=_FULL_SIDE)
    work_a, work_b = _warp(grey_a, to_work @ found.matrix, shape), _warp(grey_b, to_work, shape)
    return specks_of(work_a, work_b, _inside(apply(to_work, in_b), shape) > 0)


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
        return [_area(polygon) / float(np.prod(size)) for polygon, size in both]


def _settled(grey_a: Pixels, work_b: Floats, inside: Pixels, to_work_a: Matrix) -> Matrix:
    """The matrix from photo a's px to the working px, mended while the cells agree better.

    Most edits neither stretch nor bend: a similarity that does nearly as well is taken instead.
    """
    valid = _sums((inside.astype(np.float32),), _BLOCK)[0] > 0.99
    if valid.sum() < 2:
        return to_work_a
    ground = _Settling(grey_a, _soft(_block_means(work_b, 2)), valid)
    best, worth = ground.mended(to_work_a, ANY, _ROUNDS)
    if worth < _HOPELESS:
        return to_work_a
    straight, nearly = ground.mended(nearest_similarity(best, work_b.shape), SIMILAR, 1)
    return straight if nearly > worth - _FORGIVEN else best


@dataclass(frozen=True, slots=True, eq=False)
class _Settling:
    """What photo a is to be laid over: photo b at half the working size, and its valid cells."""

    grey_a: Pixels
    half_b: Floats
    valid: npt.NDArray[np.bool_]

    def mended(self, matrix: Matrix, kind: Floats, rounds: int) -> tuple[Matrix, float]:
        """The best matrix in so many rounds, and how well the cells agree with it."""
        rows, columns = np.indices(self.valid.shape)
        middles = np.stack([columns, rows], -1) * (_STEP / 2) + (_CELL / 2 - 1) / 2
        best, best_worth = matrix, -1.0
        for _ in range(rounds + 1):
            half_a = _soft(_warp(self.grey_a, _HALF @ matrix, self.half_b.shape))
            moments = _moments(half_a, self.half_b)
            worth = _worth(moments, self.valid)
            if worth < best_worth + _LEAST_GAIN:
                break
            best, best_worth = matrix, worth
            seen_from = step_of(normal_of(moments), self.valid, middles, kind)
            if seen_from is None or _reach(seen_from, self.half_b.shape) < _SETTLED:
                break
            if worth < _HOPELESS:
                break
            matrix = _FULL @ np.linalg.inv(seen_from) @ _HALF @ matrix
        return best, best_worth


def _worth(m: Moments, valid: npt.NDArray[np.bool_]) -> float:
    """The mean correlation of the cells, weighted by texture."""
    correlation, spread_a, spread_b, _, _ = _correlation_of(m)
    weights = (np.minimum(spread_a, spread_b) + 0.1)[valid]
    return float((correlation[valid] * weights).sum() / weights.sum())


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


def _warp(grey: Pixels, matrix: Matrix, shape: tuple[int, ...]) -> Floats:
    """Warp to (h, w); a picture that shrinks much is halved first, so that nothing aliases."""
    shrink = 1 / max(1e-3, abs(float(np.linalg.det(matrix[:2, :2]))) ** 0.5)
    while shrink > 1.7 and min(grey.shape) > 16:
        size = (grey.shape[1] // 2, grey.shape[0] // 2)
        x, y = grey.shape[1] / size[0], grey.shape[0] / size[1]
        half = np.array([[x, 0, (x - 1) / 2], [0, y, (y - 1) / 2], [0, 0, 1.0]])
        grey = cv2.resize(grey, size)  # at half the size, linear is the mean of four, and fast
        matrix, shrink = matrix @ half, shrink / 2
    warped = cv2.warpPerspective(grey, matrix, shape[::-1], borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(warped, np.float32)


def _inside(polygon: npt.NDArray[np.float64], shape: tuple[int, int]) -> Pixels:
    mask: Pixels = np.zeros(shape, np.uint8)
    cv2.fillConvexPoly(mask, np.rint(polygon).astype(np.int32), 1)
    mask = cv2.copyMakeBorder(mask[1:-1, 1:-1], 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    return cv2.erode(mask, np.ones((2 * _ERODE + 1, 2 * _ERODE + 1), np.uint8))


def _block_means(image: Floats, block: int) -> Floats:
    size = (image.shape[1] // block, image.shape[0] // block)
    return np.asarray(cv2.resize(image, size, interpolation=cv2.INTER_AREA), np.float32)


def _sums(images: tuple[Floats, ...], block: int) -> Floats:
    """(images, rows, columns): the mean of every cell, three by three blocks, every two blocks."""
    means = np.stack([_block_means(image, block) for image in images])
    rows, columns = ((side - _BLOCKS) // _STRIDE + 1 for side in means.shape[1:])
    total = np.zeros((len(images), rows, columns), np.float32)
    for y in range(_BLOCKS):
        for x in range(_BLOCKS):
            total += means[
                :,
                y : y + _STRIDE * (rows - 1) + 1 : _STRIDE,
                x : x + _STRIDE * (columns - 1) + 1 : _STRIDE,
            ]
    return total / _BLOCKS**2


def _correlate(a: Floats, b: Floats, block: int) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Per cell: correlation, spread of a and of b, means of a and of b."""
    a, b = a - 128, b - 128
    mean_a, mean_b, square_a, square_b, product = _sums((a, b, a * a, b * b, a * b), block)
    var_a = np.maximum(square_a - mean_a**2, 0)
    var_b = np.maximum(square_b - mean_b**2, 0)
    covariance = product - mean_a * mean_b
    return covariance / np.sqrt(var_a * var_b + 0.5), var_a**0.5, var_b**0.5, mean_a, mean_b


def _correlation_of(m: Moments) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """As `_correlate`, of pictures less 128."""
    var_a, var_b = np.maximum(m.aa - m.a**2, 0), np.maximum(m.bb - m.b**2, 0)
    correlation = (m.ab - m.a * m.b) / np.sqrt(var_a * var_b + 0.5)
    return correlation, var_a**0.5, var_b**0.5, m.a, m.b


def _slopes(half: Floats) -> tuple[Floats, Floats]:
    """Grey levels per px, across and down."""
    return (
        np.asarray(cv2.Sobel(half, cv2.CV_32F, 1, 0, scale=1 / 8)),
        np.asarray(cv2.Sobel(half, cv2.CV_32F, 0, 1, scale=1 / 8)),
    )


def _corners_in(xx: Floats, yy: Floats, xy: Floats) -> Floats:
    """Per cell, 0 to 1: how far its texture runs in two directions; a straight edge gives 0.

    The ratio of the eigenvalues of the structure tensor (Harris and Stephens 1988), from the means
    of the products of the slopes.
    """
    middle, off = (xx + yy) / 2, np.sqrt(((xx - yy) / 2) ** 2 + xy**2)
    return np.asarray((middle - off) / (middle + off + 4.0 / 64))


def _moments(a: Floats, b: Floats) -> Moments:
    """What drift.py needs, over the cells of two pictures at half size."""
    a, b = a - 128, b - 128
    dx, dy = _slopes(a)
    products = (a * a, b * b, a * b, dx * dx, dy * dy, dx * dy, a * dx, a * dy, b * dx, b * dy)
    return Moments(*_sums((a, b, dx, dy, *products), _BLOCK // 2))


def _products_of_slopes(half: Floats) -> tuple[Floats, Floats, Floats]:
    dx, dy = _slopes(half)
    xx, yy, xy = _sums((dx * dx, dy * dy, dx * dy), _BLOCK // 2)
    return xx, yy, xy


def _plain_correlation(
    work_a: Floats, work_b: Floats, valid: npt.NDArray[np.bool_], coarse: tuple[Floats, ...]
) -> float:
    """Correlation of the finest detail over all plain cells together: dust, scratches, weave.

    Two photos of like goods have the same outlines, but not the same dust. 0 where all is textured.
    """
    chosen = valid & (np.maximum(coarse[1], coarse[2]) < _PLAIN)
    if chosen.sum() < 3:
        return 0.0
    a, b = (work - cv2.blur(work, (9, 9)) for work in (work_a, work_b))
    mean_a, mean_b, square_a, square_b, product = _sums((a, b, a * a, b * b, a * b), _BLOCK)
    covariance = (product - mean_a * mean_b)[chosen].sum()
    spread = (square_a - mean_a**2)[chosen].sum() * (square_b - mean_b**2)[chosen].sum()
    return float(covariance / np.sqrt(max(float(spread), 1e-3)))


def _ground(
    work_a: Floats, work_b: Floats, inside: Pixels, better: Floats, texture: Floats
) -> Ground:
    """Judge the border of the common part apart from its middle."""
    depth = cv2.distanceTransform(inside, cv2.DIST_L1, 3)
    border = inside * (depth < _RING * min(inside.shape)).astype(np.uint8)
    cells = _sums((border.astype(np.float32),), _BLOCK)[0] > 0.5
    textured = cells & (texture > _PLAIN)
    count = max(1, int(cells.sum()))
    a, b = (work - cv2.blur(work, (5, 5)) for work in (work_a, work_b))
    outline = cv2.dilate(
        (np.maximum(np.abs(a), np.abs(b)) > _EDGE).astype(np.uint8), np.ones((3, 3), np.uint8)
    )
    return Ground(
        float((textured & (better > _SAME)).sum()) / count,
        float((textured & (better < _OTHER)).sum()) / count,
        _dust(a, b, (border & (1 - outline)).astype(bool)),
        _dust(a, b, (inside & (1 - outline)).astype(bool)),
    )


def _shade(work_a: Floats, work_b: Floats, half_a: Floats, half_b: Floats, inside: Pixels) -> Shade:
    """Compare what lies between the outlines, band by band."""
    fine = tuple(work - cv2.blur(work, (3, 3)) for work in (work_a, work_b))
    smooth = tuple(cv2.blur(half, (5, 5)) for half in (half_a, half_b))
    middle = half_a - smooth[0], half_b - smooth[1]
    coarse = tuple(one - cv2.blur(one, (21, 21)) for one in smooth)
    edges = (np.maximum(np.abs(middle[0]), np.abs(middle[1])) > _FAINT).astype(np.uint8)
    outline = cv2.dilate(edges, np.ones((5, 5), np.uint8))
    shape = (half_a.shape[1], half_a.shape[0])
    between = cv2.resize(inside, shape, interpolation=cv2.INTER_NEAREST) > outline
    wide = cv2.resize(between.astype(np.uint8), inside.shape[::-1], interpolation=cv2.INTER_NEAREST)
    bands = (
        _band(fine[0], fine[1], wide > 0),
        _band(middle[0], middle[1], between),
        _band(coarse[0], coarse[1], between),
    )
    return Shade((bands[0][0], bands[1][0], bands[2][0]), (bands[0][1], bands[1][1], bands[2][1]))


def _band(a: Floats, b: Floats, where: npt.NDArray[np.bool_]) -> tuple[float, float]:
    """Correlation at the places chosen, and the smaller spread; 0, 0 where there are few."""
    if where.sum() < 150:
        return 0.0, 0.0
    x, y = a[where], b[where]
    x, y = x - x.mean(), y - y.mean()
    spread = float(x @ x) / len(x), float(y @ y) / len(y)
    together = float(x @ y) / len(x)
    return together / (spread[0] * spread[1] + 1e-4) ** 0.5, min(spread) ** 0.5


def _dust(a: Floats, b: Floats, where: npt.NDArray[np.bool_]) -> float:
    """Correlation of fine detail at the places chosen; near 0 where there is hardly any."""
    if where.sum() < 200:
        return 0.0
    x, y = a[where], b[where]
    return float(x @ y / (np.sqrt(float(x @ x) * float(y @ y)) + 0.1 * len(x)))


def _tone_off(means_a: Floats, means_b: Floats) -> tuple[float, float]:
    """How far the cells' means lie from a straight line, in grey levels: median and upper tenth.

    Light and reflections differ between two photos; an edit moves all cells alike.
    """
    if len(means_a) < 4 or min(means_a.std(), means_b.std()) < 1.0:
        return 0.0, 0.0
    a, b = means_a - means_a.mean(), means_b - means_b.mean()
    off = np.abs(b - a * float(a @ b / (a @ a))) / max(1.0, float(means_b.std()) / 25)
    return float(np.median(off)), float(np.quantile(off, 0.9))


def _sharpness(work: Floats, spread: Floats) -> Floats:
    """Per cell: the mean step from pixel to pixel against the spread."""
    steps = np.abs(np.diff(work, axis=1, append=work[:, -1:]))
    return np.asarray(_sums((steps,), _BLOCK)[0] / (spread + 2.0))


def _soft(image: Floats) -> Floats:
    return np.asarray(cv2.GaussianBlur(image, (5, 5), 1.1))


def _cells(
    work_a: Floats,
    work_b: Floats,
    inside: Pixels,
    lie: _Lie,
) -> Agreement | None:
    valid = _sums((inside.astype(np.float32),), _BLOCK)[0] > 0.99
    if valid.sum() < 2:
        return None
    fine = _correlate(_soft(work_a), _soft(work_b), _BLOCK)
    raw_a, raw_b = (_block_means(work, 2) for work in (work_a, work_b))
    half_a, half_b = _soft(raw_a), _soft(raw_b)
    moments = _moments(half_a, half_b)
    coarse = _correlation_of(moments)
    corners = np.minimum(
        _corners_in(moments.xx, moments.yy, moments.xy),
        _corners_in(*_products_of_slopes(half_b)),
    )
    across, down, moved = drift_of(moments)
    return Agreement(
        fine=fine[0],
        coarse=coarse[0],
        texture=np.maximum(coarse[1], coarse[2]),
        texture_a=coarse[1],
        texture_b=coarse[2],
        corners=corners,
        drift=np.stack([across, down]) * 2,
        moved=moved,
        plain=_plain_correlation(work_a, work_b, valid, coarse),
        tone_off=_tone_off(coarse[3][valid], coarse[4][valid]),
        ground=_ground(
            work_a,
            work_b,
            inside,
            np.maximum(fine[0], coarse[0]),
            np.maximum(coarse[1], coarse[2]),
        ),
        shade=_shade(work_a, work_b, raw_a, raw_b, inside),
        sharp_a=_sharpness(work_a, coarse[1]),
        sharp_b=_sharpness(work_b, coarse[2]),
        means_a=coarse[3],
        means_b=coarse[4],
        valid=valid,
        matrix=lie.matrix,
        to_work=lie.to_work,
        a_polygon=lie.polygons[0],
        b_polygon=lie.polygons[1],
        share_a=lie.shares()[0],
        share_b=lie.shares()[1],
    )


def cell_middles(
    agreement: Agreement,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """The middles of the valid cells, (n, 2) px of a and (n, 2) px of b."""
    rows, columns = np.nonzero(agreement.valid)
    middles = np.stack([columns, rows], 1) * float(_STEP) + _CELL / 2
    in_b = apply(np.linalg.inv(agreement.to_work), middles.astype(np.float32))
    return apply(np.linalg.inv(agreement.matrix), in_b.astype(np.float32)), in_b
