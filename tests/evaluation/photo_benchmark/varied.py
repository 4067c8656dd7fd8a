"""Edits of any strength, one to three at once: what other hands do to a picture than edits.py.

EDITS in edits.py are few and each always does the same, so that figures compare from run to run; a
model that learns from these alone takes their strengths for the only ones. VARIED as EDITS, but no
set draws from them by itself: make.families does when told to.
"""

from __future__ import annotations

import io
from collections.abc import Callable

import cv2
import numpy as np
from PIL import Image as PillowImage

from tests.evaluation.photo_benchmark.contrasts import CONTRASTS
from tests.evaluation.photo_benchmark.edits import clip, cut_to_shape
from tests.evaluation.photo_benchmark.goods import Image, make_design, make_room, noise, shoot
from tests.evaluation.photo_benchmark.signs import SIGNS

Rng = np.random.Generator
Step = Callable[[Image, Rng], Image]

_FONTS = (cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_DUPLEX, cv2.FONT_HERSHEY_TRIPLEX)
_LEAST_SIDE = 90  # px


def _colour(rng: Rng, least: int = 0, most: int = 256) -> list[int]:
    return [int(v) for v in rng.integers(least, most, 3)]


def _plain_colour(rng: Rng) -> list[int]:
    """White, black, or any."""
    draw = rng.random()
    return [255] * 3 if draw < 0.4 else [0] * 3 if draw < 0.6 else _colour(rng)


def _words(rng: Rng, least: int, most: int) -> str:
    letters = rng.integers(0, 26, int(rng.integers(least, most)))
    return "".join(chr(97 + int(v)) for v in letters).capitalize()


def _write(image: Image, rng: Rng, at: tuple[int, int], scale: float, colour: list[int]) -> None:
    font, thick = int(rng.choice(_FONTS)), max(1, round(scale * 2))
    cv2.putText(image, _words(rng, 4, 12), at, font, scale, colour, thick, cv2.LINE_AA)


def _resized(image: Image, width: int, height: int) -> Image:
    way = cv2.INTER_AREA if width < image.shape[1] else cv2.INTER_CUBIC
    size = (max(_LEAST_SIDE, width), max(_LEAST_SIDE, height))
    return np.asarray(cv2.resize(image, size, interpolation=way), np.uint8)


# tones


def _levels(image: Image, rng: Rng) -> Image:
    return clip(image * rng.uniform(0.6, 1.45) + rng.uniform(-25, 35))


def _gamma(image: Image, rng: Rng) -> Image:
    return clip(255 * (image / 255.0) ** np.exp(rng.uniform(-0.8, 0.7)))


def _contrast(image: Image, rng: Rng) -> Image:
    middle = rng.uniform(90, 165)
    return clip((image - middle) * rng.uniform(0.45, 1.7) + middle)


def _bent(image: Image, rng: Rng) -> Image:
    """A curve of each colour, as the filters of phones have."""
    at = np.linspace(0, 255, 5)
    levels = np.arange(256)
    curves = [np.interp(levels, at, np.sort(at + rng.normal(0, 22, 5))) for _ in range(3)]
    return clip(np.stack([curves[n][image[..., n]] for n in range(3)], -1))


def _tinted(image: Image, rng: Rng) -> Image:
    return clip(image * rng.uniform(0.72, 1.2, 3))


def _saturated(image: Image, rng: Rng) -> Image:
    grey = image @ np.array([0.299, 0.587, 0.114])
    return clip(grey[..., None] + (image - grey[..., None]) * rng.uniform(0.0, 1.9))


def _toned(image: Image, rng: Rng) -> Image:
    """Grey, from one colour to another: sepia and its like."""
    grey = (image @ np.array([0.299, 0.587, 0.114]))[..., None] / 255
    dark, light = np.array(_colour(rng, 0, 90)), np.array(_colour(rng, 190, 256))
    return clip(dark + grey * (light - dark))


def _posterised(image: Image, rng: Rng) -> Image:
    step = 255 / int(rng.integers(4, 9))
    return clip(np.round(image / step) * step)


def _vignette(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    far = (x - rng.uniform(-0.2, 0.2)) ** 2 + (y - rng.uniform(-0.2, 0.2)) ** 2
    return clip(image * (1 - rng.uniform(0.15, 0.45) * far)[..., None])


def _evened(image: Image, rng: Rng) -> Image:
    """The histogram made even, all over or tile by tile."""
    ycc = cv2.cvtColor(image, cv2.COLOR_RGB2YCrCb)
    luma = np.ascontiguousarray(ycc[..., 0])
    if rng.random() < 0.5:
        tiles = int(rng.integers(4, 13))
        even = cv2.createCLAHE(float(rng.uniform(1.5, 5.0)), (tiles, tiles)).apply(luma)
    else:
        even = cv2.equalizeHist(luma)
    mixed = rng.uniform(0.6, 1.0)
    ycc[..., 0] = clip(luma * (1 - mixed) + even * mixed)
    return np.asarray(cv2.cvtColor(ycc, cv2.COLOR_YCrCb2RGB), np.uint8)


def _local_contrast(image: Image, rng: Rng) -> Image:
    names = list(CONTRASTS)
    return CONTRASTS[names[int(rng.integers(len(names)))]][1](image, rng)


# what is lost


def _small(image: Image, rng: Rng) -> Image:
    factor = max(rng.uniform(0.17, 0.7), 140 / max(image.shape[:2]))
    return _resized(image, round(image.shape[1] * factor), round(image.shape[0] * factor))


def _squeezed(image: Image, rng: Rng) -> Image:
    out = io.BytesIO()
    PillowImage.fromarray(image).save(out, "JPEG", quality=int(rng.integers(8, 40)))
    return np.asarray(PillowImage.open(out).convert("RGB"))


def _blurred(image: Image, rng: Rng) -> Image:
    spread = image.shape[1] * rng.uniform(0.0012, 0.004)
    return np.asarray(cv2.GaussianBlur(image, (0, 0), spread), np.uint8)


def _smoothed(image: Image, rng: Rng) -> Image:
    return np.asarray(cv2.medianBlur(image, int(rng.choice([3, 5, 7]))), np.uint8)


def _sharpened(image: Image, rng: Rng) -> Image:
    soft = cv2.GaussianBlur(image, (0, 0), rng.uniform(1.0, 4.0)).astype(np.float32)
    return clip(image + rng.uniform(0.6, 2.2) * (image - soft))


def _grainy(image: Image, rng: Rng) -> Image:
    grain = noise(rng, (image.shape[0], image.shape[1]), float(rng.uniform(1.0, 2.5)))
    return clip(image + grain[..., None] * rng.uniform(4, 16))


# how it lies


def _cut(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    side = rng.uniform(0.36, 0.95) ** 0.5
    tall = float(np.clip(side * rng.uniform(0.85, 1.18), 0.5, 1))
    wide = float(np.clip(side * side / tall, 0.5, 1))
    h, w = int(height * tall), int(width * wide)
    # what matters stands near the middle: no cut shows bare ground only
    y = int((height - h) * np.clip(rng.normal(0.5, 0.3), 0, 1))
    x = int((width - w) * np.clip(rng.normal(0.5, 0.3), 0, 1))
    return np.ascontiguousarray(image[y : y + h, x : x + w])


def _mirrored(image: Image, rng: Rng) -> Image:
    return np.ascontiguousarray(image[:, ::-1])


def _turned(image: Image, rng: Rng) -> Image:
    return np.ascontiguousarray(np.rot90(image, int(rng.integers(1, 4))))


def _tilted(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    degrees, inside = float(rng.uniform(1.5, 14) * rng.choice([-1, 1])), rng.random() < 0.4
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.25 if inside else 1.0)
    fill = _plain_colour(rng)
    return np.asarray(cv2.warpAffine(image, matrix, (width, height), borderValue=fill), np.uint8)


def _stretched(image: Image, rng: Rng) -> Image:
    factor = float(rng.uniform(0.8, 1.25))
    return _resized(image, round(image.shape[1] * factor), image.shape[0])


def corners_of(width: int, height: int) -> Image:
    """(4, 2) the corners of a picture, px."""
    return np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)


def _seen_askew(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    corners = corners_of(width, height)
    far = rng.uniform(0.03, 0.1)
    moved = (corners + rng.uniform(-far, far, (4, 2)) * [width, height]).astype(np.float32)
    matrix = cv2.getPerspectiveTransform(corners, moved)
    fill = _plain_colour(rng)
    return np.asarray(
        cv2.warpPerspective(image, matrix, (width, height), borderValue=fill), np.uint8
    )


def glare(height: int, width: int, rng: Rng, widest: float, brightest: float) -> Image:
    """(h, w) grey levels that a reflection adds, up to so many; as wide as a share of the width."""
    at, reach = rng.uniform(0, 1, 2) * [width, height], width * rng.uniform(0.08, widest)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    far = ((x - at[0]) ** 2 + (y - at[1]) ** 2) / reach**2
    return np.asarray(rng.uniform(0, brightest) * np.exp(-far))


def _off_a_screen(image: Image, rng: Rng) -> Image:
    """A photo of a screen: its dark edge, what is around it, stripes, a reflection."""
    height, width = image.shape[:2]
    around = make_room(rng) if rng.random() < 0.4 else None
    ground = (
        cv2.resize(around, (width, height)).astype(np.float32) * rng.uniform(0.2, 0.7)
        if around is not None
        else np.full((height, width, 3), _colour(rng, 5, 90), np.float32)
    )
    inset = rng.uniform(0.02, 0.14)
    corners = corners_of(width, height)
    inwards = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]]) * [width * inset, height * inset]
    moved = corners + inwards + rng.normal(0, width * 0.025, (4, 2))
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    stripes = 1 + rng.uniform(0, 0.08) * np.sin(x * rng.uniform(0.4, 2.4) + y * rng.uniform(0, 0.6))
    lit = image * stripes[..., None] * rng.uniform(0.75, 1.1, 3)
    matrix = cv2.getPerspectiveTransform(corners, moved.astype(np.float32))
    seen = cv2.warpPerspective(lit.astype(np.float32), matrix, (width, height))
    where = cv2.warpPerspective(np.ones((height, width), np.float32), matrix, (width, height))
    edge = cv2.dilate(where, np.ones((3, 3), np.uint8), iterations=max(1, width // 120))
    out = np.where(where[..., None] > 0.5, seen, ground * (1 - edge[..., None]))
    out = out + glare(height, width, rng, 0.3, 80)[..., None]
    soft = cv2.GaussianBlur(out, (0, 0), rng.uniform(0.6, 1.6))
    return clip(soft + rng.normal(0, rng.uniform(1, 5), soft.shape))


# what is put over it


def _logo(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    reach = int(min(height, width) * rng.uniform(0.05, 0.17))
    y = int(rng.integers(reach, max(reach + 1, height - reach)))
    x = int(rng.choice([reach + 6, width - reach - 6, int(rng.integers(reach, width - reach + 1))]))
    over, colour = image.copy(), _colour(rng)
    if rng.random() < 0.5:
        cv2.circle(over, (x, y), reach, colour, -1, cv2.LINE_AA)
    else:
        ends = (x - reach, y - reach // 2), (x + reach, y + reach // 2)
        cv2.rectangle(over, *ends, colour, -1)
    _write(over, rng, (x - reach * 3 // 4, y + reach // 8), reach / 60, _colour(rng))
    solid = 1.0 if rng.random() < 0.6 else rng.uniform(0.4, 0.9)
    return clip(image * (1 - solid) + over * solid)


def _sign(image: Image, rng: Rng) -> Image:
    names = list(SIGNS)
    return SIGNS[names[int(rng.integers(len(names)))]][1](image, rng)


def _bar(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    deep = int(height * rng.uniform(0.06, 0.18))
    y = int(rng.choice([0, height - deep, int(rng.integers(0, height - deep))]))
    over = image.copy()
    over[y : y + deep] = _colour(rng)
    _write(over, rng, (width // 12, y + deep * 2 // 3), deep / 45, _colour(rng))
    solid = 1.0 if rng.random() < 0.6 else rng.uniform(0.4, 0.8)
    return clip(image * (1 - solid) + over * solid)


def _drawn_on(image: Image, rng: Rng) -> Image:
    """Rings, arrows and strokes."""
    out = image.copy()
    height, width = out.shape[:2]
    for _ in range(int(rng.integers(1, 4))):
        at = (rng.uniform(0.15, 0.85, 2) * [width, height]).astype(int).tolist()
        to = (rng.uniform(0.15, 0.85, 2) * [width, height]).astype(int).tolist()
        colour, thick = _colour(rng), max(2, width // int(rng.integers(60, 200)))
        if rng.random() < 0.5:
            cv2.arrowedLine(out, at, to, colour, thick, cv2.LINE_AA, tipLength=0.2)
        else:
            axes = (rng.uniform(0.05, 0.2, 2) * width).astype(int).tolist()
            cv2.ellipse(out, at, axes, 0, 0, 360, colour, thick, cv2.LINE_AA)
    return out


def _stickers(image: Image, rng: Rng) -> Image:
    """Prices, faces and stamps, each turned a little."""
    out = image
    for _ in range(int(rng.integers(1, 4))):
        out = _sticker(out, rng)
    return out


def _sticker(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    side = max(24, int(min(height, width) * rng.uniform(0.1, 0.24)))
    over, where = np.zeros((side, side, 3), np.uint8), np.zeros((side, side), np.uint8)
    middle = (side // 2, side // 2)
    if rng.random() < 0.5:
        over[:] = _colour(rng, 120, 256)
        top = int(side * rng.uniform(0.1, 0.3))
        where[top : side - top] = 255
        number = str(int(rng.integers(5, 999)))
        cv2.putText(over, number, (side // 8, side * 5 // 8), 0, side / 55, _colour(rng, 0, 120), 2)
    else:
        over[:] = (250, 205, 60)
        cv2.circle(where, middle, side // 2 - 2, 255, -1, cv2.LINE_AA)
        for x in (side // 3, side * 2 // 3):
            cv2.circle(over, (x, side * 2 // 5), side // 12, (60, 40, 10), -1, cv2.LINE_AA)
        mouth = (side // 4, side // 5)
        cv2.ellipse(over, middle, mouth, 0, 20, 160, (60, 40, 10), max(2, side // 20))
    turn = cv2.getRotationMatrix2D(middle, float(rng.uniform(-25, 25)), 1.0)
    over, where = (cv2.warpAffine(one, turn, (side, side)) for one in (over, where))
    y, x = int(rng.integers(0, height - side + 1)), int(rng.integers(0, width - side + 1))
    out, share = image.copy(), where[..., None] / 255.0
    under = out[y : y + side, x : x + side]
    out[y : y + side, x : x + side] = clip(under * (1 - share) + over * share)
    return out


def _hidden_part(image: Image, rng: Rng) -> Image:
    """A part blurred, in large squares, or covered."""
    out = image.copy()
    height, width = out.shape[:2]
    h, w = int(height * rng.uniform(0.08, 0.25)), int(width * rng.uniform(0.1, 0.3))
    y, x = int(rng.integers(0, height - h)), int(rng.integers(0, width - w))
    part, way = out[y : y + h, x : x + w], rng.random()
    if way < 0.4:
        few = cv2.resize(part, (max(2, w // 22), max(2, h // 22)), interpolation=cv2.INTER_AREA)
        hidden = cv2.resize(few, (w, h), interpolation=cv2.INTER_NEAREST)
    elif way < 0.7:
        hidden = cv2.GaussianBlur(part, (0, 0), 12)
    else:
        hidden = np.full_like(part, _plain_colour(rng))
    out[y : y + h, x : x + w] = hidden
    return out


# what is put around it


def _border(image: Image, rng: Rng) -> Image:
    side = max(image.shape[:2])
    pads = [int(side * rng.uniform(0.015, 0.2))] * 4
    if rng.random() < 0.3:
        pads = [int(side * share) for share in rng.uniform(0.01, 0.2, 4)]
    if rng.random() < 0.2:  # like an instant print
        pads[1] = pads[0] * 3
    colour = _plain_colour(rng)
    out = cv2.copyMakeBorder(image, *pads, cv2.BORDER_CONSTANT, value=colour)
    if rng.random() < 0.3:
        inner = (pads[2] // 2, pads[0] // 2), (out.shape[1] - pads[3] // 2, out.shape[0] - 1)
        cv2.rectangle(out, *inner, _colour(rng), max(2, min(pads) // 4))
    return np.asarray(out, np.uint8)


def _rounded(image: Image, rng: Rng) -> Image:
    height, width = image.shape[:2]
    reach = int(min(height, width) * rng.uniform(0.05, 0.25))
    where = np.zeros((height, width), np.uint8)
    cv2.rectangle(where, (reach, 0), (width - reach, height), 255, -1)
    cv2.rectangle(where, (0, reach), (width, height - reach), 255, -1)
    for x in (reach, width - reach):
        for y in (reach, height - reach):
            cv2.circle(where, (x, y), reach, 255, -1)
    fill = np.array(_plain_colour(rng), np.uint8)
    return np.where(where[..., None] > 0, image, fill)


def _on_a_page(image: Image, rng: Rng) -> Image:
    """A capture of a page or an app, the picture somewhere in it."""
    wide = rng.random() < 0.5
    width = int(rng.integers(900, 1500)) if wide else int(rng.integers(500, 800))
    height = int(width * (rng.uniform(0.55, 0.8) if wide else rng.uniform(1.3, 2.1)))
    ground = 255 if rng.random() < 0.6 else int(rng.integers(15, 250))
    page = np.full((height, width, 3), ground, np.uint8)
    ink = [40] * 3 if ground > 128 else [220] * 3
    page[: height // int(rng.integers(10, 20))] = _colour(rng)
    share = rng.uniform(0.32, 0.62) if wide else rng.uniform(0.75, 1.0)
    scale = min(share * width / image.shape[1], 0.8 * height / image.shape[0])
    inner = _resized(image, int(image.shape[1] * scale), int(image.shape[0] * scale))
    inner = inner[: int(height * 0.85), :width]
    top, left = int(height * rng.uniform(0.07, 0.13)), int((width - inner.shape[1]) * rng.random())
    page[top : top + inner.shape[0], left : left + inner.shape[1]] = inner
    for y in range(top + inner.shape[0] + 40, height - 10, max(24, height // 22)):
        _write(page, rng, (width // 20, y), width / 1500, ink)
    if wide:
        x = left + inner.shape[1] + 20 if left < width // 3 else 20
        for y in range(top + 30, top + inner.shape[0], max(24, height // 18)):
            if x < width * 0.8 and (x > left or left > width // 3):
                _write(page, rng, (x, y), width / 2200, ink)
    return page


def _among_others(image: Image, rng: Rng) -> Image:
    """A collage: side by side, below each other, in a square."""
    rows, columns = [(1, 2), (2, 1), (1, 3), (2, 2), (2, 2), (2, 3)][int(rng.integers(0, 6))]
    width, height = int(rng.integers(300, 520)), int(rng.integers(260, 480))
    gap, colour = int(rng.choice([0, 0, 3, 8, 16])), _plain_colour(rng)
    mine = int(rng.integers(0, rows * columns))
    tiles = []
    for number in range(rows * columns):
        tile = image if number == mine else _another(rng)
        cell = _resized(cut_to_shape(tile, (width, height)), width, height)
        pads = [gap] * 4
        tiles.append(cv2.copyMakeBorder(cell, *pads, cv2.BORDER_CONSTANT, value=colour))
    return np.vstack([np.hstack(tiles[row * columns :][:columns]) for row in range(rows)])


def _another(rng: Rng) -> Image:
    ground = make_room(rng) if rng.random() < 0.5 else None
    return shoot(make_design(rng), rng, ground=ground, loose=1.0)


# of one group at most one step is taken; one named twice is taken twice as often
_GROUPS: tuple[tuple[Step, ...], ...] = (
    (
        _levels,
        _gamma,
        _contrast,
        _bent,
        _tinted,
        _saturated,
        _toned,
        _posterised,
        _vignette,
        _evened,
        _local_contrast,
    ),
    (
        _small,
        _squeezed,
        _blurred,
        _smoothed,
        _sharpened,
        _grainy,
    ),
    (
        _cut,
        _cut,
        _cut,
        _mirrored,
        _turned,
        _tilted,
        _stretched,
        _seen_askew,
        _off_a_screen,
        _off_a_screen,
    ),
    (
        _logo,
        _sign,
        _sign,
        _bar,
        _drawn_on,
        _stickers,
        _hidden_part,
    ),
    (
        _border,
        _border,
        _rounded,
        _on_a_page,
        _among_others,
    ),
)


def varied_step(rng: Rng) -> Step:
    """One edit of any kind but another photo of a screen."""
    group = _GROUPS[int(rng.integers(len(_GROUPS)))]
    steps = [step for step in group if step is not _off_a_screen]
    return steps[int(rng.integers(len(steps)))]


def _varied(steps: int) -> Step:
    def edit(image: Image, rng: Rng) -> Image:
        groups = sorted(int(at) for at in rng.permutation(len(_GROUPS))[:steps])
        for at in groups:
            step = _GROUPS[at][int(rng.integers(len(_GROUPS[at])))]
            image = np.ascontiguousarray(step(np.ascontiguousarray(image), rng))
        return image

    return edit


_ANY: frozenset[str] = frozenset()
VARIED: dict[str, tuple[frozenset[str], Step]] = {
    f"varied_{steps}_{number}": (_ANY, _varied(steps))
    for steps, numbers in ((1, 12), (2, 12), (3, 6))
    for number in range(numbers)
}
