"""What worker processes do with texts and photos: one payload in, plain JSON out.

Heavy libraries are imported inside, so that naming a task loads nothing.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from extractors.codec import from_plain, to_plain
from extractors.records import Evidence, Listing, Photo

Plain = dict[str, Any]


def extract_evidence(payload: Any) -> Any:
    """The evidence of one listing, given as plain values."""
    from extractors.catalogue import extract

    return to_plain(extract(from_plain(payload, Listing)))


def judge_listing(payload: Plain) -> Any:
    """{"listing", "evidence", "sheets": folders} to the reference claimed and the findings."""
    from triage.weighing import judge

    listing = from_plain(payload["listing"], Listing)
    evidence = from_plain(payload["evidence"], Evidence)
    return to_plain(judge(listing, evidence, _sheets(tuple(payload["sheets"]))))


@cache
def _sheets(folders: tuple[str, ...]) -> Any:
    from models.sheets import load_sheets

    return load_sheets([Path(folder) for folder in folders])


def fingerprint_photo(payload: Plain) -> Plain:
    """{"root", "photo"} to {"fingerprint": base64}, or {"what", "do"} of a problem."""
    return _with_photo(payload, _fingerprint)


def shrink_photo(payload: Plain) -> Plain:
    """{"root", "photo", "side"} to a small JPEG and the photo's own size, or a problem."""
    return _with_photo(payload, lambda data: _shrink(data, payload["side"]))


def fetch_photo(payload: Plain) -> Plain:
    """{"root", "photo"} to {"bytes": base64} of what is stored, undecoded, or a problem."""
    return _with_photo(payload, lambda data: {"bytes": base64.b64encode(data).decode()})


def _with_photo(payload: Plain, make: Callable[[bytes], Plain]) -> Plain:
    from extractors.photos.decode import PhotoError
    from triage.readers.members import member_bytes
    from triage.readers.source import Unreadable

    photo = from_plain(payload["photo"], Photo)
    try:
        return make(member_bytes(Path(payload["root"]), photo.path, photo.member))
    except (Unreadable, PhotoError) as error:
        return {"what": error.what, "do": error.do}


def _fingerprint(data: bytes) -> Plain:
    from extractors.photos.fingerprint import fingerprint

    return {"fingerprint": base64.b64encode(fingerprint(data).to_bytes()).decode()}


def _shrink(data: bytes, side: int) -> Plain:
    from PIL import Image

    from extractors.photos.decode import decode

    decoded = decode(data, side, colour=True)
    out = io.BytesIO()
    Image.fromarray(decoded.pixels).save(out, "JPEG", quality=72, optimize=True)
    height, width = decoded.pixels.shape[:2]
    return {
        "jpeg": base64.b64encode(out.getvalue()).decode(),
        "width": width,
        "height": height,
        "full_width": decoded.width,
        "full_height": decoded.height,
    }
