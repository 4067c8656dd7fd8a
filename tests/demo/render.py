"""Draw invented spectacle frames as photos: distance fields, lit, on a ground, through a lens.

`photograph(look, view, scene)` gives an RGB image. Everything follows from its arguments and the
scene's seed, so a picture can be drawn again bit by bit with the same library versions. Also used
to make families of look-alike pictures for the photo benchmark.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

Field = np.ndarray  # (h, w) float32
View = Literal["front", "three_quarter", "folded", "inscription", "hinge", "held_up"]
Shape = Literal["panto", "square", "round", "cat", "drop"]
Ground = Literal["wood", "linen", "paper", "slate", "felt", "newsprint", "white"]


@dataclass(frozen=True)
class FrameLook:
    """What a piece looks like; lengths in millimetres, colours as (r, g, b) 0 to 255."""

    shape: Shape = "panto"
    lens_width: float = 48
    lens_height: float = 42
    bridge: float = 21
    temple: float = 142
    rim: float = 4.5
    colour: Literal["black", "tortoise", "honey", "crystal", "wine", "olive", "gold"] = "tortoise"
    lens: tuple[int, int, int] = (236, 240, 238)
    lens_density: float = 0.18
    rivet_shape: Literal["round", "lozenge", "oval", "bar", "none"] = "round"
    rivet_colour: tuple[int, int, int] = (206, 186, 140)
    hinge_barrels: int = 5
    screw: Literal["slot", "cross"] = "slot"
    core_wire: bool = False
    inscription: str = ""
    inscription_colour: tuple[int, int, int] = (222, 205, 160)


@dataclass(frozen=True)
class Scene:
    """How the photo is taken: the ground, the light and the hand that holds the camera."""

    ground: Ground = "wood"
    seed: int = 0
    width: int = 760
    height: int = 570
    turn: float = 0.0  # degrees
    lean: float = 0.0  # perspective, -0.2 to 0.2
    zoom: float = 1.0
    shift: tuple[float, float] = (0.0, 0.0)  # share of the picture
    light_from: float = 130.0  # degrees
    exposure: float = 1.0
    warmth: float = 0.0  # -1 cold to 1 warm
    blur: float = 0.7
    noise: float = 4.0


_BASE = {
    "black": (24, 23, 26),
    "tortoise": (98, 52, 24),
    "honey": (196, 128, 52),
    "crystal": (214, 220, 218),
    "wine": (92, 22, 36),
    "olive": (84, 84, 46),
    "gold": (196, 166, 98),
}


def photograph(look: FrameLook, view: View, scene: Scene) -> Image.Image:
    """Draw one photo of a piece: (height, width, 3) as an RGB image."""
    rng = np.random.default_rng(scene.seed)
    canvas = _ground(scene, rng)
    x, y = _camera_grid(scene, _PIXELS_PER_MM[view])
    canvas = _VIEWS[view](canvas, look, scene, x, y)
    return _expose(canvas, scene, rng)


_PIXELS_PER_MM: dict[View, float] = {
    "front": 4.1,
    "three_quarter": 3.5,
    "folded": 3.9,
    "inscription": 9.0,
    "hinge": 24.0,
    "held_up": 3.3,
}


def _camera_grid(scene: Scene, px_per_mm: float) -> tuple[Field, Field]:
    """Give every pixel its place on the table in mm, x to the right and y up."""
    scale = px_per_mm * scene.zoom * scene.width / 760
    rows, columns = np.mgrid[0 : scene.height, 0 : scene.width].astype(np.float32)
    u = (columns / scene.width - 0.5 - scene.shift[0]) * scene.width
    v = -(rows / scene.height - 0.5 - scene.shift[1]) * scene.height
    depth = 1 + scene.lean * v / scene.height * 2
    angle = np.deg2rad(scene.turn)
    u, v = u * depth, v * depth
    x = (u * np.cos(angle) - v * np.sin(angle)) / scale
    y = (u * np.sin(angle) + v * np.cos(angle)) / scale
    return x.astype(np.float32), y.astype(np.float32)


# --- distance fields, in mm, negative inside -------------------------------------------------


def _lens_field(look: FrameLook, x: Field, y: Field, side: int, grow: float = 0.0) -> Field:
    """Distance to a lens outline centred at its place; `side` -1 left, 1 right."""
    a, b = look.lens_width / 2 + grow, look.lens_height / 2 + grow
    outward = (x * side) - (look.lens_width + look.bridge) / 2
    power, flare, lift = {
        "panto": (2.5, 0.10, 0.02),
        "square": (4.6, 0.04, 0.02),
        "round": (2.0, 0.0, 0.0),
        "cat": (2.7, 0.12, 0.22),
        "drop": (2.4, 0.16, -0.14),
    }[look.shape]
    raised = y - lift * outward
    width = a * (1 + flare * np.clip(raised / b, -1.2, 1.2))
    reach = (np.abs(outward / width) ** power + np.abs(raised / b) ** power) ** (1 / power)
    return ((reach - 1) * min(a, b)).astype(np.float32)


def _bar(
    x: Field,
    y: Field,
    start: tuple[float, float],
    end: tuple[float, float],
    thick: tuple[float, float],
) -> Field:
    """Distance to a bar between two points whose half thickness runs from thick[0] to thick[1]."""
    ax, ay = start
    dx, dy = end[0] - ax, end[1] - ay
    along = np.clip(((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy), 0, 1)
    away = np.hypot(x - ax - along * dx, y - ay - along * dy)
    return (away - (thick[0] + (thick[1] - thick[0]) * along)).astype(np.float32)


def _blend(a: Field, b: Field, soft: float = 2.5) -> Field:
    """Union of two fields with a rounded joint."""
    h = np.clip(0.5 + 0.5 * (b - a) / soft, 0, 1)
    return b * (1 - h) + a * h - soft * h * (1 - h)


def _front_field(look: FrameLook, x: Field, y: Field) -> Field:
    top = look.lens_height / 2 * (0.42 if look.shape != "cat" else 0.75)
    half = look.bridge / 2 + 1.5
    outer = _lens_field(look, x, y, -1, look.rim)
    outer = _blend(outer, _lens_field(look, x, y, 1, look.rim))
    bend = y + 0.018 * x * x
    bridge = _bar(x, bend, (-half, top), (half, top), (look.rim * 0.72, look.rim * 0.72))
    front = _blend(outer, bridge, 4)
    reach = look.lens_width + look.bridge / 2
    for side in (-1, 1):
        start, end = (side * (reach - 1), top + 3), (side * (reach + look.rim + 3.5), top + 4)
        front = _blend(front, _bar(x, y, start, end, (look.rim * 0.8, look.rim * 0.85)), 3)
    for side in (-1, 1):
        front = np.maximum(front, -_lens_field(look, x, y, side))
    return front


# --- painting ---------------------------------------------------------------------------------


def _cover(distance: Field, x: Field) -> Field:
    """Anti-aliased coverage 0 to 1 of a field."""
    step = max(float(np.abs(x[0, 1] - x[0, 0])), 1e-3)
    return np.clip(0.5 - distance / step, 0, 1)


def _paint(canvas: Field, cover: Field, colour: Field) -> Field:
    return canvas * (1 - cover[..., None]) + colour * cover[..., None]


def _shadow(canvas: Field, distance: Field, x: Field, scene: Scene, soft: float = 9.0) -> Field:
    cover = _cover(distance, x).astype(np.float32)
    angle = np.deg2rad(scene.light_from)
    move = np.float32([[1, 0, -np.cos(angle) * soft], [0, 1, np.sin(angle) * soft]])
    moved = cv2.warpAffine(cover, move, (scene.width, scene.height))
    dark = cv2.GaussianBlur(moved, (0, 0), soft * 0.8)
    return canvas * (1 - 0.55 * dark[..., None])


def _relief(distance: Field, scene: Scene, bevel: float) -> tuple[Field, Field]:
    """Diffuse and specular light on a rounded profile of the given bevel in mm."""
    t = np.clip(-distance / bevel, 0, 1)
    height = np.sqrt(np.clip(1 - (1 - t) ** 2, 0, 1))
    gy, gx = np.gradient(cv2.GaussianBlur(height.astype(np.float32), (0, 0), 1.2))
    angle = np.deg2rad(scene.light_from)
    slope = 7.0
    nx, ny = -gx * slope, gy * slope
    norm = np.sqrt(nx * nx + ny * ny + 1)
    facing = (nx * np.cos(angle) * 0.6 + ny * np.sin(angle) * 0.6 + 0.75) / norm
    return np.clip(facing, 0, 1.4), np.clip(facing - 0.78, 0, 1) ** 2 * 9


def _cloud(shape: tuple[int, int], scale: float, rng: np.random.Generator) -> Field:
    small = (max(2, int(shape[0] / scale)), max(2, int(shape[1] / scale)))
    coarse = rng.random(small, dtype=np.float32)
    return cv2.resize(coarse, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)


def _material(look: FrameLook, scene: Scene, rng: np.random.Generator) -> Field:
    shape = (scene.height, scene.width)
    base = np.float32(_BASE[look.colour])
    colour = np.tile(base, (*shape, 1))
    if look.colour in ("tortoise", "honey"):
        flecks = _cloud(shape, 34, rng) * 0.65 + _cloud(shape, 13, rng) * 0.35
        share = np.clip((flecks - 0.46) * 5, 0, 1)[..., None]
        colour = colour * (1 - share) + np.float32((206, 128, 48)) * share
    return colour * (0.95 + 0.1 * _cloud(shape, 60, rng)[..., None])


def _solid(
    canvas: Field, distance: Field, x: Field, scene: Scene, colour: Field, bevel: float = 2.2
) -> Field:
    diffuse, specular = _relief(distance, scene, bevel)
    lit = colour * (0.45 + 0.7 * diffuse[..., None]) + 210 * specular[..., None]
    return _paint(canvas, _cover(distance, x), np.clip(lit, 0, 255))


def _glass(canvas: Field, look: FrameLook, x: Field, y: Field, scene: Scene) -> Field:
    sheen = np.clip(np.sin((x * 0.9 + y * 1.3) / 11 + scene.seed % 7) - 0.72, 0, 1) * 0.5
    fade = np.clip(look.lens_density * (1 + 0.35 * y / (look.lens_height / 2)), 0, 0.95)
    for side in (-1, 1):
        cover = _cover(_lens_field(look, x, y, side), x)
        tinted = canvas * (1 - fade[..., None]) + np.float32(look.lens) * fade[..., None] * 0.9
        canvas = _paint(canvas, cover, tinted + 120 * sheen[..., None] * (0.3 + fade[..., None]))
    return canvas


def _rivets(canvas: Field, look: FrameLook, x: Field, y: Field, scene: Scene) -> Field:
    if look.rivet_shape == "none":
        return canvas
    top = look.lens_height / 2 * (0.42 if look.shape != "cat" else 0.75) + 4
    reach = look.lens_width + look.bridge / 2 + look.rim * 0.6
    for side in (-1, 1):
        for offset in (-2.1, 2.1):
            field = _stud(look.rivet_shape, x - side * reach, y - top - offset, 1.05)
            canvas = _solid(canvas, field, x, scene, np.float32(look.rivet_colour), 0.8)
    return canvas


def _stud(shape: str, x: Field, y: Field, size: float) -> Field:
    if shape == "lozenge":
        return (np.abs(x) + np.abs(y) * 0.7 - size * 1.25).astype(np.float32)
    if shape == "oval":
        return (np.hypot(x / 1.7, y) - size * 0.85).astype(np.float32)
    if shape == "bar":
        return np.maximum(np.abs(x) - size * 1.6, np.abs(y) - size * 0.5).astype(np.float32)
    return (np.hypot(x, y) - size).astype(np.float32)


def _letter(
    canvas: Field,
    text: str,
    x: Field,
    y: Field,
    height_mm: float,
    colour: tuple[int, int, int],
    at: tuple[float, float],
) -> Field:
    """Write text on the table: drawn flat, then looked up through the camera grid."""
    font = ImageFont.load_default(size=64)
    box = font.getbbox(text)
    tile = Image.new("L", (int(box[2]) + 20, 96), 0)
    ImageDraw.Draw(tile).text((10, 10), text, fill=255, font=font)
    scale = 64 / height_mm
    map_x = ((x - at[0]) * scale + tile.width / 2).astype(np.float32)
    map_y = (-(y - at[1]) * scale + 48).astype(np.float32)
    cover = cv2.remap(np.float32(tile) / 255, map_x, map_y, cv2.INTER_LINEAR)
    return _paint(canvas, cover * 0.85, np.float32(colour) * np.ones_like(canvas))


# --- views ------------------------------------------------------------------------------------


def _view_front(canvas: Field, look: FrameLook, scene: Scene, x: Field, y: Field) -> Field:
    rng = np.random.default_rng(scene.seed + 1)
    front = _front_field(look, x, y)
    canvas = _shadow(canvas, front, x, scene)
    canvas = _glass(canvas, look, x, y, scene)
    canvas = _solid(canvas, front, x, scene, _material(look, scene, rng))
    return _rivets(canvas, look, x, y, scene)


def _view_three_quarter(canvas: Field, look: FrameLook, scene: Scene, x: Field, y: Field) -> Field:
    rng = np.random.default_rng(scene.seed + 1)
    colour = _material(look, scene, rng)
    y = y + 22
    reach = look.lens_width + look.bridge / 2 + look.rim + 2
    for side in (-1, 1):
        start, bend = (side * reach, 12.0), (side * reach * 0.86, 12 + look.temple * 0.42)
        tip = (side * reach * 0.83, 12 + look.temple * 0.58)
        arm = _blend(_bar(x, y, start, bend, (3.6, 2.2)), _bar(x, y, bend, tip, (2.4, 3.1)), 2)
        canvas = _shadow(canvas, arm, x, scene, 6)
        canvas = _solid(canvas, arm, x, scene, colour)
        if look.core_wire:
            wire = _bar(x, y, start, bend, (0.5, 0.3))
            canvas = _solid(canvas, wire, x, scene, np.float32((205, 205, 200)), 0.5)
    squashed = y * 1.25
    front = _front_field(look, x, squashed)
    canvas = _shadow(canvas, front, x, scene)
    canvas = _glass(canvas, look, x, squashed, scene)
    canvas = _solid(canvas, front, x, scene, colour)
    return _rivets(canvas, look, x, squashed, scene)


def _view_folded(canvas: Field, look: FrameLook, scene: Scene, x: Field, y: Field) -> Field:
    rng = np.random.default_rng(scene.seed + 1)
    colour = _material(look, scene, rng)
    reach = look.lens_width + look.bridge / 2 + look.rim
    for side, level in ((-1, 13.0), (1, 8.0)):
        start = (side * reach, level)
        end = (side * (reach - look.temple * 0.86), level - 4)
        tip = (side * (reach - look.temple * 0.98), level - 12)
        arm = _blend(_bar(x, y, start, end, (3.4, 2.3)), _bar(x, y, end, tip, (2.3, 3.2)), 2)
        canvas = _shadow(canvas, arm, x, scene, 6)
        canvas = _solid(canvas, arm, x, scene, colour * 0.93)
    return _view_front(canvas, look, scene, x, y)


def _view_inscription(canvas: Field, look: FrameLook, scene: Scene, x: Field, y: Field) -> Field:
    rng = np.random.default_rng(scene.seed + 1)
    arm = _bar(x, y, (-60, 2), (60, -3), (6.5, 5.0))
    canvas = _shadow(canvas, arm, x, scene, 10)
    canvas = _solid(canvas, arm, x, scene, _material(look, scene, rng), 3.0)
    if look.core_wire:
        wire = _bar(x, y, (-60, 4.6), (60, -0.6), (0.6, 0.5))
        canvas = _solid(canvas, wire, x, scene, np.float32((205, 205, 200)), 0.5)
    tilt = y + 0.0415 * x + 0.6
    return _letter(canvas, look.inscription, x, tilt, 3.4, look.inscription_colour, (-2.0, 0.0))


def _view_hinge(canvas: Field, look: FrameLook, scene: Scene, x: Field, y: Field) -> Field:
    rng = np.random.default_rng(scene.seed + 1)
    colour = _material(look, scene, rng)
    slab = np.maximum(np.abs(x) - 30, np.abs(y) - 8).astype(np.float32) - 1.5
    canvas = _solid(canvas, slab, x, scene, colour, 3)
    metal = np.float32((190, 188, 180))
    for side in (-1, 1):
        plate = np.maximum(np.abs(x - side * 7.5) - 4.5, np.abs(y) - 4.2).astype(np.float32)
        canvas = _solid(canvas, plate, x, scene, metal * 0.9, 0.6)
        for level in (-2.2, 2.2):
            stud = _stud(look.rivet_shape, x - side * 8.5, y - level, 0.9)
            canvas = _solid(canvas, stud, x, scene, np.float32(look.rivet_colour), 0.7)
    pitch = 9.0 / look.hinge_barrels
    for number in range(look.hinge_barrels):
        middle = -4.5 + pitch * (number + 0.5)
        barrel = np.maximum(np.abs(x) - 2.0, np.abs(y - middle) - pitch * 0.44).astype(np.float32)
        tone = metal * (1.0 if number % 2 else 0.86)
        canvas = _solid(canvas, barrel, x, scene, tone, 0.8)
    head = (np.hypot(x, y - 5.4) - 1.7).astype(np.float32)
    canvas = _solid(canvas, head, x, scene, metal, 0.5)
    slot = np.maximum(np.abs(x) - 1.3, np.abs(y - 5.4) - 0.25).astype(np.float32)
    canvas = _paint(canvas, _cover(slot, x), np.float32((50, 48, 46)) * np.ones_like(canvas))
    if look.screw == "cross":
        slot = np.maximum(np.abs(x) - 0.25, np.abs(y - 5.4) - 1.3).astype(np.float32)
        canvas = _paint(canvas, _cover(slot, x), np.float32((50, 48, 46)) * np.ones_like(canvas))
    return canvas


def _view_held_up(canvas: Field, look: FrameLook, scene: Scene, x: Field, y: Field) -> Field:
    canvas = cv2.GaussianBlur(canvas.astype(np.float32), (0, 0), 9)
    return _view_front(canvas, look, scene, x, y)


_VIEWS = {
    "front": _view_front,
    "three_quarter": _view_three_quarter,
    "folded": _view_folded,
    "inscription": _view_inscription,
    "hinge": _view_hinge,
    "held_up": _view_held_up,
}


# --- grounds and exposure ---------------------------------------------------------------------


def _ground(scene: Scene, rng: np.random.Generator) -> Field:
    shape = (scene.height, scene.width)
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    angle = rng.uniform(-0.4, 0.4)
    u = columns * np.cos(angle) + rows * np.sin(angle)
    v = -columns * np.sin(angle) + rows * np.cos(angle)
    return _GROUNDS[scene.ground](shape, u, v, rng)


def _wood(shape: tuple[int, int], u: Field, v: Field, rng: np.random.Generator) -> Field:
    warp = _cloud(shape, 120, rng) * 60
    grain = 0.5 + 0.5 * np.sin((v + warp) / 9) * 0.7 + 0.25 * (_cloud(shape, 4, rng) - 0.5)
    plank = (np.floor(v / 170) % 3)[..., None] * 8
    return np.float32((150, 108, 70)) + (grain[..., None] - 0.5) * np.float32((46, 38, 30)) - plank


def _linen(shape: tuple[int, int], u: Field, v: Field, rng: np.random.Generator) -> Field:
    weave = np.sin(u * 1.1) * 7 + np.sin(v * 1.1) * 7 + (_cloud(shape, 70, rng) - 0.5) * 36
    return np.float32((206, 198, 182)) + weave[..., None]


def _paper(shape: tuple[int, int], u: Field, v: Field, rng: np.random.Generator) -> Field:
    return np.float32((232, 230, 224)) + ((_cloud(shape, 160, rng) - 0.5) * 26)[..., None]


def _slate(shape: tuple[int, int], u: Field, v: Field, rng: np.random.Generator) -> Field:
    rough = _cloud(shape, 40, rng) * 26 + _cloud(shape, 6, rng) * 18
    return np.float32((74, 78, 84)) + (rough - 20)[..., None]


def _felt(shape: tuple[int, int], u: Field, v: Field, rng: np.random.Generator) -> Field:
    fuzz = rng.normal(0, 9, shape).astype(np.float32)
    colour = np.float32(((46, 92, 70), (96, 36, 44), (44, 58, 104))[int(rng.integers(3))])
    return colour + cv2.GaussianBlur(fuzz, (0, 0), 1.1)[..., None] * 2


def _newsprint(shape: tuple[int, int], u: Field, v: Field, rng: np.random.Generator) -> Field:
    rows = (np.sin(v * 0.52) > 0.1) & (np.mod(u, 190) > 18)
    words = _cloud(shape, 5, rng) > 0.42
    ink = cv2.GaussianBlur((rows & words).astype(np.float32), (0, 0), 0.9)
    return np.float32((220, 214, 198)) - 118 * ink[..., None]


def _white(shape: tuple[int, int], u: Field, v: Field, rng: np.random.Generator) -> Field:
    return np.full((*shape, 3), 250, np.float32)


_GROUNDS = {
    "wood": _wood,
    "linen": _linen,
    "paper": _paper,
    "slate": _slate,
    "felt": _felt,
    "newsprint": _newsprint,
    "white": _white,
}


def _expose(canvas: Field, scene: Scene, rng: np.random.Generator) -> Image.Image:
    rows, columns = np.mgrid[0 : scene.height, 0 : scene.width].astype(np.float32)
    angle = np.deg2rad(scene.light_from)
    slope = (columns / scene.width - 0.5) * np.cos(angle) - (rows / scene.height - 0.5) * np.sin(
        angle
    )
    far = np.hypot(columns / scene.width - 0.5, rows / scene.height - 0.5)
    light = scene.exposure * (1 + 0.22 * slope - 0.5 * far**2)
    if scene.ground == "white":
        light = np.full_like(light, scene.exposure)
    tint = np.float32((1 + 0.09 * scene.warmth, 1.0, 1 - 0.11 * scene.warmth))
    lit = canvas * light[..., None] * tint
    lit = cv2.GaussianBlur(lit.astype(np.float32), (0, 0), max(scene.blur, 0.01))
    grain = cv2.GaussianBlur(rng.normal(0, 1, lit.shape).astype(np.float32), (0, 0), 0.8)
    return Image.fromarray(np.clip(lit + grain * scene.noise, 0, 255).astype(np.uint8))
