"""The store's schema as named, ordered steps; a released step is never changed, only followed.

Each step runs in a transaction of its own; before the first one that is missing, a store that
already holds something is copied beside itself.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from extractors.errors import UserError

_OURS = 0x54726961  # "Tria": the application id of a memory


@dataclass(frozen=True, slots=True)
class Migration:
    """One step: its name, kept in the store, and the statements that take it there."""

    name: str
    statements: tuple[str, ...]


MIGRATIONS: tuple[Migration, ...] = (
    Migration(
        "0001 listings, photos, what the buyer entered",
        (
            """CREATE TABLE folder (
                id INTEGER PRIMARY KEY, digest TEXT NOT NULL UNIQUE, path TEXT NOT NULL,
                saved_at TEXT NOT NULL, read_at TEXT NOT NULL)""",
            "CREATE TABLE piece (id INTEGER PRIMARY KEY, first_seen TEXT NOT NULL)",
            """CREATE TABLE snapshot (
                id INTEGER PRIMARY KEY,
                folder_id INTEGER NOT NULL REFERENCES folder ON DELETE CASCADE,
                piece_id INTEGER REFERENCES piece ON DELETE SET NULL,
                listing TEXT NOT NULL, source TEXT NOT NULL, line INTEGER, seller TEXT,
                ended INTEGER NOT NULL, record TEXT NOT NULL, link TEXT,
                UNIQUE (folder_id, listing))""",
            "CREATE INDEX snapshot_piece ON snapshot (piece_id)",
            "CREATE INDEX snapshot_listing ON snapshot (listing)",
            """CREATE TABLE photo (
                id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, look BLOB)""",
            """CREATE TABLE snapshot_photo (
                snapshot_id INTEGER NOT NULL REFERENCES snapshot ON DELETE CASCADE,
                position INTEGER NOT NULL,
                photo_id INTEGER NOT NULL REFERENCES photo,
                PRIMARY KEY (snapshot_id, position)) WITHOUT ROWID""",
            "CREATE INDEX snapshot_photo_photo ON snapshot_photo (photo_id)",
            """CREATE TABLE photo_band (
                band INTEGER NOT NULL, value INTEGER NOT NULL,
                photo_id INTEGER NOT NULL REFERENCES photo ON DELETE CASCADE,
                PRIMARY KEY (band, value, photo_id)) WITHOUT ROWID""",
            """CREATE TABLE assessment (
                snapshot_id INTEGER PRIMARY KEY REFERENCES snapshot ON DELETE CASCADE,
                rank INTEGER NOT NULL, risk REAL NOT NULL, score REAL NOT NULL,
                next_step TEXT NOT NULL, record TEXT NOT NULL,
                weights TEXT NOT NULL, sheet TEXT)""",
            """CREATE TABLE version (
                digest TEXT PRIMARY KEY, kind TEXT NOT NULL, body TEXT NOT NULL)""",
            """CREATE TABLE entry (
                id INTEGER PRIMARY KEY, made_at TEXT NOT NULL, batch TEXT NOT NULL,
                kind TEXT NOT NULL,
                snapshot_id INTEGER REFERENCES snapshot ON DELETE CASCADE,
                body TEXT NOT NULL, seen TEXT, undone_at TEXT)""",
            "CREATE INDEX entry_snapshot ON entry (snapshot_id)",
        ),
    ),
    Migration(
        "0002 which ranking was shown when",
        (
            """CREATE TABLE shown (
                folder_id INTEGER PRIMARY KEY REFERENCES folder ON DELETE CASCADE,
                made_at TEXT NOT NULL)""",
        ),
    ),
    Migration(
        "0003 pictures found to be the same, catalogue pictures, looks drawn by lot",
        (
            """CREATE TABLE same_picture (
                photo_id INTEGER NOT NULL REFERENCES photo ON DELETE CASCADE,
                other_id INTEGER NOT NULL REFERENCES photo ON DELETE CASCADE,
                PRIMARY KEY (photo_id, other_id)) WITHOUT ROWID""",
            """CREATE TABLE known_picture (
                photo_id INTEGER PRIMARY KEY REFERENCES photo ON DELETE CASCADE,
                name TEXT NOT NULL, made_at TEXT NOT NULL)""",
            """CREATE TABLE drawn (
                snapshot_id INTEGER PRIMARY KEY REFERENCES snapshot ON DELETE CASCADE,
                chance REAL NOT NULL, made_at TEXT NOT NULL)""",
        ),
    ),
    Migration(
        "0004 where a folder lies, from wherever it was named",
        ("ALTER TABLE folder ADD COLUMN place TEXT NOT NULL DEFAULT ''",),
    ),
    Migration(
        "0005 with a decision its rank, weights and sheet",
        (
            "ALTER TABLE entry ADD COLUMN rank INTEGER",
            "ALTER TABLE entry ADD COLUMN weights TEXT",
            "ALTER TABLE entry ADD COLUMN sheet TEXT",
        ),
    ),
)


def refuse_others(connection: sqlite3.Connection, path: Path | None) -> None:
    """Raise UserError for another program's file and for a newer release's; writes nothing.

    Memories from before there was an id are known by the first step in their table of steps.
    """
    tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    ((application,),) = connection.execute("PRAGMA application_id")
    ((version,),) = connection.execute("PRAGMA user_version")
    is_ours = application == _OURS or (application == 0 and _has_first_step(connection, tables))
    is_new = application == 0 and tables <= {"migration", "sqlite_autoindex_migration_1"}
    if not is_ours and not is_new:
        raise UserError(
            f"{path}: a file of another program, not a memory of this tool",
            "name another file with --memory; this one was left as it is",
        )
    if is_ours and version > len(MIGRATIONS):
        raise UserError(
            f"{path}: written by a newer release (version {version} of the memory)",
            "install that release, or name another store",
        )


def _has_first_step(connection: sqlite3.Connection, tables: set[str]) -> bool:
    if "migration" not in tables:
        return False
    steps = connection.execute("SELECT * FROM migration").fetchall()
    return any(step[0] == MIGRATIONS[0].name for step in steps)


def migrate(connection: sqlite3.Connection, path: Path | None) -> tuple[str, ...]:
    """Bring a store up to date; returns the names of the steps taken.

    `path` is the store's file, for the backup; None for a store in memory. Raises UserError for
    a store that a newer release has written.
    """
    connection.execute(
        "CREATE TABLE IF NOT EXISTS migration (name TEXT PRIMARY KEY, made_at TEXT NOT NULL)"
    )
    done = {name for (name,) in connection.execute("SELECT name FROM migration")}
    unknown = sorted(done - {m.name for m in MIGRATIONS})
    if unknown:
        raise UserError(
            f"{path}: written by a newer release (it knows '{unknown[-1]}')",
            "install that release, or name another store",
        )
    missing = [m for m in MIGRATIONS if m.name not in done]
    if missing and done and path is not None:
        _back_up(connection, path)
    for migration in missing:
        _apply(connection, migration)
    return tuple(m.name for m in missing)


def _apply(connection: sqlite3.Connection, migration: Migration) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        # another process may have taken the step while this one waited for the lock
        known = connection.execute("SELECT 1 FROM migration WHERE name = ?", (migration.name,))
        if known.fetchone() is None:
            for statement in migration.statements:
                connection.execute(statement)
            connection.execute("INSERT INTO migration VALUES (?, ?)", (migration.name, now()))
            connection.execute(f"PRAGMA application_id = {_OURS}")
            connection.execute(f"PRAGMA user_version = {MIGRATIONS.index(migration) + 1}")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def _back_up(connection: sqlite3.Connection, path: Path) -> None:
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    part = path.with_name(f"{path.name}.before-{stamp}.part")
    copy = sqlite3.connect(part)
    try:
        connection.backup(copy)
    except sqlite3.Error:
        part.unlink(missing_ok=True)
        raise
    finally:
        copy.close()
    part.replace(part.with_suffix(""))  # whole or not there, whenever this is stopped


def now() -> str:
    """The present moment as ISO 8601 text in UTC."""
    return datetime.now(UTC).isoformat(timespec="microseconds")
