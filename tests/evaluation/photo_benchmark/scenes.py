"""More hard negatives, in which most of two pictures agrees and what matters does not: SCENES, as
FAMILIES in families.py, but no set draws from them by itself: train.py makes sets of them.

Pages of an app around different goods, stills in which only the goods move, other shots over one
table, charts of one layout with other figures, single blots on a plain ground.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt

from tests.evaluation.photo_benchmark.goods import Image, make_design, make_room, noise, shoot

Floats = npt.NDArray[np.float32]
_FONTS = (cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_DUPLEX, cv2.FONT_HERSHEY_COMPLEX)


def _letters(rng: np.random.Generator, least: int, most: int) -> str:
    return "".join(chr(97 + int(v)) for v in rng.integers(0, 26, int(rng.integers(least, most))))


def _goods(rng: np.random.Generator) -> Image:
    ground = make_room(rng) if rng.random() < 0.5 else None
    return shoot(make_design(rng), rng, ground=ground, loose=2.0)


def _app(rng: np.random.Generator) -> list[Image]:
    """One page of an app, long or wide, around different goods and words."""
    width = int(rng.integers(560, 900))
    height = int(width * rng.uniform(0.7, 2.1))
    bar, share = int(height * rng.uniform(0.04, 0.12)), rng.uniform(0.2, 0.5)
    full = height > width
    inner = (
        width if full else int(width * rng.uniform(0.4, 0.6)),
        int(height * share * (1.0 + 0.4 * (not full))),
    )
    colour, accent = rng.integers(0, 255, 3).tolist(), rng.integers(30, 220, 3).tolist()
    font, seed = int(rng.choice(_FONTS)), int(rng.integers(0, 2**31))
    return [
        _page(rng, np.random.default_rng(seed), (width, height), bar, inner, colour, accent, font)
        for _ in range(5)
    ]


def _page(
    rng: np.random.Generator,
    same: np.random.Generator,
    size: tuple[int, int],
    bar: int,
    inner: tuple[int, int],
    colour: list[int],
    accent: list[int],
    font: int,
) -> Image:
    """`same` draws what all pages of the app share, `rng` what is this page's own."""
    width, height = size
    page = np.full((height, width, 3), int(same.integers(235, 256)), np.uint8)
    page[:bar] = colour
    scale = width / 1100
    cv2.putText(
        page,
        _letters(same, 5, 9),
        (14, bar * 2 // 3),
        font,
        scale * 1.4,
        (250, 250, 250),
        2,
        cv2.LINE_AA,
    )
    goods = cv2.resize(_goods(rng), inner, interpolation=cv2.INTER_AREA)
    page[bar : bar + inner[1], : inner[0]] = goods[: height - bar]
    beside = inner[0] < width * 0.9
    x, y = (inner[0] + 20, bar + 40) if beside else (18, bar + inner[1] + 50)
    cv2.putText(page, _letters(rng, 6, 12), (x, y), font, scale * 1.5, (40, 40, 40), 2, cv2.LINE_AA)
    cv2.putText(
        page, f"{rng.integers(9, 900)} EUR", (x, y + 50), font, scale * 1.4, accent, 2, cv2.LINE_AA
    )
    for line in range(int(same.integers(2, 6))):
        words = _letters(rng if same.random() < 0.5 else same, 10, 24)
        cv2.putText(
            page, words, (x, y + 90 + 26 * line), font, scale, (110, 110, 110), 1, cv2.LINE_AA
        )
    for button in range(int(same.integers(1, 4))):
        top = y + 240 + 70 * button
        end = (min(width - 12, x + int(width * same.uniform(0.3, 0.9))), top + 48)
        cv2.rectangle(page, (x, top), end, accent, -1 if button % 2 == 0 else 2)
        shade = (255, 255, 255) if button % 2 == 0 else accent
        cv2.putText(
            page, _letters(same, 6, 14), (x + 30, top + 32), font, scale, shade, 1, cv2.LINE_AA
        )
    for at in range(4):
        cv2.putText(
            page,
            _letters(same, 4, 6),
            (20 + at * width // 4, height - 18),
            font,
            scale * 0.8,
            (90, 90, 90),
            1,
            cv2.LINE_AA,
        )
    return page


def _laid_on(ground: Floats, goods: Image, matrix: Floats) -> Floats:
    """Goods shot on white put on another ground: white lets the ground through."""
    size = (ground.shape[1], ground.shape[0])
    moved = cv2.warpAffine(goods, matrix, size, borderValue=(250, 250, 250))
    return np.asarray(ground * np.clip(moved.astype(np.float32) / 246, 0, 1), np.float32)


def _turned(degrees: float, scale: float) -> npt.NDArray[np.float64]:
    return np.asarray(cv2.getRotationMatrix2D((400, 300), degrees, scale), np.float64)


def _pose(rng: np.random.Generator, far: float, turn: float) -> Floats:
    matrix = _turned(float(rng.uniform(-turn, turn)), float(rng.uniform(0.5, 1.0)))
    matrix[:, 2] += rng.uniform(-far, far, 2) * 800
    return np.asarray(matrix, np.float32)


def _grainy(image: Floats, rng: np.random.Generator) -> Image:
    grain = rng.normal(0, float(rng.uniform(1.0, 3.0)), image.shape)
    return np.clip(image * float(rng.uniform(0.96, 1.04)) + grain, 0, 255).astype(np.uint8)


def _clip(rng: np.random.Generator) -> list[Image]:
    """The camera stands, the goods are moved and turned from still to still."""
    room, goods = make_room(rng), shoot(make_design(rng), rng, loose=0.3)
    pose = _pose(rng, 0.08, 15)
    stills = []
    for _ in range(4):
        step = _turned(float(rng.uniform(-8, 8)), 1.0)
        step[:, 2] += rng.uniform(-0.05, 0.05, 2) * 800
        both = np.vstack([step, [0, 0, 1]]) @ np.vstack([pose, [0, 0, 1]])
        stills.append(_grainy(_laid_on(room, goods, np.asarray(both[:2], np.float32)), rng))
    return stills


def _table(rng: np.random.Generator) -> list[Image]:
    """Other pieces, and other sides of them, on one table seen from about the same place."""
    room = make_room(rng)
    height, width = room.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    shots = []
    for _ in range(3):
        moved = corners + rng.normal(0, 30, (4, 2)).astype(np.float32)
        seen = cv2.warpPerspective(
            room,
            cv2.getPerspectiveTransform(corners, moved),
            (width, height),
            borderMode=cv2.BORDER_REFLECT,
        )
        light = 1 + 0.06 * noise(rng, (height, width), 300)[..., None]
        goods = shoot(make_design(rng), rng, loose=0.3)
        shots.append(_grainy(_laid_on(seen * light, goods, _pose(rng, 0.12, 40)), rng))
    return shots


def _chart(rng: np.random.Generator) -> list[Image]:
    """One layout, other figures."""
    rows, columns = int(rng.integers(4, 10)), int(rng.integers(3, 7))
    width, height = int(rng.integers(600, 1000)), int(rng.integers(500, 900))
    font, head = int(rng.choice(_FONTS)), rng.integers(120, 255, 3).tolist()
    names, title = [_letters(rng, 2, 7) for _ in range(rows + columns)], _letters(rng, 8, 16)
    lines = bool(rng.random() < 0.7)
    charts = []
    for _ in range(4):
        chart = np.full((height, width, 3), 255, np.uint8)
        cv2.putText(chart, title, (width // 4, 50), font, 1.1, (40, 40, 40), 2, cv2.LINE_AA)
        down, across = (height - 110) // rows, (width - 60) // columns
        cv2.rectangle(chart, (30, 80), (30 + across * columns, 80 + down), head, -1)
        for row in range(rows):
            for column in range(columns):
                x, y = 30 + column * across, 80 + row * down
                if lines:
                    cv2.rectangle(chart, (x, y), (x + across, y + down), (130, 130, 130), 1)
                fixed = names[column] if row == 0 else names[columns + row] if column == 0 else ""
                text = fixed or str(int(rng.integers(10, 199)))
                cv2.putText(
                    chart,
                    text,
                    (x + across // 4, y + down * 2 // 3),
                    font,
                    0.6,
                    (50, 50, 50),
                    1,
                    cv2.LINE_AA,
                )
        charts.append(chart)
    return charts


def _blots(rng: np.random.Generator) -> list[Image]:
    """One round or square blot of any colour on a plain ground of any colour."""
    pictures = []
    for _ in range(6):
        width, height = int(rng.integers(500, 900)), int(rng.integers(400, 900))
        picture = np.full((height, width, 3), rng.integers(0, 256, 3), np.uint8)
        at = (int(width * rng.uniform(0.3, 0.7)), int(height * rng.uniform(0.3, 0.7)))
        reach = int(min(width, height) * rng.uniform(0.05, 0.3))
        colour = rng.integers(0, 256, 3).tolist()
        if rng.random() < 0.7:
            cv2.circle(picture, at, reach, colour, -1, cv2.LINE_AA)
        else:
            cv2.rectangle(
                picture, (at[0] - reach, at[1] - reach), (at[0] + reach, at[1] + reach), colour, -1
            )
        pictures.append(picture)
    return pictures


SCENES: dict[str, Callable[[np.random.Generator], list[Image]]] = {
    "app": _app,
    "clip": _clip,
    "table": _table,
    "chart": _chart,
    "blots": _blots,
}
