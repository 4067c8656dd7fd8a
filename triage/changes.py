"""What a listing says now that it did not say before: fields, words, pictures."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from extractors.catalogue import extract
from extractors.records import Listing, Measurement
from models.counts import count_text
from triage.carriers import are_saved_alike
from triage.continuity import plain
from triage.words import length_text

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
    currency are no changes; nor is what only one form of saving shows (a mail, a page).
    """
    alike = are_saved_alike(before, after)
    changes = [*_text_changes(before, after, alike), *_price_changes(before, after)]
    changes += [
        Change(name, _shown(getattr(before, name)), _shown(getattr(after, name)))
        for name in _VALUES
        if _differs(getattr(before, name), getattr(after, name))
        and (alike or not _may_be_guessed(name, before, after))
    ]
    return (*changes, *_photo_changes(before, after, photo_keys))


def _may_be_guessed(name: str, before: Listing, after: Listing) -> bool:
    """Whether a value may differ because one form of saving did not show it, and it was taken so.

    What shows no bids is taken to have a fixed price.
    """
    return name == "price_kind" and "sold" not in (before.price_kind, after.price_kind)


def _differs(before: Any, after: Any) -> bool:
    if before is None or after is None:
        return False
    if isinstance(before, str):
        return plain(before) != plain(after)
    return bool(before != after)


def _shown(value: Any) -> str:
    return "" if value is None else str(value)


def _text_changes(before: Listing, after: Listing, alike: bool) -> list[Change]:
    changes = [
        Change(name, getattr(before, name), getattr(after, name))
        for name in ("title", "description")
        if _says_other_words(getattr(before, name), getattr(after, name), alike)
        or (name == "description" and not alike and _states_other_sizes(before, after))
    ]
    old, new = dict(before.specifics), dict(after.specifics)
    if not alike:
        both = old.keys() & new.keys()
        old, new = ({k: v for k, v in side.items() if k in both} for side in (old, new))
    if old and new and _plain_values(old) != _plain_values(new):
        lines = ["\n".join(f"{k}: {v}" for k, v in side.items()) for side in (old, new)]
        changes.append(Change("specifics", *lines))
    return changes


def _plain_values(specifics: Mapping[str, str]) -> dict[str, str]:
    return {key: plain(value) for key, value in specifics.items()}


def _says_other_words(before: str, after: str, alike: bool) -> bool:
    """Whether two texts differ by more than white space.

    Of two that were saved in different forms, one may hold the other and something around it.
    """
    one, other = plain(before), plain(after)
    if one == other:
        return False
    if alike or not one or not other:
        return alike
    words = [Counter(_words(re.sub(r"\w*(?:…|\.\.\.)$", "", text))) for text in (one, other)]
    return bool(words[0] - words[1]) and bool(words[1] - words[0])


def _states_other_sizes(before: Listing, after: Listing) -> bool:
    """Whether a size that both texts state has other values in one: no form of saving does that."""
    if plain(before.description) == plain(after.description):
        return False
    old, new = (_sizes_told(extract(x).measurements) for x in (before, after))
    return any(old[quantity] != new[quantity] for quantity in old.keys() & new.keys())


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
    # a page may show one picture twice, large and small
    old, new = (
        list(dict.fromkeys(photo_keys.get(p.sha256, p.sha256) for p in s.photos))
        for s in (before, after)
    )
    if old == new or not old or not new:
        return []
    gone, added = [k for k in old if k not in new], [k for k in new if k not in old]
    replaced = sum(a in gone and b in added for a, b in zip(old, new, strict=False))
    told = {
        "replaced": replaced,
        "added": len(added) - replaced,
        "removed": len(gone) - replaced,
    }
    parts = [f"{count} {word}" for word, count in told.items() if count]
    if [k for k in old if k in new] != [k for k in new if k in old]:
        parts.append("the others in another order" if parts else "the same in another order")
    return [Change("photos", count_text(len(old), "photo"), ", ".join(parts))]


def sizes_corrected(
    before: Iterable[Measurement], after: Iterable[Measurement]
) -> tuple[Change, ...]:
    """Sizes of the piece that both texts state, and state differently; several of one are left.

    >>> from dataclasses import replace
    >>> one = Measurement("bridge", 20, 20, False, True, "item", 0, 0.5, None, ())
    >>> sizes_corrected([one], [replace(one, low_mm=22, high_mm=22)])
    (Change(field='bridge', before='20 mm', after='22 mm'),)
    """
    old, new = _sizes(before), _sizes(after)
    return tuple(
        Change(quantity, old[quantity], new[quantity])
        for quantity in sorted(old.keys() & new.keys())
        if old[quantity] != new[quantity]
    )


def _sizes(measurements: Iterable[Measurement]) -> dict[str, str]:
    told = _sizes_told(measurements)
    return {quantity: min(values) for quantity, values in told.items() if len(values) == 1}


def _sizes_told(measurements: Iterable[Measurement]) -> dict[str, set[str]]:
    told: dict[str, set[str]] = {}
    for m in measurements:
        if m.of_item and m.quantity != "unspecified":
            told.setdefault(m.quantity, set()).add(length_text(m))
    return told


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
    old, new = _tokens(before), _tokens(after)
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
    return re.findall(r"\w+", text)


def _tokens(text: str) -> list[str]:
    return re.findall(r"\s+|\w+|[^\w\s]", text)
