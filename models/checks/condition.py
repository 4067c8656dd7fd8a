"""Condition: a fault usual for the model is said to be usual; no fault is a risk by itself."""

from __future__ import annotations

import re

from extractors.folding import plain
from models.checks.case import Case
from models.point_words import facet, topics
from models.records import Finding

CHECK = "condition"
CODES = ((CHECK, "agrees", "clue"),)


def check_condition(case: Case) -> tuple[Finding, ...]:
    """The seller names a fault that the sheet calls usual: a small sign of the right piece."""
    if case.sheet is None:
        return ()
    for fault in case.sheet.usual_faults:
        words = {w for w in re.findall(r"[a-z]{4,}", plain(fault)) if not _is_common(w)}
        for scene in case.told:
            said = set(re.findall(r"[a-z]{4,}", scene.folded))
            if len(words & said) >= min(2, len(words)) and not re.search(
                r"\b(?:no|without|free of)\b", scene.folded
            ):
                why = f"the seller mentions what is usual for the model: {fault}"
                span = scene.passage.span(scene.start, scene.end)
                return (
                    Finding(
                        CHECK,
                        "condition",
                        "agrees",
                        "clue",
                        why,
                        stated=fault,
                        expected=fault,
                        quoted=(span,),
                        source=case.sheet.source or None,
                    ),
                )
    return ()


def _is_common(word: str) -> bool:
    """A part, a colour or a filling word names no fault."""
    named = any(pattern.fullmatch(word) for pattern in topics().values())
    valued = any(facet(f).canonical(word) for f in ("colour", "shape"))
    return named or valued or word in _COMMON


_COMMON = frozenset({"left", "right", "with", "from", "often", "some", "usual", "most"})
