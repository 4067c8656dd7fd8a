"""Sizes of other goods than spectacles, on sentences written for the purpose."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest

from extractors.measurements import find_measurements
from extractors.reading import prepare
from extractors.records import Measurement

CASES = Path(__file__).parent / "cases" / "other_goods.txt"


class Size(NamedTuple):
    """A size that is to be found: the names it may have, and from how much to how much."""

    names: tuple[str, ...]
    low: float
    high: float

    def is_met_by(self, found: Measurement) -> bool:
        name = found.quantity if found.of_item else "!"
        is_named = name in self.names or (self.names == ("?",) and found.of_item)
        return is_named and _is_near(found.low_mm, self.low) and _is_near(found.high_mm, self.high)


def _is_near(a: float, b: float) -> bool:
    return abs(a - b) <= 0.005 * b


def cases() -> list[tuple[str, str, str]]:
    lines = CASES.read_text(encoding="utf-8").splitlines()
    told = [line.split(" | ") for line in lines if not line.startswith("#")]
    return [(title, text, sizes) for title, text, sizes in told]


def _size(written: str) -> Size:
    names, _, span = written.partition("=")
    low, _, high = span.partition("-")
    return Size(tuple(names.split("|")), float(low), float(high or low))


@pytest.mark.parametrize(("title", "text", "sizes"), cases())
def test_every_size_is_found_and_named(title: str, text: str, sizes: str) -> None:
    found = list(find_measurements(prepare(f"{title}\n{text}")))
    for size in map(_size, sizes.split()):
        met = next((one for one in found if size.is_met_by(one)), None)
        if met is not None:
            found.remove(met)
        assert met is not None or size.names == ("?",), (size, found)
    assert not [one for one in found if one.of_item], found
