"""Which stored photos show one picture: by their looks, and by a closer look where it matters.

A look (256 bits) knows a picture again that was stored anew, not one that was cut or mirrored.
These are looked for only between listings that may be one piece: those under one number, and new
ones beside what their seller, or a listing of the same title, showed before, and beside what an
index over the pictures of pieces that are not in the folder finds alike, whoever showed them.
"""

from __future__ import annotations

import itertools
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz import fuzz

from extractors.records import Listing
from triage.continuity import asked_keys, names_of, number_keys, plain
from triage.store import Folder, Snapshot, Store

if TYPE_CHECKING:
    from extractors.photos.decode import Pixels
    from extractors.photos.fingerprint import Fingerprint

Stored = Callable[[Iterable[str]], Mapping[str, bytes]]

# looks of pictures stored anew differ by 0 to 10 of 256 bits, those of other pictures by 38 and
# more (measured on drawn photos; 16 bands find up to 15 for certain)
SAME_PICTURE_BITS = 14
_NEAREST = 6  # earlier listings to look at closely for one listing
_MOST = 200  # such pairs of listings in one folder, the likeliest first (about 0.05 s each)
_ALIKE = 85  # of 100, from which two titles or texts are alike enough
_POOL = 2000  # pictures of earlier pieces, the last seen first, that an index is made of
_FOUND = 6  # earlier listings whose pictures the index finds most alike, for one listing
_PROMISING = -1.0  # least log-odds of a copy by which a picture of the index is looked at closely
_BUDGET, _BUDGET_EACH, _FLOOR = 40_000, 8, 1.2  # answers asked of the index, votes needed
_LINE_UP = 3  # a seller's pieces of one title, from which pictures do not tell them apart
_PLAIN = 0.22  # share of a picture with texture, below which it is a drawing or cut out
_SHRUNK = 0.97  # least correlation of a small copy with its picture, both at 64 px
_CROWDED = 500  # earlier listings that share a sign which then tells nothing
_SAME = ("copy", "same_piece")  # of one number, seller or title, both mean one piece
_SURE = 0.9  # least score of a pair between listings that no number ties together


def nothing_stored(_: Iterable[str]) -> dict[str, bytes]:
    """No fingerprints are at hand: pictures are known by their looks alone."""
    return {}


def photo_keys(store: Store, week: Sequence[Snapshot]) -> dict[str, str]:
    """Give all stored copies of these listings' pictures one key each."""
    return _keys_of(store, {p.sha256 for s in week for p in s.listing.photos})


def _keys_of(store: Store, shas: Iterable[str]) -> dict[str, str]:
    keys: dict[str, str] = {}
    for sha in sorted(shas):
        near = {sha, *store.near_photos(sha, SAME_PICTURE_BITS)}
        key = min({keys[n] for n in near if n in keys} or {min(near)})
        keys |= {n: keys.get(n, key) for n in near}
    return keys


def recognise(store: Store, folder: Folder, stored: Stored, before: Sequence[Snapshot]) -> None:
    """Keep in the store which pictures of a folder are earlier ones that were cut or changed.

    `before` are the pieces known from the weeks before (`Store.known_before`).
    """
    if stored is nothing_stored:
        return
    week = store.snapshots(folder)
    keys = photo_keys(store, week)
    known = [s for s in before if s.listing.photos]
    likely = _likely(week, known)
    pool = _pool(likely, known, keys)
    made = _read(stored(_wanted(likely, pool, keys)))
    _add_alike(likely, pool, made)
    found: list[tuple[str, str]] = []
    for one in _asked(likely, keys):
        least = 0.0 if one.is_numbered else _SURE
        matches = [(s, _copies(*_telling(one, s, sides, made), made, least))
                   for s, *sides in one.likely]  # fmt: skip
        shown = {b for _, pairs in matches for _, b in pairs}
        found += _chosen(one, matches, {**_keys_of(store, shown), **keys})
    store.add_same_pictures(found)


@dataclass(frozen=True, slots=True)
class _Asked:
    """A listing beside earlier ones that may be its piece, with the photos on either side that
    the looks do not match; `is_numbered` when the site's number ties them together."""

    listing: Listing
    likely: tuple[tuple[Listing, list[str], list[str]], ...]
    is_numbered: bool


@dataclass(slots=True)
class _Likely:
    """A listing and the earlier ones, by number of snapshot, that may be its piece."""

    now: Snapshot
    earlier: dict[int, Snapshot]
    is_numbered: bool


@dataclass(frozen=True, slots=True)
class _Pool:
    """Earlier pieces, and what is held against them: number of the week's snapshot -> its photos
    that no look matches with theirs."""

    earlier: tuple[Snapshot, ...]
    queries: Mapping[int, tuple[str, ...]]


def _asked(likely: Iterable[_Likely], keys: Mapping[str, str]) -> Iterator[_Asked]:
    for one in likely:
        listing = one.now.listing
        sides = ((s.listing, *_unmatched(listing, s.listing, keys)) for s in one.earlier.values())
        open_ends = tuple(side for side in sides if side[1] and side[2])
        if open_ends:
            yield _Asked(listing, open_ends, one.is_numbered)


def _wanted(likely: Iterable[_Likely], pool: _Pool, keys: Mapping[str, str]) -> set[str]:
    """The photos whose fingerprints are needed."""
    sides = (side for one in _asked(likely, keys) for _, *both in one.likely for side in both)
    asking = [sha for photos in pool.queries.values() for sha in photos]
    shown = [p.sha256 for s in pool.earlier for p in s.listing.photos] if asking else []
    return {sha for side in sides for sha in side} | {*asking, *shown}


def _pool(likely: Sequence[_Likely], known: Sequence[Snapshot], keys: Mapping[str, str]) -> _Pool:
    """The pieces seen last, and the listings whose number none of them has.

    Those still seen under their number belong to it: a borrowed picture is theirs, not another's.
    """
    latest = sorted(known, key=lambda s: (s.folder.saved_at, s.id), reverse=True)
    total = itertools.accumulate(len(s.listing.photos) for s in latest)
    chosen = tuple(s for s, n in zip(latest, total, strict=True) if n <= _POOL)
    seen = {keys.get(p.sha256, p.sha256) for s in chosen for p in s.listing.photos}
    unknown = {
        one.now.id: tuple(
            p.sha256 for p in one.now.listing.photos if keys.get(p.sha256, p.sha256) not in seen
        )
        for one in likely
        if not one.is_numbered
    }
    return _Pool(chosen, {number: photos for number, photos in unknown.items() if photos})


def _add_alike(likely: list[_Likely], pool: _Pool, made: Mapping[str, Fingerprint]) -> None:
    """Add the earlier listings that an index over their pictures finds alike."""
    from extractors.photos.candidates import build_index, find_candidates

    shown = [
        (made[p.sha256], s) for s in pool.earlier for p in s.listing.photos if p.sha256 in made
    ]
    if not shown or not pool.queries:
        return
    index = build_index([fingerprint for fingerprint, _ in shown])
    budget = _BUDGET + _BUDGET_EACH * len(shown)
    for one in likely:
        promise: dict[int, float] = {}
        for sha in pool.queries.get(one.now.id, ()):
            if sha not in made or not made[sha].is_comparable:
                continue
            for found in find_candidates(
                index, made[sha], len(shown), budget=budget, floor=_FLOOR, least=_PROMISING,
                most=_FOUND,
            ):  # fmt: skip
                number = shown[found.other][1].id
                promise[number] = max(promise.get(number, found.promise), found.promise)
        best = sorted(promise, key=lambda number: (-promise[number], number))[:_FOUND]
        one.earlier |= {s.id: s for s in pool.earlier if s.id in best}


def _read(stored: Mapping[str, bytes]) -> dict[str, Fingerprint]:
    from extractors.photos.fingerprint import from_bytes

    read = ((sha, from_bytes(data)) for sha, data in stored.items())
    return {sha: made for sha, made in read if made is not None}


def _likely(week: Sequence[Snapshot], known: Sequence[Snapshot]) -> list[_Likely]:
    """Each listing with those earlier ones that may be its piece: by its number, or by its words.

    Those whose number is known come first.
    """
    by_number: dict[str, list[Snapshot]] = defaultdict(list)
    by_sign: dict[str, list[Snapshot]] = defaultdict(list)
    for s in known:
        for key in number_keys(s.listing):
            by_number[key].append(s)
        for sign in _likeness_signs(s.listing):
            by_sign[sign].append(s)
    numbered = {
        w.id: {s.id: s for key in asked_keys(w.listing) for s in by_number[key]} for w in week
    }
    taken = {i for near in numbered.values() for i in near}
    titles = Counter(_title_of(s) for s in known)
    found = []
    for w in (w for w in week if not numbered[w.id]):
        signs = [by_sign[sign] for sign in _likeness_signs(w.listing)]
        near = {s.id: s for same in signs if len(same) <= _CROWDED for s in same}
        free = [s for i, s in near.items() if i not in taken and titles[_title_of(s)] < _LINE_UP]
        ordered = sorted((_nearness(s, w), s.id, s) for s in free)
        found += [
            (nearness, w.id, n, s)
            for n, (nearness, _, s) in enumerate(ordered[:_NEAREST])
            if -nearness[0] >= _ALIKE
        ]
    chosen: dict[int, dict[int, Snapshot]] = defaultdict(dict)
    for _, number, _, s in sorted(found, key=lambda one: one[:3])[:_MOST]:
        chosen[number][s.id] = s
    told = [_Likely(w, near, True) for w in week if (near := numbered[w.id])]
    return told + [_Likely(w, chosen[w.id], False) for w in week if not numbered[w.id]]


def _likeness_signs(listing: Listing) -> set[str]:
    """The seller, and every two words that follow each other in the title."""
    words = re.findall(r"\w+", plain(listing.title))
    return {f"seller {name}" for name in names_of(listing)} | {
        f"title {a} {b}" for a, b in itertools.pairwise(words)
    }


def _title_of(snapshot: Snapshot) -> tuple[str, ...]:
    return (*sorted(names_of(snapshot.listing)), plain(snapshot.listing.title))


def _nearness(earlier: Snapshot, now: Snapshot) -> tuple[float, bool, str]:
    """The more alike in words, the first looked at (minus 0 to 100); then what ended, was new."""
    one, other = earlier.listing, now.listing
    title = fuzz.token_set_ratio(plain(one.title), plain(other.title))
    text = fuzz.token_set_ratio(plain(one.description), plain(other.description))
    is_told = bool(one.description and other.description)
    is_theirs = not names_of(one).isdisjoint(names_of(other))
    alike = max(title, text if is_told and is_theirs else 0)
    turned = "".join(chr(0x10FFFF - ord(c)) for c in earlier.folder.saved_at)
    return -alike, not earlier.ended, turned


def _unmatched(a: Listing, b: Listing, keys: Mapping[str, str]) -> tuple[list[str], list[str]]:
    """The photos of each side whose picture the other does not show, as far as looks tell."""
    one, other = ({keys.get(p.sha256, p.sha256): p.sha256 for p in x.photos} for x in (a, b))
    return (
        [sha for key, sha in one.items() if key not in other],
        [sha for key, sha in other.items() if key not in one],
    )


def _telling(
    asked: _Asked, earlier: Listing, sides: Sequence[list[str]], made: Mapping[str, Fingerprint]
) -> tuple[list[str], list[str]]:
    """The photos that a closer look may tie together: between sellers none on plain grounds.

    Drawings and cut-outs on an empty ground fit each other too easily.
    """
    mine, other = sides
    is_one_seller = not names_of(asked.listing).isdisjoint(names_of(earlier))
    if asked.is_numbered or is_one_seller:
        return mine, other
    busy = {sha for sha, one in made.items() if one.texture >= _PLAIN}
    return [sha for sha in mine if sha in busy], [sha for sha in other if sha in busy]


def _copies(
    mine: Sequence[str], other: Sequence[str], made: Mapping[str, Fingerprint], least: float
) -> list[tuple[str, str]]:
    """Pairs of photos that show one picture, each photo in one pair at most, the surest first."""
    from extractors.photos.pairs import find_pairs

    here = {sha: made[sha] for sha in (*mine, *other) if sha in made}
    if here.keys().isdisjoint(mine) or here.keys().isdisjoint(other):
        return []
    used: set[str] = set()
    found: list[tuple[str, str]] = []
    for pair in find_pairs(here):
        a, b = (str(pair.a), str(pair.b)) if str(pair.a) in mine else (str(pair.b), str(pair.a))
        needed = _SURE if pair.answer == "same_piece" else least
        is_copy = pair.answer in _SAME and pair.certain and pair.score >= needed
        if is_copy and a in mine and b in other and used.isdisjoint((a, b)):
            used |= {a, b}
            found.append((a, b))
    if least:
        return found
    left, right = (
        [sha for sha in side if sha in here and sha not in used] for side in (mine, other)
    )
    return found + _shrunk(left, right, here)


def _shrunk(
    mine: Iterable[str], other: Iterable[str], made: Mapping[str, Fingerprint]
) -> list[tuple[str, str]]:
    """Pairs of whole photos of which one is a small copy: too small for its features, or its look.

    Only between listings of one number, where a copy is likely.
    """
    from extractors.photos.fingerprint import grey_of

    tiny = {sha: _tiny(grey_of(made[sha])) for sha in {*mine, *other}}
    alike = sorted(
        ((-_correlation(tiny[a], tiny[b]), a, b) for a in mine for b in other),
    )
    found: dict[str, str] = {}
    for minus, a, b in alike:
        if -minus >= _SHRUNK and a not in found and b not in found.values():
            found[a] = b
    return list(found.items())


def _tiny(grey: Pixels) -> Pixels:
    """A picture at 64 px on its longer side, blurred on the way."""
    import cv2

    factor = 64 / max(grey.shape)
    size = (max(8, round(grey.shape[1] * factor)), max(8, round(grey.shape[0] * factor)))
    return cv2.resize(grey, size, interpolation=cv2.INTER_AREA)


def _correlation(one: Pixels, other: Pixels) -> float:
    """How alike two small pictures of one shape are, -1 to 1; plain ones are by their grey."""
    if max(abs(a - b) for a, b in zip(one.shape, other.shape, strict=True)) > 1:
        return 0.0
    h, w = (min(pair) for pair in zip(one.shape, other.shape, strict=True))
    a, b = (x[:h, :w].astype(np.float64).ravel() for x in (one, other))
    if min(a.std(), b.std()) < 1:
        return float(max(a.std(), b.std()) < 1.5 and abs(a.mean() - b.mean()) < 1.5)
    return float(np.corrcoef(a, b)[0, 1])


def _chosen(
    asked: _Asked,
    matches: Sequence[tuple[Listing, list[tuple[str, str]]]],
    keys: Mapping[str, str],
) -> list[tuple[str, str]]:
    """The pairs to stand by: those under one number, or of the one listing they fit best.

    Near-identical pieces of one seller have near-identical pictures: where two fit, none is taken.
    """
    if asked.is_numbered:
        return [pair for _, pairs in matches for pair in pairs]
    shares = sorted(
        ((_share(asked.listing, x, pairs, keys), pairs) for x, pairs in matches if pairs),
        key=lambda found: -found[0],
    )
    if not shares or shares[0][0] < 0.5:
        return []
    (best, pairs), *others = shares
    # who shows the very pictures of the best is no rival: these were borrowed, or listed anew
    theirs = {keys.get(b, b) for _, b in pairs}
    rivals = [n for n, found in others if not {keys.get(b, b) for _, b in found} <= theirs]
    return [] if any(n > best / 2 for n in rivals) else pairs


def _share(
    a: Listing, b: Listing, pairs: Sequence[tuple[str, str]], keys: Mapping[str, str]
) -> float:
    one, other = ({keys.get(p.sha256, p.sha256) for p in x.photos} for x in (a, b))
    return (len(one & other) + len(pairs)) / min(len(one), len(other))
