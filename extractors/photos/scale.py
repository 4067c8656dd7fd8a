"""Lengths in a photo from an object of known size that lies beside the piece.

Only arithmetic on lengths that somebody or something has measured in pixels; nothing is detected.
"""

from __future__ import annotations

import csv
import functools
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from typing import Literal

_TILT = 0.04  # relative deviation of the side ratio that still counts as seen from above


@dataclass(frozen=True, slots=True)
class KnownObject:
    """An everyday object with its published size; a coin's two sides are its diameter."""

    name: str
    width_mm: float
    height_mm: float
    source: str

    @property
    def ratio(self) -> float:
        """Longer side by shorter side."""
        long, short = max(self.width_mm, self.height_mm), min(self.width_mm, self.height_mm)
        return long / short


@functools.cache
def known_objects() -> dict[str, KnownObject]:
    """All rows of data/known_objects.csv by their short name."""
    text = (resources.files("extractors.photos") / "data" / "known_objects.csv").read_text("utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {
        row["id"]: KnownObject(
            row["object"], float(row["width_mm"]), float(row["height_mm"]), row["source"]
        )
        for row in rows
    }


def mm_of(
    length_px: float,
    beside: KnownObject,
    beside_px: float,
    side: Literal["width", "height"] = "width",
) -> float:
    """A length in mm, given how many px the known side of the object beside it has.

    >>> round(mm_of(520, known_objects()["id1"], 856), 2)
    52.0
    """
    return length_px * (beside.width_mm if side == "width" else beside.height_mm) / beside_px


def looks_tilted(seen: KnownObject, long_px: float, short_px: float) -> bool:
    """Whether the object is seen at a slant: its sides do not have their ratio; no scale then."""
    return abs(long_px / short_px / seen.ratio - 1) > _TILT


def telling_shape(long_px: float, short_px: float, names: Iterable[str]) -> str:
    """The name whose side ratio is nearest to the measured one."""
    ratio = long_px / short_px
    return min(names, key=lambda name: (abs(known_objects()[name].ratio - ratio), name))


def depth_error(nearer_mm: float, distance_mm: float) -> float:
    """How much too large (share) a thing looks that is nearer to the camera than the scale.

    Pinhole geometry, for small differences: h / Z.
    """
    return nearer_mm / distance_mm
