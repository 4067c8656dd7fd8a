"""Print listings per second of the text extractors, of quantulum3 and of a plain expression.

    python -m tests.benchmarks.benchmark_text FILE... [--fields]

FILE: listings (JSON Lines with `text`, or with `title` and `description`). Their lines are joined,
each line once and in the order of the files, and cut to 1,000 characters each: no text and no line
occurs twice, so nothing that was read before helps. All read the same texts in the same run, each
text once, on one core, in processor time. quantulum3 is an ordinary library for quantities; it is
left out where it is not installed.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import re
import time
from collections.abc import Callable
from pathlib import Path

from extractors.catalogue import EXTRACTORS, extract, is_compiled
from extractors.reading import prepare
from extractors.records import Listing

LENGTH = 1_000
LONGEST = 2_000  # characters of a line; a longer one is a test of hostile text
WARMING = "A pair of glasses, 48 mm lens, stamped 585 inside the left arm, about 1950. No returns."
PLAIN = re.compile(r"(\d+(?:[.,]\d+)?)\s*(mm|cm|inches|inch|in|\")", re.IGNORECASE)


def text_of(line: str) -> str:
    """Give the text of one listing."""
    listing = json.loads(line)
    parts = (listing.get("title"), listing.get("description"))
    return str(listing.get("text") or "\n".join(part for part in parts if isinstance(part, str)))


def read_texts(paths: list[Path]) -> list[str]:
    """Join the listings' lines, each once, and cut them to LENGTH characters."""
    listings = [text_of(line) for path in paths for line in path.read_text("utf-8").splitlines()]
    told = (line for text in listings for line in text.splitlines() if len(line) <= LONGEST)
    lines = {line.strip().casefold(): line for line in told}
    joined = "\n".join(lines.values())
    return [joined[start : start + LENGTH] for start in range(0, len(joined) - LENGTH, LENGTH)]


def per_second(read: Callable[[str], object], texts: list[str]) -> float:
    """Give texts per second of processor time; each text is read once."""
    read(WARMING)
    start = time.process_time()
    for text in texts:
        read(text)
    return len(texts) / (time.process_time() - start)


def extract_text(text: str) -> object:
    """Read all fields of a listing that has this text only."""
    return extract(Listing("benchmark", "benchmark", "", text))


def readers() -> dict[str, Callable[[str], object]]:
    """Name what is measured."""
    found: dict[str, Callable[[str], object]] = {
        "all fields": extract_text,
        "plain expression": PLAIN.findall,
    }
    if importlib.util.find_spec("quantulum3"):
        from quantulum3 import classifier, parser

        classifier.USE_CLF = False  # its stored model needs an older scikit-learn
        found["quantulum3"] = parser.parse
    return found


def print_fields(texts: list[str]) -> None:
    """Print the time of each extractor alone."""
    extract_text(WARMING)
    start = time.process_time()
    readings = [prepare(text) for text in texts]
    print(f"  {'preparing':18} {1e3 * (time.process_time() - start) / len(texts):10.2f} ms")
    for name, extractor in EXTRACTORS.items():
        start = time.process_time()
        for reading in readings:
            extractor(reading)
        milliseconds = 1e3 * (time.process_time() - start) / len(readings)
        print(f"  {name:18} {milliseconds:10.2f} ms")


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("file", type=Path, nargs="+")
    options.add_argument("--fields", action="store_true", help="also each extractor alone")
    chosen = options.parse_args()
    texts = read_texts(chosen.file)
    run = "compiled" if is_compiled() else "plain Python"
    print(f"{len(texts)} texts of {LENGTH} characters, no line twice; extractors: {run}")
    if chosen.fields:
        print_fields(texts)
        return
    for name, read in readers().items():
        print(f"{name:20} {per_second(read, texts):10.0f} listings/s")


if __name__ == "__main__":
    main()
