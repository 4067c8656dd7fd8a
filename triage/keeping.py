"""Copies of the photos of pieces that the buyer watches or has decided on.

A saved folder may be deleted; what was decided on must still be seen. Copies lie beside the
memory by their content, so that the same picture is kept once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from triage.pipeline import photo_bytes
from triage.settings import Settings
from triage.store import Snapshot
from triage.workspace import Workspace

# what is entered about a piece that one will want to see again
_KINDS = ("watch", "step", "asked", "answered", "outcome")


@dataclass(frozen=True, slots=True)
class Kept:
    """How many photos were copied, and the places of those that are no longer to be had."""

    fresh: int = 0
    missing: tuple[str, ...] = ()

    def lines(self) -> tuple[str, ...]:
        """The same in sentences; none when there was nothing to do."""
        told = []
        if self.fresh:
            told.append(f"Photos copied beside the memory: {self.fresh}")
        if self.missing:
            more = f" and {len(self.missing) - 3} more" if len(self.missing) > 3 else ""
            named = ", ".join(self.missing[:3])
            told.append(f"Photos no longer where they were saved, not kept: {named}{more}")
        return tuple(told)


def is_kept_with(kind: str, body: Mapping[str, Any]) -> bool:
    """Whether what is entered means that the photos are to be kept."""
    return kind in _KINDS and body.get("on", True)


def keep_photos(space: Workspace, snapshots: Iterable[Snapshot], settings: Settings) -> Kept:
    """Copy the photos of these listings that are not kept yet."""
    wanted = {
        photo.sha256: f"{snapshot.folder.path}/{photo.path}"
        for snapshot in snapshots
        for photo in snapshot.listing.photos
        if not space.is_kept(photo.sha256)
    }
    fresh = 0
    for folder, photos in space.photo_files(wanted).items():
        data = photo_bytes(photos, folder, settings)
        fresh += space.keep_photos((p, data[p.sha256]) for p in photos if p.sha256 in data)
    missing = sorted(place for sha, place in wanted.items() if not space.is_kept(sha))
    return Kept(fresh, tuple(missing) if space.photo_folder is not None else ())
