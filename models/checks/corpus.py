"""What the checks over all listings get: every listing with all that is worked out so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from extractors.records import Evidence, Listing
from models.records import Finding
from models.resolve import Resolution


@dataclass(frozen=True, eq=False)
class Examined:
    """One listing with its evidence, the reference it claims and the findings so far."""

    listing: Listing
    evidence: Evidence
    resolution: Resolution
    findings: tuple[Finding, ...]


@dataclass(frozen=True, eq=False)
class Corpus:
    """All listings of a run; `pairs` are the photo pairs the photo search stands behind."""

    examined: tuple[Examined, ...]
    pairs: tuple[Any, ...] = ()
