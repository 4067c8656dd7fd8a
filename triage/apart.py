"""“Not the same picture”: what the buyer says of two photos, kept in the memory, held in every run.

A photo is known by its SHA-256, so a picture saved anew is asked about anew.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from extractors.errors import UserError
from extractors.records import Photo
from triage.run import PhotoPair, photo_place
from triage.settings import Settings

if TYPE_CHECKING:
    from triage.workspace import Workspace

KIND = "pictures"  # of an entry in the memory; its body holds the digests of both photos

Apart = frozenset[frozenset[str]]
_Pair = TypeVar("_Pair", bound=PhotoPair)


def pictures_apart(memory: Path) -> Apart:
    """The pairs of photos, by SHA-256, that are not the same picture; none without a memory."""
    if not memory.is_file():
        return frozenset()
    from triage.workspace import Workspace

    with Workspace(memory) as space:
        return told_apart(space)


def told_apart(space: Workspace) -> Apart:
    """What the memory holds and was not taken back."""
    entries = (entry for entry in space.entries() if entry.kind == KIND)
    return frozenset(frozenset((str(e.body["a"]), str(e.body["b"]))) for e in entries)


def without_apart(
    pairs: Iterable[_Pair], photos: Iterable[Photo], apart: Apart
) -> tuple[_Pair, ...]:
    """The pairs but those the buyer holds not to be the same picture."""
    if not apart:
        return tuple(pairs)
    digests = {photo_place(photo): photo.sha256 for photo in photos}
    return tuple(
        pair
        for pair in pairs
        if frozenset((digests.get(pair.a, pair.a), digests.get(pair.b, pair.b))) not in apart
    )


def tell_apart(given: dict[str, Any], settings: Settings) -> int:
    """The command: keep that two photos are not the same picture."""
    from triage.workspace import Workspace

    known = _photos_shown_last(settings)
    a, b = (_digest(name, known) for name in given["photos"])
    if a == b:
        raise UserError(
            "Both are the same file, to the last byte.", "Name two photos that the tool paired."
        )
    with Workspace(settings.memory) as space:
        batch = space.store.record(KIND, [None], {"a": a, "b": b})
    print("Kept: not the same picture. No later run pairs them.", file=sys.stderr)
    print(f"To take it back: triage undo {batch}", file=sys.stderr)
    return 0


def _photos_shown_last(settings: Settings) -> dict[str, str]:
    """The photos of the ranking shown last: place -> SHA-256."""
    from triage.progress import no_progress
    from triage.shown import recall
    from triage.week import run_as_shown

    if recall(settings) is None:
        return {}
    run, _ = run_as_shown(None, None, settings, no_progress)
    return {photo_place(p): p.sha256 for row in run.rows for p in row.listing.photos}


def _digest(name: str, known: dict[str, str]) -> str:
    if name in known:
        return known[name]
    file = Path(name)
    if not file.is_file():
        raise UserError(
            f"There is no photo {name} in the ranking shown last.",
            "Rank or review its folder first and name it as there, or give the path of a file.",
        )
    return hashlib.sha256(file.read_bytes()).hexdigest()
