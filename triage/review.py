"""The weekly review: what happened to each listing since the folders of earlier weeks.

States, the first that holds: `new` (never seen), `back` (over before, or under another number,
and offered again), `sold`, `ended` (over since last time), `changed`, `unchanged`; and `not_seen`
for a piece that was open last time and is not in this folder, which does not mean it is gone.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from extractors.records import Listing
from triage.carriers import are_saved_alike
from triage.changes import Change, find_changes
from triage.continuity import Known, Link, link_week
from triage.migrations import now
from triage.recognition import Stored, nothing_stored, photo_keys, recognise
from triage.store import Folder, Snapshot, Store, is_ended, read_json

State = Literal["new", "unchanged", "changed", "ended", "sold", "back", "not_seen"]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a listing was saved: folder, file, and the line in it."""

    folder: str
    source: str
    line: int | None


@dataclass(frozen=True, slots=True)
class Reviewed:
    """What the review says of one listing; `listing` is as it was last seen."""

    id: str
    source: str | None
    line: int | None
    state: State
    continues: Place | None
    changed: tuple[str, ...]
    asks_about: str | None
    changes: tuple[Change, ...]
    reasons: tuple[str, ...]
    listing: Listing
    snapshot: int
    earlier: Snapshot | None
    asked: Snapshot | None = None  # the earlier listing that `asks_about` names


@dataclass(frozen=True, slots=True)
class Week:
    """A folder to remember: how the buyer wrote it, where it is, and what was read from it."""

    path: str
    place: str
    listings: Sequence[Listing]
    looks: Mapping[str, bytes]


def add_weeks(
    store: Store, weeks: Sequence[Week], stored: Stored = nothing_stored
) -> tuple[Folder, ...]:
    """Remember several folders, the one saved first first; returns them in the order given.

    `stored` gives the fingerprints at hand, by which pictures that were cut are known again.
    """
    times = saved_times(weeks)
    order = sorted(
        range(len(weeks)),
        key=lambda n: (times[n], _newest(weeks[n].listings), _counted(weeks[n].path)),
    )
    found = {}
    for n in order:
        week = weeks[n]
        found[n] = add_week(
            store, week.path, week.listings, week.looks, times[n], week.place, stored
        )
    return tuple(found[n] for n in range(len(weeks)))


def add_week(
    store: Store,
    path: str,
    listings: Sequence[Listing],
    looks: Mapping[str, bytes],
    saved_at: str = "",
    place: str = "",
    stored: Stored = nothing_stored,
) -> Folder:
    """Remember a folder and link its listings to the pieces known from earlier weeks.

    A folder saved before others already known puts history in order again: the result is the
    same whatever order folders come in, as far as most of their listings say when they were
    saved. Without `saved_at` the listings say it.
    """
    # undated weeks that come one by one count as saved in the order they are read
    saved_at = saved_at or saved_time(listings) or now()
    known = store.find_folder(place or path, listings)
    if known is not None:
        return _add_again(store, known, path, listings, looks, place, stored)
    if saved_time(listings) and not is_dated(listings):
        saved_at = _after_the_last(store, saved_at)
    folder, _ = store.add_folder(path, saved_at, listings, looks, place)
    if saved_time(listings):
        store.put_undated_before(folder)
    if store.folders()[-1].id == folder.id and store.is_linked(folder):
        recognise(store, folder, stored, store.known_before(folder))
        with store.alone():  # another process may have linked anew meanwhile
            _link(store, folder, store.known_before(folder))
    else:
        relink(store, stored, folder)
    return folder


def _add_again(
    store: Store,
    known: Folder,
    path: str,
    listings: Sequence[Listing],
    looks: Mapping[str, bytes],
    place: str,
    stored: Stored,
) -> Folder:
    """The folder as known; where its listings now tell its time better, it is put in its place."""
    folder, _ = store.add_folder(path, known.saved_at, listings, looks, place)
    told = saved_time(listings)
    is_better = told != folder.saved_at if is_dated(listings) else told > folder.saved_at
    if is_better:
        folder = store.date_anew(folder, told)
    # a run that was killed may have left this folder, or another, remembered but not linked
    if is_better or not store.is_linked() or not _is_linked_in_order(store):
        relink(store, stored, store.folders()[0])
    return folder


def _is_linked_in_order(store: Store) -> bool:
    """Whether the first folder continues none, as it would where the order was another once."""
    first = store.folders()[0]
    links = (read_json(s.link) for s in store.snapshots(first) if s.link)
    return all(link.get("kind") == "unclear" for link in links)


def _after_the_last(store: Store, saved_at: str) -> str:
    """The time under which a folder that hardly says when it was saved comes last, as it was read.

    Folders that say nothing at all stand by when they were read and make room by themselves.
    """
    last = max((f.saved_at for f in store.folders() if store.says_when(f)), default="")
    if last < saved_at:
        return saved_at
    return f"{last.partition('~')[0]}~{len(store.folders()):06}"


def placed_before(store: Store, folder: Folder, read: Iterable[Folder]) -> str:
    """Which known folder, not `read` along with it, a folder comes before; "" if none."""
    beside = {f.id for f in read}
    folders = store.folders()
    here = [f.id for f in folders].index(folder.id)
    after = next((f for f in folders[here + 1 :] if f.id not in beside), None)
    if after is None:
        return ""
    return (
        f"{folder.path} counts as saved {folder.saved_at[:10]}, before {after.path}"
        f" ({after.saved_at[:10]}): it is held against the weeks before it alone."
    )


def relink(store: Store, stored: Stored = nothing_stored, since: Folder | None = None) -> None:
    """Link every folder anew, oldest first, minding what the buyer answered about pieces.

    From `since` on, what came between may show pictures of folders that were read before.
    """
    with store.alone():
        store.forget_pieces()
        is_later = False
        for folder in store.folders():
            is_later = is_later or (since is not None and folder.id == since.id)
            before = store.known_before(folder)
            if is_later:
                recognise(store, folder, stored, before)
            _link(store, folder, before)


def is_dated(listings: Sequence[Listing]) -> bool:
    """Whether enough of a folder's listings say when they were saved to say it of the folder.

    Half of them: mails keep their day when they are copied from one week's folder to the next.
    """
    return bool(listings) and 2 * sum(bool(x.date_saved) for x in listings) >= len(listings)


def saved_time(listings: Sequence[Listing]) -> str:
    """When a folder was saved, as far as its listings say; "" when none says when it was saved.

    It is the middle one of their own times, where few have one the latest, and never before the
    day on which the newest of them was listed.
    """
    times = sorted(x.date_saved for x in listings if x.date_saved)
    if not times:
        return ""
    told = times[len(times) // 2] if is_dated(listings) else times[-1]
    return max(told, _newest(listings))


def saved_times(weeks: Sequence[Week]) -> tuple[str, ...]:
    """When each of several folders was saved; those that do not say come in a sensible order.

    Undated ones count by the newest date of a listing in them, then by name as people count
    (week 2 before week 10), never by the times of files, which copying changes.
    """
    told = [saved_time(week.listings) for week in weeks]
    silent = [n for n, time in enumerate(told) if not time]
    silent.sort(key=lambda n: (_newest(weeks[n].listings), _counted(weeks[n].path)))
    moment = now()
    for number, n in enumerate(silent):
        newest = _newest(weeks[n].listings)
        # beside dated folders it stands by its newest listing, else it was read just now
        told[n] = f"{newest if any(told) and newest else moment}~{number:04}"
    return tuple(told)


def _newest(listings: Sequence[Listing]) -> str:
    """The newest day of listing; one still to come, or after it was saved, is a misread one."""
    today = now()[:10]
    days = (
        x.date_listed
        for x in listings
        if x.date_listed and x.date_listed[:10] <= (x.date_saved or today)[:10]
    )
    return max(days, default="")


def _counted(path: str) -> tuple[tuple[int, int | str], ...]:
    parts = re.findall(r"\d+|\D+", path.casefold())
    return tuple((0, int(p)) if p.isdecimal() else (1, p) for p in parts)


# --- linking -----------------------------------------------------------------------------------


def _link(store: Store, folder: Folder, known_before: Sequence[Snapshot]) -> None:
    week = store.snapshots(folder)
    before = {s.piece: s for s in known_before if s.piece is not None}
    known = [Known(piece, s.listing, s.ended) for piece, s in before.items()]
    known_here = store.known_pictures()
    links = link_week(known, [s.listing for s in week], photo_keys(store, week), known_here)
    told = _answers(store)
    decided = {s.id: _decide(s, link, before, told) for s, link in zip(week, links, strict=True)}
    store.set_pieces(decided, folder.saved_at)


def _decide(
    snapshot: Snapshot,
    link: Link | None,
    known: Mapping[int, Snapshot],
    told: Mapping[tuple[int, str], bool],
) -> tuple[int | None, str | None]:
    """Give the piece a snapshot goes to (None: a new one) and the reason, as kept in the store."""
    if link is None:
        return None, None
    before = known[link.piece]
    answer = told.get((snapshot.id, before.listing.id))
    is_same = link.kind != "unclear" if answer is None else answer
    body = {
        "kind": link.kind if answer is None else "told",
        "reasons": link.reasons,
        "score": round(link.score, 3),
        "about": before.listing.id,
    }
    return (link.piece if is_same else None), json.dumps(body)


def _answers(store: Store) -> dict[tuple[int, str], bool]:
    """What the buyer said: (snapshot, id of the earlier listing) -> the same piece or not."""
    return {
        (entry.snapshot, entry.body["about"]): entry.body["same"]
        for entry in store.entries()
        if entry.kind == "piece" and entry.snapshot is not None
    }


# --- the review --------------------------------------------------------------------------------


def review(store: Store, folder: Folder) -> tuple[Reviewed, ...]:
    """Say what happened to each listing of a folder, and which open pieces are not in it."""
    week = store.snapshots(folder)
    keys = photo_keys(store, week)
    before = {s.piece: s for s in store.known_before(folder)}
    named = {s.listing.id: s for s in before.values()}
    told = (_reviewed(snapshot, before.get(snapshot.piece), keys) for snapshot in week)
    rows = [replace(r, asked=named.get(r.asks_about or "")) for r in told]
    here = {s.piece for s in week}
    missing = [s for piece, s in before.items() if piece not in here and not s.ended]
    return (*rows, *(_not_seen(snapshot) for snapshot in missing))


@dataclass(frozen=True, slots=True)
class Sighting:
    """One week of a piece: the folder, what happened, and the listing if it was saved."""

    folder: Folder
    state: State
    listing: Listing | None


def past_of(store: Store, piece: int, until: Folder) -> tuple[Sighting, ...]:
    """How a piece stood in every week from the first it was seen in to this one."""
    seen = {s.folder.id: s for s in store.history(piece)}
    past: list[Sighting] = []
    before: Snapshot | None = None
    for folder in store.folders():
        snapshot = seen.get(folder.id)
        if snapshot is not None:
            keys = photo_keys(store, [s for s in (before, snapshot) if s])
            told = _reviewed(snapshot, before, keys)
            past.append(Sighting(folder, told.state, snapshot.listing))
            before = snapshot
        elif before is not None and not before.ended:
            past.append(Sighting(folder, "not_seen", None))
        if folder.id == until.id:
            break
    return tuple(past)


def _reviewed(snapshot: Snapshot, earlier: Snapshot | None, keys: Mapping[str, str]) -> Reviewed:
    link = read_json(snapshot.link) if snapshot.link else {}
    changes = find_changes(earlier.listing, snapshot.listing, keys) if earlier else ()
    state = _state(snapshot, earlier, link.get("kind"), changes)
    listing = snapshot.listing
    return Reviewed(
        listing.id,
        listing.source,
        listing.line,
        state,
        _place(earlier) if earlier else None,
        tuple(c.field for c in changes),
        link.get("about") if link.get("kind") == "unclear" else None,
        changes,
        tuple(link.get("reasons", ())),
        listing,
        snapshot.id,
        earlier,
    )


def _state(
    now: Snapshot, before: Snapshot | None, kind: str | None, changes: Sequence[Change]
) -> State:
    if before is None:
        return "new"
    if before.ended and not now.ended and _says_it_is_open(now.listing, before.listing):
        return "back"
    if kind in ("back_same_seller", "back_other_seller"):
        return "back"
    if now.ended and not before.ended:
        return "sold" if now.listing.price_kind == "sold" else "ended"
    if now.listing.price_kind == "sold" and before.listing.price_kind != "sold":
        return "sold"
    return "changed" if changes else "unchanged"


def _says_it_is_open(now: Listing, before: Listing) -> bool:
    """Whether what was over is offered again; another form of saving may not say it is over."""
    return now.ended is False or are_saved_alike(now, before)


def _not_seen(last: Snapshot) -> Reviewed:
    listing = last.listing
    return Reviewed(
        listing.id, None, None, "not_seen", _place(last), (), None, (), (), listing, last.id, last
    )


def _place(snapshot: Snapshot) -> Place:
    return Place(snapshot.folder.path, snapshot.listing.source, snapshot.listing.line)


def still_open(listing: Listing) -> bool:
    """Whether a listing can still be bought, as far as it says."""
    return not is_ended(listing)
