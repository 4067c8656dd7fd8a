"""The starting weights: what each kind of finding is worth before any outcome is known.

The figures stand in data/starting_weights.toml, each with its reason, its source and how far off it
may be; this module only reads, checks and looks them up. All weights are natural-logarithm odds of
"not as described".
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from typing import Any

from extractors.errors import UserError
from models.records import Finding

NO_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Weight:
    """One row: log-odds for one sign, its prior spread (one standard deviation) and why.

    `at_least` and `at_most` bound what outcomes may ever make of it: a conflict never becomes
    safety, silence never becomes safety, agreement in words never becomes proof.
    """

    code: str
    log_odds: float
    spread: float
    family: str
    says: str
    reason: str
    source: str
    at_least: float
    at_most: float


@dataclass(frozen=True, slots=True)
class Family:
    """Signs that tend to come together: each `further` one counts less, all up to `cap`.

    A `soft` cap is approached but never met, so that more of the same always counts a little.
    """

    name: str
    further: float
    cap: float
    reason: str
    soft: bool = False
    together: str = ""  # how the step is called that counting together makes

    def held(self, total: float, room: float = 1.0) -> float:
        """What is left of a total weight under the cap; `room` narrows the cap (0 to 1)."""
        cap = self.cap * room
        if not self.soft:
            return min(total, cap)
        return -cap * math.expm1(-total / cap) if cap > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Prior:
    """The buyer's starting share of pieces not as described, and its spread in log-odds.

    `by_reference` and `by_source` (the host of a listing's address) hold his own figures for some.
    """

    share: float
    spread: float
    note: str
    by_reference: Mapping[str, float] = field(default_factory=dict)
    by_source: Mapping[str, float] = field(default_factory=dict)

    def shift(self, reference: str | None, source: str | None) -> float:
        """Log-odds that his own figure for this reference or source adds to the general one."""
        own = [
            share
            for share in (self.by_reference.get(reference or ""), self.by_source.get(source or ""))
            if share is not None
        ]
        return sum(_logit(share) - self.log_odds for share in own)

    @property
    def log_odds(self) -> float:
        return _logit(self.share)


@dataclass(frozen=True, slots=True)
class Weights:
    """All rows by code, the families, the prior, and the digest of the file they came from."""

    prior: Prior
    families: Mapping[str, Family]
    rows: Mapping[str, Weight]
    digest: str
    unstated_spread: float = 1.0
    habit_spread: float = 0.0  # how far sellers' habits spread, the middle guess
    habit_doubt: float = 0.0  # one standard deviation of the logarithm of that guess

    def find(self, finding: Finding) -> Weight | None:
        """Look up the row for a finding, the most exact code first; None when it weighs nothing."""
        return next((self.rows[c] for c in codes_of(finding) if c in self.rows), None)


def codes_of(finding: Finding) -> Iterator[str]:
    """Yield the codes a finding may be weighed by, from the most exact to the most general.

    >>> list(codes_of(Finding("size", "bridge", "conflicts", "hard", "")))[:2]
    ['size.bridge.conflicts.hard', 'size.bridge.conflicts']
    """
    for subject in (f"{finding.check}.{finding.point}", finding.check, "any"):
        yield f"{subject}.{finding.result}.{finding.strength}"
        yield f"{subject}.{finding.result}"


def weight_of_evidence(bad_share: float, slip_share: float) -> float:
    """Natural logarithm of how much likelier a sign is on bad pieces than on good ones (Good 1950).

    The same figure in bits is the match weight of Fellegi and Sunter (1969).

    >>> round(weight_of_evidence(0.20, 0.05), 4)
    1.3863
    """
    return math.log(bad_share / slip_share)


def in_bits(log_odds: float) -> float:
    """Natural log-odds in bits (base 2)."""
    return log_odds / math.log(2.0)


def in_decibans(log_odds: float) -> float:
    """Natural log-odds in decibans (ten times base 10)."""
    return 10.0 * log_odds / math.log(10.0)


def load_weights(path: Path | None = None) -> Weights:
    """Read the shipped starting weights, or the buyer's own file of the same shape.

    Raises UserError naming the row when a figure is missing or makes no sense.
    """
    if path is None:
        return _shipped()
    try:
        return read_weights(path.read_bytes())
    except OSError as error:
        raise UserError(f"cannot read the weights file {path}: {error.strerror}") from error


@cache
def _shipped() -> Weights:
    return read_weights(files("models").joinpath("data/starting_weights.toml").read_bytes())


def read_weights(data: bytes) -> Weights:
    """Parse the bytes of a weights file and check that every row can be used."""
    try:
        table = tomllib.loads(data.decode("utf-8"))
        families = {row["name"]: _family(row) for row in table["family"]}
        rows = {row["code"]: _weight(row, families) for row in table["weight"]}
        prior = _prior(table["prior"])
        spreads = [float(table["prior"][f"{name}_spread"]) for name in ("unstated", "habit")]
        spreads.append(float(table["prior"].get("habit_doubt", 0.0)))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UserError(
            f"the weights file is not TOML: {error}", "mend it, or leave it out"
        ) from error
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise UserError(
            f"the weights file lacks or mistakes {error}",
            "every row needs code, log_odds, spread, reason",
        ) from error
    shares = (prior.share, *prior.by_reference.values(), *prior.by_source.values())
    if not all(0.0 < share < 1.0 for share in shares):
        raise UserError("a starting share must lie between 0 and 1", "write 0.2 for one in five")
    return Weights(prior, families, rows, sha256(data).hexdigest(), *spreads)


def _prior(table: Mapping[str, Any]) -> Prior:
    own = [
        {str(name): float(share) for name, share in table.get(kind, {}).items()}
        for kind in ("by_reference", "by_source")
    ]
    return Prior(float(table["share"]), float(table["spread"]), str(table["note"]), *own)


def _logit(share: float) -> float:
    return math.log(share / (1.0 - share))


def _family(row: Mapping[str, Any]) -> Family:
    return Family(
        name=row["name"],
        further=float(row["further"]),
        cap=float(row["cap"]),
        reason=row["reason"],
        soft=row.get("soft") is True,
        together=str(row.get("together") or f"counted together: {row['name']}"),
    )


def _weight(row: Mapping[str, Any], families: Mapping[str, Family]) -> Weight:
    low, high = float(row.get("at_least", -math.inf)), float(row.get("at_most", math.inf))
    weight = Weight(
        code=row["code"],
        log_odds=float(row["log_odds"]),
        spread=float(row["spread"]),
        family=row["family"],
        says=row.get("says", ""),
        reason=row["reason"],
        source=row.get("source", NO_SOURCE),
        at_least=low,
        at_most=high,
    )
    if weight.family not in families:
        raise UserError(f"weight {weight.code}: no family {weight.family!r}", "add a [[family]]")
    if not (weight.spread > 0 and low <= weight.log_odds <= high):
        raise UserError(
            f"weight {weight.code}: spread must be positive and the figure within its bounds"
        )
    return weight
