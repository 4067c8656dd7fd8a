"""What the checks over all listings get: every listing with all that is worked out so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
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
    """All listings of a run; `pairs` are the photo pairs the photo search stands behind.

    `known` names the collection of a catalogue picture that the buyer knows, by the SHA-256 of the
    photo that shows it.
    """

    examined: tuple[Examined, ...]
    pairs: tuple[Any, ...] = ()
    known: Mapping[str, str] = field(default_factory=dict)
