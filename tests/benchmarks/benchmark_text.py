"""Print listings per second of the text extractors, of quantulum3 and of a plain expression.

    python tests/benchmarks/benchmark_text.py FILE...

FILE: annotated listings (JSON Lines). Their texts are joined and cut to 1,000 characters each;
all three read the same texts in the same run, on one core, in processor time. quantulum3 is an
ordinary library for quantities; it is left out where it is not installed.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import re
import time
from collections.abc import Callable
from pathlib import Path

from extractors.catalogue import EXTRACTORS, extract
from extractors.reading import prepare
from extractors.records import Listing

LENGTH = 1_000
PLAIN = re.compile(r"(\d+(?:[.,]\d+)?)\s*(mm|cm|inches|inch|in|\")", re.IGNORECASE)


def read_texts(paths: list[Path], count: int) -> list[str]:
    """Join the listings' texts and cut them to LENGTH characters."""
    lines = [line for path in paths for line in path.read_text("utf-8").splitlines()]
    joined = "\n".join(json.loads(line)["text"] for line in lines)
    joined *= 1 + count * LENGTH // len(joined)
    return [joined[start : start + LENGTH] for start in range(0, count * LENGTH, LENGTH)]


def per_second(read: Callable[[str], object], texts: list[str], rounds: int) -> float:
    """Give texts per second of processor time, best of some rounds."""
    read(texts[0])
    best = float("inf")
    for _ in range(rounds):
        start = time.process_time()
        for text in texts:
            read(text)
        best = min(best, time.process_time() - start)
    return len(texts) / best


def extract_text(text: str) -> object:
    """Read all fields of a listing that has this text only."""
    return extract(Listing("benchmark", "benchmark", "", text))


def readers() -> dict[str, Callable[[str], object]]:
    """Name what is measured."""
    found: dict[str, Callable[[str], object]] = {
        "all fields": extract_text,
        "preparing alone": prepare,
        "plain expression": PLAIN.findall,
    }
    if importlib.util.find_spec("quantulum3"):
        from quantulum3 import classifier, parser

        classifier.USE_CLF = False  # its stored model needs an older scikit-learn
        found["quantulum3"] = parser.parse
    return found


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("file", type=Path, nargs="+")
    options.add_argument("--count", type=int, default=60)
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--fields", action="store_true", help="also each extractor alone")
    chosen = options.parse_args()
    texts = read_texts(chosen.file, chosen.count)
    for name, read in readers().items():
        print(f"{name:20} {per_second(read, texts, chosen.rounds):10.0f} listings/s")
    if chosen.fields:
        readings = [prepare(text) for text in texts]
        for name, extractor in EXTRACTORS.items():
            start = time.process_time()
            for reading in readings:
                extractor(reading)
            milliseconds = 1e3 * (time.process_time() - start) / len(readings)
            print(f"  {name:18} {milliseconds:10.2f} ms")


if __name__ == "__main__":
    main()
