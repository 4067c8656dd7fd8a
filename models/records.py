"""Findings, questions and the assessment of a listing (the reference sheet is in sheets.py)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from extractors.records import Span

Result = Literal["agrees", "conflicts", "undecided", "not_stated", "no_reference"]
Strength = Literal["hard", "soft", "clue"]
NextStep = Literal["look", "ask", "cannot_say", "no_sheet", "leave"]


@dataclass(frozen=True, slots=True)
class Finding:
    """What one check says about one point of one listing.

    `cause` groups findings that share one cause (a wrong unit moving five sizes): they count once.
    `source` says where the expected value comes from. `explanations` are innocent readings of a
    conflict, those that the listing supports first. `also_agrees`: undecided because another
    statement of the same point agrees, so that it would agree were the odd one left out. `near`:
    undecided because a ruler or an eye may be out by what is left between it and the sheet.
    """

    check: str
    point: str
    result: Result
    strength: Strength
    why: str
    stated: str | None = None
    expected: str | None = None
    quoted: tuple[Span, ...] = ()
    cause: str | None = None
    source: str | None = None
    explanations: tuple[str, ...] = ()
    about: tuple[str, ...] = ()  # ids of other listings this finding names
    also_agrees: bool = False
    near: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reference that the listing might be, and why it is in question."""

    reference: str
    why: str


@dataclass(frozen=True, slots=True)
class Step:
    """One signed, named part of the score, in log-odds (natural logarithm)."""

    name: str
    log_odds: float


@dataclass(frozen=True, slots=True)
class Question:
    """A polite question to the seller and the point it would settle."""

    text: str
    point: str


@dataclass(frozen=True, slots=True)
class Assessment:
    """How risky the listing looks, and every step of the sum; steps add up to `score`."""

    id: str
    risk: float
    interval: tuple[float, float]
    score: float
    steps: tuple[Step, ...]
    completeness: float | None
    next_step: NextStep
    reason: str
    reference: str | None = None
    edition: str | None = None
    candidates: tuple[Candidate, ...] = ()
    findings: tuple[Finding, ...] = ()
    shares_photo_with: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    outlook: str | None = None  # what would change its place most, in a sentence
    over: Literal["ended", "sold"] | None = None  # no longer on offer, as far as it says
    figures: tuple[str, ...] = ()  # what a change of the buyer's figures would do, in sentences
    stands_with: NextStep | None = None  # the group it stands among in the order; None: its own
