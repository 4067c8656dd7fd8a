"""What worker processes do for the readers: one payload in, plain JSON values out."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from extractors.codec import to_plain
from extractors.records import Photo
from triage.readers.budget import UNIT_SECONDS
from triage.readers.pictures import picture_kind
from triage.readers.reading import SourceReading, Unit
from triage.readers.source import Source, locate, open_regular
from triage.worker import Beat


def read(payload: dict[str, Any]) -> Iterator[Any]:
    """Read one file of the folder: {"root", "path", "beside", "skip"} to read results in parts."""
    source = Source(Path(payload["root"]), payload["path"], beside=tuple(payload.get("beside", ())))
    reading = SourceReading(payload.get("skip", 0), payload.get("spent", 0.0))
    for step in reading.steps(source):
        if isinstance(step, Unit):
            yield Beat(step.member, _resume(reading) if step.can_be_passed else None)
        else:
            yield to_plain(step)


def _resume(reading: SourceReading) -> dict[str, Any]:
    """What a later pass goes on with: this part took a worker's patience, so it counts in full."""
    return {"skip": reading.units, "spent": reading.spent + UNIT_SECONDS}


def hash_pictures(payload: dict[str, Any]) -> Any:
    """Tell whether a file is a picture: {"root", "path"} to a Photo, or None."""
    root, path = Path(payload["root"]), payload["path"]
    with open_regular(locate(root, path)) as file:
        head = file.read(64)
        if picture_kind(head) is None:
            return None
        digest = hashlib.sha256(head)
        while block := file.read(1 << 20):
            digest.update(block)
    return to_plain(Photo(path, None, digest.hexdigest()))
