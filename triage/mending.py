"""What can be saved of a damaged memory, into a new file; the damaged one is never written to."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from extractors.errors import UserError
from models.counts import count_text
from triage.store import TABLES, open_store

_HEAD = b"SQLite format 3\x00"
# made again from the rest, so never read from a damaged file
_MADE_AGAIN = ("photo_band", "snapshot_photo")


@dataclass(frozen=True, slots=True)
class Saved:
    """How many rows of each table were saved, and what is missing, in sentences."""

    rows: Counter[str]
    faults: tuple[str, ...]


def repair(damaged: Path, new: Path) -> Saved:
    """Save into `new` what can be read of a damaged memory.

    Works on a copy of the file and its journal. Raises UserError when `new` exists, or when
    nothing at all can be read.
    """
    if new.exists():
        raise UserError(f"{new} exists already.", "Name a new file.")
    rows: Counter[str] = Counter()
    faults: list[str] = []
    with tempfile.TemporaryDirectory() as place, open_store(new) as store:
        source = _open_copy(damaged, Path(place))
        for table in TABLES:
            if table not in _MADE_AGAIN:
                rows[table] = store.salvage(table, _rows(source, table, faults))
        source.close()
        faults += store.mend()
    if not rows["snapshot"] and not rows["entry"]:
        for file in new.parent.glob(f"{new.name}*"):
            file.unlink()
        raise UserError(
            f"Nothing can be read of {damaged}.",
            f"Use an export, or a copy named {damaged.name}.before-... beside it.",
        )
    return Saved(rows, tuple(faults))


def _open_copy(damaged: Path, place: Path) -> sqlite3.Connection:
    copy = place / "copy"
    shutil.copyfile(damaged, copy)
    journal = damaged.with_name(f"{damaged.name}-wal")
    if journal.is_file():
        shutil.copyfile(journal, place / "copy-wal")
    with copy.open("r+b") as file:
        if file.read(len(_HEAD)) != _HEAD:
            file.seek(0)
            file.write(_HEAD)
    source = sqlite3.connect(copy, isolation_level=None)
    source.execute("PRAGMA writable_schema = ON")  # a damaged schema entry does not stop it
    source.text_factory = lambda data: data.decode("utf-8", "replace")
    return source


def _rows(source: sqlite3.Connection, table: str, faults: list[str]) -> Iterator[dict[str, Any]]:
    """The rows of a table that can be read: all at once, or else one by one."""
    seen: set[object] = set()
    try:
        for row in _select(source, table):
            seen.add(next(iter(row.values())))
            yield row
    except sqlite3.DatabaseError as error:
        faults.append(f"{table} is damaged ({error})")
        yield from _one_by_one(source, table, seen)


def _select(source: sqlite3.Connection, table: str, more: str = "") -> Iterator[dict[str, Any]]:
    cursor = source.execute(f"SELECT * FROM {table} {more}")
    names = [column[0] for column in cursor.description]
    for row in cursor:
        yield dict(zip(names, row, strict=True))


def _one_by_one(
    source: sqlite3.Connection, table: str, seen: set[object]
) -> Iterator[dict[str, Any]]:
    """Rows behind the damaged page, by their numbers; gives up after a long stretch of none."""
    number, empty = 0, 0
    while empty < 5000:
        number += 1
        try:
            found = list(_select(source, table, f"WHERE rowid = {number}"))
        except sqlite3.DatabaseError:
            found = []
        empty = 0 if found else empty + 1
        yield from (row for row in found if next(iter(row.values())) not in seen)


def saved_lines(saved: Saved) -> tuple[str, ...]:
    """What was saved, in lines."""
    names = {
        "folder": ("folder", ""),
        "snapshot": ("saved listing", ""),
        "entry": ("entry", "entries"),
        "photo": ("photo", ""),
    }
    told = [count_text(saved.rows[table], *words) for table, words in names.items()]
    return (f"Saved: {', '.join(told)}.", *saved.faults)
