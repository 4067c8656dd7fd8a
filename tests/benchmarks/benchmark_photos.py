"""Milliseconds of processor time per stage of the photo search, beside imagehash in the same run.

Run by hand: `python -m tests.benchmarks.benchmark_photos [FOLDER] [--photos 200]
[--growth 1000 2000 4000]`. FOLDER holds photos (JPEG); without it photos are made. The peer hashes
every photo (full decode, pHash of 64 bits) and compares all hashes with each other.

`--growth` searches folders of so many photos: the real ones and an edited copy of each, and beyond
them strangers: fingerprints whose features are mixed from many real photos, so that words are as
common as in real folders, but no two agree in an arrangement. It prints the share of the edited
copies that is found, and the exponent of the growth of all searches together that find nothing:
what is found is laid over each other, which does not depend on the folder.
"""

from __future__ import annotations

import argparse
import io
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import cv2
import imagehash
import numpy as np
from PIL import Image

from extractors.photos.agreement import compare
from extractors.photos.align import begin, refine
from extractors.photos.candidates import build_index
from extractors.photos.decode import decode, shrink
from extractors.photos.features import find_features
from extractors.photos.fingerprint import FEATURES, SIDE, Fingerprint, fingerprint, grey_of
from extractors.photos.search import content_digest, look, make_folder
from extractors.photos.threads import one_thread
from extractors.photos.words import find_words
from tests.benchmarks.benchmark_rank import make_photo

T = TypeVar("T")
_MIXED = 12  # real photos that one stranger is mixed from
_SAMPLE = 60  # photos whose search is timed


def processor_ms(work: Callable[[T], Any], items: Sequence[T]) -> float:
    """Milliseconds of processor time an item takes, in this process."""
    started = time.process_time()
    for item in items:
        work(item)
    return (time.process_time() - started) / len(items) * 1000


def read_photos(folder: Path | None, count: int) -> list[bytes]:
    """So many photos of a folder, or made ones."""
    if folder is None:
        return [make_photo(seed) for seed in range(count)]
    files = sorted(path for path in folder.rglob("*") if path.suffix.lower() in (".jpg", ".jpeg"))
    chosen = files[:: max(1, len(files) // count)][:count]
    return [path.read_bytes() for path in chosen]


def stages(photos: Sequence[bytes]) -> Iterator[tuple[str, float]]:
    """What each step of a fingerprint takes, and the peer's hash."""
    decoded = [decode(data, SIDE, colour=True, rough=True).pixels for data in photos]
    greys = [shrink(np.asarray(cv2.cvtColor(p, cv2.COLOR_RGB2GRAY)), SIDE) for p in decoded]
    fingerprint(photos[0])  # loads what is loaded once
    with one_thread():
        found = [find_features(grey, FEATURES) for grey in greys]
        yield "decode", processor_ms(lambda d: decode(d, SIDE, colour=True, rough=True), photos)
        yield "features", processor_ms(lambda grey: find_features(grey, FEATURES), greys)
        yield "words", processor_ms(lambda one: find_words(one.descriptors), found)
    yield "fingerprint, whole", processor_ms(fingerprint, photos)
    yield "peer: pHash", processor_ms(_hash, photos)


def _hash(data: bytes) -> Any:
    with Image.open(io.BytesIO(data)) as picture:
        return imagehash.phash(picture.convert("RGB")).hash


def edited(data: bytes, rng: np.random.Generator) -> bytes:
    """The photo cut off centre, smaller, brighter and saved anew."""
    with Image.open(io.BytesIO(data)) as opened:
        picture = opened.convert("RGB")
    w, h = picture.size
    left, top = (int(side * rng.uniform(0, 0.12)) for side in (w, h))
    part = picture.crop((left, top, left + int(w * 0.86), top + int(h * 0.86)))
    part = part.resize((part.width * 2 // 3, part.height * 2 // 3)).point(lambda v: v * 1.08)
    out = io.BytesIO()
    part.save(out, "JPEG", quality=72)
    return out.getvalue()


def strangers(
    real: Sequence[Fingerprint], count: int, rng: np.random.Generator
) -> Iterator[Fingerprint]:
    """Fingerprints with features of many photos at places of none."""
    for number in range(count):
        mixed = [real[int(i)] for i in rng.integers(0, len(real), _MIXED)]
        rows = [rng.integers(0, len(one.points), FEATURES // _MIXED) for one in mixed]
        parts = list(zip(mixed, rows, strict=True))
        base = mixed[0]
        yield replace(
            base,
            width=base.width + 1 + number,  # so that its content is another
            phash=rng.bytes(32).hex(),
            points=np.concatenate([one.points[r] for one, r in parts])[
                rng.permutation(FEATURES // _MIXED * _MIXED)
            ],
            angles=np.concatenate([one.angles[r] for one, r in parts]),
            levels=np.concatenate([one.levels[r] for one, r in parts]),
            packed=np.concatenate([one.packed[r] for one, r in parts]),
            words=np.concatenate([one.words[r] for one, r in parts]),
            vectors=rng.integers(-60, 60, base.vectors.shape).astype(np.int8),
        )


@dataclass(frozen=True)
class Grown:
    """A folder of `photos`: what the search of a photo takes that has no copy there and of one
    that has, and the share of copies found.
    """

    photos: int
    index_ms: float
    alone_ms: float
    copy_ms: float
    found: float


def search(real: Sequence[Fingerprint], copies: Sequence[Fingerprint], photos: int) -> Grown:
    """Search a folder of so many photos for the copies of the real ones."""
    rng = np.random.default_rng(photos)
    every = [*real, *copies]
    every += strangers(real, photos - len(every), rng)
    order = sorted(range(len(every)), key=lambda i: content_digest(every[i]))
    place = {number: at for at, number in enumerate(order)}
    made = [every[i] for i in order]
    index_ms = processor_ms(lambda _: build_index(made), [None]) / photos
    folder = make_folder(made)
    alone = range(len(real) + len(copies), photos)
    sample = sorted(place[i] for i in rng.permutation(alone)[:_SAMPLE].tolist())
    alone_ms = processor_ms(lambda later: look(folder, [later]), sample)
    pairs = [(place[i], place[len(real) + i]) for i in range(min(len(real), len(copies)))]
    wanted = {(max(pair), min(pair)) for pair in pairs}
    started = time.process_time()
    looked = look(folder, sorted({later for later, _ in wanted}))
    copy_ms = (time.process_time() - started) / len(wanted) * 1000
    found = len(wanted & {(one.later, one.earlier) for one in looked}) / len(wanted)
    return Grown(photos, index_ms, alone_ms, copy_ms, found)


def print_pair_steps(real: Sequence[Fingerprint], copies: Sequence[Fingerprint]) -> None:
    """What the steps of laying a copy over its original take."""
    pairs = list(zip(copies, real, strict=True))[:40]
    start = np.diag([0.86, 0.86, 1.0])
    begun = [(a, b, found) for a, b in pairs if (found := begin(a, b, start, False))]
    laid = [(a, b, found) for a, b, one in begun if (found := refine(a, b, one, 1.0))]
    greys = [(grey_of(a), grey_of(b), one.matrix) for a, b, one in laid]
    print(f"a pair: first matches {processor_ms(lambda p: begin(*p, start, False), pairs):.2f} ms")
    if greys:
        print(f"        all matches {processor_ms(lambda p: refine(*p, 1.0), begun):.2f} ms")
        print(f"        pixels {processor_ms(lambda p: compare(*p), greys):.2f} ms")


def main() -> None:
    """Run as the module docstring says."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--photos", type=int, default=200)
    parser.add_argument("--growth", type=int, nargs="*", default=[1000, 2000, 4000])
    given = parser.parse_args()
    photos = read_photos(given.folder, given.photos)
    print(f"{len(photos)} photos, processor time in ms a photo")
    for name, taken in stages(photos[:60]):
        print(f"  {name:<20}{taken:7.2f}")
    real = [one for one in map(fingerprint, photos) if one.is_comparable]
    rng = np.random.default_rng(5)
    copies = [fingerprint(edited(data, rng)) for data in photos]
    print(f"stored: {np.mean([len(one.to_bytes()) for one in real]) / 1000:.1f} kB a photo")
    print_pair_steps(real, copies)
    grown = [search(real, copies, count) for count in given.growth]
    for one in grown:
        bits = rng.integers(0, 2**64, one.photos, dtype=np.uint64)
        peer = processor_ms(lambda at, b=bits: np.bitwise_count(b[:at] ^ b[at]), range(one.photos))
        print(
            f"{one.photos:6} photos: index {one.index_ms:.2f}, search without a copy"
            f" {one.alone_ms:.2f}, with one {one.copy_ms:.2f}, copies found {one.found:.3f};"
            f" peer's comparison {peer:.2f}"
        )
    if len(grown) > 1:
        first, last = grown[0], grown[-1]
        times = last.photos * last.alone_ms / (first.photos * first.alone_ms)
        exponent = np.log(times) / np.log(last.photos / first.photos)
        print(f"the whole search grows with the power {exponent:.2f} of the photos")


if __name__ == "__main__":
    main()
