"""One sentence, one point: what a seller's words mean for the sheet (rows in said_of_points.csv).

A row names the points that must conflict, agree or stay open; any other conflict is wrong.
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
SHEETS = HERE.parents[1] / "evaluation" / "check_sheets"


@cache
def all_sheets() -> Sheets:
    return load_sheets([SHEETS])


def rows() -> list[dict[str, str]]:
    with (HERE / "said_of_points.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row['reference']}: {row['text']}")
def test_sentence_means_what_it_says(row: dict[str, str]) -> None:
    sheets = all_sheets()
    sheet = sheets.get(row["reference"])
    assert sheet is not None
    listing = Listing("1", "x", f"{sheet.name} {row['colour']}".strip(), row["text"])
    evidence = extract(listing)
    resolution = resolve(listing, evidence, sheets)
    assert resolution.reference == row["reference"]
    results = {f.point: f.result for f in run_checks(listing, evidence, resolution, sheets)}
    found = {point for point, result in results.items() if result == "conflicts"}
    assert found == set(row["conflicts"].split())
    agreeing = set(row["agrees"].split())
    assert agreeing <= {point for point, result in results.items() if result == "agrees"}
