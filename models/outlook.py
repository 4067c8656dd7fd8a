"""What would change a listing's place most: the one point whose turning out otherwise moves it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from extractors.records import Evidence, Listing
from models.features import signs_of
from models.records import Assessment, Finding
from models.risk import OWN_SHARE, Model, add_up, explain, probability
from models.sheet_records import ReferenceSheet
from models.weights import Weights


@dataclass(frozen=True, slots=True)
class Outlook:
    """One point, the risk if it turned out otherwise, as a sentence too, and the findings then."""

    point: str
    risk: float
    says: str
    findings: tuple[Finding, ...] = ()

    def with_places(self, now: int, then: int) -> str:
        """The sentence with what becomes of the listing's place in the order."""
        if now == then:
            return self.says
        verb = "fall" if then > now else "rise"
        return f"{self.says[:-1]}, and its place would {verb} from {now} to {then}."


def look_ahead(
    listing: Listing,
    evidence: Evidence,
    assessment: Assessment,
    weights: Weights,
    model: Model,
    sheet: ReferenceSheet | None,
) -> Outlook | None:
    """The point that would move the risk most; None where none moves it as shown.

    Each case is weighed in full, with all that counts together, not read off a single step.
    """
    own = math.fsum(step.log_odds for step in assessment.steps if step.name == OWN_SHARE)
    best: Outlook | None = None
    for point, findings in _otherwise(assessment.findings, sheet.points if sheet else ()):
        signs = signs_of(
            listing,
            evidence,
            findings,
            assessment.completeness,
            assessment.shares_photo_with,
            weights,
        )
        risk = probability(add_up(explain(signs, model, own)))
        if best is None or abs(risk - assessment.risk) > abs(best.risk - assessment.risk):
            best = Outlook(point, risk, _say(point, assessment.risk, risk), findings)
    # a move that the figures shown do not show tells nothing
    return best if best and f"{best.risk:.2f}" != f"{assessment.risk:.2f}" else None


def _otherwise(
    findings: Sequence[Finding], points: Sequence[str]
) -> Iterator[tuple[str, tuple[Finding, ...]]]:
    """Yield each point with the findings as they would be: open ones conflict, conflicts agree."""
    for number, finding in enumerate(findings):
        before, after = findings[:number], findings[number + 1 :]
        if finding.result == "conflicts":
            turned = replace(finding, result="agrees", cause=None)
        elif finding.result in ("not_stated", "undecided") and finding.point in points:
            turned = replace(finding, result="conflicts", cause=None, also_agrees=False)
        else:
            continue
        yield finding.point, (*before, turned, *after)


def _say(point: str, now: float, then: float) -> str:
    """The outlook in words.

    >>> _say("hinge_barrels", 0.1, 0.5)
    'If hinge barrels turned out not to fit, the risk would rise from 0.10 to 0.50.'
    """
    name = point.replace("_", " ")
    if then > now:
        return f"If {name} turned out not to fit, the risk would rise from {now:.2f} to {then:.2f}."
    return (
        f"If {name} turned out to fit after all, the risk would fall from {now:.2f} to {then:.2f}."
    )
