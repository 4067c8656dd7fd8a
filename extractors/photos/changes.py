"""What was done to a picture, in words, read off the geometry and the cells of a matched pair."""

from __future__ import annotations

from extractors.photos.fingerprint import Fingerprint
from extractors.photos.search import Looked


def describe_changes(a: Fingerprint, b: Fingerprint, looked: Looked) -> tuple[str, ...]:
    """Changes between photo a (later) and photo b (earlier)."""
    found = []
    if looked.alignment.mirrored:
        found.append("mirrored")
    share = min(looked.agreement.share_a, looked.agreement.share_b)
    if share < 0.95:
        found.append(f"cropped to {share:.0%}".replace("%", " %"))
    return tuple(found)
