"""What the terminal shows, whole, at 80 columns."""

import io
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.errors import UserError
from tests.triage.made import RUN
from triage.explain import find_row, print_explanation
from triage.stages import render
from triage.table import make_console
from triage.words import printable

EXPECTED = Path(__file__).parent / "expected"


def _explained() -> str:
    out = io.StringIO()
    print_explanation(make_console(out, 80), RUN.rows[0])
    return "".join(line.rstrip() + "\n" for line in out.getvalue().splitlines())


def test_the_ranking_is_as_it_was_looked_at() -> None:
    assert render("rank", RUN.rows, "table") == (EXPECTED / "ranking.txt").read_text("utf-8")


def test_the_explanation_is_as_it_was_looked_at() -> None:
    assert _explained() == (EXPECTED / "explanation.txt").read_text("utf-8")


@pytest.mark.parametrize(
    ("stage", "rows"),
    [
        ("read", [row.listing for row in RUN.rows]),
        ("evidence", [row.evidence for row in RUN.rows]),
        ("photos", RUN.pairs),
        ("rank", RUN.rows),
    ],
)
def test_no_line_is_wider_than_80_columns(stage: str, rows: list[object]) -> None:
    long = [replace(row, listing=replace(row.listing, title="x" * 300)) for row in RUN.rows]
    for text in (render(stage, rows, "table"), render("rank", long, "table")):
        assert max(map(len, text.splitlines())) <= 80


@given(st.text())
def test_nothing_printable_moves_a_terminals_cursor(text: str) -> None:
    shown = printable(text)
    assert not [c for c in shown if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")]


def test_control_characters_and_markup_of_a_title_do_not_reach_the_terminal() -> None:
    listing = replace(RUN.rows[0].listing, title="[bold]x[/bold]\x1b[31m\x07 :smile:\r\nnext")
    text = render("rank", [replace(RUN.rows[0], listing=listing)], "table")
    assert "[bold]x[/bold]�[31m� :smile:" in text
    assert "\x1b" not in text


@pytest.mark.parametrize("wanted", ["L1", "1", "week/one.html", "one.html"])
def test_a_listing_goes_by_id_rank_or_file(wanted: str) -> None:
    assert find_row(RUN, wanted) is RUN.rows[0]


def test_an_id_goes_by_its_only_beginning() -> None:
    rows = tuple(
        replace(row, listing=replace(row.listing, id=name))
        for row, name in zip(RUN.rows, ("abc1", "abd2", "abd3"), strict=True)
    )
    run = replace(RUN, rows=rows)
    assert find_row(run, "abc") is rows[0]
    with pytest.raises(UserError, match="names 2 listings"):
        find_row(run, "abd")
    with pytest.raises(UserError, match="No listing goes by"):
        find_row(run, "zzz")
