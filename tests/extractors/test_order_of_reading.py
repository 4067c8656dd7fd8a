"""What is kept of texts read before never shows in a record: the order of reading is free."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extractors import reading
from extractors.catalogue import extract
from extractors.records import Listing

CASES = Path(__file__).parents[1] / "evaluation" / "text_cases_claims.jsonl"
ODD = ("", "   ", "—", "١٢ mm", "lens ５２ mm", "a\u0301ge 60", "x" * 1500, "52▢20 140", "ß" * 20)


def _lines() -> list[str]:
    told = (json.loads(row) for row in CASES.read_text("utf-8").splitlines())
    found = {line for one in told for line in one["description"].split("\n") if line.strip()}
    return sorted(found)


def _listings(seed: int, lines: int, count: int) -> list[Listing]:
    """Listings of lines that come again, in other company, at other places, and in specifics."""
    draw = random.Random(seed)
    pool = [*draw.sample(LINES, lines), *ODD]

    def one(number: int) -> Listing:
        said = [draw.choice(pool) for _ in range(draw.randint(1, 9))]
        specifics = tuple(("Size", draw.choice(pool)[:80]) for _ in range(draw.randint(0, 2)))
        answers = tuple(draw.choice(pool) for _ in range(draw.randint(0, 1)))
        text = draw.choice(["\n", "\n\n", "\r\n"]).join(said)
        return Listing(
            str(number), "x", draw.choice(pool)[:60], text, specifics=specifics, answers=answers
        )

    return [one(number) for number in range(count)]


LINES = _lines()


@pytest.mark.parametrize("seed", [1, 2])
def test_records_are_those_of_listings_read_alone(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    listings = _listings(seed, lines=40, count=60)

    def recall_nothing(text: str, work_out: Callable[[str], object]) -> None:
        return None

    with monkeypatch.context() as alone:
        alone.setattr(reading._known_lines, "recall", recall_nothing)
        records = {one.id: extract(one) for one in listings}
    reading.forget_lines()
    order = listings * 3
    random.Random(seed).shuffle(order)
    for one in order:
        assert extract(one) == records[one.id]
    assert len(reading._known_lines) > len(ODD)  # else nothing was kept and nothing is shown


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from([*LINES[:60], *ODD]), min_size=2, max_size=8), st.data())
def test_a_listing_read_again_after_others_gives_the_same_record(
    lines: list[str], data: st.DataObject
) -> None:
    listing = Listing("a", "x", "Frame", "\n".join(lines))
    reading.forget_lines()
    first = extract(listing)
    for other in data.draw(st.lists(st.permutations(lines), max_size=3)):
        extract(Listing("b", "x", "Frame", "\n".join(other)))
    assert extract(listing) == first
