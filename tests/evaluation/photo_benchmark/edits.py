"""What happens to a picture on its way to another seller: EDITS, name -> (kinds, function).

A function takes RGB pixels and a generator and returns RGB pixels; ENCODINGS say how bytes are
made. `kinds` are the words by which the tool should name the change.
"""

from __future__ import annotations

import io
from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image as PillowImage

from tests.evaluation.photo_benchmark.goods import Image, write

Edit = Callable[[Image, np.random.Generator], Image]


def _resize(image: Image, factor: float) -> Image:
    size = (max(8, round(image.shape[1] * factor)), max(8, round(image.shape[0] * factor)))
    way = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
    return cv2.resize(image, size, interpolation=way)


def clip(values: npt.NDArray[np.floating]) -> Image:
    """Grey levels from 0 to 255."""
    return np.clip(values, 0, 255).astype(np.uint8)


def _crop(image: Image, rng: np.random.Generator, share: float, centred: bool) -> Image:
    """Keep `share` of the area."""
    height, width = image.shape[:2]
    side = share**0.5
    h, w = int(height * side), int(width * side)
    y = (height - h) // 2 if centred else int(rng.integers(0, 2)) * (height - h)
    x = (width - w) // 2 if centred else int(rng.integers(0, 2)) * (width - w)
    return image[y : y + h, x : x + w]


def _rotate(image: Image, degrees: float, fill: bool) -> Image:
    height, width = image.shape[:2]
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0 if fill else 1.08)
    return cv2.warpAffine(image, matrix, (width, height), borderValue=(255, 255, 255))


def _screen_photo(image: Image, rng: np.random.Generator) -> Image:
    """A photo of a screen: perspective, dark surround, moire, glare, tint, blur."""
    height, width = image.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    inset = np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]]) * [width * 0.08, height * 0.08]
    moved = (corners + inset + rng.normal(0, width * 0.035, (4, 2))).astype(np.float32)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    moire = 1 + 0.05 * np.sin(x * 2.1 + y * 0.13) * np.sin(y * 1.9)
    lit = image * moire[..., None] * rng.uniform(0.8, 1.05, 3)
    matrix = cv2.getPerspectiveTransform(corners, moved)
    warped = cv2.warpPerspective(
        lit.astype(np.float32), matrix, (width, height), borderValue=(24, 22, 26)
    )
    glare = 60 * np.exp(
        -(((x - rng.uniform(0, width)) / 140) ** 2 + ((y - rng.uniform(0, height)) / 140) ** 2)
    )
    soft = cv2.GaussianBlur(warped + glare[..., None], (0, 0), 1.1)
    return clip(soft + rng.normal(0, 4, soft.shape))


def _perspective(image: Image, rng: np.random.Generator) -> Image:
    height, width = image.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    moved = (corners + rng.uniform(-0.07, 0.07, (4, 2)) * [width, height]).astype(np.float32)
    return cv2.warpPerspective(
        image,
        cv2.getPerspectiveTransform(corners, moved),
        (width, height),
        borderMode=cv2.BORDER_REPLICATE,
    )


def _border(
    image: Image, rng: np.random.Generator, share: float, colour: tuple[int, int, int]
) -> Image:
    pad = int(share * max(image.shape[:2]))
    return cv2.copyMakeBorder(image, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=colour)


def _frame(image: Image, rng: np.random.Generator) -> Image:
    colour = tuple(int(v) for v in rng.integers(0, 200, 3))
    inner = _border(image, rng, 0.03, colour)  # type: ignore[arg-type]
    outer = _border(inner, rng, 0.02, tuple(int(v) for v in rng.integers(150, 255, 3)))  # type: ignore[arg-type]
    step = max(8, outer.shape[1] // 40)
    edge = max(3, outer.shape[1] // 90)
    for x in range(0, outer.shape[1], step):
        for y in (edge, outer.shape[0] - edge):
            cv2.circle(outer, (x, y), edge, colour, -1, cv2.LINE_AA)
    return outer


def _logo(image: Image, rng: np.random.Generator, share: float) -> Image:
    out = image.copy()
    height, width = out.shape[:2]
    size = int(share * width)
    x = int(rng.choice([size // 2 + 8, width - size // 2 - 8]))
    y = int(rng.choice([size // 2 + 8, height - size // 2 - 8]))
    cv2.circle(out, (x, y), size // 2, rng.integers(0, 255, 3).tolist(), -1, cv2.LINE_AA)
    cv2.circle(out, (x, y), int(size * 0.38), (255, 255, 255), max(1, size // 20), cv2.LINE_AA)
    write(out, rng, (x - size // 3, y + size // 12), size / 150, [255, 255, 255])
    return out


def _watermark(image: Image, rng: np.random.Generator) -> Image:
    layer = np.zeros_like(image)
    height, width = image.shape[:2]
    text = "".join(chr(65 + int(v)) for v in rng.integers(0, 26, 7))
    for y in range(-height // 5, height, max(40, height // 4)):
        cv2.putText(
            layer,
            f"{text}  {text}",
            (10, y + height // 5),
            cv2.FONT_HERSHEY_SIMPLEX,
            width / 400,
            (255, 255, 255),
            max(2, width // 250),
            cv2.LINE_AA,
        )
    turned = _rotate(layer, 20, True) if rng.random() < 0.5 else layer
    strength = (turned.astype(np.float32) / 255).clip(0, 1) * 0.35
    shade = 60.0 if image.mean() > 150 else 255.0
    return clip(image * (1 - strength) + shade * strength)


def _sticker(image: Image, rng: np.random.Generator) -> Image:
    out = image.copy()
    height, width = out.shape[:2]
    w, h = int(width * 0.22), int(height * 0.13)
    x, y = int(rng.integers(0, width - w)), int(rng.integers(0, height - h))
    cv2.rectangle(out, (x, y), (x + w, y + h), (240, 220, 40), -1)
    cv2.rectangle(out, (x, y), (x + w, y + h), (200, 20, 20), max(2, h // 20))
    cv2.putText(
        out,
        str(int(rng.integers(15, 900))) + ",-",
        (x + w // 10, y + int(h * 0.7)),
        cv2.FONT_HERSHEY_SIMPLEX,
        h / 45,
        (180, 0, 0),
        2,
        cv2.LINE_AA,
    )
    return out


def _text_bar(image: Image, rng: np.random.Generator) -> Image:
    out = image.copy()
    height, width = out.shape[:2]
    h = int(height * 0.12)
    y = 0 if rng.random() < 0.5 else height - h
    out[y : y + h] = rng.integers(0, 255, 3)
    write(out, rng, (width // 8, y + int(h * 0.7)), h / 45, [255, 255, 255])
    return out


def _screenshot(image: Image, rng: np.random.Generator, width: int, share: float) -> Image:
    """A page of a market with the picture in it."""
    height = int(width * rng.uniform(0.62, 0.75)) if share < 0.8 else int(width * 1.9)
    page = np.full((height, width, 3), 255, np.uint8)
    page[: height // 14] = rng.integers(20, 120, 3)
    write(page, rng, (20, height // 20), width / 1400, [255, 255, 255])
    inner = _resize(image, share * width / image.shape[1])
    inner = inner[: height - height // 7]
    top, left = height // 9, int(width * 0.04)
    page[top : top + inner.shape[0], left : left + inner.shape[1]] = inner
    for line in range(12):
        y = top + 20 + line * height // 18
        x = left + inner.shape[1] + 24 if share < 0.8 else left
        y = y if share < 0.8 else top + inner.shape[0] + 30 + line * 40
        if x < width - 60 and y < height - 10:
            write(page, rng, (x, y), width / 2000, [40, 40, 40])
    return page


def _collage(image: Image, others: list[Image], rng: np.random.Generator, gap: int) -> Image:
    """2 side by side or 4 in a square, the picture at a random place."""
    tiles = [image, *others]
    order = rng.permutation(len(tiles))
    size = (480, 360)
    cells = [
        cv2.resize(cut_to_shape(tiles[i], size), size, interpolation=cv2.INTER_AREA) for i in order
    ]
    cells = [
        cv2.copyMakeBorder(c, gap, gap, gap, gap, cv2.BORDER_CONSTANT, value=(255, 255, 255))
        for c in cells
    ]
    if len(cells) == 2:
        return np.hstack(cells)
    return np.vstack([np.hstack(cells[:2]), np.hstack(cells[2:])])


def cut_to_shape(image: Image, size: tuple[int, int]) -> Image:
    """Cut to the shape of the cell."""
    height, width = image.shape[:2]
    want = size[0] / size[1]
    if width / height > want:
        w = int(height * want)
        return image[:, (width - w) // 2 : (width - w) // 2 + w]
    h = int(width / want)
    return image[(height - h) // 2 : (height - h) // 2 + h]


def _curve(image: Image, power: float) -> Image:
    return clip(255 * (image / 255.0) ** power)


def _grey(image: Image) -> Image:
    return cv2.cvtColor(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY), cv2.COLOR_GRAY2RGB)


def _equalise(image: Image) -> Image:
    ycc = cv2.cvtColor(image, cv2.COLOR_RGB2YCrCb)
    ycc[..., 0] = cv2.equalizeHist(np.ascontiguousarray(ycc[..., 0]))
    return cv2.cvtColor(ycc, cv2.COLOR_YCrCb2RGB)


def _sepia(image: Image) -> Image:
    matrix = np.array([[0.39, 0.77, 0.19], [0.35, 0.69, 0.17], [0.27, 0.53, 0.13]])
    return clip(image @ matrix.T)


def _vignette(image: Image) -> Image:
    height, width = image.shape[:2]
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    return clip(image * (1.1 - 0.5 * (x**2 + y**2) / 2)[..., None] * [1.05, 1.0, 0.9])


PLAIN: dict[str, tuple[frozenset[str], Edit]] = {
    "same": (frozenset(), lambda i, r: i),
    "half": (frozenset({"resized"}), lambda i, r: _resize(i, 0.5)),
    "small": (frozenset({"resized"}), lambda i, r: _resize(i, 0.3)),
    "tiny": (frozenset({"resized"}), lambda i, r: _resize(i, 0.2)),
    "large": (frozenset({"resized"}), lambda i, r: _resize(i, 1.5)),
    "stretched": (
        frozenset({"stretched"}),
        lambda i, r: cv2.resize(i, (int(i.shape[1] * 0.88), i.shape[0])),
    ),
    "brighter": (frozenset({"brightened"}), lambda i, r: clip(i * 1.25 + 12.0)),
    "darker": (frozenset({"darkened"}), lambda i, r: clip(i * 0.65)),
    "gamma": (frozenset({"brightened"}), lambda i, r: _curve(i, 0.65)),
    "contrast": (frozenset({"contrast"}), lambda i, r: clip((i - 128.0) * 1.5 + 128)),
    "flat": (frozenset({"contrast"}), lambda i, r: clip((i - 128.0) * 0.55 + 140)),
    "tint_warm": (frozenset({"tinted"}), lambda i, r: clip(i * [1.12, 1.0, 0.78])),
    "tint_cold": (frozenset({"tinted"}), lambda i, r: clip(i * [0.82, 1.0, 1.14])),
    "grey": (frozenset({"grey"}), lambda i, r: _grey(i)),
    "sepia": (frozenset({"tinted"}), lambda i, r: _sepia(i)),
    "equalised": (frozenset({"filtered"}), lambda i, r: _equalise(i)),
    "posterised": (frozenset({"filtered"}), lambda i, r: np.minimum(i // 48 * 48, 231) + 24),
    "blurred": (
        frozenset({"filtered"}),
        lambda i, r: cv2.GaussianBlur(i, (0, 0), i.shape[1] / 350),
    ),
    "sharpened": (
        frozenset({"filtered"}),
        lambda i, r: clip(i + 1.5 * (i.astype(float) - cv2.GaussianBlur(i, (0, 0), 2.0))),
    ),
    "grain": (frozenset({"filtered"}), lambda i, r: clip(i + r.normal(0, 14, i.shape))),
    "vignette": (frozenset({"filtered"}), lambda i, r: _vignette(i)),
    "crop_95": (frozenset({"cropped"}), lambda i, r: _crop(i, r, 0.92, True)),
    "crop_80": (frozenset({"cropped"}), lambda i, r: _crop(i, r, 0.8, True)),
    "crop_80_corner": (frozenset({"cropped"}), lambda i, r: _crop(i, r, 0.8, False)),
    "crop_60_corner": (frozenset({"cropped"}), lambda i, r: _crop(i, r, 0.6, False)),
    "crop_45": (frozenset({"cropped"}), lambda i, r: _crop(i, r, 0.45, True)),
    "crop_30": (frozenset({"cropped"}), lambda i, r: _crop(i, r, 0.3, True)),
    "crop_30_corner": (frozenset({"cropped"}), lambda i, r: _crop(i, r, 0.3, False)),
    "crop_square": (frozenset({"cropped"}), lambda i, r: cut_to_shape(i, (1, 1))),
    "mirror": (frozenset({"mirrored"}), lambda i, r: i[:, ::-1]),
    "flip": (frozenset({"mirrored", "turned"}), lambda i, r: i[::-1]),
    "turn_90": (frozenset({"turned"}), lambda i, r: np.rot90(i)),
    "turn_180": (frozenset({"turned"}), lambda i, r: np.rot90(i, 2)),
    "turn_270": (frozenset({"turned"}), lambda i, r: np.rot90(i, 3)),
    "tilt_3": (frozenset({"tilted"}), lambda i, r: _rotate(i, 3, False)),
    "tilt_7": (frozenset({"tilted"}), lambda i, r: _rotate(i, -7, True)),
    "tilt_12": (frozenset({"tilted"}), lambda i, r: _rotate(i, 12, True)),
    "perspective": (frozenset({"perspective"}), _perspective),
    "screen": (frozenset({"perspective"}), _screen_photo),
    "border_white": (frozenset({"border"}), lambda i, r: _border(i, r, 0.08, (255, 255, 255))),
    "border_black": (frozenset({"border"}), lambda i, r: _border(i, r, 0.05, (0, 0, 0))),
    "border_wide": (frozenset({"border"}), lambda i, r: _border(i, r, 0.2, (235, 230, 225))),
    "frame": (frozenset({"border"}), _frame),
    "logo": (frozenset({"overlay"}), lambda i, r: _logo(i, r, 0.16)),
    "logo_big": (frozenset({"overlay"}), lambda i, r: _logo(i, r, 0.33)),
    "watermark": (frozenset({"overlay"}), _watermark),
    "sticker": (frozenset({"overlay"}), _sticker),
    "text_bar": (frozenset({"overlay"}), _text_bar),
    "page_wide": (frozenset({"inset"}), lambda i, r: _screenshot(i, r, 1280, 0.5)),
    "page_small": (frozenset({"inset"}), lambda i, r: _screenshot(i, r, 1440, 0.33)),
    "page_phone": (frozenset({"inset"}), lambda i, r: _screenshot(i, r, 640, 0.92)),
}

_P = PLAIN


def _chain(*names: str) -> tuple[frozenset[str], Edit]:
    kinds = frozenset().union(*(_P[name][0] for name in names))

    def edit(image: Image, rng: np.random.Generator) -> Image:
        for name in names:
            image = np.ascontiguousarray(_P[name][1](np.ascontiguousarray(image), rng))
        return image

    return kinds, edit


COMBINED: dict[str, tuple[frozenset[str], Edit]] = {
    "+".join(names): _chain(*names)
    for names in (
        ("crop_80_corner", "mirror"),
        ("crop_60_corner", "tint_warm", "half"),
        ("mirror", "logo", "brighter"),
        ("crop_80", "tilt_3", "text_bar"),
        ("grey", "crop_45"),
        ("turn_90", "border_white"),
        ("small", "watermark"),
        ("mirror", "page_wide"),
        ("tint_cold", "crop_60_corner", "sticker"),
        ("screen", "crop_80"),
    )
}
EDITS = {**PLAIN, **COMBINED}
COLLAGES = {
    "collage_2": (1, 0),
    "collage_2_gap": (1, 6),
    "collage_4": (3, 0),
    "collage_4_gap": (3, 5),
}


def collage(name: str, image: Image, others: list[Image], rng: np.random.Generator) -> Image:
    """A collage of the picture with one or three others."""
    count, gap = COLLAGES[name]
    return _collage(image, others[:count], rng, gap)


def encode(image: Image, rng: np.random.Generator) -> bytes:
    """Bytes in a format and quality drawn at random, as sites save them."""
    draw = rng.random()
    out = io.BytesIO()
    picture = PillowImage.fromarray(np.ascontiguousarray(image))
    if draw < 0.75:
        picture.save(out, "JPEG", quality=int(rng.choice([35, 55, 70, 80, 88, 93])))
    elif draw < 0.9:
        picture.save(out, "WEBP", quality=int(rng.choice([40, 70, 85])), method=0)
    else:
        picture.save(out, "PNG", compress_level=1)
    return out.getvalue()
