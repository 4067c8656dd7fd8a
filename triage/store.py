"""The memory between weeks: one SQLite file that never loses what the buyer entered.

It holds every snapshot of every listing, the looks of their photos, the assessment the buyer saw,
and a journal of everything the buyer entered. Nothing in the journal is overwritten: a change is
a new entry, and an undone entry stays with the time it was undone.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import shutil
import sqlite3
import uuid
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from extractors.codec import UnreadableRecord, from_plain, to_plain
from extractors.errors import UserError
from extractors.records import Listing, Photo
from models.records import Assessment
from triage.continuity import plain
from triage.migrations import migrate, now, refuse_others

_BANDS = 16  # a look of 256 bits is looked up by 16 pieces of 16 bits
# a band value that more photos share than this (blank grounds) finds nothing worth comparing
_CROWDED = 4000
_LEAST_ROOM = 200_000  # bytes, below which a disk is as good as full
# what the system may say of any file, sound or not
_OF_THE_SYSTEM = frozenset({
    sqlite3.SQLITE_PERM, sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_NOMEM,
    sqlite3.SQLITE_READONLY, sqlite3.SQLITE_INTERRUPT, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PROTOCOL,
})  # fmt: skip
_T = TypeVar("_T")
# where words stand that a seller or the buyer wrote
_TEXTS = (("snapshot", "record"), ("assessment", "record"), ("entry", "body"), ("entry", "seen"))


class Unreadable(ValueError):
    """A stored record is not what was once written."""


def read_json(text: object) -> dict[str, Any]:
    """A stored record as plain values; raises Unreadable, which the store tells as damage."""
    try:
        told = json.loads(str(text))
    except (ValueError, RecursionError) as error:
        raise Unreadable("it holds a record that is no JSON") from error
    if not isinstance(told, dict):
        raise Unreadable("it holds a record that is none of its own")
    return told


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder of saved listings as it was read once."""

    id: int
    digest: str
    path: str
    saved_at: str


@dataclass(frozen=True, slots=True)
class Snapshot:
    """A listing as one folder showed it."""

    id: int
    folder: Folder
    piece: int | None
    ended: bool
    listing: Listing
    link: str | None


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing the buyer entered, and what was on the screen then.

    `seen` is the assessment (JSON) with score, interval and findings, `rank` its number; `weights`
    and `sheet` are digests of the versions it was made with (`Store.version` gives their text).
    """

    id: int
    made_at: str
    batch: str
    kind: str
    snapshot: int | None
    body: Mapping[str, Any]
    seen: str | None
    undone_at: str | None
    rank: int | None = None
    weights: str | None = None
    sheet: str | None = None


class Store:
    """An open store; use as a context manager. Two processes may hold one at the same time."""

    def __init__(self, connection: sqlite3.Connection, path: Path | None) -> None:
        self._db = connection
        self.path = path
        self._read: dict[int, tuple[str, Listing]] = {}  # records read before, and what they hold
        self._alike: dict[bytes, set[str]] = {}  # photos of a look, as long as none is added

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *problem: object) -> None:
        self._db.close()
        error = problem[1] if len(problem) > 1 else None
        if isinstance(error, Unreadable):
            raise _damaged(error, self.path) from error
        if isinstance(error, sqlite3.OperationalError):
            raise _explained(error, self.path) from error
        if isinstance(error, sqlite3.DatabaseError) and _says_damage(error):
            raise _not_readable(error, self.path) from error

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """Everything inside happens or nothing does; it is on the disk when this returns.

        Inside another one it is part of that.
        """
        if self._db.in_transaction:
            yield self._db
            return
        try:
            self._db.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            raise _explained(error, self.path) from error
        try:
            yield self._db
            self._db.execute("COMMIT")
        except sqlite3.OperationalError as error:
            self._roll_back()
            raise _explained(error, self.path) from error
        except BaseException:
            self._roll_back()
            raise

    @contextmanager
    def alone(self) -> Iterator[None]:
        """What is read and written inside is one step: no other process writes in between."""
        with self._writing():
            yield

    def _roll_back(self) -> None:
        if self._db.in_transaction:
            self._db.execute("ROLLBACK")

    # --- listings ----------------------------------------------------------------------------

    def add_folder(
        self,
        path: str,
        saved_at: str,
        listings: Sequence[Listing],
        looks: Mapping[str, bytes],
        place: str = "",
    ) -> tuple[Folder, bool]:
        """Remember a folder's listings; returns it and whether it was new.

        The same listings at the same place are the same folder; `path` is how the buyer wrote
        it last, `place` where that is, if not the same. `looks` maps the
        SHA-256 of a photo to its 32-byte perceptual hash; photos without one are matched by
        their bytes alone.
        """
        digest = _digest_of(place or path, listings)
        with self._writing() as db:
            known = self._folder("digest = ?", digest)
            if known:
                db.execute(
                    "UPDATE folder SET path = ?, place = ? WHERE id = ?", (path, place, known.id)
                )
                return replace(known, path=path), False
            cursor = db.execute(
                "INSERT INTO folder (digest, path, place, saved_at, read_at)"
                " VALUES (?, ?, ?, ?, ?)",
                (digest, path, place, saved_at, now()),
            )
            folder = Folder(int(cursor.lastrowid or 0), digest, path, saved_at)
            photos = self._add_photos({p.sha256 for x in listings for p in x.photos}, looks)
            for listing in sorted(listings, key=lambda x: (x.source, x.line or 0, x.id)):
                self._add_snapshot(folder, listing, photos)
        return folder, True

    def _add_snapshot(self, folder: Folder, listing: Listing, photos: Mapping[str, int]) -> None:
        seller = listing.seller_id or listing.seller_name
        cursor = self._db.execute(
            "INSERT INTO snapshot (folder_id, listing, source, line, seller, ended, record)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (
                folder.id,
                listing.id,
                listing.source,
                listing.line,
                plain(seller) if seller else None,
                is_ended(listing),
                _json(to_plain(listing)),
            ),
        )
        self._db.executemany(
            "INSERT INTO snapshot_photo VALUES (?, ?, ?)",
            [(cursor.lastrowid, n, photos[p.sha256]) for n, p in enumerate(listing.photos)],
        )

    def _add_photos(self, shas: set[str], looks: Mapping[str, bytes]) -> dict[str, int]:
        ids: dict[str, int] = {}
        self._alike.clear()
        for sha in sorted(shas):
            look = looks.get(sha)
            self._db.execute(
                "INSERT INTO photo (sha256, look) VALUES (?, ?) ON CONFLICT (sha256)"
                " DO UPDATE SET look = coalesce(photo.look, excluded.look)",
                (sha, look),
            )
            (ids[sha],) = self._db.execute(
                "SELECT id FROM photo WHERE sha256 = ?", (sha,)
            ).fetchone()
            if look:
                self._db.executemany(
                    "INSERT OR IGNORE INTO photo_band VALUES (?, ?, ?)",
                    [(band, value, ids[sha]) for band, value in _bands(look)],
                )
        return ids

    def folders(self) -> tuple[Folder, ...]:
        """All folders, by the time their listings were saved, of one time as they were read."""
        rows = self._db.execute(
            "SELECT id, digest, path, saved_at FROM folder ORDER BY saved_at, id"
        )
        return tuple(Folder(*row) for row in rows)

    def find_folder(self, place: str, listings: Sequence[Listing]) -> Folder | None:
        """The folder at this place with these listings; None if it was never remembered."""
        return self._folder("digest = ?", _digest_of(place, listings))

    def date_anew(self, folder: Folder, saved_at: str) -> Folder:
        """Let a folder count as saved at another time; its order among the others may change."""
        with self._writing() as db:
            db.execute("UPDATE folder SET saved_at = ? WHERE id = ?", (saved_at, folder.id))
        return replace(folder, saved_at=saved_at)

    def put_undated_before(self, folder: Folder) -> None:
        """Let folders that do not say when they were saved come before a later one that does.

        Until then they stand by when they were read, after whatever a listing could say. Nothing
        moves where a folder of a later date is known: then this one was given late.
        """
        silent = [f for f in self.folders() if f.id != folder.id and not self.says_when(f)]
        dated = [f.saved_at for f in self.folders() if f not in silent and f.id != folder.id]
        moved = [f for f in silent if f.saved_at > folder.saved_at]
        latest = max(dated, default="")
        if not moved or latest >= folder.saved_at:
            return
        try:
            day = datetime.date.fromisoformat(folder.saved_at[:10]) - datetime.timedelta(days=1)
        except ValueError:
            return
        before = max(day.isoformat(), latest)
        with self._writing() as db:
            db.executemany(
                "UPDATE folder SET saved_at = ? WHERE id = ?",
                [(f"{before}~{number:06}", f.id) for number, f in enumerate(moved)],
            )

    def says_when(self, folder: Folder) -> bool:
        (told,) = self._db.execute(
            "SELECT EXISTS (SELECT 1 FROM snapshot WHERE folder_id = ?"
            " AND json_extract(record, '$.date_saved') IS NOT NULL)",
            (folder.id,),
        ).fetchone()
        return bool(told)

    def _folder(self, where: str, *values: object) -> Folder | None:
        row = self._db.execute(
            f"SELECT id, digest, path, saved_at FROM folder WHERE {where}", values
        ).fetchone()
        return Folder(*row) if row else None

    def snapshots(self, folder: Folder) -> tuple[Snapshot, ...]:
        """The listings of one folder, in the order of their files."""
        rows = self._db.execute(
            "SELECT id, piece_id, ended, record, link FROM snapshot WHERE folder_id = ?"
            " ORDER BY source, line, listing",
            (folder.id,),
        )
        return tuple(
            Snapshot(i, folder, piece, bool(ended), self._listing(i, record), link)
            for i, piece, ended, record, link in rows
        )

    def snapshot(self, number: int) -> Snapshot:
        """One snapshot by its number; raises KeyError if it was forgotten."""
        row = self._db.execute(
            "SELECT s.id, s.piece_id, s.ended, s.record, s.link, f.id, f.digest, f.path,"
            " f.saved_at FROM snapshot s JOIN folder f ON f.id = s.folder_id WHERE s.id = ?",
            (number,),
        ).fetchone()
        if row is None:
            raise KeyError(number)
        i, piece, ended, record, link, *folder = row
        return Snapshot(i, Folder(*folder), piece, bool(ended), self._listing(i, record), link)

    def photo_digests(self) -> frozenset[str]:
        """The SHA-256 of every photo that some snapshot shows."""
        return frozenset(sha for (sha,) in self._db.execute("SELECT sha256 FROM photo"))

    def photo_places(self, shas: Iterable[str]) -> Iterator[tuple[str, str, Photo]]:
        """(SHA-256, folder, photo in it) of everywhere a photo was saved, the last one first."""
        for sha in shas:
            rows = self._db.execute(
                "SELECT DISTINCT coalesce(nullif(f.place, ''), f.path),"
                " json_extract(s.record, '$.photos') FROM photo p"
                " JOIN snapshot_photo x ON x.photo_id = p.id"
                " JOIN snapshot s ON s.id = x.snapshot_id JOIN folder f ON f.id = s.folder_id"
                " WHERE p.sha256 = ? ORDER BY f.saved_at DESC",
                (sha,),
            )
            for place, photos in rows:
                named = _photos(photos)
                yield from ((sha, place, photo) for photo in named if photo.sha256 == sha)

    def history(self, piece: int) -> tuple[Snapshot, ...]:
        """All snapshots of one piece, oldest first."""
        rows = self._db.execute(
            "SELECT s.id, s.ended, s.record, s.link, f.id, f.digest, f.path, f.saved_at"
            " FROM snapshot s JOIN folder f ON f.id = s.folder_id WHERE s.piece_id = ?"
            " ORDER BY f.saved_at, f.id, s.id",
            (piece,),
        )
        return tuple(
            Snapshot(i, Folder(*folder), piece, bool(ended), self._listing(i, record), link)
            for i, ended, record, link, *folder in rows
        )

    def known_before(self, folder: Folder) -> tuple[Snapshot, ...]:
        """The latest snapshot of every piece, from folders saved before this one."""
        rows = self._db.execute(
            "SELECT s.id, s.piece_id, s.ended, s.record, s.link, f.id, f.digest, f.path,"
            " f.saved_at, max(f.saved_at || printf('%012d', f.id)) FROM snapshot s"
            " JOIN folder f ON f.id = s.folder_id WHERE s.piece_id IS NOT NULL"
            " AND (f.saved_at, f.id) < (?, ?) GROUP BY s.piece_id",
            (folder.saved_at, folder.id),
        )
        return tuple(
            Snapshot(i, Folder(*rest[:4]), piece, bool(ended), self._listing(i, record), link)
            for i, piece, ended, record, link, *rest in rows
        )

    def _listing(self, number: int, record: str) -> Listing:
        """The listing of a snapshot; 20,000 take seconds to read, so each is read once."""
        known = self._read.get(number)
        if known is None or known[0] != record:
            known = self._read[number] = (record, _listing(record))
        return known[1]

    def is_linked(self, but: Folder | None = None) -> bool:
        """Whether every snapshot is known to show a piece, those of one folder aside."""
        query = (
            "SELECT EXISTS (SELECT 1 FROM snapshot WHERE piece_id IS NULL AND folder_id IS NOT ?)"
        )
        (is_open,) = self._db.execute(query, (but.id if but else None,)).fetchone()
        return not is_open

    def set_pieces(self, links: Mapping[int, tuple[int | None, str | None]], seen: str) -> None:
        """Say which piece each snapshot shows: None makes a new piece; with it goes the reason."""
        with self._writing() as db:
            for snapshot, (piece, link) in links.items():
                if piece is None:
                    piece = db.execute(
                        "INSERT INTO piece (first_seen) VALUES (?)", (seen,)
                    ).lastrowid
                db.execute(
                    "UPDATE snapshot SET piece_id = ?, link = ? WHERE id = ?",
                    (piece, link, snapshot),
                )

    def forget_pieces(self) -> None:
        """Take all snapshots off their pieces, to link them anew; nothing entered is touched."""
        with self._writing() as db:
            db.execute("UPDATE snapshot SET piece_id = NULL, link = NULL")
            db.execute("DELETE FROM piece")

    # --- photos ------------------------------------------------------------------------------

    def photo_keys(self, shas: Iterable[str], distance_bits: int) -> dict[str, str]:
        """Give each photo a key shared by all stored copies of the same picture.

        Copies are photos whose 256-bit looks differ in at most `distance_bits` (up to 15, which
        the bands find for certain); the key is the smallest SHA-256 among them. No full scan.
        """
        keys: dict[str, str] = {}
        for sha in sorted(set(shas)):
            near = self.near_photos(sha, distance_bits)
            keys[sha] = min((sha, *near))
        return {sha: keys.get(key, key) for sha, key in keys.items()}

    def near_photos(self, sha256: str, distance_bits: int) -> tuple[str, ...]:
        """The stored photos that look the same as this stored photo."""
        row = self._db.execute(
            "SELECT look FROM photo WHERE sha256 = ? AND look IS NOT NULL", (sha256,)
        ).fetchone()
        near = self._look_alikes(row[0], distance_bits) if row else {sha256}
        cut = {other for sha in near for other in self._same_pictures(sha)}
        return tuple(sorted(near | cut)) if row or cut else ()

    def _same_pictures(self, sha256: str) -> list[str]:
        return [
            sha
            for (sha,) in self._db.execute(
                "SELECT o.sha256 FROM photo p JOIN same_picture s ON s.photo_id = p.id"
                " JOIN photo o ON o.id = s.other_id WHERE p.sha256 = ?",
                (sha256,),
            )
        ]

    def _look_alikes(self, look: bytes, distance_bits: int) -> set[str]:
        key = look + bytes([distance_bits])
        if key not in self._alike:
            self._alike[key] = self._find_alike(look, distance_bits)
        return self._alike[key]

    def _find_alike(self, look: bytes, distance_bits: int) -> set[str]:
        found: dict[str, bytes] = {}
        for band, value in _bands(look):
            found |= dict(
                self._db.execute(
                    "SELECT p.sha256, p.look FROM photo_band b JOIN photo p ON p.id = b.photo_id"
                    " WHERE b.band = ? AND b.value = ? LIMIT ?",
                    (band, value, _CROWDED),
                )
            )
        mine = int.from_bytes(look, "big")
        return {
            sha
            for sha, other in found.items()
            if (mine ^ int.from_bytes(other, "big")).bit_count() <= distance_bits
        }

    def add_same_pictures(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Keep which stored photos show one picture though their looks differ (cut, say)."""
        with self._writing() as db:
            for a, b in pairs:
                db.executemany(
                    "INSERT OR IGNORE INTO same_picture SELECT p.id, o.id FROM photo p, photo o"
                    " WHERE p.sha256 = ? AND o.sha256 = ?",
                    [(a, b), (b, a)],
                )

    def shown_before(self, folder: Folder, shas: Iterable[str]) -> tuple[Snapshot, ...]:
        """The latest snapshot of each piece, of weeks before, that shows one of these photos."""
        found: dict[int, Snapshot] = {}
        for sha in sorted(set(shas)):
            rows = self._db.execute(
                "SELECT s.id FROM photo p JOIN snapshot_photo x ON x.photo_id = p.id"
                " JOIN snapshot s ON s.id = x.snapshot_id JOIN folder f ON f.id = s.folder_id"
                " WHERE p.sha256 = ? AND (f.saved_at, f.id) < (?, ?)"
                " ORDER BY f.saved_at DESC, f.id DESC LIMIT ?",
                (sha, folder.saved_at, folder.id, _CROWDED),
            ).fetchall()
            for (number,) in rows:
                snapshot = self.snapshot(number)
                known = found.get(snapshot.piece or -number)
                if known is None or known.folder.saved_at < snapshot.folder.saved_at:
                    found[snapshot.piece or -number] = snapshot
        return tuple(found.values())

    # --- catalogue pictures ----------------------------------------------------------------------

    def add_known_pictures(self, name: str, looks: Mapping[str, bytes]) -> int:
        """Keep catalogue pictures (SHA-256 -> look) under a name; returns how many were new."""
        with self._writing() as db:
            ids = self._add_photos(set(looks), looks)
            return sum(
                db.execute(
                    "INSERT OR IGNORE INTO known_picture VALUES (?, ?, ?)", (i, name, now())
                ).rowcount
                for i in ids.values()
            )

    def drop_known_pictures(self, name: str) -> int:
        """Take the catalogue pictures of a name out again; returns how many there were."""
        with self._writing() as db:
            return db.execute("DELETE FROM known_picture WHERE name = ?", (name,)).rowcount

    def known_pictures(self) -> dict[str, str]:
        """SHA-256 -> the name of the collection, of every catalogue picture."""
        return dict(
            self._db.execute(
                "SELECT p.sha256, k.name FROM known_picture k JOIN photo p ON p.id = k.photo_id"
            )
        )

    # --- looks drawn by lot ----------------------------------------------------------------------

    def keep_drawn(self, folder: Folder, listings: Iterable[str], chance: float) -> None:
        """Keep which listings (by id) were drawn for a look, and with what chance each."""
        with self._writing() as db:
            for listing in listings:
                db.execute(
                    "INSERT OR IGNORE INTO drawn SELECT id, ?, ? FROM snapshot"
                    " WHERE folder_id = ? AND listing = ?",
                    (chance, now(), folder.id, listing),
                )

    def drawn(self) -> dict[int, float]:
        """Piece -> the chance with which it was drawn for a look, the first time it was."""
        rows = self._db.execute(
            "SELECT s.piece_id, d.chance FROM drawn d JOIN snapshot s ON s.id = d.snapshot_id"
            " WHERE s.piece_id IS NOT NULL ORDER BY d.made_at DESC"
        )
        return dict(rows.fetchall())

    # --- assessments -------------------------------------------------------------------------

    def add_assessments(
        self,
        folder: Folder,
        assessments: Sequence[Assessment],
        weights: str,
        sheets: Mapping[str, str] | None = None,
    ) -> None:
        """Keep what the buyer saw: rank, score, interval, findings; the weights and sheets used.

        `weights` is the digest of their version, `sheets` gives that of each reference's sheet.
        """
        used = sheets or {}
        ids = {s.listing.id: s.id for s in self.snapshots(folder)}
        rows = [
            (
                *(ids[a.id], rank, a.risk, a.score, a.next_step, _json(to_plain(a)), weights),
                used.get(a.reference or ""),
            )
            for rank, a in enumerate(assessments, 1)
            if a.id in ids
        ]
        with self._writing() as db:
            db.executemany("INSERT OR REPLACE INTO assessment VALUES (?,?,?,?,?,?,?,?)", rows)

    def assessment(self, snapshot: int) -> tuple[int, Assessment] | None:
        """The rank and assessment of a snapshot, if it was ranked."""
        row = self._db.execute(
            "SELECT rank, record FROM assessment WHERE snapshot_id = ?", (snapshot,)
        ).fetchone()
        return (row[0], _record(row[1], Assessment)) if row else None

    def assessments(self) -> Iterator[Assessment]:
        """Every assessment that the buyer was shown."""
        for (record,) in self._db.execute("SELECT record FROM assessment"):
            yield _record(record, Assessment)

    def keep_shown(self, folder: Folder) -> None:
        """Keep that the buyer was shown the ranking of a folder just now."""
        with self._writing() as db:
            db.execute("INSERT OR REPLACE INTO shown VALUES (?, ?)", (folder.id, now()))

    def shown(self) -> dict[Folder, str]:
        """The folders whose ranking was shown and when (ISO 8601), the last one last."""
        rows = self._db.execute(
            "SELECT f.id, f.digest, f.path, f.saved_at, s.made_at FROM shown s"
            " JOIN folder f ON f.id = s.folder_id ORDER BY s.made_at"
        )
        return {Folder(*row): made_at for *row, made_at in rows}

    def keep_version(self, kind: str, body: str) -> str:
        """Keep a version of the weights or of a sheet; returns its digest."""
        digest = hashlib.sha256(body.encode()).hexdigest()
        with self._writing() as db:
            db.execute("INSERT OR IGNORE INTO version VALUES (?, ?, ?)", (digest, kind, body))
        return digest

    def version(self, digest: str) -> str | None:
        """The text of a version of weights or of a sheet; None if none has this digest."""
        row = self._db.execute("SELECT body FROM version WHERE digest = ?", (digest,)).fetchone()
        return str(row[0]) if row else None

    def price_sightings(self) -> Iterator[tuple[Any, ...]]:
        """(piece, date, reference, price, currency, kind, source, listed) of ranked listings.

        By time; the date is when it was saved, `listed` when it was listed, if it says so.
        """
        yield from self._db.execute(
            "SELECT s.piece_id, coalesce(json_extract(s.record, '$.date_saved'), f.saved_at),"
            " json_extract(a.record, '$.reference') AS reference,"
            " json_extract(s.record, '$.price') AS price, json_extract(s.record, '$.currency'),"
            " json_extract(s.record, '$.price_kind'), f.path || '/' || s.source,"
            " json_extract(s.record, '$.date_listed')"
            " FROM snapshot s JOIN assessment a ON a.snapshot_id = s.id"
            " JOIN folder f ON f.id = s.folder_id"
            " WHERE reference IS NOT NULL AND price IS NOT NULL ORDER BY f.saved_at, s.id"
        )

    def prices_paid(self) -> Iterator[tuple[Any, ...]]:
        """(date, reference, price, currency, "paid", source) of what the buyer said was paid."""
        yield from self._db.execute(
            "SELECT coalesce(json_extract(e.body, '$.date'), e.made_at),"
            " json_extract(e.seen, '$.reference') AS reference,"
            " json_extract(e.body, '$.paid') AS paid, json_extract(s.record, '$.currency'),"
            " 'paid', 'outcome entered ' || substr(e.made_at, 1, 10)"
            " FROM entry e JOIN snapshot s ON s.id = e.snapshot_id"
            " WHERE e.kind = 'outcome' AND e.undone_at IS NULL AND e.seen IS NOT NULL"
            " AND reference IS NOT NULL AND paid IS NOT NULL ORDER BY e.id"
        )

    # --- what the buyer entered -----------------------------------------------------------------

    def record(self, kind: str, snapshots: Sequence[int | None], body: Mapping[str, Any]) -> str:
        """Add one entry for each snapshot, together; returns the batch, by which to undo them.

        An entry about no listing has None for a snapshot.
        """
        batch = uuid.uuid4().hex[:12]
        with self._writing() as db:
            for snapshot in snapshots:
                seen = db.execute(
                    "SELECT record, rank, weights, sheet FROM assessment WHERE snapshot_id = ?",
                    (snapshot,),
                ).fetchone()
                db.execute(
                    "INSERT INTO entry (made_at, batch, kind, snapshot_id, body, seen, rank,"
                    " weights, sheet) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    (now(), batch, kind, snapshot, _json(body), *(seen or (None,) * 4)),
                )
        return batch

    def undo(self, batch: str) -> int:
        """Undo all entries of a batch; returns how many. Raises UserError for an unknown batch."""
        with self._writing() as db:
            changed = db.execute(
                "UPDATE entry SET undone_at = ? WHERE batch = ? AND undone_at IS NULL",
                (now(), batch),
            ).rowcount
        if not changed:
            raise UserError(f"There is nothing to undo under {batch!r}.", "See: triage entries")
        return changed

    def last_batch(self) -> str | None:
        """The batch of the newest entry that is not undone."""
        row = self._db.execute(
            "SELECT batch FROM entry WHERE undone_at IS NULL ORDER BY id DESC LIMIT 1"
        ).fetchone()
        return str(row[0]) if row else None

    def entries(self, piece: int | None = None, undone: bool = False) -> tuple[Entry, ...]:
        """The journal in order, of one piece or all; undone entries only when asked for."""
        where = [] if undone else ["e.undone_at IS NULL"]
        values: list[object] = []
        if piece is not None:
            where.append("s.piece_id = ?")
            values.append(piece)
        rows = self._db.execute(
            "SELECT e.id, e.made_at, e.batch, e.kind, e.snapshot_id, e.body, e.seen, e.undone_at,"
            " e.rank, e.weights, e.sheet FROM entry e LEFT JOIN snapshot s ON s.id = e.snapshot_id"
            + (f" WHERE {' AND '.join(where)}" if where else "")
            + " ORDER BY e.id",
            values,
        )
        return tuple(
            Entry(i, at, batch, kind, snapshot, read_json(body), *rest)
            for i, at, batch, kind, snapshot, body, *rest in rows
        )

    def entries_by_piece(self) -> dict[int, tuple[Entry, ...]]:
        """The journal of every piece that has one."""
        pieces = dict(self._db.execute("SELECT id, piece_id FROM snapshot"))
        found: dict[int, list[Entry]] = defaultdict(list)
        for entry in self.entries():
            piece = pieces.get(entry.snapshot)
            if piece is not None:
                found[piece].append(entry)
        return {piece: tuple(entries) for piece, entries in found.items()}

    # --- care ------------------------------------------------------------------------------------

    def check(self) -> tuple[str, ...]:
        """What is wrong with the file, in words; empty when all is well."""
        try:
            rows = self._db.execute("PRAGMA integrity_check(10)").fetchall()
        except sqlite3.DatabaseError as error:
            return (f"the file is damaged: {error}",)
        lines = "\n".join(row[0] for row in rows).splitlines()
        wrong = [f"the file is damaged: {line}" for line in lines[:10] if line != "ok"]
        try:
            wrong += [
                f"{table} {row} points at a missing {parent}"
                for table, row, parent, _ in self._db.execute("PRAGMA foreign_key_check")
            ]
            wrong += self._unsound()
        except sqlite3.DatabaseError as error:
            wrong.append(f"not everything can be read: {error}")
        return tuple(wrong)

    def _unsound(self) -> Iterator[str]:
        """The records that cannot be read, in words."""
        for table, columns in _RECORDS.items():
            rows = self._db.execute(f"SELECT rowid, {', '.join(columns)} FROM {table}")
            for number, *values in rows:
                row = dict(zip(columns, values, strict=True))
                yield from (
                    f"{table} {number}: its {c} cannot be read" for c in _faults(row, table)
                )

    def seller_names(self, name: str) -> frozenset[str]:
        """Every name and id of the listings of a seller, found by name or id in any case."""
        rows = self._db.execute(
            "SELECT DISTINCT json_extract(record, '$.seller_id'),"
            f" json_extract(record, '$.seller_name') FROM snapshot WHERE {self._of_seller()}",
            (plain(name),),
        )
        return frozenset(told for row in rows for told in row if told)

    def _of_seller(self) -> str:
        self._db.create_function("plain", 1, lambda text: plain(text or ""))
        return (
            "?1 IN (seller, plain(json_extract(record, '$.seller_id')),"
            " plain(json_extract(record, '$.seller_name')))"
        )

    def forget_seller(
        self, name: str, cover: Callable[[str, str], str | None] | None = None
    ) -> tuple[int, int]:
        """Forget everything of a seller, by name or id in any case. Cannot be undone.

        `cover(table, record)` gives what is left of a record (JSON) of another listing, None where
        nothing changes. Returns how many snapshots are gone and how many records were covered.
        """
        return self._forget(self._of_seller(), plain(name), cover)

    def forget_before(self, date: str) -> int:
        """Forget every listing saved before a date (ISO 8601). Cannot be undone."""
        where = "folder_id IN (SELECT id FROM folder WHERE saved_at < ?)"
        return self._forget(where, date, None)[0]

    def _forget(
        self, where: str, value: str, cover: Callable[[str, str], str | None] | None
    ) -> tuple[int, int]:
        covered = 0
        with self._writing() as db:
            gone = db.execute(f"DELETE FROM snapshot WHERE {where}", (value,)).rowcount
            db.execute(
                "DELETE FROM photo WHERE id NOT IN (SELECT photo_id FROM snapshot_photo"
                " UNION SELECT photo_id FROM known_picture)"
            )
            db.execute("DELETE FROM folder WHERE id NOT IN (SELECT folder_id FROM snapshot)")
            db.execute(
                "DELETE FROM piece WHERE id NOT IN"
                " (SELECT piece_id FROM snapshot WHERE piece_id IS NOT NULL)"
            )
            if cover is not None:
                covered = self._cover(cover)
        # freed pages would keep the words until they are written over
        self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        self._db.execute("VACUUM")
        self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return gone, covered

    def _cover(self, cover: Callable[[str, str], str | None]) -> int:
        count = 0
        for table, column in _TEXTS:
            rows = self._db.execute(f"SELECT rowid, {column} FROM {table} WHERE {column} NOT NULL")
            for number, text in rows.fetchall():
                left = cover(table, text)
                if left is not None:
                    count += 1
                    self._db.execute(
                        f"UPDATE {table} SET {column} = ? WHERE rowid = ?", (left, number)
                    )
        return count

    def dump(self) -> Iterator[dict[str, Any]]:
        """Everything in the store as plain records, for an export."""
        for table in TABLES:
            cursor = self._db.execute(f"SELECT * FROM {table} ORDER BY 1, 2")
            names = [column[0] for column in cursor.description]
            for row in cursor:
                values = [v.hex() if isinstance(v, bytes) else v for v in row]
                told = dict(zip(names, values, strict=True))
                if any(_faults(told, table)):
                    raise Unreadable("it holds a record that cannot be read")
                yield {"table": table, **told}

    def salvage(self, table: str, rows: Iterable[Mapping[str, Any]]) -> int:
        """Take in what was saved of a table of a damaged store; returns how many rows."""
        count = 0
        self._db.execute("PRAGMA foreign_keys = OFF")
        columns = {name for _, name, *_ in self._db.execute(f"PRAGMA table_info({table})")}
        with self._writing() as db:
            for found in rows:
                lost = set(_faults(found, table))
                if lost - {"seen", "link"}:
                    continue
                row = {k: None if k in lost else v for k, v in found.items() if k in columns}
                marks = ", ".join("?" * len(row))
                try:
                    count += db.execute(
                        f"INSERT OR IGNORE INTO {table} ({', '.join(row)}) VALUES ({marks})",
                        tuple(row.values()),
                    ).rowcount
                except sqlite3.IntegrityError:  # a value that must be there was lost
                    continue
        return count

    def mend(self) -> tuple[str, ...]:
        """Make whole what `salvage` took in; says in sentences what had to be left out."""
        with self._writing() as db:
            db.execute(
                "INSERT INTO folder (id, digest, path, saved_at, read_at)"
                " SELECT folder_id, 'lost ' || folder_id, '(lost folder)',"
                " coalesce(min(json_extract(record, '$.date_saved')), ''), ?"
                " FROM snapshot WHERE folder_id NOT IN (SELECT id FROM folder) GROUP BY folder_id",
                (now(),),
            )
            db.execute(
                "INSERT INTO piece SELECT DISTINCT piece_id, '' FROM snapshot"
                " WHERE piece_id NOT NULL AND piece_id NOT IN (SELECT id FROM piece)"
            )
            freed = db.execute(
                "UPDATE entry SET snapshot_id = NULL WHERE snapshot_id NOT NULL"
                " AND snapshot_id NOT IN (SELECT id FROM snapshot)"
            ).rowcount
            self._mend_photos()
            for table, row, *_ in list(db.execute("PRAGMA foreign_key_check")):
                if row is not None:
                    db.execute(f"DELETE FROM {table} WHERE rowid = ?", (row,))
            db.execute(
                "DELETE FROM same_picture WHERE photo_id NOT IN (SELECT id FROM photo)"
                " OR other_id NOT IN (SELECT id FROM photo)"
            )
        self._db.execute("PRAGMA foreign_keys = ON")
        left = f"{freed} entries were kept whose listing is lost" if freed else ""
        return tuple(filter(None, (left, *self.check())))

    def _mend_photos(self) -> None:
        """Tie photos to listings again, by what the listings say, and index their looks."""
        rows = list(self._db.execute("SELECT id, record FROM snapshot"))
        shown = [(number, _listing(record).photos) for number, record in rows]
        ids = self._add_photos({p.sha256 for _, photos in shown for p in photos}, {})
        self._db.executemany(
            "INSERT OR IGNORE INTO snapshot_photo VALUES (?, ?, ?)",
            [(i, n, ids[p.sha256]) for i, photos in shown for n, p in enumerate(photos)],
        )
        looks = self._db.execute("SELECT id, look FROM photo WHERE look NOT NULL").fetchall()
        for number, look in looks:
            self._db.executemany(
                "INSERT OR IGNORE INTO photo_band VALUES (?, ?, ?)",
                [(band, value, number) for band, value in _bands(look)],
            )

    def load(self, records: Iterable[Mapping[str, Any]]) -> None:
        """Fill an empty store from `dump`; raises UserError when it is not empty."""
        if self.folders() or self.entries(undone=True):
            raise UserError(f"{self.path}: the store is not empty", "import into a new store")
        with self._writing() as db:
            for record in records:
                row = dict(record)
                table = row.pop("table")
                if table not in TABLES:
                    raise UserError(f"the export holds an unknown part '{table}'")
                if row.get("look"):
                    row["look"] = bytes.fromhex(row["look"])
                marks = ", ".join("?" * len(row))
                db.execute(
                    f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})",
                    tuple(row.values()),
                )


# in an order in which each row finds what it points at
TABLES = (
    "folder",
    "piece",
    "snapshot",
    "photo",
    "snapshot_photo",
    "photo_band",
    "same_picture",
    "known_picture",
    "drawn",
    "assessment",
    "version",
    "shown",
    "entry",
)


def open_store(path: Path | None) -> Store:
    """Open the store at a path, made and brought up to date as needed; None keeps it in memory.

    Raises UserError when the file is no store, cannot be written, or is from a newer release.
    """
    if path is not None:
        path.parent.mkdir(parents=True, exist_ok=True)
    try:
        connection = sqlite3.connect(path or ":memory:", timeout=30, isolation_level=None)
        refuse_others(connection, path)
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            connection.execute(f"PRAGMA {pragma}")
        connection.execute("PRAGMA secure_delete=ON")
        migrate(connection, path)
    except sqlite3.OperationalError as error:
        raise _explained(error, path) from error
    except sqlite3.DatabaseError as error:
        raise _not_readable(error, path) from error
    return Store(connection, path)


def _not_readable(error: sqlite3.DatabaseError, path: Path | None) -> UserError:
    if "not a database" in str(error):
        return UserError(
            f"{path}: not a store of this tool, or damaged at its head ({error})",
            "name another file, or save what can be read: triage memory repair NEW-FILE",
        )
    return _damaged(error, path)


def _damaged(error: Exception, path: Path | None) -> UserError:
    return UserError(
        f"the memory {path} is damaged: {error}",
        "save what can be read into a new file: triage memory repair NEW-FILE",
    )


def _says_damage(error: sqlite3.DatabaseError) -> bool:
    """Whether a complaint is about what the file holds: none of the system's, none of ours."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF
    if isinstance(error, sqlite3.OperationalError):
        return code not in _OF_THE_SYSTEM
    return code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def is_ended(listing: Listing) -> bool:
    """Whether the listing says that it is over, or its end lay before the day it was saved."""
    if listing.ended is not None or listing.price_kind == "sold":
        return bool(listing.ended) or listing.price_kind == "sold"
    return bool(listing.ends_at and listing.date_saved) and _is_past(
        listing.ends_at or "", listing.date_saved or ""
    )


def _is_past(end: str, saved: str) -> bool:
    """Whether an end (ISO 8601) lies before a moment; a day without a time is not over that day."""
    try:
        moments = [datetime.datetime.fromisoformat(text) for text in (end, saved)]
    except ValueError:
        return False
    if min(len(end), len(saved)) <= 10:
        return moments[0].date() < moments[1].date()
    first, second = (m if m.tzinfo else m.replace(tzinfo=datetime.UTC) for m in moments)
    return first < second


def _explained(error: sqlite3.OperationalError, path: Path | None) -> UserError:
    # without room for its journal the database only says that reading or writing failed
    room = shutil.disk_usage(path.parent).free if path and path.parent.is_dir() else None
    if "full" in str(error) or (room is not None and room < _LEAST_ROOM and "I/O" in str(error)):
        return UserError(f"{path}: the disk is full; nothing was changed", "make room, try again")
    if _says_damage(error):
        return _damaged(error, path)
    return UserError(f"{path}: {error}", "close other programs that use it, or name another file")


def _bands(look: bytes) -> tuple[tuple[int, int], ...]:
    width = len(look) // _BANDS
    return tuple(
        (n, int.from_bytes(look[n * width : (n + 1) * width], "big")) for n in range(_BANDS)
    )


def _digest_of(path: str, listings: Sequence[Listing]) -> str:
    """Name a folder by its place and what it says; file times, which copying changes, aside."""
    rows = sorted(
        _json({k: v for k, v in to_plain(listing).items() if k not in ("date_saved", "origins")})
        for listing in listings
    )
    return hashlib.sha256("\n".join([path, *rows]).encode()).hexdigest()


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=True, sort_keys=True, separators=(",", ":"))


def _record(text: object, kind: type[_T]) -> _T:
    try:
        return from_plain(read_json(text), kind)
    except UnreadableRecord as error:
        raise Unreadable("it holds a record that is none of its own") from error


def _photos(text: object) -> tuple[Photo, ...]:
    try:
        return tuple(from_plain(one, Photo) for one in json.loads(str(text)))
    except (ValueError, TypeError, RecursionError) as error:
        raise Unreadable("it holds a record that is none of its own") from error


def _listing(record: str) -> Listing:
    return _record(record, Listing)


# the columns that hold JSON, and what each makes
_RECORDS: Mapping[str, Mapping[str, Callable[[str], object]]] = {
    "snapshot": {"record": _listing, "link": read_json},
    "assessment": {"record": lambda text: _record(text, Assessment)},
    "entry": {"body": read_json, "seen": lambda text: _record(text, Assessment)},
}


def _faults(row: Mapping[str, Any], table: str) -> Iterator[str]:
    """The columns of a row whose records cannot be read."""
    for column, read in _RECORDS.get(table, {}).items():
        if row.get(column) is not None:
            try:
                read(row[column])
            except Unreadable:
                yield column
