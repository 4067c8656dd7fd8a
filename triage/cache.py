"""Results kept between runs; disposable: it may be deleted at any time, or be missing.

A result is found by its kind, a key that says what it was made from (a digest of the content), and
the recipe: a digest of the code and data files that made it. A changed recipe finds nothing, and
what it left behind is removed.
"""

from __future__ import annotations

import hashlib
import os
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from functools import cache
from importlib import resources
from pathlib import Path

# which code makes which kind of result; a change in one of these places makes it stale
MADE_BY: dict[str, tuple[str, ...]] = {
    "reading": ("triage/readers", "extractors"),
    "pictures": ("triage/readers", "extractors"),
    "evidence": ("extractors",),
    "fingerprint": ("extractors/photos",),
    "thumbnail": ("extractors/photos",),
    "pairs": ("extractors/photos",),
    "run": ("triage", "models", "extractors"),
    "last": (),
}
LARGEST = 2 << 30  # bytes; above it, the results not used for longest go
_FILE = "kept-results.sqlite3"
_SEAL = 16  # bytes of the digest before each value
_OURS = 0x46545243  # application id of the file, so that another program's is left alone
_LAYOUT = 1  # of the file; one of another layout is started again
_PAGE = 16_384  # bytes: values of 60 kB are read and written three times faster than with 4,096
# the values lie beside the keys, not among them: a search for a key passes by no values
_SCHEMA = """
CREATE TABLE IF NOT EXISTS results (
    kind TEXT NOT NULL, key TEXT NOT NULL, recipe TEXT NOT NULL, value BLOB NOT NULL,
    used INTEGER NOT NULL, PRIMARY KEY (kind, key)
)
"""


@cache
def recipe(kind: str) -> str:
    """A digest of everything that makes results of this kind."""
    digest = hashlib.sha256()
    for place in MADE_BY[kind]:
        package, *rest = place.split("/")
        top = Path(str(resources.files(package)))
        for file in sorted(top.joinpath(*rest).rglob("*")):
            if file.is_file() and file.suffix not in (".pyc", ".pyo"):
                digest.update(file.relative_to(top).as_posix().encode())
                digest.update(hashlib.sha256(file.read_bytes()).digest())
    return digest.hexdigest()


def digest_of(*parts: bytes | str) -> str:
    """One key for several parts; their borders count."""
    digest = hashlib.sha256()
    for part in parts:
        data = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
        digest.update(len(data).to_bytes(8, "big"))
        digest.update(data)
    return digest.hexdigest()


def manifest(root: Path) -> str:
    """A digest of what lies below a folder (or of one file): names, sizes and times of change."""
    return digest_of(*(f"{name}\0{size}\0{changed}" for name, size, changed in _listed(root)))


def _listed(root: Path) -> list[tuple[str, int, int]]:
    if not root.is_dir():
        found = os.stat(root)
        return [(root.name, found.st_size, found.st_mtime_ns)]
    return sorted(_walk(str(root), ""))


def _walk(folder: str, prefix: str) -> Iterator[tuple[str, int, int]]:
    """Everything below a folder; a list of what is still to do, as folders may lie very deep."""
    waiting = [(folder, prefix)]
    while waiting:
        folder, prefix = waiting.pop()
        try:
            with os.scandir(folder) as entries:
                for entry in entries:
                    name = prefix + entry.name
                    if entry.is_dir(follow_symlinks=False):
                        waiting.append((entry.path, name + "/"))
                    else:
                        found = entry.stat(follow_symlinks=False)
                        yield name, found.st_size, found.st_mtime_ns
        except OSError as error:
            yield prefix, -1, error.errno or 0


class Cache:
    """The results at hand; with `folder` None it keeps nothing and finds nothing.

    Trouble with the file (damaged, locked, disk full) never stops a run: it goes on without.
    """

    def __init__(self, folder: Path | None) -> None:
        self._db = _open(folder) if folder is not None else None

    def get(self, kind: str, key: str) -> bytes | None:
        """The result of this kind for this key, or None."""
        return self.get_many(kind, [key]).get(key)

    def get_many(self, kind: str, keys: Iterable[str]) -> dict[str, bytes]:
        """The results at hand among the keys."""
        if self._db is None:
            return {}
        found: dict[str, bytes] = {}
        query = "SELECT recipe, value FROM results WHERE kind = ? AND key = ?"
        made_by = recipe(kind)
        try:
            for key in keys:
                row = self._db.execute(query, (kind, key)).fetchone()
                if row is not None and row[0] == made_by and (value := _whole(row[1])):
                    found[key] = value
        except sqlite3.Error:
            self._give_up()
        return found

    def put(self, kind: str, key: str, value: bytes) -> None:
        """Keep one result."""
        self.put_many(kind, {key: value})

    def put_many(self, kind: str, values: Mapping[str, bytes]) -> None:
        """Keep results; earlier ones of the same keys are replaced."""
        if self._db is None or not values:
            return
        now, made_by = int(time.time()), recipe(kind)
        rows = [(kind, key, made_by, _sealed(value), now) for key, value in values.items()]
        try:
            with self._db:
                self._db.executemany("INSERT OR REPLACE INTO results VALUES (?, ?, ?, ?, ?)", rows)
        except sqlite3.Error:
            self._give_up()

    def tidy(self) -> None:
        """Remove what no recipe finds any more and, above the largest size, the oldest results."""
        if self._db is None:
            return
        try:
            with self._db:
                for kind in MADE_BY:
                    self._db.execute(
                        "DELETE FROM results WHERE kind = ? AND recipe <> ?", (kind, recipe(kind))
                    )
                self._shrink(self._db)
        except sqlite3.Error:
            self._give_up()

    def _shrink(self, db: sqlite3.Connection) -> None:
        (size,) = db.execute("SELECT coalesce(sum(length(value)), 0) FROM results").fetchone()
        if size > LARGEST:
            (middle,) = db.execute(
                "SELECT used FROM results ORDER BY used LIMIT 1"
                " OFFSET (SELECT count(*) / 2 FROM results)"
            ).fetchone()
            db.execute("DELETE FROM results WHERE used <= ?", (middle,))

    def _give_up(self) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        if self._db is not None:
            self._db.close()
            self._db = None


def _sealed(value: bytes) -> bytes:
    return hashlib.blake2b(value, digest_size=_SEAL).digest() + value


def _whole(value: object) -> bytes | None:
    """The value as it was kept; None where it is not what its seal says."""
    if not isinstance(value, bytes) or _sealed(value[_SEAL:]) != value:
        return None
    return value[_SEAL:]


def throw_away(folder: Path) -> None:
    """Remove everything that was kept, for good; it can be made again from the saved folders."""
    for file in folder.glob(f"{_FILE}*"):
        file.unlink(missing_ok=True)


def _open(folder: Path) -> sqlite3.Connection | None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return _connect(folder / _FILE)
    except sqlite3.OperationalError:  # locked by another run, or no room
        return None
    except sqlite3.DatabaseError:
        return _start_again(folder / _FILE)
    except OSError:
        return None


def _start_again(file: Path) -> sqlite3.Connection | None:
    """A damaged or old file is thrown away: it holds nothing that cannot be made again."""
    try:
        throw_away(file.parent)
        return _connect(file)
    except (OSError, sqlite3.Error):
        return None


def _check_kind(db: sqlite3.Connection) -> None:
    """OperationalError for another program's file, DatabaseError for an old layout of ours."""
    (tables,) = db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if not tables:
        return
    (app,) = db.execute("PRAGMA application_id").fetchone()
    (layout,) = db.execute("PRAGMA user_version").fetchone()
    if app != _OURS:
        raise sqlite3.OperationalError("another program's file")
    if layout != _LAYOUT:
        raise sqlite3.DatabaseError("another layout")


def _connect(file: Path) -> sqlite3.Connection:
    db = sqlite3.connect(file, timeout=5.0)
    try:
        _check_kind(db)
        db.execute(f"PRAGMA page_size = {_PAGE}")  # of a new file only
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = OFF")
        db.execute(f"PRAGMA application_id = {_OURS}")
        db.execute(f"PRAGMA user_version = {_LAYOUT}")
        db.execute(_SCHEMA)
        with closing(db.execute("SELECT kind, recipe, used FROM results LIMIT 1")) as rows:
            rows.fetchall()
    except sqlite3.Error:
        db.close()
        raise
    return db
