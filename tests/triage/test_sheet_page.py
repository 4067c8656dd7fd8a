"""A reference sheet as a page: everything in it, in the reports' dress, nothing from outside."""

from __future__ import annotations

import re
from importlib import resources

import pytest

from models.sheet_records import ReferenceSheet
from models.sheets import load_sheets, sheet_from_text
from triage.sheet_page import make_sheet_page

SHEETS = load_sheets().sheets


def sheet(text: str) -> ReferenceSheet:
    made, _ = sheet_from_text(text, "a.toml", "a")
    assert made is not None
    return made


@pytest.mark.parametrize("shown", SHEETS, ids=[one.id for one in SHEETS])
def test_page_shows_every_point_size_and_question(shown: ReferenceSheet) -> None:
    page = make_sheet_page(shown)
    rules = [*shown.rules, *(rule for edition in shown.editions for rule in edition.rules)]
    assert all(f">{rule.point.replace('_', ' ')}</th>" in page for rule in rules)
    assert all(
        f"<q>{rule.question.replace(chr(39), '&#39;')}" in page for rule in rules if rule.question
    )
    assert all(f">{one.name}</th>" in page for one in shown.sizes.combinations)
    assert all(f"<h2>Edition {edition.name}</h2>" in page for edition in shown.editions)


def test_page_wears_the_dress_of_the_reports_and_loads_nothing() -> None:
    page = make_sheet_page(SHEETS[0])
    assert resources.files("triage").joinpath("templates", "report.css").read_text("utf-8") in page
    assert "default-src 'none'" in page.replace("&#39;", "'")
    assert not re.search(r"(?:src|href)=|<script|url\((?!#)", page)


def test_page_escapes_what_a_sheet_holds() -> None:
    page = make_sheet_page(
        sheet('name = "A <b>"\n[points.badge]\nalways = "plate <script>"\nwhy = "x & y"')
    )
    assert "<script>" not in page
    assert "A &lt;b&gt;</h1>" in page
    assert "plate &lt;script&gt;" in page
    assert "x &amp; y" in page


def test_the_smallest_sheet_is_a_page() -> None:
    page = make_sheet_page(sheet('name = "A B"'))
    assert "A B</h1>" in page
    assert "<table" not in page
