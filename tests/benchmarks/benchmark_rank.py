"""Seconds and memory of `triage rank` on a made folder, beside a plain loop over the same photos.

Run by hand: `python tests/benchmarks/benchmark_rank.py [--listings 500] [--photos 8] [--keep DIR]`.
It makes listings with photos of 1600x1200, ranks them cold (empty cache) and unchanged, and runs
the plain loop (full decode and a perceptual hash of each photo, one process). Memory is the peak of
the whole process tree, shared pages counted once (proportional set size where the system tells).
`--small 10000` also times `triage read` on so many small listings.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import imagehash
import numpy as np
import psutil
from PIL import Image, ImageDraw, ImageFilter

WORDS = ("round", "oval", "slim", "worn", "clean", "bright", "black", "honey", "green", "large")
SHARED = 0.03  # share of photos that are another listing's, saved again


def make_photo(seed: int, quality: int = 88) -> bytes:
    """A JPEG of 1600x1200 with grain, soft shapes and a drawn frame; another for every seed."""
    rng = np.random.default_rng(seed)
    rough = rng.integers(40, 220, (12, 16, 3), dtype=np.uint8)
    picture = Image.fromarray(rough).resize((1600, 1200), Image.Resampling.BICUBIC)
    draw = ImageDraw.Draw(picture)
    pick = random.Random(seed)
    for _ in range(60):
        x, y, size = pick.randrange(1600), pick.randrange(1200), pick.randrange(15, 160)
        shade = tuple(pick.randrange(256) for _ in range(3))
        shape = pick.choice((draw.ellipse, draw.rectangle))
        shape((x, y, x + size, y + size * pick.uniform(0.3, 1.5)), fill=shade)
    left, top, wide = pick.randrange(200, 500), pick.randrange(300, 600), pick.randrange(220, 330)
    for x in (left, left + wide + 70):
        draw.ellipse((x, top, x + wide, top + wide * 0.8), outline=(25, 18, 12), width=26)
    draw.line((left + wide, top + 90, left + wide + 70, top + 90), fill=(25, 18, 12), width=22)
    picture = picture.filter(ImageFilter.GaussianBlur(1.2))
    grain = rng.normal(0, 5, (1200, 1600, 1)).astype(np.int16)
    noisy = np.clip(np.asarray(picture, np.int16) + grain, 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(noisy).save(out, "JPEG", quality=quality)
    return out.getvalue()


def _write_photo(job: tuple[str, int, int]) -> None:
    path, seed, quality = job
    Path(path).write_bytes(make_photo(seed, quality))


def make_folder(folder: Path, listings: int, photos: int) -> None:
    """Listings as text files with their photos beside them, some sharing a photo."""
    pick = random.Random(7)
    jobs: list[tuple[str, int, int]] = []
    for number in range(listings):
        name = f"listing{number:05d}"
        (folder / f"{name}.txt").write_text(_text(number, pick), encoding="utf-8")
        for photo in range(photos):
            own = number * 100 + photo
            seed = pick.randrange(listings) * 100 if pick.random() < SHARED else own
            quality = 88 if seed == own else 70
            jobs.append((str(folder / f"{name}_{photo + 1}.jpg"), seed, quality))
    with ProcessPoolExecutor(2) as pool:
        list(pool.map(_write_photo, jobs, chunksize=16))


def _text(number: int, pick: random.Random) -> str:
    look = " ".join(pick.sample(WORDS, 3))
    name = pick.choice(("Orlenza Merrin", "Orlenza Tavoy", "Quistell 4107", "Pellavoss Arne"))
    lens, bridge = pick.randrange(44, 56), pick.randrange(16, 24)
    return (
        f"{name} {look} frame {number}\nPrice: {pick.randrange(20, 200)} GBP\n"
        f"Seller: seller{number % 211}\n\nLens {lens} mm, bridge {bridge} mm, arms 140 mm. "
        f"{pick.choice(('Seven', 'Five'))}-barrel hinges. Stamped {name.split()[0].upper()} on the "
        f"left arm. Number {pick.randrange(10**6)} in my {look} collection.\n"
    )


def make_small(file: Path, listings: int) -> None:
    """Many small listings without photos in one JSON Lines file."""
    pick = random.Random(11)
    with file.open("w", encoding="utf-8") as out:
        for number in range(listings):
            title, _, rest = _text(number, pick).partition("\n")
            record = {"id": f"n{number}", "title": title, "description": rest}
            out.write(json.dumps(record) + "\n")


class Taken(NamedTuple):
    """What a run took: seconds by the clock and of processors, peak memory of the tree in MB."""

    clock_s: float
    processor_s: float
    memory_mb: float

    def line(self, loop: Taken) -> str:
        share = f"{self.clock_s / loop.clock_s:.3f} ({self.processor_s / loop.processor_s:.3f})"
        told = f"{self.clock_s:7.1f} s {self.processor_s:7.1f} s {self.memory_mb:6.0f} MB"
        return f"{told}  {share} of the plain loop"


def _children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def run(*arguments: str) -> Taken:
    """Run the command line as a user would."""
    began, used = time.perf_counter(), _children_s()
    process = subprocess.Popen([sys.executable, "-m", "triage", *arguments])
    peak = 0.0
    while process.poll() is None:
        peak = max(peak, _tree_mb(process.pid))
        time.sleep(0.4)  # reading what pages are shared costs the processes time
    if process.returncode not in (0, 1):
        raise SystemExit(f"triage ended with {process.returncode}")
    return Taken(time.perf_counter() - began, _children_s() - used, peak)


def _tree_mb(pid: int) -> float:
    total = 0
    try:
        parent = psutil.Process(pid)
        for process in (parent, *parent.children(recursive=True)):
            try:
                told = process.memory_full_info()
            except psutil.Error:
                continue
            total += getattr(told, "pss", told.rss)
    except psutil.Error:
        return 0.0
    return total / 1e6


def plain_loop(folder: Path) -> Taken:
    """Decode every photo in full and hash it, one after the other."""
    began, used = time.perf_counter(), time.process_time()
    for path in sorted(folder.glob("*.jpg")):
        with Image.open(path) as picture:
            imagehash.phash(picture.convert("RGB"))
    clock, processor = time.perf_counter() - began, time.process_time() - used
    return Taken(clock, processor, psutil.Process().memory_info().rss / 1e6)


@contextmanager
def _place(keep: Path | None) -> Iterator[Path]:
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        yield keep
        return
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--listings", type=int, default=500)
    parser.add_argument("--photos", type=int, default=8)
    parser.add_argument("--small", type=int, default=0)
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    with _place(given.keep) as place:
        folder, cache = place / "week", place / "cache"
        if not folder.exists():
            folder.mkdir()
            make_folder(folder, given.listings, given.photos)
        print(f"{given.listings} listings, {given.listings * given.photos} photos of 1600x1200")
        common = ("--workers", "2", "--cache", str(cache), "--quiet", "--format", "jsonl")
        whole = (*common, "--output", str(place / "out"), "--report", str(place / "report.html"))
        subprocess.run(["rm", "-rf", str(cache)], check=True)
        cold = run("rank", str(folder), *whole)
        warm = run("rank", str(folder), *whole)
        loop = plain_loop(folder)
        print("by the clock (of processors):")
        for words, taken in (("cold", cold), ("unchanged", warm), ("plain loop", loop)):
            print(f"{words:<11}{taken.line(loop)}")
        print(f"report     {(place / 'report.html').stat().st_size / 1e6:7.1f} MB")
        if given.small:
            make_small(place / "small.jsonl", given.small)
            took = run("read", str(place / "small.jsonl"), *common, "--output", str(place / "o"))
            print(
                f"read {given.small} small listings {took.clock_s:.1f} s  {took.memory_mb:.0f} MB"
            )


if __name__ == "__main__":
    main()
