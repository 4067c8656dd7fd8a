"""The one door to the memory for command line and page: reviews, decisions, outcomes, care."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from extractors.catalogue import extract
from extractors.codec import from_plain
from extractors.errors import UserError
from extractors.records import Listing, Photo
from models.features import amounts, signs_of
from models.outcomes import Outcome, label_of, outcome_words
from models.records import Assessment
from models.risk import spread_of
from models.weights import load_weights
from triage.continuity import plain
from triage.journal import Standing, count_disputes, day_text, sum_up
from triage.leaving_out import covering, is_of_seller, names_in
from triage.recognition import Stored, nothing_stored
from triage.review import Reviewed, Week, add_week, add_weeks, relink, review
from triage.shown import minute_text
from triage.store import Entry, Folder, Snapshot, Store, open_store, read_json

RECORDS = "store.jsonl"
PHOTOS = "photos"
FILTERS = ("state", "group", "reference", "words", "is")
FILTER_WORDS = "all, state:changed, group:ask, reference:ID, words:TEXT, is:watched, is:due"
CHECKSUMS = "SHA256SUMS"
AS_LISTED = "as listed"  # what an inspection says of a point that was as the listing had it


@dataclass(frozen=True, slots=True)
class Chosen:
    """A listing the buyer pointed at: its latest snapshot and its rank, if it has one."""

    snapshot: Snapshot
    rank: int | None


class Workspace:
    """An open memory; use as a context manager."""

    def __init__(self, path: Path | None) -> None:
        self.store: Store = open_store(path)
        self.path = path

    def __enter__(self) -> Workspace:
        return self

    def __exit__(self, *problem: object) -> None:
        self.store.__exit__(*problem)

    # --- weeks ---------------------------------------------------------------------------------

    def add_week(
        self, path: str, listings: Sequence[Listing], looks: Mapping[str, bytes]
    ) -> Folder:
        """Remember a folder and link it to earlier weeks."""
        return add_week(self.store, path, listings, looks)

    def add_weeks(
        self, weeks: Sequence[Week], stored: Stored = nothing_stored
    ) -> tuple[Folder, ...]:
        """Remember several folders in the order they were saved; returned in the order given."""
        return add_weeks(self.store, weeks, stored)

    def review(self, folder: Folder | None = None) -> tuple[Reviewed, ...]:
        """The review of a folder; of the one saved last when none is named."""
        return review(self.store, folder or self.latest())

    def latest(self) -> Folder:
        """The folder whose listings were saved last; UserError when nothing was reviewed yet."""
        folders = self.store.folders()
        if not folders:
            raise UserError("Nothing was reviewed yet.", "Review a folder first.")
        return folders[-1]

    def shown(self) -> Folder:
        """The folder whose ranking the buyer was shown last: numbers are those of its listings."""
        return next(reversed(self.store.shown()), None) or self.latest()

    def shown_at(self, place: Path) -> Folder | None:
        """The folder at a place, as it was shown or remembered last; None if it never was."""
        known = [f for f in self.store.folders() if _is_at(f.path, place.resolve())]
        shown = self.shown() if known else None
        return shown if shown in known else known[-1] if known else None

    def ranks(self, folder: Folder) -> dict[str, int]:
        """Listing id -> the number it was shown under."""
        seen = {s.listing.id: self.store.assessment(s.id) for s in self.store.snapshots(folder)}
        return {key: found[0] for key, found in seen.items() if found}

    def shown_text(self, folder: Folder) -> str:
        """The review that the numbers of a folder are of, in words."""
        made_at = self.store.shown().get(folder)
        return f"the review of {folder.path}" + (f", {minute_text(made_at)}" if made_at else "")

    def was_ranked(self, folder: Folder) -> bool:
        """Whether the buyer was shown a ranking of the folder."""
        return any(self.store.assessment(s.id) for s in self.store.snapshots(folder)[:1])

    def standing_of(self, snapshots: Iterable[Snapshot]) -> dict[str, Standing]:
        """Listing id -> where its piece stands after everything entered about it."""
        journal = self.store.entries_by_piece()
        return {
            s.listing.id: sum_up(journal.get(s.piece, ())) if s.piece is not None else Standing()
            for s in snapshots
        }

    def decided(self, folder: Folder) -> tuple[Snapshot, ...]:
        """The listings of a folder whose pieces are watched or decided on."""
        journal = self.store.entries_by_piece()
        return tuple(
            s
            for s in self.store.snapshots(folder)
            if s.piece is not None and is_decided(journal.get(s.piece, ()))
        )

    def pasts(self, snapshots: Iterable[Snapshot]) -> tuple[Snapshot, ...]:
        """These listings and all that was saved of their pieces before and after."""
        return tuple(
            one
            for s in snapshots
            for one in (self.store.history(s.piece) if s.piece is not None else (s,))
        )

    # --- pointing at listings ------------------------------------------------------------------

    def choose(self, words: Sequence[str]) -> tuple[Chosen, ...]:
        """The listings of the folder shown last that the words name.

        A word is a rank ("3"), a range of ranks ("2-5"), an id or how it begins, a file, or a
        filter: "state:changed", "group:ask", "reference:ID", "words:TEXT", "is:watched", "all".
        Raises UserError for a word that names none or, by its beginning, several.
        """
        folder = self.shown()
        ranked = {}
        for snapshot in self.store.snapshots(folder):
            seen = self.store.assessment(snapshot.id)
            ranked[snapshot.id] = Chosen(snapshot, seen[0] if seen else None)
        chosen: dict[int, Chosen] = {}
        for word in words:
            kind, colon, value = word.partition(":")
            if word == "all" or (colon and kind in FILTERS):
                passed = self._passing(kind, value, folder)
                found = tuple(one for i, one in ranked.items() if i in passed)
                if not found:
                    raise UserError(f"'{word}' fits no listing.", f"Filters: {FILTER_WORDS}.")
            else:
                found = _named(word, tuple(ranked.values()))
            chosen |= {one.snapshot.id: one for one in found}
        return tuple(sorted(chosen.values(), key=lambda c: (c.rank or 0, c.snapshot.id)))

    def _passing(self, kind: str, value: str, folder: Folder) -> set[int]:
        """The snapshots of a folder that a filter lets through."""
        snapshots = self.store.snapshots(folder)
        if kind == "state":
            return {r.snapshot for r in self.review(folder) if r.state == value}
        if kind == "words":
            wanted = plain(value)
            return {s.id for s in snapshots if wanted in plain(s.listing.text)}
        if kind == "is":
            standing = self.standing_of(snapshots)
            watched = {s.id for s in snapshots if standing[s.listing.id].watched}
            due = {s.id for s in snapshots if standing[s.listing.id].due is not None}
            return {"watched": watched, "due": due}.get(value, set())
        if kind in ("group", "reference"):
            field = "next_step" if kind == "group" else "reference"
            seen = {s.id: self.store.assessment(s.id) for s in snapshots}
            return {i for i, found in seen.items() if found and getattr(found[1], field) == value}
        return {s.id for s in snapshots}

    def enter(self, kind: str, chosen: Sequence[Chosen], body: Mapping[str, Any]) -> str:
        """Write one entry for each chosen listing, together; returns the batch to undo them by."""
        return self.store.record(kind, [c.snapshot.id for c in chosen], body)

    def enter_dispute(self, chosen: Sequence[Chosen], body: Mapping[str, Any]) -> str:
        """Enter a dispute; UserError where one of the listings has no such finding."""
        for one in chosen:
            seen = self.store.assessment(one.snapshot.id)
            known = [(f.check, f.point) for f in seen[1].findings] if seen else []
            if (body["check"], body["point"]) not in known:
                told = ", ".join(f"{c} {p}" for c, p in dict.fromkeys(known)) or "none"
                raise UserError(
                    f"“{one.snapshot.listing.title}” has no finding of the check"
                    f" {body['check']} on {body['point']}.",
                    f"Its findings (check, point): {told}.",
                )
        return self.enter("dispute", chosen, body)

    def answer(self, chosen: Chosen, is_same: bool) -> tuple[Listing, str]:
        """Answer the review's question about a listing: the earlier listing, and the batch.

        That it is another piece may be said unasked. Raises UserError where nothing is asked.
        """
        told = {one.snapshot: one for one in self.review(self.shown()) if one.state != "not_seen"}
        row = told.get(chosen.snapshot.id)
        # what was taken for an earlier piece without asking can be set apart too
        earlier = row and (row.asked or (None if is_same else row.earlier))
        if earlier is None:
            raise UserError(
                "The review does not ask whether this listing is an earlier piece.",
                "See what stands under “Needs you first”; an answer is changed by undo.",
            )
        return earlier.listing, self.tell_pieces(chosen, earlier.listing.id, is_same)

    def tell_pieces(self, chosen: Chosen, other: str, is_same: bool) -> str:
        """Record that a listing shows the same piece as an earlier one, or that it does not."""
        batch = self.enter("piece", [chosen], {"about": other, "same": is_same})
        relink(self.store)
        return batch

    def undo(self, batch: str | None = None) -> tuple[str, int]:
        """Undo a batch of entries, the last one when none is named; returns it and how many."""
        batch = batch or self.store.last_batch()
        if batch is None:
            raise UserError("There is nothing to undo.")
        touched = [e.kind for e in self.store.entries() if e.batch == batch]
        count = self.store.undo(batch)
        if "piece" in touched:
            relink(self.store)
        return batch, count

    def entries(self, chosen: Chosen | None = None, undone: bool = False) -> tuple[Entry, ...]:
        """The journal, of one listing's piece or all of it."""
        return self.store.entries(chosen.snapshot.piece if chosen else None, undone)

    # --- learning ------------------------------------------------------------------------------

    def outcomes(self) -> tuple[Outcome, ...]:
        """What became of pieces, with what the buyer saw when deciding, for the ranker.

        Of several outcomes of one piece the last one entered stands.
        """
        found = []
        drawn = self.store.drawn()
        for piece, entries in self.store.entries_by_piece().items():
            told = [e for e in entries if e.kind == "outcome" and e.seen is not None]
            label = label_of(told[-1].body["result"], told[-1].body["reason"]) if told else None
            if label is not None:
                found.append(self._outcome(told[-1], label, drawn.get(piece)))
        return tuple(found)

    def uncounted(self) -> tuple[str, ...]:
        """The outcomes, in words, that say nothing of whether a piece was as described."""
        last = (
            told[-1].body
            for entries in self.store.entries_by_piece().values()
            if (told := [e for e in entries if e.kind == "outcome" and e.seen is not None])
        )
        return tuple(outcome_words(b) for b in last if label_of(b["result"], b["reason"]) is None)

    def _outcome(self, entry: Entry, is_bad: bool, chance: float | None) -> Outcome:
        seen = from_plain(read_json(entry.seen or "{}"), Assessment)
        listing = self.store.snapshot(entry.snapshot or 0).listing
        signs = signs_of(
            listing,
            extract(listing),
            seen.findings,
            seen.completeness,
            seen.shares_photo_with,
            load_weights(),
        )
        paid = entry.body["paid"]
        return Outcome(
            id=f"{entry.id}",
            amounts=amounts(signs),
            bad=is_bad,
            date=entry.body["date"] or entry.made_at[:10],
            seller=listing.seller_id or listing.seller_name or "",
            photo_group=min((seen.id, *seen.shares_photo_with)),
            reference=seen.reference or "",
            score=seen.score,
            spread=spread_of(seen.interval),
            rank=entry.rank,
            price=float(paid) if paid else None,
            probability=entry.body.get("chance") or chance,
            points={p: v == AS_LISTED for p, v in entry.body["points"].items()},
        )

    def disputes(self) -> Counter[tuple[str, str]]:
        """How often the findings of each check were disputed, by reason."""
        return count_disputes(self.store.entries())

    def conflicts_shown(self) -> Counter[str]:
        """How many conflicts of each check the buyer was shown, over all weeks."""
        return Counter(
            finding.check
            for assessment in self.store.assessments()
            for finding in assessment.findings
            if finding.result == "conflicts"
        )

    # --- care ----------------------------------------------------------------------------------

    @property
    def photo_folder(self) -> Path | None:
        """Where photos of watched and decided pieces are kept, by their SHA-256."""
        return self.path.with_name(f"{self.path.stem} photos") if self.path else None

    def keep_photos(self, wanted: Iterable[tuple[Photo, bytes]]) -> int:
        """Copy photos into the photo folder; returns how many were new.

        Raises UserError when there is no room; what was copied before stays.
        """
        folder = self.photo_folder
        if folder is None:
            return 0
        fresh = 0
        for photo, data in wanted:
            place = folder / photo.sha256[:2] / photo.sha256
            if not place.exists():
                with _told_if_full(folder, "what you entered is kept"):
                    place.parent.mkdir(parents=True, exist_ok=True)
                    _write_safely(place, data)
                fresh += 1
        return fresh

    def keep_evidence(self, files: Iterable[Path]) -> tuple[str, ...]:
        """Copy the buyer's own photos of a piece; returns their SHA-256. UserError if not there."""
        found = []
        for file in files:
            try:
                data = file.read_bytes()
            except OSError as error:
                raise UserError(
                    f"{file} cannot be read: {error.strerror}.", "Check its name."
                ) from error
            sha = hashlib.sha256(data).hexdigest()
            self.keep_photos([(Photo(file.name, None, sha), data)])
            found.append(sha)
        return tuple(found)

    def evidence_photos(self) -> frozenset[str]:
        """The SHA-256 of every photo entered with an outcome, undone ones too."""
        entries = self.store.entries(undone=True)
        return frozenset(sha for e in entries for sha in e.body.get("photos", ()))

    def is_kept(self, sha256: str) -> bool:
        """Whether a photo lies among the kept ones."""
        folder = self.photo_folder
        return folder is not None and (folder / sha256[:2] / sha256).is_file()

    def photos_gone(self) -> tuple[tuple[str, ...], int]:
        """Photos that are neither kept nor where they were saved.

        In words those of pieces watched or decided on, and how many of others.
        """
        pieces = {i for i, told in self.store.entries_by_piece().items() if is_decided(told)}
        digests = self.store.photo_digests() - self.store.known_pictures().keys()
        here = {p.sha256 for photos in self.photo_files(digests).values() for p in photos}
        gone = {sha for sha in digests if sha not in here and not self.is_kept(sha)}
        decided = {
            p.sha256: f"photo {p.path} of “{s.listing.title}” is gone and was not kept"
            for piece in sorted(pieces)
            for s in self.store.history(piece)
            for p in s.listing.photos
            if p.sha256 in gone
        }
        return tuple(decided.values()), len(gone - decided.keys())

    def photo_files(self, shas: Iterable[str]) -> dict[Path, list[Photo]]:
        """Folder -> the photos in it, of those that are kept or still where they were saved."""
        found: dict[Path, list[Photo]] = defaultdict(list)
        wanted = sorted(set(shas))
        kept = {sha for sha in wanted if self.is_kept(sha)}
        if self.photo_folder is not None and kept:
            found[self.photo_folder] = [Photo(f"{s[:2]}/{s}", None, s) for s in sorted(kept)]
        met = set(kept)
        for sha, place, photo in self.store.photo_places(s for s in wanted if s not in kept):
            root = root_of(Path(place))
            if sha not in met and root is not None and (root / photo.path).is_file():
                met.add(sha)
                found[Path(place)].append(photo)
        return found

    def verify(self) -> tuple[str, ...]:
        """What is wrong with the store or its photos, in words; empty when all is well."""
        wrong = list(self.store.check())
        for place in self._kept_photos():
            if hashlib.sha256(place.read_bytes()).hexdigest() != place.name:
                wrong.append(f"photo {place.name} is damaged")
        return tuple(wrong)

    def _kept_photos(self) -> list[Path]:
        folder = self.photo_folder
        if folder is None or not folder.is_dir():
            return []
        return sorted(p for p in folder.glob("??/*") if len(p.name) == 64)

    def export(self, folder: Path, leave_out_sellers: bool = False) -> int:
        """Write everything to a new folder, with checksums; returns the number of records.

        Raises UserError when the folder exists and is not empty.
        """
        if folder.exists() and any(folder.iterdir()):
            raise UserError(f"{folder} is not empty.", "Name a new folder.")
        with _told_if_full(folder, "the export is not whole"):
            return self._export(folder, leave_out_sellers)

    def _export(self, folder: Path, leave_out_sellers: bool) -> int:
        (folder / PHOTOS).mkdir(parents=True, exist_ok=True)
        dumped = self.store.dump()
        records = list(_without_sellers(dumped) if leave_out_sellers else dumped)
        text = "".join(json.dumps(r, sort_keys=True) + "\n" for r in records)
        (folder / RECORDS).write_text(text, encoding="utf-8")
        for place in self._kept_photos():
            shutil.copyfile(place, folder / PHOTOS / place.name)
        files = sorted(p for p in folder.rglob("*") if p.is_file())
        sums = "".join(
            f"{hashlib.sha256(p.read_bytes()).hexdigest()}  {p.relative_to(folder).as_posix()}\n"
            for p in files
        )
        (folder / CHECKSUMS).write_text(sums, encoding="utf-8")
        return len(records)

    def take_in(self, folder: Path) -> None:
        """Fill this empty memory from an export; raises UserError if a checksum is wrong."""
        for line in (folder / CHECKSUMS).read_text(encoding="utf-8").splitlines():
            digest, name = line.split("  ", 1)
            if hashlib.sha256((folder / name).read_bytes()).hexdigest() != digest:
                raise UserError(f"{folder / name} is not as it was exported.", "Export again.")
        with (folder / RECORDS).open(encoding="utf-8") as lines:
            self.store.load(json.loads(line) for line in lines)
        photos = [(p.name, p.read_bytes()) for p in sorted((folder / PHOTOS).iterdir())]
        self.keep_photos((Photo("", None, name), data) for name, data in photos)

    def forget_seller(self, name: str, everywhere: bool = False) -> Forgotten:
        """Forget everything of a seller, kept photos and backups included. Cannot be undone.

        Where other listings, answers or notes hold the seller's name, it is covered by blocks. A
        name of one plain word is only covered with `everywhere`: it may mean something else there.
        """
        names = {n for n in self.store.seller_names(name) if len(n.strip()) > 2}
        sure = {n for n in names if everywhere or re.search(r"[^\W\d_]+[\W\d_]|\d", n.strip())}
        found: Counter[bool] = Counter()
        known = _name_pattern(names)
        cover = _name_pattern(sure)

        def covered(table: str, text: str) -> str | None:
            told = read_json(text)
            left = _covered(told, lambda t: cover.sub(_blocks, t)) if cover else told
            if known and _covered(left, lambda t: known.sub("", t)) != left:
                found[True] += 1
            return _json(left) if left != told else None

        gone, count = self.store.forget_seller(name, covered if names else None)
        self._forgotten(gone)
        return Forgotten(gone, count, found[True])

    def forget_before(self, date: str) -> int:
        """Forget every listing saved before a date; UserError if it is none. Cannot be undone."""
        return self._forgotten(self.store.forget_before(day_text(date)))

    def _forgotten(self, count: int) -> int:
        known = self.store.photo_digests() | self.evidence_photos()
        for place in self._kept_photos():
            if place.name not in known:
                place.unlink()
        if self.path is not None:
            for backup in self.path.parent.glob(f"{self.path.name}.before-*"):
                backup.unlink()
        return count


@dataclass(frozen=True, slots=True)
class Forgotten:
    """Snapshots gone, and records of others in which the name was covered or still stands."""

    snapshots: int
    covered: int
    standing: int


def is_decided(entries: Sequence[Entry]) -> bool:
    """Whether a piece is watched, or a step, a question, an answer or an outcome was entered."""
    told = sum_up(entries)
    return bool(told.watched or told.step or told.outcome or told.asked or told.answers)


def _name_pattern(names: Iterable[str]) -> re.Pattern[str] | None:
    ordered = sorted({n.strip() for n in names}, key=lambda n: (-len(n), n))
    words = "|".join(map(re.escape, ordered))
    return re.compile(rf"(?<!\w)(?:{words})(?!\w)", re.IGNORECASE) if ordered else None


def _blocks(match: re.Match[str]) -> str:
    return "█" * len(match[0])


@contextmanager
def _told_if_full(place: Path, so: str) -> Iterator[None]:
    """Say that a folder cannot be written to (it is full, say), and what that means."""
    try:
        yield
    except OSError as error:
        raise UserError(
            f"{place} cannot be written to: {error.strerror}; {so}.", "Make room, and try again."
        ) from error


def _write_safely(place: Path, data: bytes) -> None:
    """Write a file so that it is whole or not there, whenever the machine stops."""
    part = place.with_suffix(".part")
    try:
        with part.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        part.replace(place)
    except OSError:
        part.unlink(missing_ok=True)
        raise


_SELLER_FIELDS = ("seller_id", "seller_name", "seller_feedback", "location", "url")


# what names things or places of the record itself, and must stay as it is to be read again
_KEPT = frozenset({
    "id", "source", "member", "sha256", "path", "photos", "missing_photos", "check", "point",
    "cause", "result", "strength", "next_step", "reference", "edition", "about",
    "shares_photo_with", "key", "part", "language", "currency", "price_kind", "over", "url",
    "date_saved", "date_listed", "ends_at", "price", "step", "due", "paid", "date",
    "listing_id",
})  # fmt: skip


def _without_sellers(records: Iterable[Mapping[str, Any]]) -> Iterator[dict[str, Any]]:
    """The records without fields and details of sellers; their names in texts are covered."""
    known = [dict(record) for record in records]
    told = [read_json(r["record"]) for r in known if r["table"] == "snapshot"]
    cover = covering({name for one in told for name in names_in(from_plain(one, Listing))})
    for record in known:
        if record["table"] == "snapshot":
            record["seller"] = None
            record["record"] = _json(_covered(_unsold(read_json(record["record"])), cover))
        for part in {"record", "body", "seen"} & set(record):
            if record["table"] in ("assessment", "entry") and record[part]:
                record[part] = _json(_covered(read_json(record[part]), cover))
        yield record


def _unsold(listing: dict[str, Any]) -> dict[str, Any]:
    """A stored listing without what says who sells it."""
    kept = listing | dict.fromkeys(_SELLER_FIELDS) | {"hidden_text": None}
    kept["origins"] = {k: v for k, v in kept["origins"].items() if k not in _SELLER_FIELDS}
    kept["specifics"] = [pair for pair in kept["specifics"] if not is_of_seller(pair[0])]
    return kept


def _covered(value: Any, cover: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return cover(value)
    if isinstance(value, list):
        return [_covered(item, cover) for item in value]
    if isinstance(value, dict):
        return {k: v if k in _KEPT else _covered(v, cover) for k, v in value.items()}
    return value


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=True, sort_keys=True, separators=(",", ":"))


def root_of(place: Path) -> Path | None:
    """The folder that paths of records are relative to; None where the place is gone."""
    return place if place.is_dir() else place.parent if place.exists() else None


def _is_at(path: str, place: Path) -> bool:
    """Whether a folder as the buyer wrote it, from wherever that was, may be this place."""
    written = Path(path)
    ending = place.parts[-len(written.parts) :] == written.parts
    return written.resolve() == place or (not written.is_absolute() and ending)


def _named(word: str, listings: Sequence[Chosen]) -> tuple[Chosen, ...]:
    first, dash, last = word.partition("-")
    if first.isdecimal() and (not dash or last.isdecimal()):
        low, high = int(first), int(last or first)
        found = tuple(c for c in listings if c.rank is not None and low <= c.rank <= high)
        if found:
            return found
    exact = tuple(c for c in listings if word in (c.snapshot.listing.id, c.snapshot.listing.source))
    near = exact or tuple(c for c in listings if c.snapshot.listing.id.startswith(word))
    if len(near) == 1 or exact:
        return near
    if near:
        raise UserError(f"'{word}' fits {len(near)} listings.", "Write more of the id.")
    raise UserError(
        f"'{word}' names no listing of the folder reviewed last.", "See the ranking's numbers."
    )
