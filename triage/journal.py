"""What the buyer enters about a piece, in a short fixed set of words, and what it adds up to.

Entries are kept in the store's journal; `sum_up` folds the entries of one piece that are not
undone into its present standing.
"""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from extractors.errors import UserError
from models.outcomes import RETURNS

if TYPE_CHECKING:  # the words below are wanted where the store is not
    from triage.store import Entry

# what a buyer may do next, what may come of it, and why a finding may be wrong
STEPS = ("examine", "write", "wait", "bid", "pass")
OUTCOMES = ("as described", "misdescribed", "a copy", "returned", "not bought")
OUTCOME_SHORT = {"copy": "a copy"}
DISPUTES = ("misread", "sheet wrong", "seller's slip", "known piece")


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a piece stands after everything entered about it so far."""

    watched: bool = False
    step: str | None = None
    due: str | None = None  # ISO date
    notes: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    answers: tuple[str, ...] = ()
    disputed: tuple[tuple[str, str], ...] = ()  # (check, point)
    outcome: Mapping[str, Any] | None = None

    @property
    def is_settled(self) -> bool:
        """Whether the piece came to the buyer: then nothing is left to do about its listing."""
        return self.outcome is not None and self.outcome["result"] != "not bought"


def step_body(step: str, due: str | None = None, note: str = "") -> dict[str, Any]:
    """Make the entry for a next step; raises UserError for an unknown step or a bad date."""
    return {"step": _one_of(step, STEPS, "next step"), "due": _date(due), "note": note}


def text_body(text: str) -> dict[str, Any]:
    """Make the entry for a note, question or answer; raises UserError where nothing is said."""
    if not text.strip():
        raise UserError("There is nothing to enter.", "Write the words between quotation marks.")
    return {"text": text.strip()}


def dispute_body(check: str, point: str, why: str, note: str = "") -> dict[str, Any]:
    """Make the entry that disputes a finding; raises UserError for an unknown reason."""
    return {
        "check": check,
        "point": point,
        "why": _one_of(why, DISPUTES, "reason"),
        "note": note,
    }


def outcome_body(
    result: str,
    *,
    reason: str = "",
    paid: str | None = None,
    date: str | None = None,
    points: Mapping[str, str] | None = None,
    chance: float | None = None,
    photos: Sequence[str] = (),
) -> dict[str, Any]:
    """Make the entry for what came of a piece; `points` holds what the inspection found.

    `photos` are the SHA-256 of kept pictures that show it.
    `chance` is that with which the piece was drawn by lot for a look; None if it was chosen.
    Raises UserError for an unknown result, a price that is no number, a chance that is none, or
    a return without reason.
    """
    _one_of(result, OUTCOMES, "outcome")
    if result == "returned" and not reason:
        counted = ", ".join(f"'{one}'" for one in RETURNS)
        raise UserError(
            "A return counts by its reason.",
            f"Say why: --reason, of which these count: {counted}; others count neither way.",
        )
    return {
        "result": result,
        "reason": reason,
        "paid": _money(paid),
        "date": _date(date),
        "points": dict(points or {}),
        "chance": _chance(chance),
        "photos": list(photos),
    }


def _chance(chance: float | None) -> float | None:
    if chance is not None and not 0 < chance <= 1:
        raise UserError(f"{chance} is no chance", "write it as told when the lots were drawn")
    return chance


def sum_up(entries: Iterable[Entry]) -> Standing:
    """Fold a piece's entries, oldest first, into its standing."""
    standing = Standing()
    for entry in entries:
        if entry.undone_at is None and entry.kind in _FOLDS:
            standing = _FOLDS[entry.kind](standing, entry.body)
    return standing


_FOLDS = {
    "watch": lambda s, b: replace(s, watched=b["on"]),
    "step": lambda s, b: replace(
        s,
        step=b["step"],
        due=b["due"],
        notes=(*s.notes, b["note"]) if b["note"] else s.notes,
        watched=s.watched or b["step"] != "pass",
    ),
    "note": lambda s, b: replace(s, notes=(*s.notes, b["text"])),
    "asked": lambda s, b: replace(s, asked=(*s.asked, b["text"])),
    "answered": lambda s, b: replace(s, answers=(*s.answers, b["text"])),
    "dispute": lambda s, b: replace(s, disputed=(*s.disputed, (b["check"], b["point"]))),
    # what was to be done is done then; a step entered later counts anew
    "outcome": lambda s, b: replace(s, outcome=b, step=None, due=None),
}


def count_disputes(entries: Iterable[Entry]) -> Counter[tuple[str, str]]:
    """Count, per check, why its findings were disputed."""
    return Counter((e.body["check"], e.body["why"]) for e in entries if e.kind == "dispute")


def _one_of(value: str, allowed: tuple[str, ...], what: str) -> str:
    if value not in allowed:
        raise UserError(f"'{value}' is no {what}", f"one of: {', '.join(allowed)}")
    return value


def _date(text: str | None) -> str | None:
    return None if text is None else day_text(text)


def day_text(text: str) -> str:
    """A day as ISO 8601, also from "5.12.2026" (day first); raises UserError for anything else."""
    dotted = re.fullmatch(r"\s*(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})\s*", text)
    if dotted:
        day, month, year = dotted.groups()
        text = f"{year}-{month:0>2}-{day:0>2}"
    try:
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise UserError(f"'{text}' is no date", "write it as 2026-11-30 or 30.11.2026") from error


def _money(text: str | None) -> str | None:
    """A price as decimal text, also from "120,50"; raises UserError for anything else."""
    if text is None:
        return None
    plain = re.fullmatch(r"\s*(\d{1,9})(?:[.,](\d{1,2}))?\s*", text, re.ASCII)
    if plain is None:
        raise UserError(f"'{text}' is no price", "write it as 120 or 120.50")
    whole, cents = plain.groups()
    return str(Decimal(f"{whole}.{cents}" if cents else whole))
