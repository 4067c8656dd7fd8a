"""A made benchmark as the search wants it: fingerprints in the order of their content."""

from __future__ import annotations

from collections.abc import Sequence

from extractors.photos.fingerprint import Fingerprint, fingerprint
from extractors.photos.search import content_digest
from tests.evaluation.photo_benchmark.make import Shot
from tests.evaluation.photo_benchmark.measure import Truth

_LEAST_TEXTURE, _LEAST_FEATURES = 0.55, 450
_MADE = ("design", "room", "page", "seller", "plain", "look")


def fingerprinted(shots: Sequence[Shot]) -> tuple[Truth, list[Fingerprint]]:
    """Fingerprints with the truth about them, one photo of each content."""
    by_content: dict[str, tuple[Shot, Fingerprint]] = {}
    for shot in shots:
        made = fingerprint(shot.data)
        by_content[content_digest(made)] = (shot, made)
    pairs = [by_content[digest] for digest in sorted(by_content)]
    return Truth(tuple(shot for shot, _ in pairs)), [made for _, made in pairs]


def telling(truth: Truth, made: Sequence[Fingerprint]) -> tuple[Truth, list[Fingerprint]]:
    """Leave out what has no sure truth: stills of a video, and smooth photographs.

    Quarters of smooth artwork look alike, and so do their edits. Rendered goods all stay.
    """
    out = {
        name
        for shot, one in zip(truth.shots, made, strict=True)
        for name in shot.origins
        if name.startswith("video") or _is_smooth(shot, one, name)
    }
    kept = [
        (shot, one) for shot, one in zip(truth.shots, made, strict=True) if not shot.origins & out
    ]
    return Truth(tuple(shot for shot, _ in kept)), [one for _, one in kept]


def _is_smooth(shot: Shot, made: Fingerprint, name: str) -> bool:
    smooth = made.texture < _LEAST_TEXTURE or len(made.points) < _LEAST_FEATURES
    return smooth and shot.edit == "original" and not name.startswith(_MADE)
