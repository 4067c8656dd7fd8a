"""What a listing says now that it did not say before: fields, words, pictures."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from extractors.records import Listing
from triage.continuity import plain

# compared only where both snapshots know them: a page saved another way may simply not show it
_VALUES = (
    "price_kind",
    "buy_now",
    "shipping",
    "offers_accepted",
    "returns",
    "quantity",
    "ends_at",
    "seller_name",
    "location",
)


@dataclass(frozen=True, slots=True)
class Change:
    """One field that changed, from what to what, as text."""

    field: str
    before: str
    after: str


def find_changes(
    before: Listing, after: Listing, photo_keys: Mapping[str, str]
) -> tuple[Change, ...]:
    """List the fields that differ, in the order of the `read` record.

    A photo stored anew under the same picture, white space, and a price shown in another
    currency are no changes.
    """
    changes = [*_text_changes(before, after), *_price_changes(before, after)]
    changes += [
        Change(name, _shown(getattr(before, name)), _shown(getattr(after, name)))
        for name in _VALUES
        if _differs(getattr(before, name), getattr(after, name))
    ]
    return (*changes, *_photo_changes(before, after, photo_keys))


def _differs(before: Any, after: Any) -> bool:
    if before is None or after is None:
        return False
    if isinstance(before, str):
        return plain(before) != plain(after)
    return bool(before != after)


def _shown(value: Any) -> str:
    return "" if value is None else str(value)


def _text_changes(before: Listing, after: Listing) -> list[Change]:
    changes = [
        Change(name, getattr(before, name), getattr(after, name))
        for name in ("title", "description")
        if plain(getattr(before, name)) != plain(getattr(after, name))
    ]
    old, new = dict(before.specifics), dict(after.specifics)
    if (
        old
        and new
        and {k: plain(v) for k, v in old.items()} != {k: plain(v) for k, v in new.items()}
    ):
        lines = ["\n".join(f"{k}: {v}" for k, v in side.items()) for side in (old, new)]
        changes.append(Change("specifics", *lines))
    return changes


def _price_changes(before: Listing, after: Listing) -> list[Change]:
    if before.price is None or after.price is None or before.price == after.price:
        return []
    if before.currency and after.currency and before.currency != after.currency:
        return []
    return [
        Change(
            "price",
            f"{before.price} {before.currency or ''}".strip(),
            f"{after.price} {after.currency or ''}".strip(),
        )
    ]


def _photo_changes(before: Listing, after: Listing, photo_keys: Mapping[str, str]) -> list[Change]:
    old, new = ([photo_keys.get(p.sha256, p.sha256) for p in s.photos] for s in (before, after))
    if old == new or not old or not new:
        return []
    added, gone = len(set(new) - set(old)), len(set(old) - set(new))
    if not added and not gone:
        return [Change("photos", f"{len(old)} photos", "the same in another order")]
    return [Change("photos", f"{len(old)} photos", f"{added} added, {gone} removed")]


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of a word diff: kept, added or removed."""

    kind: str
    text: str


def word_diff(before: str, after: str) -> tuple[Piece, ...]:
    """Compare two texts word by word: kept + added give the new text, kept + removed the old.

    >>> [(p.kind, p.text) for p in word_diff("lens 52 mm", "lens 54 mm")]
    [('kept', 'lens '), ('removed', '52'), ('added', '54'), ('kept', ' mm')]
    """
    old, new = _words(before), _words(after)
    pieces: list[Piece] = []
    matcher = difflib.SequenceMatcher(None, old, new, autojunk=False)
    for kind, a, b, c, d in matcher.get_opcodes():
        if kind == "equal":
            pieces.append(Piece("kept", "".join(old[a:b])))
            continue
        if b > a:
            pieces.append(Piece("removed", "".join(old[a:b])))
        if d > c:
            pieces.append(Piece("added", "".join(new[c:d])))
    return tuple(pieces)


def _words(text: str) -> list[str]:
    return re.findall(r"\s+|\w+|[^\w\s]", text)
