"""Make a benchmark: a folder's worth of photos with the truth about every pair.

Originals are photographs under open licences that the buyer of these figures names (folders of
wallpaper packages; the photos in the scikit-image and scikit-learn wheels are always used) and
rendered goods. Photo files are dealt to the tuning and the kept-back half by their name, so that
no picture is in both. Truth: photos with one `origin` show one picture; `alike` photos share a
group of hard negatives (same design, same room, same page, same video ...) but are no copies.

A set is a list of tasks; each follows from its own seed alone, so that they can be done in any
order and by several processes.
"""

from __future__ import annotations

import functools
import hashlib
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path

import cv2
import numpy as np
from PIL import Image as PillowImage

from tests.evaluation.photo_benchmark.closeups import CLOSEUPS
from tests.evaluation.photo_benchmark.contrasts import CONTRASTS
from tests.evaluation.photo_benchmark.edits import COLLAGES, EDITS, collage, encode
from tests.evaluation.photo_benchmark.families import FAMILIES, reshot
from tests.evaluation.photo_benchmark.goods import Image
from tests.evaluation.photo_benchmark.scenes import SCENES
from tests.evaluation.photo_benchmark.screens import SCREENS
from tests.evaluation.photo_benchmark.signs import SIGNS
from tests.evaluation.photo_benchmark.varied import VARIED

# two shots or renderings that are no photographs, or show one scene twice
_LEFT_OUT = {"motorcycle_left.png", "motorcycle_right.png", "text.png", "page.png", "color.png"}
_LEAST_TEXTURE, _LEAST_WHOLE = 0.55, 0.12  # share of 16 px cells: for a quarter, for a whole
_LEAST_BYTES = 60_000
EVERY_EDIT = (*EDITS, *COLLAGES)


@dataclass(frozen=True)
class Shot:
    """One photo of the benchmark: `origins` it shows, the edit, and its group of hard negatives."""

    data: bytes
    origins: frozenset[str]
    edit: str
    kinds: frozenset[str]
    alike: str


@dataclass(frozen=True)
class Part:
    """A photograph, or a quarter (0 to 3) of a large one."""

    path: Path
    quarter: int | None

    @property
    def name(self) -> str:
        """One name for all sizes of a picture."""
        return picture_name(self.path) + ("" if self.quarter is None else f":{self.quarter}")

    def picture(self) -> Image:
        """RGB at about 1000 px."""
        return _sized(_quarter(_opened(self.path), self.quarter))


@dataclass(frozen=True)
class Task:
    """Pictures of one family, or one photograph (`part`), and which edits of which to add."""

    kind: str
    number: int
    seed: int
    part: Part | None = None
    edits: tuple[tuple[int, tuple[str, ...]], ...] = ()
    others: tuple[Part, ...] = ()


def photo_files(folders: Sequence[Path], kept_back: bool) -> list[Path]:
    """The photo files of one half, smallest name first, one per picture name."""
    packages = [Path(str(resources.files(p))) for p in ("skimage.data", "sklearn.datasets.images")]
    found = [
        path
        for folder in [*folders, *packages]
        for path in sorted(folder.rglob("*"))
        if path.suffix.lower() in {".jpg", ".jpeg", ".png", ".webp"}
        and path.stat().st_size > _LEAST_BYTES
        and path.name not in _LEFT_OUT
        and path.stem != "screenshot"
        and "doc" not in path.parts
    ]
    picked: dict[str, Path] = {}
    for path in found:
        picked.setdefault(picture_name(path), path)
    return [path for name, path in picked.items() if _half(name) == kept_back]


def picture_name(path: Path) -> str:
    """One name for all sizes of a wallpaper: its folder under `wallpapers`, else its stem."""
    parts = path.parts
    if "wallpapers" in parts and "contents" in parts:
        return parts[parts.index("contents") - 1]
    return path.stem.split("_")[0].split("-")[0].lower()


def _half(name: str) -> bool:
    return hashlib.sha256(name.encode()).digest()[0] % 2 == 1


def photo_parts(files: Sequence[Path]) -> list[Part]:
    """Quarters of large textured pictures, all others whole unless almost empty.

    Quarters of smooth or symmetric artwork look alike, so that their truth would be wrong.
    """
    found: list[Part] = []
    for path in files:
        image = _opened(path)
        quarters = [Part(path, number) for number in range(4)] if image.shape[1] > 1900 else []
        if quarters and all(_texture(part.picture()) > _LEAST_TEXTURE for part in quarters):
            found += quarters
        elif _texture(_sized(image)) > _LEAST_WHOLE:
            found.append(Part(path, None))
    return found


@functools.lru_cache(maxsize=3)
def _opened(path: Path) -> Image:
    with PillowImage.open(path) as opened:
        opened.draft("RGB", (2000, 2000))
        if opened.mode in {"RGBA", "LA", "P"}:
            rgba = opened.convert("RGBA")
            return np.asarray(
                PillowImage.alpha_composite(
                    PillowImage.new("RGBA", rgba.size, "white"), rgba
                ).convert("RGB")
            )
        return np.asarray(opened.convert("RGB"))


def _quarter(image: Image, number: int | None) -> Image:
    if number is None:
        return image
    h, w = image.shape[0] // 2, image.shape[1] // 2
    y, x = (number // 2) * h, (number % 2) * w
    return image[y : y + h, x : x + w]


def _texture(picture: Image) -> float:
    """The share of 16 px cells of a picture at 512 px that have texture."""
    grey = cv2.cvtColor(_sized(picture, 512), cv2.COLOR_RGB2GRAY).astype(np.float32)
    height, width = (side // 16 * 16 for side in grey.shape)
    cells = grey[:height, :width].reshape(height // 16, 16, width // 16, 16)
    return float((cells.std(axis=(1, 3)) > 4).mean())


def _sized(image: Image, side: int = 1000) -> Image:
    scale = min(1.0, side / max(image.shape[:2]))
    size = (round(image.shape[1] * scale), round(image.shape[0] * scale))
    return cv2.resize(image, size, interpolation=cv2.INTER_AREA)


def dense(
    folders: Sequence[Path], *, seed: int, kept_back: bool, originals: int, copies: int, rounds: int
) -> list[Task]:
    """`originals` pictures with `copies` edits each, and `rounds` families of hard negatives."""
    rng = np.random.default_rng(seed)
    parts = _shuffled(photo_parts(photo_files(folders, kept_back)), rng)
    photos = min(len(parts), originals * 2 // 3)
    tasks = [_photo(parts, at, copies, rng) for at in range(photos)]
    tasks += [Task("photo", at, _draw(rng), parts[at]) for at in range(photos, len(parts))]
    left = originals - photos
    for kind, share in _ROUNDS.items():
        for number in range(max(1, round(rounds * share))):
            edited: tuple[tuple[int, tuple[str, ...]], ...] = ()
            if kind in _EDITED and left > 0:
                # two members of a family: edits of look-alikes are the hardest negatives
                again = np.random.default_rng((seed, zlib.crc32(kind.encode()), number))
                edited = ((0, _some(copies, rng)), (1, _some(copies, again)))
                left -= 2
            tasks.append(Task(kind, number, _draw(rng), None, edited, _others(parts, rng)))
    # a smooth picture shot again looks the same: no sure truth
    telling = [part for part in parts if _texture(part.picture()) > _LEAST_TEXTURE][:rounds]
    tasks += [Task("burst", at, _draw(rng), part) for at, part in enumerate(telling)]
    return tasks


# families for each round; those that also give originals
_ROUNDS = {
    "design": 1.0,
    "look": 1.0,
    "room": 1.0,
    "page": 0.7,
    "seller": 1.0,
    "video": 0.7,
    "drawn": 0.5,
    "plain": 0.2,
    "listing": 2.0,
}
_EDITED = ("design", "look", "room", "drawn", "listing")


def sparse(
    folders: Sequence[Path], *, seed: int, kept_back: bool, photos: int, share: float
) -> list[Task]:
    """About `photos` photos as listings hold them; `share` of them edited copies of others."""
    rng = np.random.default_rng(seed)
    parts = _shuffled(photo_parts(photo_files(folders, kept_back)), rng)
    tasks = [_photo(parts, at, int(rng.integers(0, 3)), rng) for at in range(len(parts))]
    wanted = int(photos * share)
    number = len(parts) * 2
    while number < photos:
        kind = str(rng.choice(list(_ROUNDS), p=_LIFE))
        size = _SIZES[kind]
        copied = kind in _EDITED and wanted > 0 and rng.random() < 0.5
        edited = ((int(rng.integers(0, 2)), _some(int(rng.integers(1, 3)), rng)),) if copied else ()
        wanted -= sum(len(names) for _, names in edited)
        tasks.append(Task(kind, number, _draw(rng), None, edited, _others(parts, rng)))
        number += size
    return tasks


def edited_more(
    tasks: Sequence[Task], edits: Sequence[str], copies: int, every: int = 3
) -> list[Task]:
    """Some of the pictures of which `tasks` hold edits, once more, with `copies` of these edits
    each. To be made besides the tasks: the originals come out the same, byte by byte.
    """
    edited = [task for task in tasks if any(names for _, names in task.edits)]
    return [_edited_more(task, edits, copies) for task in edited[::every]]


def _edited_more(task: Task, edits: Sequence[str], copies: int) -> Task:
    rng = np.random.default_rng((task.seed, zlib.crc32(task.kind.encode()), task.number))
    drawn = tuple((number, _some(copies, rng, edits)) for number, _ in task.edits)
    return replace(task, edits=drawn)


def families(
    folders: Sequence[Path],
    *,
    seed: int,
    kept_back: bool,
    rounds: int,
    kinds: Sequence[str],
    edits: Sequence[str],
    copies: int,
) -> list[Task]:
    """`rounds` families of each kind, two members of each with `copies` of the edits ("photo": one
    photograph). To be looked at family by family.
    """
    rng = np.random.default_rng(seed)
    parts = _shuffled(photo_parts(photo_files(folders, kept_back)), rng)
    tasks = []
    for number in range(rounds):
        for kind in kinds:
            members = () if kind == "blots" else (0,) if kind == "photo" else (0, 1)
            edited = tuple((at, _some(copies, rng, edits)) for at in members)
            part = parts[number % len(parts)] if kind == "photo" else None
            # the seed is part of the name: no two sets hold one family
            name = seed * 1000 + number
            tasks.append(Task(kind, name, _draw(rng), part, edited, _others(parts, rng)))
    return tasks


_SIZES = {
    "design": 5, "look": 6, "room": 3, "page": 3, "seller": 3, "video": 3, "drawn": 4, "plain": 6,
    "listing": 5,
}  # fmt: skip
_LIFE = (0.12, 0.08, 0.12, 0.05, 0.08, 0.03, 0.03, 0.02, 0.47)


def _shuffled(parts: Sequence[Part], rng: np.random.Generator) -> list[Part]:
    return [parts[int(at)] for at in rng.permutation(len(parts))]


def _draw(rng: np.random.Generator) -> int:
    return int(rng.integers(0, 2**31))


def _some(
    count: int, rng: np.random.Generator, edits: Sequence[str] = EVERY_EDIT
) -> tuple[str, ...]:
    return tuple(str(name) for name in rng.permutation(edits)[:count])


def _others(parts: Sequence[Part], rng: np.random.Generator) -> tuple[Part, ...]:
    return tuple(parts[int(at)] for at in rng.permutation(len(parts))[:3])


def _photo(parts: Sequence[Part], at: int, copies: int, rng: np.random.Generator) -> Task:
    others = tuple(part for part in _others([*parts[:at], *parts[at + 1 :]], rng))
    return Task("photo", at, _draw(rng), parts[at], ((0, _some(copies, rng)),), others)


def shots_of(task: Task) -> list[Shot]:
    """All photos of a task."""
    rng = np.random.default_rng(task.seed)
    named = list(_pictures(task, rng))
    group = "" if task.kind == "photo" else named[0][0].split(":")[0]
    shots = [
        Shot(encode(picture, rng), frozenset({name}), "original", frozenset(), group)
        for name, picture in named
        if not (task.kind == "burst" and name == _part_of(task).name)
    ]
    for number, edits in task.edits:
        name, picture = named[number]
        shots += [_edited(name, picture, edit, task.others, group) for edit in edits]
    return shots


def _part_of(task: Task) -> Part:
    if task.part is None:
        raise ValueError(f"a {task.kind} needs a photograph")
    return task.part


def _pictures(task: Task, rng: np.random.Generator) -> Iterator[tuple[str, Image]]:
    """(origin, picture): every picture an origin of its own."""
    if task.kind in {"photo", "burst"}:
        part = _part_of(task)
        picture = part.picture()
        yield part.name, picture
        if task.kind == "burst":
            for number in (1, 2):
                yield f"burst{task.number}:{number}", reshot(picture, rng)
        return
    families = {**FAMILIES, **SCENES, **CLOSEUPS}
    for number, picture in enumerate(families[task.kind](rng)):
        yield f"{task.kind}{task.number}:{number}", picture


def _edited(name: str, picture: Image, edit: str, others: Sequence[Part], group: str) -> Shot:
    """The edit follows from the picture's name, whatever else is made."""
    rng = np.random.default_rng(zlib.crc32(f"{name} {edit}".encode()))
    if edit in COLLAGES:
        used = others[: COLLAGES[edit][0]]
        image = collage(edit, picture, [other.picture() for other in used], rng)
        shown = {name, *(other.name for other in used)}
        return Shot(encode(image, rng), frozenset(shown), edit, frozenset({"collage"}), group)
    kinds, change = {**EDITS, **CONTRASTS, **SIGNS, **VARIED, **SCREENS}[edit]
    image = np.ascontiguousarray(change(np.ascontiguousarray(picture), rng))
    return Shot(encode(image, rng), frozenset({name}), edit, kinds, group)
