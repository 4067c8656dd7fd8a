"""What the terminal shows, whole, at 80 columns."""

import io
import unicodedata
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.errors import UserError
from extractors.records import Condition
from tests.triage.made import RUN
from triage.columns import price_text
from triage.explain import find_row, print_explanation
from triage.run import PhotoPair, Row, first_further_down
from triage.stages import render
from triage.table import make_console
from triage.words import printable

EXPECTED = Path(__file__).parent / "expected"


def _explained() -> str:
    out = io.StringIO()
    print_explanation(make_console(out, 80), RUN.rows[0], RUN.rows)
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


@given(st.decimals(0, 10**9, places=2))
def test_a_price_is_never_cut(price: Decimal) -> None:
    rows = [replace(row, listing=replace(row.listing, price=price)) for row in RUN.rows]
    listings = [row.listing for row in rows]
    told = {price_text(listing) for listing in listings}
    for text in (render("rank", rows, "table"), render("read", listings, "table")):
        assert all(price in text for price in told)
        assert max(map(len, text.splitlines())) <= 80


def test_pairs_that_are_hardly_alike_are_counted_and_no_change_is_told_of_them() -> None:
    copy = PhotoPair("a.jpg", "b.jpg", 0.97, "copy", ("mirrored", "filtered", "filtered"))
    near = PhotoPair("a.jpg", "c.jpg", 0.3, "alike", ("mirrored",))
    text = render("photos", [copy, near, replace(near, score=0.004)], "table")
    assert "0.97  one picture  mirrored, filtered\n" in text
    assert "0.30  alike, no more\n" in text
    assert "1 pair hardly alike, below 0.10, not listed." in text


def test_a_listing_whose_number_skips_others_is_set_apart_in_the_first_group_only() -> None:
    def rows(*ranks: int) -> list[Row]:
        return [replace(RUN.rows[0], rank=rank) for rank in ranks]

    assert first_further_down("look", rows(1, 2, 3)) is None
    assert first_further_down("look", rows(1, 2, 7, 9)) == 2
    assert first_further_down("leave", rows(4, 7)) is None


def test_the_explanation_names_faults_and_when_it_was_saved_at_its_head() -> None:
    row = RUN.rows[0]
    faults = (Condition("crack", "present", "bridge", ()), Condition("warp", "absent", None, ()))
    row = replace(
        row,
        evidence=replace(row.evidence, conditions=faults),
        listing=replace(row.listing, date_saved="2026-11-15T18:04:00Z"),
    )
    out = io.StringIO()
    print_explanation(make_console(out, 80), row)
    head = " ".join(out.getvalue().split("How the score")[0].split())
    assert "condition named: crack (bridge)" in head
    assert "saved 2026-11-15 18:04" in head
