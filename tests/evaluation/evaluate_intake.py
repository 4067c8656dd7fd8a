"""Measure the page readers on generated pages, by carrier and by field, for both halves.

    python -m tests.evaluation.evaluate_intake [--count 6] [--seed 1] [--show linked]

"written": templates the readers were written with; "kept back": for the figures only.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from extractors.records import Listing
from tests.evaluation.intake import (
    templates_kept,
    templates_second,
    templates_third,
    templates_written,
)
from tests.evaluation.intake.goods import LANGUAGES, make_goods
from tests.evaluation.intake.made import FIELDS, Made
from tests.evaluation.intake.saving import save
from triage.readers.reading import SourceReading
from triage.readers.source import ReadResult, Source

CARRIERS = ("complete", "one file", "mhtml", "zip")
HALVES = {
    "written": (
        *templates_written.TEMPLATES,
        *templates_second.TEMPLATES,
        *templates_third.TEMPLATES,
    ),
    "kept back": templates_kept.TEMPLATES,
}


@dataclass
class Tally:
    """Counts of one row of the table."""

    cases: int = 0
    found: int = 0
    invented: int = 0
    whole: int = 0
    photos: int = 0
    money: int = 0
    right: dict[str, int] | None = None


def read_all(folder: Path) -> list[Listing]:
    """Read every file of a folder in this process, pages before what lies in their folders."""
    listings: list[Listing] = []
    for file in sorted(folder.iterdir()):
        if file.is_file():
            source = Source(folder, file.name)
            for step in SourceReading().steps(source):
                if isinstance(step, ReadResult):
                    listings += step.listings
    return listings


def is_right(name: str, stated: Any, gold: Any) -> bool:
    if name == "ended":
        return bool(stated) == bool(gold)
    if name == "description":
        return _lines(stated or "") == _lines(gold or "")
    if name == "specifics":
        return list(stated) == list(gold or [])
    if name == "date_listed":
        return (stated or "")[:10] == (gold or "")
    return bool(stated == gold)


def _lines(text: str) -> list[str]:
    return [" ".join(line.split()) for line in text.splitlines() if line.strip()]


def photos_right(listing: Listing, made: Made, saved: set[str]) -> bool:
    return [p.sha256 for p in listing.photos] == [
        hashlib.sha256(p).hexdigest() for p in made.stored_photos(saved)
    ]


def cases(half: str, count: int, seed: int) -> Iterator[tuple[str, str, str, Made, random.Random]]:
    for template in HALVES[half]:
        for number in range(count):
            language = LANGUAGES[number % len(LANGUAGES)]
            rng = random.Random(f"{seed}-{template.__name__}-{number}")
            made = template(rng, make_goods(rng, language))
            yield template.__name__, CARRIERS[number % len(CARRIERS)], f"{number:03}", made, rng


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--half", choices=list(HALVES), action="append")
    parser.add_argument("--show", help="print what is wrong in this template")
    chosen = parser.parse_args()
    for half in chosen.half or HALVES:
        measure(half, chosen.count, chosen.seed, chosen.show)


def measure(half: str, count: int, seed: int, show: str | None) -> None:
    rows: dict[str, Tally] = defaultdict(Tally)
    seconds, pages = 0.0, 0
    for template, carrier, name, made, rng in cases(half, count, seed):
        with tempfile.TemporaryDirectory() as place:
            saved = save(made, Path(place), name, carrier, rng)
            if carrier == "mhtml" and made.gold["url"] is None:
                made.gold["url"] = "https://stallrow.example/item/1"
            start = time.perf_counter()
            listings = read_all(Path(place))
            seconds += time.perf_counter() - start
            pages += 1
        for row in ("all", f"carrier: {carrier}", f"template: {template}"):
            count_case(rows[row], listings, made, saved)
        if show and template == show:
            print_wrong(f"{template} {carrier} {name}", listings, made, saved)
    print_table(half, rows)
    print(f"{pages / seconds:.0f} pages/s\n")


def count_case(row: Tally, listings: list[Listing], made: Made, saved: set[str]) -> None:
    row.right = row.right or dict.fromkeys(FIELDS, 0)
    row.cases += 1
    row.invented += max(0, len(listings) - 1)
    if not listings:
        return
    row.found += 1
    listing = listings[0]
    right = {n: is_right(n, getattr(listing, n), made.gold[n]) for n in FIELDS}
    for name, ok in right.items():
        row.right[name] += ok
    photos = photos_right(listing, made, saved)
    row.photos += photos
    row.money += right["price"] and right["currency"] and right["price_kind"]
    row.whole += photos and all(right.values())


def print_wrong(case: str, listings: list[Listing], made: Made, saved: set[str]) -> None:
    if not listings:
        print(case, "NO LISTING")
        return
    for name in FIELDS:
        stated = getattr(listings[0], name)
        if not is_right(name, stated, made.gold[name]):
            print(
                f"{case} {name}: {stated!r} for {made.gold[name]!r} {listings[0].origins.get(name)}"
            )
    if not photos_right(listings[0], made, saved):
        print(
            case,
            "photos",
            [p.path for p in listings[0].photos],
            len(made.photos),
            listings[0].missing_photos,
        )


def print_table(half: str, rows: dict[str, Tally]) -> None:
    print(f"== {half}")
    heads = ["found", "extra", "fields", "money", "photos", "whole", *(f[:7] for f in FIELDS)]
    print(f"{'':24}{'n':>5}" + "".join(f"{h:>8}" for h in heads))
    for name in sorted(rows):
        row = rows[name]
        n, right = row.cases, row.right or {}
        mean = sum(right.values()) / (len(right) * n)
        shares = [
            row.found / n,
            row.invented / n,
            mean,
            row.money / n,
            row.photos / n,
            row.whole / n,
        ]
        print(
            f"{name:24}{n:5}"
            + "".join(f"{s:8.3f}" for s in [*shares, *(right[f] / n for f in FIELDS)])
        )


if __name__ == "__main__":
    main()
