"""Hard negatives: FAMILIES, name -> a function that makes pictures which are no copies.

Same design, sibling designs, same room, same page, same seller's overlay, stills of a video, size
charts and empty pictures, simple drawings on a plain ground, whole listings.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from PIL import Image as PillowImage
from PIL import ImageDraw

from tests.evaluation.photo_benchmark.edits import PLAIN
from tests.evaluation.photo_benchmark.goods import (
    Image,
    make_design,
    make_room,
    noise,
    reshoot,
    shoot,
    sibling,
    write,
)
from tests.evaluation.photo_benchmark.lookalikes import listing, look_alikes


def _family(rng: np.random.Generator) -> list[Image]:
    design = make_design(rng)
    loose = float(rng.choice([0.05, 0.3, 1.0]))
    shots = [shoot(design, rng, loose=loose) for _ in range(3)]
    return shots + [shoot(sibling(design, rng), rng, loose=loose) for _ in range(2)]


def _room(rng: np.random.Generator) -> list[Image]:
    design, room = make_design(rng), make_room(rng)
    grounds = [room, reshoot(room, rng), reshoot(room, rng)]
    return [shoot(design, rng, ground=ground, loose=3.0, temples="folded") for ground in grounds]


def _chrome(rng: np.random.Generator) -> list[Image]:
    """Different goods in the same page."""
    seed = int(rng.integers(0, 2**31))
    pages = []
    name = str(rng.choice(["page_wide", "page_small", "page_phone"]))
    for _ in range(3):
        goods = shoot(make_design(rng), rng)
        pages.append(PLAIN[name][1](goods, np.random.default_rng(seed)))
    return pages


def _seller(rng: np.random.Generator) -> list[Image]:
    """Different goods under the same seller's logo, bar, frame or watermark."""
    seed = int(rng.integers(0, 2**31))
    name = str(rng.choice(["logo", "logo_big", "text_bar", "frame", "watermark", "sticker"]))
    grounds = [None, make_room(rng) if rng.random() < 0.5 else None, None]
    return [
        PLAIN[name][1](shoot(make_design(rng), rng, ground=ground), np.random.default_rng(seed))
        for ground in grounds
    ]


def _stills(rng: np.random.Generator) -> list[Image]:
    """The camera stands, the piece is moved a little: one room, other noise, other light."""
    design, room = make_design(rng), make_room(rng)
    stills = []
    for number in range(3):
        still = shoot(design, rng, ground=room, loose=0.5)
        shift = np.array([[1, 0, 5 * number], [0, 1, 3 * number]], np.float32)
        moved = cv2.warpAffine(still, shift, still.shape[1::-1], borderMode=cv2.BORDER_REPLICATE)
        stills.append(moved)
    return stills


def _plain(rng: np.random.Generator) -> list[Image]:
    """Almost empty, one-colour and two-tone pictures, a size chart with other figures."""
    blank = np.full((600, 800, 3), rng.integers(0, 255, 3), np.uint8)
    two = blank.copy()
    two[:, 400:] = rng.integers(0, 255, 3)
    ramp = np.repeat(np.linspace(200, 255, 800)[None], 600, 0)[..., None].repeat(3, 2)
    noisy = np.clip(blank + rng.normal(0, 3, blank.shape), 0, 255).astype(np.uint8)
    return [blank, noisy, two, ramp.astype(np.uint8), *(_chart(rng) for _ in range(2))]


def _chart(rng: np.random.Generator) -> Image:
    chart = np.full((600, 800, 3), 255, np.uint8)
    for row in range(6):
        cv2.line(chart, (40, 80 + row * 80), (760, 80 + row * 80), (120, 120, 120), 2)
        write(chart, rng, (60, 130 + row * 80), 1.0, [30, 30, 30])
    return chart


def _drawn(rng: np.random.Generator) -> list[Image]:
    """Frames of different designs drawn in plain lines on a plain ground, each by itself."""
    ground = (
        (255, 255, 255) if rng.random() < 0.6 else tuple(int(v) for v in rng.integers(200, 250, 3))
    )
    return [_drawing(rng, ground) for _ in range(4)]


def _drawing(rng: np.random.Generator, ground: tuple[int, ...]) -> Image:
    image = PillowImage.new("RGB", (1600, 1200), ground)
    draw = ImageDraw.Draw(image)
    colour = tuple(int(v) for v in rng.integers(0, 180, 3))
    lens, line = int(rng.integers(380, 560)), int(rng.integers(8, 60))
    height, bridge = int(lens * rng.uniform(0.6, 1.0)), int(rng.integers(60, 180))
    shape = int(rng.integers(0, 3))
    for side in (-1, 1):
        x, y = 800 + side * (lens + bridge) // 2, 600
        box = (x - lens // 2, y - height // 2, x + lens // 2, y + height // 2)
        if shape == 0:
            draw.ellipse(box, outline=colour, width=line)
        else:
            draw.rounded_rectangle(box, int(height * 0.2 * shape), outline=colour, width=line)
        start = (x + side * lens // 2, y - height // 4)
        draw.line((*start, start[0] + side * 120, start[1] - 30), fill=colour, width=line)
    draw.line((800 - bridge // 2, 570, 800 + bridge // 2, 570), fill=colour, width=line)
    return np.asarray(image.resize((800, 600), PillowImage.Resampling.LANCZOS))


def reshot(picture: Image, rng: np.random.Generator) -> Image:
    """The same scene a moment later from a slightly other place, with something moved in it."""
    moved = reshoot(picture.astype(np.float32), rng)
    height, width = picture.shape[:2]
    size = int(min(height, width) * rng.uniform(0.2, 0.35))
    y, x = int(rng.integers(0, height - size)), int(rng.integers(0, width - size))
    v, u = int(rng.integers(0, height - size)), int(rng.integers(0, width - size))
    soft = cv2.GaussianBlur(
        cv2.circle(
            np.zeros((size, size), np.float32), (size // 2, size // 2), size // 2 - 8, 1, -1
        ),
        (0, 0),
        4,
    )[..., None]
    part = moved[y : y + size, x : x + size]
    moved[y : y + size, x : x + size] = (
        part * (1 - soft) + picture[v : v + size, u : u + size].astype(np.float32) * soft
    )
    grain = noise(rng, (height, width), 1.5)[..., None] * float(rng.uniform(1, 4))
    return np.clip(moved + grain, 0, 255).astype(np.uint8)


FAMILIES: dict[str, Callable[[np.random.Generator], list[Image]]] = {
    "design": _family,
    "look": look_alikes,
    "room": _room,
    "page": _chrome,
    "seller": _seller,
    "video": _stills,
    "drawn": _drawn,
    "plain": _plain,
    "listing": listing,
}
