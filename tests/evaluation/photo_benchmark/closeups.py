"""One flat piece (coin, plate, badge, label) from far and near, from above and aslant: CLOSEUPS, as
FAMILIES in families.py, but no set draws from them by itself: train.py makes sets of them.

What is flat looks the same from everywhere but for its outline, so that a nearer shot is a cut of a
farther one but for light, grain and focus. It is another shot all the same.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt

from tests.evaluation.photo_benchmark.goods import Image, make_room, noise

Floats = npt.NDArray[np.float32]
_SIDE, _TABLE = 900, 1500  # px of the piece as drawn, and of the ground it lies on
_SHOTS = 5
_FONTS = (cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_DUPLEX, cv2.FONT_HERSHEY_COMPLEX)


def _outline(rng: np.random.Generator) -> Floats:
    """Where the piece is, 0 to 1: a disc or a rounded plate."""
    where = np.zeros((_SIDE, _SIDE), np.uint8)
    middle = (_SIDE // 2, _SIDE // 2)
    if rng.random() < 0.6:
        cv2.circle(where, middle, _SIDE // 2 - 20, 255, -1, cv2.LINE_AA)
    else:
        half = int(_SIDE * rng.uniform(0.2, 0.45))
        ends = (20, middle[1] - half), (_SIDE - 20, middle[1] + half)
        cv2.rectangle(where, *ends, 255, -1)
    return np.asarray(cv2.GaussianBlur(where, (0, 0), 2.0), np.float32) / 255


def _drawn(rng: np.random.Generator) -> Floats:
    """Figures and words, 0 to 1."""
    layer = np.zeros((_SIDE, _SIDE), np.uint8)
    for _ in range(int(rng.integers(1, 9))):
        at = rng.integers(_SIDE // 5, _SIDE * 4 // 5, 2).tolist()
        axes = rng.integers(15, _SIDE // 6, 2).tolist()
        thick = -1 if rng.random() < 0.5 else int(rng.integers(4, 20))
        level, turn = int(rng.integers(90, 256)), float(rng.uniform(0, 180))
        cv2.ellipse(layer, at, axes, turn, 0, 360, level, thick, cv2.LINE_AA)
    for _ in range(int(rng.integers(0, 4))):
        letters = rng.integers(0, 26, int(rng.integers(3, 11)))
        word = "".join(chr(65 + int(v)) for v in letters)
        at = (int(rng.integers(60, _SIDE // 2)), int(rng.integers(_SIDE // 5, _SIDE * 4 // 5)))
        scale, font = float(rng.uniform(1.0, 4.0)), int(rng.choice(_FONTS))
        cv2.putText(layer, word, at, font, scale, 255, max(2, round(scale * 3)), cv2.LINE_AA)
    if rng.random() < 0.5:
        reach = int(_SIDE * rng.uniform(0.36, 0.44))
        for turn in np.linspace(0, 2 * np.pi, int(rng.integers(8, 30)), endpoint=False):
            at = [int(_SIDE / 2 + reach * side) for side in (np.cos(turn), np.sin(turn))]
            cv2.circle(layer, at, int(rng.integers(5, 22)), 200, -1, cv2.LINE_AA)
    return np.asarray(cv2.GaussianBlur(layer, (0, 0), float(rng.uniform(1, 5))), np.float32) / 255


def _lit(height: Floats, colours: Floats, way: float, high: float, gloss: float) -> Floats:
    """The piece in light from one side (`way` in radians, `high` above the table)."""
    across, down = cv2.Sobel(height, cv2.CV_32F, 1, 0), cv2.Sobel(height, cv2.CV_32F, 0, 1)
    length = np.sqrt(across**2 + down**2 + 1)
    light = np.array([np.cos(way) * np.cos(high), np.sin(way) * np.cos(high), np.sin(high)])
    falls = np.clip((-across * light[0] - down * light[1] + light[2]) / length, 0, None)
    shine = gloss * np.clip(falls, 0, 1) ** 24
    return np.asarray(colours * (0.35 + 0.75 * falls)[..., None] + 140 * shine[..., None])


def _flat(rng: np.random.Generator) -> list[Image]:
    """Five shots of one piece; in half of the families the light hardly moves."""
    where, figures = _outline(rng), _drawn(rng)
    relief = rng.random() < 0.6
    rough = noise(rng, (_SIDE, _SIDE), float(rng.uniform(6, 60)))
    base, ink = rng.uniform(60, 235, 3), rng.uniform(0, 255, 3)
    height = (figures * rng.uniform(4, 20) if relief else 0) + rough * rng.uniform(0.05, 1.5)
    painted = (0.0 if relief else 1.0) * figures[..., None]
    colours = base * (1 - painted) + ink * painted
    colours = colours + noise(rng, (_SIDE, _SIDE), 3)[..., None] * rng.uniform(0, 6)
    if rng.random() < 0.5:
        room = make_room(rng)
    else:
        room = np.full((8, 8, 3), rng.uniform(150, 250), np.float32)
    ground = cv2.resize(room.astype(np.float32), (_TABLE, _TABLE))
    way, high = float(rng.uniform(0, 6.3)), float(rng.uniform(0.6, 1.2))
    gloss, moves = float(rng.uniform(0, 1)), 0.03 if rng.random() < 0.5 else 0.4
    return [
        _shot(
            ground,
            _lit(
                np.asarray(height, np.float32),
                np.asarray(colours, np.float32),
                way + float(rng.normal(0, moves)),
                high + float(rng.normal(0, moves / 3)),
                gloss,
            ),
            where[..., None],
            near=number >= 2,
            rng=rng,
        )
        for number in range(_SHOTS)
    ]


def _shot(
    ground: Floats, piece: Floats, where: Floats, *, near: bool, rng: np.random.Generator
) -> Image:
    """800x600 px, by a hand: whole, or a part of it from nearer."""
    scene = ground.copy()
    start = (_TABLE - _SIDE) // 2
    under = scene[start : start + _SIDE, start : start + _SIDE]
    scene[start : start + _SIDE, start : start + _SIDE] = under * (1 - where) + piece * where
    reach = _SIDE * (rng.uniform(0.2, 0.4) if near else rng.uniform(0.55, 0.72))
    wanders = 0.22 if near else 0.04
    middle = _TABLE / 2 + rng.uniform(-wanders, wanders, 2) * _SIDE
    turn = float(rng.normal(0, 0.12))
    across = np.array([np.cos(turn), np.sin(turn)]) * reach * 1.2
    down = np.array([-np.sin(turn), np.cos(turn)]) * reach * 0.9
    corners = np.array([-across - down, across - down, across + down, down - across]) + middle
    corners += rng.normal(0, reach * float(rng.choice([0.01, 0.05, 0.12])), (4, 2))
    seen = np.array([[0, 0], [800, 0], [800, 600], [0, 600]], np.float32)
    matrix = cv2.getPerspectiveTransform(corners.astype(np.float32), seen)
    shot = cv2.warpPerspective(
        scene, matrix, (800, 600), flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REFLECT
    )
    uneven = 1 + 0.05 * noise(rng, (600, 800), 350)[..., None]
    shot = cv2.GaussianBlur(shot * uneven, (0, 0), float(rng.uniform(0.5, 1.6)))
    grain = rng.normal(0, float(rng.uniform(1.0, 3.5)), shot.shape)
    return np.clip(shot * rng.uniform(0.88, 1.08, 3) + grain, 0, 255).astype(np.uint8)


CLOSEUPS: dict[str, Callable[[np.random.Generator], list[Image]]] = {"flat": _flat}
