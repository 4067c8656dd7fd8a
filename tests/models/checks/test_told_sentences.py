"""What honest sellers write raises no conflict, and what cannot be true does (five languages).

Rows of told_sentences.csv and trap_sentences.csv (other models, other goods, later changes, doubt):
a title, a sentence, and the points that must conflict, none for what an honest seller may write.
The rules were developed on these rows; the kept-back measure is the evaluation's.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.resolve import resolve
from models.sheets import Sheets, load_sheets

HERE = Path(__file__).parent
SHEETS = (HERE.parents[1] / "evaluation" / "check_sheets", HERE / "told_sheets")


@cache
def sheets() -> Sheets:
    return load_sheets(SHEETS)


@cache
def rows() -> tuple[tuple[str, str, str], ...]:
    found: list[tuple[str, str, str]] = []
    for name in ("told_sentences.csv", "trap_sentences.csv"):
        with (HERE / name).open(encoding="utf-8") as file:
            found += ((r["title"], r["text"], r["conflicts"]) for r in csv.DictReader(file))
    return tuple(found)


def conflicts(title: str, text: str) -> set[str]:
    listing = Listing("1", "x", title, text)
    evidence = extract(listing)
    found = run_checks(listing, evidence, resolve(listing, evidence, sheets()), sheets())
    return {f.point for f in found if f.result == "conflicts" and f.strength != "clue"}


@pytest.mark.parametrize("part", range(8))
def test_honest_sentence_raises_no_conflict(part: int) -> None:
    honest = [(title, text) for title, text, points in rows() if not points][part::8]
    wrong = {text: found for title, text in honest if (found := conflicts(title, text))}
    assert wrong == {}


@pytest.mark.parametrize("part", range(4))
def test_sentence_that_cannot_be_true_conflicts(part: int) -> None:
    told = [row for row in rows() if row[2]][part::4]
    missed = [
        text for title, text, points in told if not set(points.split()) <= conflicts(title, text)
    ]
    assert missed == []
