"""What the photo search takes, each figure beside what it must not exceed.

Run by hand: `python -m tests.benchmarks.benchmark_photos [FOLDER] [--photos 200] [--cache DIR]
[--sparse 4000] [--growth 2000 20000] [--ranked 4000] [--keep DIR]`. FOLDER holds photographs
(JPEG); without it photos are made. Without `--sparse`, `--growth` and `--ranked` only the quick
parts run; processor time is that of one process.

- The fingerprint of a photo of 1600x1200, step by step, beside a peer: pHash of 64 bits from a full
  decode. What is stored of a photo.
- `--sparse`: search and verification in a folder of so many photos as listings hold them (the
  sparse set of tests/evaluation/photo_benchmark, kept in `--cache`; needs FOLDER).
- `--growth`: folders of so many photos: the real ones and an edited copy of each, and beyond them
  strangers: fingerprints whose features are mixed from many real photos, so that words are as
  common as in real folders, but no two agree in an arrangement. Prints the share of the edited
  copies that is found, and the exponent of the growth of index and all searches that find nothing:
  what is found is laid over each other, which does not depend on the folder.
- `--ranked`: seconds by the clock of `triage rank` with two workers on a folder of so many made
  photos of 1600x1200 (benchmark_rank.py; kept in `--keep`), cold and unchanged.
"""

from __future__ import annotations

import argparse
import io
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import cv2
import imagehash
import numpy as np
import numpy.typing as npt
from PIL import Image

from extractors.photos.agreement import compare
from extractors.photos.align import begin, refine
from extractors.photos.candidates import build_index
from extractors.photos.decode import decode, shrink
from extractors.photos.features import find_features
from extractors.photos.fingerprint import FEATURES, SIDE, Fingerprint, fingerprint, grey_of
from extractors.photos.pairs import find_pairs
from extractors.photos.search import content_digest, look, make_folder
from extractors.photos.threads import one_thread
from extractors.photos.words import find_words
from tests.benchmarks.benchmark_rank import make_folder as make_folder_of_listings
from tests.benchmarks.benchmark_rank import make_photo, run
from tests.evaluation.photo_benchmark.evaluate import COPIED_SHARE
from tests.evaluation.photo_benchmark.make import sparse
from tests.evaluation.photo_benchmark.sets import fingerprinted

T = TypeVar("T")
_MIXED = 12  # real photos that one stranger is mixed from
_SAMPLE = 60  # photos whose search is timed
_A_LISTING = 8  # photos


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


def in_full_size(data: bytes) -> bytes:
    """The photo saved anew in 1600x1200."""
    out = io.BytesIO()
    with Image.open(io.BytesIO(data)) as opened:
        opened.convert("RGB").resize((1600, 1200)).save(out, "JPEG", quality=88)
    return out.getvalue()


def stages(photos: Sequence[bytes]) -> Iterator[tuple[str, float]]:
    """What each step of a fingerprint takes, and the peer's hash."""
    decoded = [decode(data, SIDE, colour=True, rough=True).pixels for data in photos]
    greys = [shrink(np.asarray(cv2.cvtColor(p, cv2.COLOR_RGB2GRAY)), SIDE) for p in decoded]
    fingerprint(photos[0])  # loads what is loaded once
    _hash(photos[0])
    with one_thread():
        found = [find_features(grey, FEATURES) for grey in greys]
        yield "decode", processor_ms(lambda d: decode(d, SIDE, colour=True, rough=True), photos)
        yield "features", processor_ms(lambda grey: find_features(grey, FEATURES), greys)
        yield "words", processor_ms(lambda one: find_words(one.descriptors), found)
    yield "fingerprint (20)", processor_ms(fingerprint, photos)
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

    @property
    def whole_ms(self) -> float:
        """Index and searches of a folder in which nothing is shown twice."""
        return self.photos * (self.index_ms + self.alone_ms)


def search(pairs: Sequence[tuple[Fingerprint, Fingerprint]], photos: int) -> Grown:
    """Search a folder of so many photos for the copies of the real ones."""
    rng = np.random.default_rng(photos)
    real, copies = (list(side) for side in zip(*pairs, strict=True))
    every = [*real, *copies, *strangers(real, photos - 2 * len(pairs), rng)]
    order = sorted(range(len(every)), key=lambda i: content_digest(every[i]))
    place = {number: at for at, number in enumerate(order)}
    made = [every[i] for i in order]
    index_ms = processor_ms(lambda _: build_index(made), [None]) / photos
    folder = make_folder(made)
    alone = rng.permutation(range(2 * len(pairs), photos))[:_SAMPLE]
    sample = sorted(place[i] for i in alone.tolist())
    alone_ms = processor_ms(lambda later: look(folder, [later]), sample)
    both = [(place[i], place[len(pairs) + i]) for i in range(len(pairs))]
    wanted = {(max(pair), min(pair)) for pair in both}
    started = time.process_time()
    looked = look(folder, sorted({later for later, _ in wanted}))
    copy_ms = (time.process_time() - started) / len(wanted) * 1000
    found = len(wanted & {(one.later, one.earlier) for one in looked}) / len(wanted)
    return Grown(photos, index_ms, alone_ms, copy_ms, found)


def print_steps(photos: Sequence[bytes]) -> None:
    """What a fingerprint takes."""
    print(f"{len(photos)} photos of 1600x1200, processor time in ms a photo (must)")
    for name, taken in stages(photos):
        print(f"  {name:<20}{taken:7.2f}")


def print_pair_steps(pairs: Sequence[tuple[Fingerprint, Fingerprint]]) -> None:
    """What the steps of laying a copy over its original take."""
    some = [(copy, first) for first, copy in pairs[:40]]
    start = np.diag([0.86, 0.86, 1.0])
    begun = [(a, b, one) for a, b in some if (one := begin(a, b, start, False))]
    laid = [(a, b, found) for a, b, one in begun if (found := refine(a, b, one, 1.0))]
    greys = [(grey_of(a), grey_of(b), one.matrix) for a, b, one in laid]
    print(f"a pair: first matches {processor_ms(lambda p: begin(*p, start, False), some):.2f} ms")
    if greys:
        print(f"        all matches {processor_ms(lambda p: refine(*p, 1.0), begun):.2f} ms")
        print(f"        pixels {processor_ms(lambda p: compare(*p), greys):.2f} ms")


def print_sparse(folder: Path, photos: int, cache: Path) -> None:
    """What search and verification take where few photos have a copy."""
    tasks = sparse([folder], seed=5, kept_back=False, photos=photos, share=COPIED_SHARE)
    _, made = fingerprinted(tasks, cache)
    started = time.process_time()
    found = find_pairs(dict(enumerate(made)))
    taken = (time.process_time() - started) / len(made) * 1000
    print(f"sparse folder of {len(made)}: {taken:.1f} ms a photo (must 40), {len(found)} pairs")


def _peer_ms(hashes: npt.NDArray[np.uint64]) -> float:
    """Comparing each hash of 64 bits with those before it."""
    return processor_ms(lambda at: np.bitwise_count(hashes[:at] ^ hashes[at]), range(len(hashes)))


def print_growth(pairs: Sequence[tuple[Fingerprint, Fingerprint]], sizes: Sequence[int]) -> None:
    """How the search grows with the folder."""
    rng = np.random.default_rng(5)
    grown = []
    for size in sizes:
        one = search(pairs, size)
        peer = _peer_ms(rng.integers(0, 2**64, size, dtype=np.uint64))
        print(
            f"{size:6} photos: index {one.index_ms:.2f}, search without a copy {one.alone_ms:.2f},"
            f" with one {one.copy_ms:.2f}, copies found {one.found:.3f}; peer {peer:.2f}",
            flush=True,
        )
        grown.append(one)
    if len(grown) > 1:
        first, last = grown[0], grown[-1]
        power = np.log(last.whole_ms / first.whole_ms) / np.log(last.photos / first.photos)
        lost = first.found - last.found
        print(f"grows with the power {power:.2f} (must 1.4); copies lost {lost:.3f} (must 0.01)")


def print_ranked(photos: int, place: Path) -> None:
    """Seconds by the clock of a folder, as a user ranks it."""
    week, cache = place / "week", place / "cache"
    if not week.exists():
        week.mkdir(parents=True)
        make_folder_of_listings(week, photos // _A_LISTING, _A_LISTING)
    shutil.rmtree(cache, ignore_errors=True)
    given = ("--workers", "2", "--cache", str(cache), "--quiet", "--format", "jsonl")
    for name, most in (("cold", 120), ("unchanged", 2)):
        took = run("rank", str(week), *given, "--output", str(place / "out"))
        print(
            f"{photos} photos ranked {name}: {took.clock_s:.1f} s by the clock (must {most}), "
            f"{took.processor_s:.1f} s of processors, {took.memory_mb:.0f} MB",
            flush=True,
        )


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--photos", type=int, default=200)
    parser.add_argument("--growth", type=int, nargs="*", default=[])
    for name in ("sparse", "ranked"):
        parser.add_argument(f"--{name}", type=int, default=0)
    for name in ("cache", "keep"):
        parser.add_argument(f"--{name}", type=Path)
    return parser.parse_args()


def main() -> None:
    """Run as the module docstring says."""
    given = _options()
    photos = read_photos(given.folder, given.photos)
    print_steps(photos[:60] if given.folder is None else [in_full_size(d) for d in photos[:60]])
    rng = np.random.default_rng(5)
    both = [(fingerprint(data), fingerprint(edited(data, rng))) for data in photos]
    pairs = [(a, b) for a, b in both if a.is_comparable and b.is_comparable]
    stored = np.mean([len(first.to_bytes()) for first, _ in pairs])
    print(f"stored: {stored / 1000:.1f} kB a photo (must 130)")
    print_pair_steps(pairs)
    with tempfile.TemporaryDirectory() as aside:
        if given.sparse and given.folder:
            print_sparse(given.folder, given.sparse, given.cache or Path(aside, "made"))
        if given.growth:
            print_growth(pairs, given.growth)
        if given.ranked:
            print_ranked(given.ranked, given.keep or Path(aside))


if __name__ == "__main__":
    main()
