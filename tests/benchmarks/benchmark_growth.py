"""How reading time grows with endless lines and with crowded pages, beside plain reading.

    python -m tests.benchmarks.benchmark_growth

For each input: milliseconds of processor time at one size and at eight times that size, and the
exponent between them (1 is linear, 2 quadratic). The peers do plain work on the same input in the
same run: one regular expression on the text, lxml's text of the page.
"""

from __future__ import annotations

import math
import re
import time
from collections.abc import Callable

import lxml.html

from extractors.catalogue import extract
from extractors.records import Listing
from tests.triage.readers.pages import read

TIMES = 8
LETTERS = 4_000
ROWS = 500
ENDLESS = ("a@", "a-", "a'", ":", "=", "1/2/", "((", "in on ", "left ", "stamped on ", "no no ")
CROWDS = (
    "<div class='r'><span>Colour: {n}</span><span>(12)</span></div>",
    "<p>Lens {n}: 48 mm</p>",
    "<li><b>ben</b> {n} Nov 2026</li>",
    "<div><a href='/u/ben{n}'>ben</a> 4.5 ★</div>",
)
PLAIN = re.compile(r"(\d+(?:[.,]\d+)?)\s*(mm|cm|inches|inch|in|\")", re.IGNORECASE)


def line_of(unit: str, scale: int) -> str:
    """One line that repeats the unit."""
    length = LETTERS * scale
    return (unit * length)[:length]


def page_of(row: str, scale: int) -> str:
    """A page with a listing and a crowd of rows below it."""
    rows = "".join(row.format(n=n) for n in range(ROWS * scale))
    return (
        "<html><head><title>Round frame</title></head><body><h1>Round frame</h1>"
        f"<span class='price'>€ 40</span><p>Lens 48 mm wide.</p><div>{rows}</div></body></html>"
    )


def text_fields(text: str) -> object:
    return extract(Listing("growth", "growth", "", text))


def page_text(page: str) -> object:
    return "".join(lxml.html.fromstring(page).itertext())


def milliseconds(work: Callable[[str], object], made: str) -> float:
    start = time.process_time()
    work(made)
    return 1_000 * (time.process_time() - start)


def show(
    unit: str,
    make: Callable[[str, int], str],
    reader: Callable[[str], object],
    peer: Callable[[str], object],
) -> None:
    """Print the row of one input."""
    cells = []
    for work in (reader, peer):
        work(make(unit, 1))
        small, large = (milliseconds(work, make(unit, scale)) for scale in (1, TIMES))
        exponent = math.log(max(large, 0.01) / max(small, 0.01), TIMES)
        cells.append(f"{small:9.1f} {large:9.1f} {exponent:5.2f}")
    print(f"{unit[:24]:24} " + " ".join(cells))


def main() -> None:
    head = f"{'ms':>9} {f'ms x {TIMES}':>9} {'exp':>5}"
    print(f"{'input':24} {head} {'peer ' + head.strip():>25}")
    for unit in ENDLESS:
        show(unit, line_of, text_fields, PLAIN.findall)
    for row in CROWDS:
        show(row, page_of, read, page_text)


if __name__ == "__main__":
    main()
