"""The terminal's tables, made from COLUMNS; they read well at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import IO, Any, TypeVar

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from models.counts import count_text
from triage.columns import ANSWERS, COLUMNS, Column
from triage.run import FURTHER_DOWN, GROUPS, PhotoPair, Row, first_further_down
from triage.words import printable

T = TypeVar("T")
GAP = 2


def make_console(file: IO[str], width: int | None = None) -> Console:
    """A console that prints plain text to a file or pipe, and never reads markup."""
    return Console(
        file=file,
        width=width if width or file.isatty() else 80,
        markup=False,
        emoji=False,
        highlight=False,
        soft_wrap=False,
    )


def print_table(console: Console, stage: str, rows: Sequence[Any]) -> None:
    """Print the rows of a stage for people."""
    if stage in _PRINTERS:
        _PRINTERS[stage](console, rows)
        return
    columns = _columns(stage, rows)
    console.print(_grid(columns, console.width, [_heads(columns), *_cells(columns, rows)]))


def _print_ranking(console: Console, rows: Sequence[Row]) -> None:
    columns = _columns("rank", rows)
    console.print(_grid(columns, console.width, [_heads(columns)]))
    for step, title in GROUPS.items():
        group = [row for row in rows if row.assessment.next_step == step]
        if group:
            console.print(Text(f"\n{title} ({len(group)})", style="bold"))
        further = first_further_down(step, group)
        for number, row in enumerate(group):
            if number == further:
                console.print(Text(f"{FURTHER_DOWN}:", style="dim"))
            console.print(_grid(columns, console.width, list(_cells(columns, [row]))))
            reason = Text(printable(row.assessment.reason), style="dim")
            console.print(Padding(reason, (0, 0, 0, _indent(columns))))


def _print_pairs(console: Console, pairs: Sequence[PhotoPair]) -> None:
    """Each pair on lines of its own: names of photos are long, and their ends tell them apart."""
    listed = [p for p in pairs if p.answer != "alike" or p.score >= _ALIKE_FROM]
    if listed:
        console.print(Text(_PAIR_LEGEND, style="dim"))
    for pair in listed:
        # what was done to a picture means something only where one was made from the other
        changes = ", ".join(dict.fromkeys(pair.changes)) if pair.answer != "alike" else ""
        told = (f"{pair.score:.2f}", ANSWERS.get(pair.answer, pair.answer), changes)
        console.print(Text(printable("  ".join(part for part in told if part)), style="bold"))
        for place in (pair.a, pair.b):
            console.print(Padding(Text(printable(place)), (0, 0, 0, _PAIR_INDENT)))
    if rest := len(pairs) - len(listed):
        told_rest = f"{count_text(rest, 'pair')} hardly alike, below {_ALIKE_FROM:.2f}, not listed."
        console.print(Text(told_rest, style="dim"))


def _print_review(console: Console, rows: Sequence[Any]) -> None:
    from triage.week import print_review

    print_review(console, rows)


_PAIR_INDENT = 6
_ALIKE_FROM = 0.10  # at less, one in ten at most, "alike" tells no more than that both show frames
_PAIR_LEGEND = "Score: how sure it is that both were made from one picture, from 0 to 1."
_LONGEST_FIGURE = 24  # cells; no price is longer, a misread one may be
_PRINTERS: dict[str, Callable[[Console, Sequence[Any]], None]] = {
    "rank": _print_ranking,
    "photos": _print_pairs,
    "review": _print_review,
}


def _columns(stage: str, rows: Sequence[Any]) -> list[Column[Any]]:
    """The columns a stage shows; figures get the room of the longest, a title is cut instead."""
    shown = [column for column in COLUMNS[stage] if column.width]
    return [_fitted(column, rows) if column.right else column for column in shown]


def _fitted(column: Column[Any], rows: Sequence[Any]) -> Column[Any]:
    cells = (cell.cell_len for (cell,) in _cells([column], rows))
    return replace(column, width=min(_LONGEST_FIGURE, max(column.width, *cells, 0)))


def _indent(columns: Sequence[Column[Any]]) -> int:
    return columns[0].width + GAP


def _heads(columns: Sequence[Column[Any]]) -> list[Text]:
    return [Text(column.title, style="dim") for column in columns]


def _cells(columns: Sequence[Column[T]], rows: Iterable[T]) -> Iterable[list[Text]]:
    for row in rows:
        yield [Text(printable(column.text(row) if column.text else "")) for column in columns]


def _grid(
    columns: Sequence[Column[Any]], width: int, lines: Sequence[Sequence[RenderableType]]
) -> Table:
    """A table of fixed widths without lines; the widest column takes what room is left."""
    table = Table.grid(padding=(0, GAP, 0, 0), pad_edge=False)
    widest = max(columns, key=lambda column: column.width)
    spare = width - sum(column.width + GAP for column in columns) + GAP
    for column in columns:
        table.add_column(
            width=max(8, column.width + spare) if column is widest else column.width,
            justify="right" if column.right else "left",
            no_wrap=True,
            overflow="ellipsis",
        )
    for line in lines:
        table.add_row(*line)
    return table
