"""Measure mails, web archives, exports and notes, by carrier and field, for both halves.

    python -m tests.evaluation.evaluate_carriers [--count 10] [--seed 1] [--show csv]

Pages are those of evaluate_intake. "written": templates and field names that were in view when
the readers were written; "kept back": for the figures only.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from extractors.records import Listing
from tests.evaluation.evaluate_intake import HALVES, Tally, count_case, print_table, print_wrong
from tests.evaluation.intake.carriers import EXPORTS, NAMES, PAGE_CARRIERS, export_gold
from tests.evaluation.intake.goods import LANGUAGES, make_goods
from tests.evaluation.intake.made import Made
from triage.containment import Supervisor
from triage.readers.folder import read_folder

Case = tuple[str, str, list[Listing], Made, set[str]]


def read(folder: Path) -> list[Listing]:
    with Supervisor(0) as supervisor:
        return list(read_folder(folder, supervisor).listings)


def page_cases(half: str, count: int, seed: int) -> Iterator[Case]:
    for template in HALVES[half]:
        for number in range(count):
            rng = random.Random(f"{seed}-{template.__name__}-{number}")
            made = template(rng, make_goods(rng, LANGUAGES[number % len(LANGUAGES)]))
            carrier = list(PAGE_CARRIERS)[number % len(PAGE_CARRIERS)]
            if carrier in ("mail", "forwarded") and made.frames:
                continue
            with tempfile.TemporaryDirectory() as place:
                saved = PAGE_CARRIERS[carrier](made, Path(place), f"{number:03}", rng)
                if carrier in ("warc", "wacz", "har") and made.gold["url"] is None:
                    made.gold["url"] = "https://stallrow.example/item/1"
                yield carrier, template.__name__, read(Path(place)), made, saved


def export_cases(half: str, count: int, seed: int) -> Iterator[Case]:
    names = NAMES[half]
    for form, save in EXPORTS.items():
        for number in range(count * 4):
            rng = random.Random(f"{seed}-{form}-{number}")
            goods = make_goods(rng, LANGUAGES[number % len(LANGUAGES)])
            photos = [(str(n),) for n in range(len(goods.photos))]
            assets = {str(n): data for n, data in enumerate(goods.photos)}
            made = Made("", export_gold(goods, form), photos, assets)
            with tempfile.TemporaryDirectory() as place:
                save(goods, Path(place), f"item{number:03}", rng, names)
                yield form, goods.language, read(Path(place)), made, set(assets)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", help="print what is wrong in this carrier")
    chosen = parser.parse_args()
    for half in NAMES:
        for cases in (page_cases, export_cases) if half in HALVES else (export_cases,):
            rows: dict[str, Tally] = defaultdict(Tally)
            for carrier, kind, listings, made, saved in cases(half, chosen.count, chosen.seed):
                for row in ("all", f"carrier: {carrier}"):
                    count_case(rows[row], listings, made, saved)
                if carrier == chosen.show:
                    print_wrong(f"{carrier} {kind}", listings, made, saved)
            print_table(f"{half}, {cases.__name__.replace('_', ' ')}", rows)


if __name__ == "__main__":
    main()
