"""Make a benchmark: a folder's worth of photos with the truth about every pair.

Originals are photographs under open licences that the buyer of these figures names (folders of
wallpaper packages; the photos in the scikit-image and scikit-learn wheels are always used) and
rendered frames. Photo files are dealt to the tuning and the kept-back half by their name, so that
no picture is in both. Truth: photos with one `origin` show one picture; `alike` photos share a
group of hard negatives (same design, same room, same page, same video ...) but are no copies.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import cv2
import numpy as np
from PIL import Image as PillowImage

from tests.evaluation.photo_benchmark.edits import COLLAGES, EDITS, PLAIN, collage, encode
from tests.evaluation.photo_benchmark.goods import (
    Design,
    Image,
    make_design,
    make_room,
    reshoot,
    shoot,
    sibling,
    write,
)

# two shots or renderings that are no photographs, or show one scene twice
_LEFT_OUT = {"motorcycle_left.png", "motorcycle_right.png", "text.png", "page.png", "color.png"}


@dataclass(frozen=True)
class Shot:
    """One photo of the benchmark: `origins` it shows, the edit, and its group of hard negatives."""

    data: bytes
    origins: frozenset[str]
    edit: str
    kinds: frozenset[str]
    alike: str


def photo_files(folders: Sequence[Path], kept_back: bool) -> list[Path]:
    """The photo files of one half, smallest name first, one per picture name."""
    packages = [Path(str(resources.files(p))) for p in ("skimage.data", "sklearn.datasets.images")]
    found = [
        path
        for folder in [*folders, *packages]
        for path in sorted(folder.rglob("*"))
        if path.suffix.lower() in {".jpg", ".jpeg", ".png", ".webp"}
        and path.stat().st_size > 60_000
        and path.name not in _LEFT_OUT
        and path.stem != "screenshot"
    ]
    picked: dict[str, Path] = {}
    for path in found:
        name = _picture_name(path)
        picked.setdefault(name, path)
    return [path for name, path in picked.items() if _half(name) == kept_back]


def _picture_name(path: Path) -> str:
    """One name for all sizes of a wallpaper: its folder under `wallpapers`, else its stem."""
    parts = path.parts
    if "wallpapers" in parts and "contents" in parts:
        return parts[parts.index("contents") - 1]
    return path.stem.split("_")[0].split("-")[0].lower()


def _half(name: str) -> bool:
    return hashlib.sha256(name.encode()).digest()[0] % 2 == 1


def photographs(files: Sequence[Path], rng: np.random.Generator) -> Iterator[tuple[str, Image]]:
    """Whole pictures, and separate quarters of large ones, at about 1000 px."""
    for path in files:
        with PillowImage.open(path) as opened:
            image = np.asarray(opened.convert("RGB"))
        height, width = image.shape[:2]
        parts = [image]
        if width > 2000:
            parts = [
                image[y : y + height // 2, x : x + width // 2]
                for y in (0, height // 2)
                for x in (0, width // 2)
            ]
        for number, part in enumerate(parts):
            if _is_telling(part):
                yield f"{_picture_name(path)}:{number}", _sized(part)


def _is_telling(part: Image) -> bool:
    """Whether a picture has texture over most of it.

    Quarters of smooth or symmetric artwork look alike, so that their truth would be wrong.
    """
    grey = cv2.cvtColor(_sized(part, 512), cv2.COLOR_RGB2GRAY).astype(np.float32)
    height, width = (side // 16 * 16 for side in grey.shape)
    cells = grey[:height, :width].reshape(height // 16, 16, width // 16, 16)
    return bool((cells.std(axis=(1, 3)) > 4).mean() > 0.55)


def _sized(image: Image, side: int = 1000) -> Image:
    scale = min(1.0, side / max(image.shape[:2]))
    size = (round(image.shape[1] * scale), round(image.shape[0] * scale))
    return cv2.resize(image, size, interpolation=cv2.INTER_AREA)


def hard_negatives(rng: np.random.Generator, rounds: int) -> Iterator[tuple[str, str, Image]]:
    """(origin, group, picture): every picture an origin of its own."""
    for number in range(rounds):
        design = make_design(rng)
        yield from _named(f"design{number}", _family(design, rng))
        yield from _named(f"room{number}", _room(design, rng))
        yield from _named(f"page{number}", _chrome(rng))
        yield from _named(f"seller{number}", _seller(rng))
        if number % 3 == 0:
            yield from _named(f"video{number}", _stills(design, rng))
        if number % 4 == 0:
            yield from _named(f"plain{number}", _plain(rng))


def _named(group: str, pictures: Sequence[Image]) -> Iterator[tuple[str, str, Image]]:
    for number, picture in enumerate(pictures):
        yield f"{group}:{number}", group, picture


def _family(design: Design, rng: np.random.Generator) -> list[Image]:
    loose = float(rng.choice([0.05, 0.3, 1.0]))
    shots = [shoot(design, rng, loose=loose) for _ in range(3)]
    return shots + [shoot(sibling(design, rng), rng, loose=loose) for _ in range(2)]


def _room(design: Design, rng: np.random.Generator) -> list[Image]:
    room = make_room(rng)
    grounds = [room, reshoot(room, rng), reshoot(room, rng)]
    return [shoot(design, rng, ground=ground, loose=3.0, temples="folded") for ground in grounds]


def _chrome(rng: np.random.Generator) -> list[Image]:
    """Different goods in the same page."""
    seed = int(rng.integers(0, 2**31))
    pages = []
    for _ in range(3):
        goods = shoot(make_design(rng), rng)
        page = PLAIN[str(rng.choice(["page_wide", "page_small"]))][1]
        pages.append(page(goods, np.random.default_rng(seed)))
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


def _stills(design: Design, rng: np.random.Generator) -> list[Image]:
    """The camera stands, the piece is moved a little: one room, other noise, other light."""
    room = make_room(rng)
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
    pictures = [blank, noisy, two, ramp.astype(np.uint8)]
    for _ in range(2):
        chart = np.full((600, 800, 3), 255, np.uint8)
        for row in range(6):
            cv2.line(chart, (40, 80 + row * 80), (760, 80 + row * 80), (120, 120, 120), 2)
            write(chart, rng, (60, 130 + row * 80), 1.0, [30, 30, 30])
        pictures.append(chart)
    return pictures


def make(
    folders: Sequence[Path],
    *,
    seed: int,
    kept_back: bool,
    originals: int,
    copies: int,
    rounds: int,
) -> list[Shot]:
    """`originals` pictures with `copies` edits each, and `rounds` of every hard negative."""
    rng = np.random.default_rng(seed)
    pool = list(photographs(photo_files(folders, kept_back), rng))
    negatives = list(hard_negatives(rng, rounds))
    goods = [(name, picture) for name, group, picture in negatives if not group.startswith("plain")]
    order = rng.permutation(len(pool))[: originals * 6 // 10]
    sources = [pool[i] for i in order]
    sources += [goods[i] for i in rng.permutation(len(goods))[: originals - len(sources)]]
    shots = [
        Shot(encode(picture, rng), frozenset({name}), "original", frozenset(), group)
        for name, group, picture in negatives
    ]
    taken = {name for name, _, _ in negatives}
    for name, picture in sources:
        if name not in taken:
            shots.append(Shot(encode(picture, rng), frozenset({name}), "original", frozenset(), ""))
        shots.extend(_edited(name, picture, sources, copies, rng))
    return shots


def _edited(
    name: str,
    picture: Image,
    sources: Sequence[tuple[str, Image]],
    copies: int,
    rng: np.random.Generator,
) -> Iterator[Shot]:
    names = [*EDITS, *COLLAGES]
    group = name.split(":")[0] if name[:4] in ("desi", "room", "page", "sell", "vide") else ""
    for edit in rng.permutation(names)[:copies]:
        edit = str(edit)
        if edit in COLLAGES:
            others = [
                sources[i] for i in rng.permutation(len(sources))[:4] if sources[i][0] != name
            ]
            image = collage(edit, picture, [other for _, other in others], rng)
            shown = {name, *(other for other, _ in others[: COLLAGES[edit][0]])}
            yield Shot(encode(image, rng), frozenset(shown), edit, frozenset({"collage"}), group)
            continue
        kinds, change = EDITS[edit]
        image = np.ascontiguousarray(change(np.ascontiguousarray(picture), rng))
        yield Shot(encode(image, rng), frozenset({name}), edit, kinds, group)
