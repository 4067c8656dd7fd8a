"""Pages a second for the page reader on heavy pages, beside two common ways of reading one.

    python -m tests.benchmarks.benchmark_pages [--rounds 3] [--profile BUILD] [--dump FILE]

The peers do less: one parses and takes out the structured data (lxml and extruct), one parses and
takes out the plain text (selectolax). All run in this process on one core; the best round counts.
`--dump` writes what was read as JSON Lines, to compare two versions of the reader.
"""

from __future__ import annotations

import argparse
import cProfile
import gc
import json
import pstats
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import extruct
from selectolax.lexbor import LexborHTMLParser

from extractors.codec import to_plain
from tests.benchmarks.heavy_pages import BUILDS, make_heavy
from triage.readers import page
from triage.readers.source import ReadResult, Source


def read(html: bytes, place: Path) -> ReadResult:
    return page.read(Source(place, "page.html", content=html, member="page.html"))


def structured(html: bytes, place: Path) -> object:
    """What the peer for structured data finds."""
    kinds = ["json-ld", "microdata", "opengraph"]
    return extruct.extract(html.decode(), syntaxes=kinds, errors="ignore")


def plain_text(html: bytes, place: Path) -> object:
    """What the peer for plain text finds."""
    tree = LexborHTMLParser(html)
    for node in tree.css("script, style, template, svg, nav, header, footer"):
        node.decompose()
    return tree.body.text(separator="\n", strip=True) if tree.body else ""


def seconds(call: Callable[[bytes, Path], object], html: bytes, place: Path, rounds: int) -> float:
    best = float("inf")
    for _ in range(rounds):
        gc.collect()
        start = time.process_time()
        call(html, place)
        best = min(best, time.process_time() - start)
    return best


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--numbers", type=int, default=2, help="pages of each build")
    parser.add_argument("--profile", choices=list(BUILDS))
    parser.add_argument("--dump", type=Path)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        place = Path(made)
        if chosen.profile:
            profile(make_heavy(chosen.profile).html.encode(), place)
        elif chosen.dump:
            dump(chosen.dump, chosen.numbers, place)
        else:
            measure(chosen.rounds, chosen.numbers, place)


def measure(rounds: int, numbers: int, place: Path) -> None:
    calls = (read, structured, plain_text)
    print(f"{'pages a second':14}{'kB':>7}{'reader':>9}{'extruct':>9}{'text':>9}")
    taken = [0.0] * len(calls)
    for build in BUILDS:
        rows = [make_heavy(build, n).html.encode() for n in range(numbers)]
        read(rows[0], place)  # tables are loaded once
        times = [sum(seconds(c, html, place, rounds) for html in rows) for c in calls]
        taken = [a + b for a, b in zip(taken, times, strict=True)]
        size = sum(map(len, rows)) // len(rows) // 1000
        print(f"{build:14}{size:7}" + "".join(f"{numbers / t:9.1f}" for t in times), flush=True)
    print(f"{'all':21}" + "".join(f"{numbers * len(BUILDS) / t:9.1f}" for t in taken))


def profile(html: bytes, place: Path) -> None:
    read(html, place)
    profiler = cProfile.Profile()
    profiler.runcall(read, html, place)
    pstats.Stats(profiler).sort_stats("tottime").print_stats(30)


def dump(file: Path, numbers: int, place: Path) -> None:
    with file.open("w", encoding="utf-8") as out:
        for build in BUILDS:
            for number in range(numbers):
                result = read(make_heavy(build, number).html.encode(), place)
                out.write(json.dumps([build, to_plain(result.listings), to_plain(result.problems)]))
                out.write("\n")


if __name__ == "__main__":
    main()
