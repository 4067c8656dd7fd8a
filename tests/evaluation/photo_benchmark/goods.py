"""Rendered spectacle frames on white and in rooms: families of one design, and sibling designs.

Two shots of one design differ as two honest photos do: pose by a little, light, dust, noise,
the run of a tortoiseshell pattern. Siblings differ in a few figures of the design.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

Image = npt.NDArray[np.uint8]  # (h, w, 3) RGB


@dataclass(frozen=True)
class Design:
    """Figures of a frame in units of the lens width."""

    power: float  # of the superellipse: 2 round, 5 nearly square
    height: float
    rim: float
    bridge: float
    bridge_rise: float
    temple: float
    slant: float
    lug: float
    colour: tuple[int, int, int]
    tint: float
    pattern: float
    rivets: int


def make_design(rng: np.random.Generator) -> Design:
    """A frame design drawn at random."""
    return Design(
        power=float(rng.uniform(1.9, 4.5)),
        height=float(rng.uniform(0.7, 0.98)),
        rim=float(rng.uniform(0.04, 0.14)),
        bridge=float(rng.uniform(0.3, 0.5)),
        bridge_rise=float(rng.uniform(-0.25, 0.1)),
        temple=float(rng.uniform(0.05, 0.16)),
        slant=float(rng.uniform(-0.12, 0.12)),
        lug=float(rng.uniform(0.05, 0.2)),
        colour=tuple(int(v) for v in rng.integers(10, 170, 3)),  # type: ignore[arg-type]
        tint=float(rng.uniform(0.0, 0.8)),
        pattern=float(rng.choice([0.0, 0.0, 0.5, 0.9])),
        rivets=int(rng.integers(0, 4)),
    )


def sibling(design: Design, rng: np.random.Generator) -> Design:
    """Nearly the same design: another rim, height, rivets or tint."""
    return replace(
        design,
        height=design.height * float(rng.uniform(0.96, 1.04)),
        rim=design.rim * float(rng.uniform(0.85, 1.15)),
        bridge_rise=design.bridge_rise + float(rng.uniform(-0.04, 0.04)),
        rivets=int(rng.integers(0, 4)),
        tint=float(rng.uniform(0.0, 0.8)),
    )


def noise(rng: np.random.Generator, shape: tuple[int, int], cell: float) -> npt.NDArray[np.float32]:
    """Smooth noise of about zero mean and unit spread, features `cell` px wide."""
    height, width = shape
    size = (max(2, int(width / cell) + 2), max(2, int(height / cell) + 2))
    small = rng.standard_normal((size[1], size[0])).astype(np.float32)
    return cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)


def _lens(design: Design, centre: tuple[float, float], size: float, grow: float) -> Image:
    turn = np.linspace(0, 2 * np.pi, 160, endpoint=False)
    cos, sin = np.cos(turn), np.sin(turn)
    x = np.sign(cos) * np.abs(cos) ** (2 / design.power) * (0.5 + grow)
    y = np.sign(sin) * np.abs(sin) ** (2 / design.power) * (design.height / 2 + grow)
    x = x + design.slant * y * np.sign(centre[0])
    return np.stack([centre[0] * 1.0 + x, centre[1] + y], 1) * size  # type: ignore[return-value]


def _fill(
    canvas: Image, outline: npt.NDArray[np.float64], at: tuple[float, float], value: int
) -> None:
    points = np.rint((outline + np.array(at)) * 16).astype(np.int32)
    cv2.fillPoly(canvas, [points], value, cv2.LINE_AA, 4)


def _masks(
    design: Design, shape: tuple[int, int], size: float, at: tuple[float, float], temples: str
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    frame, glass = np.zeros(shape, np.uint8), np.zeros(shape, np.uint8)
    offset = (1 + design.bridge) / 2
    for side in (-1.0, 1.0):
        centre = (side * offset, 0.0)
        _fill(frame, np.asarray(_lens(design, centre, size, design.rim), float), at, 255)
    top = design.bridge_rise * design.height / 2 - design.height * 0.15
    for a, b in (((-design.bridge / 2 - 0.1, top), (design.bridge / 2 + 0.1, top)),):
        points = (np.array([a, b]) * size + np.array(at)).astype(int)
        cv2.line(
            frame,
            points[0].tolist(),
            points[1].tolist(),
            255,
            max(2, int(design.rim * size * 1.3)),
            cv2.LINE_AA,
        )
    for side in (-1.0, 1.0):
        start = np.array([side * (offset + 0.5 + design.rim * 0.5), -design.height * 0.28])
        reach = 0.45 if temples == "open" else 0.12
        stop = (
            start
            + np.array([side * design.lug, 0.0])
            + np.array([side * reach, -reach * 0.8 if temples == "open" else 0])
        )
        points = (np.array([start, stop]) * size + np.array(at)).astype(int)
        cv2.line(
            frame,
            points[0].tolist(),
            points[1].tolist(),
            255,
            max(2, int(design.temple * size)),
            cv2.LINE_AA,
        )
    for side in (-1.0, 1.0):
        hole = np.asarray(_lens(design, (side * offset, 0.0), size, 0.0), float)
        _fill(frame, hole, at, 0)
        _fill(glass, hole, at, 255)
    return frame.astype(np.float32) / 255, glass.astype(np.float32) / 255


def shoot(
    design: Design,
    rng: np.random.Generator,
    *,
    ground: npt.NDArray[np.float32] | None = None,
    shape: tuple[int, int] = (600, 800),
    loose: float = 1.0,
    temples: str = "open",
) -> Image:
    """One photo of a piece of this design; `loose` is how much pose and light may differ."""
    height, width = shape
    size = width * (0.27 + 0.015 * loose * rng.standard_normal())
    at = (
        width / 2 + 6 * loose * rng.standard_normal(),
        height / 2 + 6 * loose * rng.standard_normal(),
    )
    frame, glass = _masks(design, shape, size, at, temples)
    image = _ground(rng, shape, loose) if ground is None else ground.copy()
    shadow = cv2.GaussianBlur(
        np.roll(frame, (int(size * 0.05), int(size * 0.02)), (0, 1)), (0, 0), size * 0.03
    )
    image *= 1 - 0.45 * shadow[..., None]
    body = np.array(design.colour, np.float32)[None, None] * np.ones((*shape, 1), np.float32)
    if design.pattern:
        spots = noise(rng, shape, size * 0.06) + 0.5 * noise(rng, shape, size * 0.02)
        body = body * (1 + design.pattern * np.clip(spots, -0.9, 1.2))[..., None]
    relief = cv2.GaussianBlur(frame, (0, 0), max(1.0, design.rim * size * 0.3))
    light = cv2.Sobel(relief, cv2.CV_32F, 0, 1) * -1.2 + cv2.Sobel(
        relief, cv2.CV_32F, 1, 0
    ) * float(rng.normal(0.3, 0.4 * loose))
    body = body * (0.9 + 0.5 * light[..., None]) + 120 * np.clip(light - 0.25, 0, 1)[..., None]
    image = image * (1 - frame[..., None]) + np.clip(body, 0, 255) * frame[..., None]
    image = _glaze(image, glass, design, rng, loose)
    _rivets(image, design, size, at)
    return _expose(_tilt(_dust(image, rng), rng, loose), rng, loose)


def _ground(
    rng: np.random.Generator, shape: tuple[int, int], loose: float
) -> npt.NDArray[np.float32]:
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    fall = (
        252 - 10 * loose * rng.random() * (y / shape[0]) - 6 * loose * rng.random() * (x / shape[1])
    )
    return np.repeat(fall[..., None], 3, 2).astype(np.float32)


def _glaze(
    image: npt.NDArray[np.float32],
    glass: npt.NDArray[np.float32],
    design: Design,
    rng: np.random.Generator,
    loose: float,
) -> npt.NDArray[np.float32]:
    height, width = glass.shape
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    slope = float(rng.normal(0.6, 0.3 * loose))
    band = np.exp(-(((x + slope * y - width * float(rng.uniform(0.5, 1.1))) / (width * 0.05)) ** 2))
    tinted = image * (1 - design.tint * (0.9 - 0.5 * y / height))[..., None] + 70 * band[..., None]
    return image * (1 - glass[..., None]) + np.clip(tinted, 0, 255) * glass[..., None]


def _rivets(
    image: npt.NDArray[np.float32], design: Design, size: float, at: tuple[float, float]
) -> None:
    for number in range(design.rivets):
        for side in (-1, 1):
            x = at[0] + side * size * ((1 + design.bridge) / 2 + 0.5 + design.rim * 0.6)
            y = at[1] - size * (design.height * 0.28 - number * 0.05)
            cv2.circle(
                image, (int(x), int(y)), max(2, int(size * 0.014)), (215, 205, 170), -1, cv2.LINE_AA
            )


def _dust(image: npt.NDArray[np.float32], rng: np.random.Generator) -> npt.NDArray[np.float32]:
    height, width = image.shape[:2]
    for _ in range(int(rng.integers(4, 25))):
        x, y = int(rng.integers(0, width)), int(rng.integers(0, height))
        shade = float(rng.uniform(0.6, 1.0)) * image[y, x]
        if rng.random() < 0.3:
            end = (x + int(rng.normal(0, 25)), y + int(rng.normal(0, 25)))
            cv2.line(image, (x, y), end, shade.tolist(), 1, cv2.LINE_AA)
        else:
            cv2.circle(image, (x, y), int(rng.integers(1, 3)), shade.tolist(), -1, cv2.LINE_AA)
    return image


def _tilt(
    image: npt.NDArray[np.float32], rng: np.random.Generator, loose: float
) -> npt.NDArray[np.float32]:
    height, width = image.shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    moved = corners + rng.normal(0, 4 * loose, (4, 2)).astype(np.float32)
    matrix = cv2.getPerspectiveTransform(corners, moved)
    return cv2.warpPerspective(image, matrix, (width, height), borderMode=cv2.BORDER_REPLICATE)


def _expose(image: npt.NDArray[np.float32], rng: np.random.Generator, loose: float) -> Image:
    soft = cv2.GaussianBlur(image, (0, 0), float(rng.uniform(0.4, 0.9)))
    gain = 1 + 0.04 * loose * rng.standard_normal(3)
    grain = rng.normal(0, float(rng.uniform(1.0, 3.0)), image.shape)
    return np.clip(soft * gain + grain, 0, 255).astype(np.uint8)


def make_room(
    rng: np.random.Generator, shape: tuple[int, int] = (600, 800)
) -> npt.NDArray[np.float32]:
    """A ground with texture: boards, cloth or stone, with things lying about."""
    height, width = shape
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    base = rng.uniform(60, 200, 3).astype(np.float32)
    kind = rng.integers(0, 3)
    if kind == 0:
        grain = np.sin((y + 12 * noise(rng, shape, 180)) / float(rng.uniform(2, 5))) * 0.08
        seams = (np.mod(x + 9, float(rng.uniform(90, 200))) < 3) * -0.4
        tone = 1 + grain + seams + 0.06 * noise(rng, shape, 40)
    elif kind == 1:
        step = float(rng.uniform(4, 9))
        tone = (
            1
            + 0.12 * np.sin(x * 2 * np.pi / step) * np.sin(y * 2 * np.pi / step)
            + 0.1 * noise(rng, shape, 60)
        )
    else:
        tone = (
            1
            + 0.12 * noise(rng, shape, 12)
            + 0.12 * noise(rng, shape, 45)
            + 0.05 * noise(rng, shape, 3)
        )
    image = np.clip(base[None, None] * tone[..., None], 0, 255).astype(np.uint8)
    for _ in range(int(rng.integers(3, 9))):
        colour = rng.uniform(20, 235, 3).tolist()
        a = (int(rng.integers(0, width)), int(rng.integers(0, height)))
        b = (a[0] + int(rng.integers(20, 140)), a[1] + int(rng.integers(20, 140)))
        if rng.random() < 0.5:
            cv2.rectangle(image, a, b, colour, -1, cv2.LINE_AA)
        else:
            cv2.circle(image, a, int(rng.integers(10, 60)), colour, -1, cv2.LINE_AA)
        write(image, rng, a, float(rng.uniform(0.4, 1.1)), rng.uniform(0, 255, 3).tolist())
    return image.astype(np.float32)


def write(
    image: Image, rng: np.random.Generator, at: tuple[int, int], size: float, colour: list[float]
) -> None:
    """Write a few random letters."""
    text = "".join(chr(65 + int(v)) for v in rng.integers(0, 26, int(rng.integers(3, 9))))
    cv2.putText(image, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, colour, 2, cv2.LINE_AA)


def reshoot(image: npt.NDArray[np.float32], rng: np.random.Generator) -> npt.NDArray[np.float32]:
    """The same room from a slightly other place: parallax in a smooth field, other light."""
    height, width = image.shape[:2]
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    field = [float(rng.normal(0, 14)) + 5 * noise(rng, (height, width), 160) for _ in range(2)]
    moved = cv2.remap(
        image, x + field[0], y + field[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
    )
    return moved * float(rng.uniform(0.85, 1.15))
