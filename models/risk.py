"""The risk that a piece is not as described, as a sum of named steps, with an interval.

Risk is the probability that the piece, bought and inspected, turns out not as described. It is no
verdict on a piece or a person. `assess` needs nothing but plain arithmetic; learning the weights
from outcomes is in learn.py, and fills the same Model.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, Protocol
from urllib.parse import urlsplit

from extractors.reading import guess_language
from extractors.records import Evidence, Listing
from models.decide import DEFAULT_COSTS, Costs, leave_from, say_turns
from models.features import Sign, amounts, is_borrowed, signs_of
from models.habits import believed
from models.order import (
    DEFAULT_THRESHOLDS,
    Thresholds,
    choose_group,
    choose_place,
    give_reason,
    stand,
)
from models.questions import choose_questions
from models.records import Assessment, Candidate, Finding, Step
from models.sheet_records import ReferenceSheet
from models.trees import Trees
from models.weights import Weights

Z90 = 1.6448536269514722  # 95 % point of the standard normal: a 90 % interval
MEASURED_FROM = 30  # outcomes; with fewer the starting figure outweighs them, own choice
START = "starting share"
OWN_SHARE = "your own share for this reference or market"
LACKING = "signs this listing lacks"
CALIBRATION = "calibration"


class Resolved(Protocol):
    """What is asked of a resolution (resolve.py): which reference, edition, or candidates."""

    @property
    def reference(self) -> str | None: ...
    @property
    def edition(self) -> str | None: ...
    @property
    def candidates(self) -> tuple[Candidate, ...]: ...


@dataclass(frozen=True)
class Model:
    """Coefficients by code, how unsure they are, and the last step (calibration).

    `covariance` is None as long as the prior spreads alone say how unsure each weight is;
    learned models carry it as {(code, code): value}, the code "" being the intercept. `trees` is
    the challenger where it has taken over: it then gives the score, and the weights the interval.
    """

    intercept: float
    coefficients: Mapping[str, float]
    spreads: Mapping[str, float]
    intercept_spread: float
    unstated_spread: float
    habit_spread: float = 0.0
    covariance: Mapping[tuple[str, str], float] | None = None
    trees: Trees | None = None
    calibrate: Callable[[float], float] | None = None
    note: str = "starting figure, not measured"
    card: Mapping[str, object] = field(default_factory=dict)


def starting_model(weights: Weights, share: float | None = None) -> Model:
    """The model before any outcome; `share` is the buyer's own starting share, if given."""
    prior = weights.prior
    chosen = prior.share if share is None else share
    return Model(
        intercept=math.log(chosen / (1.0 - chosen)),
        coefficients={code: row.log_odds for code, row in weights.rows.items()},
        spreads={code: row.spread for code, row in weights.rows.items()},
        intercept_spread=prior.spread,
        unstated_spread=weights.unstated_spread,
        habit_spread=believed(weights.habit_spread, weights.habit_doubt),
        note=prior.note,
    )


def say_learned(outcomes: int, bad: int) -> str:
    """How the start of a learned model is called: a measured figure only from enough outcomes.

    >>> say_learned(3, 1)
    'starting figure, not measured, moved by 3 outcomes, 1 of them not as described'
    """
    told = f"{outcomes} outcomes, {bad} of them not as described"
    if outcomes < MEASURED_FROM:
        return f"starting figure, not measured, moved by {told}"
    return f"learned from {told}"


def explain(signs: Sequence[Sign], model: Model, own_share: float = 0.0) -> tuple[Step, ...]:
    """The sum as steps: the start, one per sign in full, what counting together takes back.

    `own_share` is what the buyer's own figure for the reference or market adds (log-odds).

    Calibration, if there is one, is the last step. The steps add up to the score. Where trees have
    taken over, a sign's step is its exact Shapley value.
    """
    steps = _tree_steps(signs, model.trees, model.note) if model.trees else _steps(signs, model)
    if own_share:
        steps.insert(1, Step(OWN_SHARE, own_share))
    if model.calibrate is not None:
        raw = add_up(steps)
        steps.append(Step(CALIBRATION, model.calibrate(raw) - raw))
    return tuple(steps)


def _steps(signs: Sequence[Sign], model: Model) -> list[Step]:
    steps = [Step(f"{START} ({model.note})", model.intercept)]
    together: dict[str, float] = {}
    for sign in signs:
        weight = model.coefficients.get(sign.weight.code, 0.0)
        if weight:
            steps.append(Step(sign.label, weight * sign.full))
        family = sign.together or sign.weight.family
        together[family] = together.get(family, 0.0) + weight * (sign.amount - sign.full)
    steps += [Step(name, value) for name, value in together.items() if abs(value) > 1e-12]
    return steps


def _tree_steps(signs: Sequence[Sign], trees: Trees, note: str) -> list[Step]:
    labels: dict[str, str] = {}
    for sign in signs:
        known = labels.get(sign.weight.code)
        labels[sign.weight.code] = f"{known}; {sign.label}" if known else sign.label
    parts = trees.shapley(amounts(signs))
    steps = [Step(f"{START} ({note})", trees.start())]
    steps += [Step(labels[code], part) for code, part in parts.items() if code in labels and part]
    absent = math.fsum(part for code, part in parts.items() if code not in labels)
    return [*steps, Step(LACKING, absent)] if absent else steps


def _told(steps: Sequence[Step]) -> float:
    """What all that the listing tells adds to the start, in log-odds."""
    books = {OWN_SHARE, CALIBRATION, LACKING}
    told = (s for s in steps if s.name not in books and not s.name.startswith(START))
    return math.fsum(step.log_odds for step in told)


def speaking(steps: Sequence[Step], weights: Weights) -> tuple[Step, ...]:
    """The steps that tell of the listing, without the start and what only keeps the sum right."""
    books = {OWN_SHARE, CALIBRATION, LACKING, *(f.together for f in weights.families.values())}
    return tuple(s for s in steps if s.name not in books and not s.name.startswith(START))


def add_up(steps: Sequence[Step]) -> float:
    """Sum the steps without rounding on the way."""
    return math.fsum(step.log_odds for step in steps)


def probability(log_odds: float) -> float:
    """Log-odds to a probability, safe at both ends.

    >>> probability(0.0)
    0.5
    """
    if log_odds >= 0:
        return 1.0 / (1.0 + math.exp(-log_odds))
    odds = math.exp(log_odds)
    return odds / (1.0 + odds)


def spread_of_score(vector: Mapping[str, float], model: Model, completeness: float | None) -> float:
    """One standard deviation of the score: doubt about weights, what is unstated, and habits."""
    if model.covariance is None:
        parts = [amount * model.spreads.get(code, 0.0) for code, amount in vector.items()]
        known = model.intercept_spread**2 + sum(part * part for part in parts)
    else:
        full = {"": 1.0, **vector}
        known = sum(
            full[a] * full[b] * value
            for (a, b), value in model.covariance.items()
            if a in full and b in full
        )
    return math.hypot(math.sqrt(max(0.0, known)), own_doubt(model, completeness))


def own_doubt(model: Model, completeness: float | None) -> float:
    """The part of that which no weight explains: what is unstated, and the seller's habits."""
    unstated = model.unstated_spread * (1.0 - (completeness or 0.0))
    return math.hypot(unstated, model.habit_spread)


def interval_of(score: float, spread: float) -> tuple[float, float]:
    """The 90 % interval of the risk around a score with this standard deviation."""
    return probability(score - Z90 * spread), probability(score + Z90 * spread)


def spread_of(interval: tuple[float, float]) -> float:
    """The standard deviation of the score that an interval of the risk was made with.

    >>> round(spread_of(interval_of(1.0, 0.7)), 6)
    0.7
    """
    held = [min(1.0 - 1e-12, max(1e-12, p)) for p in interval]
    low, high = (math.log(p / (1.0 - p)) for p in held)
    return (high - low) / (2.0 * Z90)


def assess(
    listing: Listing,
    evidence: Evidence,
    resolution: Resolved,
    findings: Sequence[Finding],
    completeness: float | None,
    weights: Weights,
    *,
    sheet: ReferenceSheet | None = None,
    model: Model | None = None,
    shares_photo_with: tuple[str, ...] = (),
    language: str | None = None,
    costs: Costs = DEFAULT_COSTS,
    thresholds: Thresholds = DEFAULT_THRESHOLDS,
) -> Assessment:
    """Weigh one listing's findings: risk, steps, group, reason and questions.

    `completeness` is the share of the sheet's points that the listing states or shows (None without
    a sheet). `model` is the learned model, the starting weights without one. `language` is that
    of the questions, guessed from the listing's text where it is not given.
    """
    model = model or starting_model(weights)
    signs = signs_of(listing, evidence, findings, completeness, shares_photo_with, weights)
    source = urlsplit(listing.url).hostname if listing.url else None
    steps = explain(signs, model, weights.prior.shift(resolution.reference, source))
    score = add_up(steps)
    risk = probability(score)
    vector = amounts(signs)
    points = sheet.points if sheet is not None else _points_of(findings)
    borrowed = is_borrowed(findings, shares_photo_with)
    standing = stand(findings, points if resolution.reference else (), borrowed)
    over = over_as(listing)
    group = choose_group(
        standing,
        completeness,
        resolution.reference is not None,
        bool(resolution.candidates) and resolution.reference is None,
        risk,
        costs,
        thresholds,
        over is not None,
    )
    heavy = risk >= leave_from(costs)
    maybe = tuple(candidate.why for candidate in resolution.candidates)
    reason = give_reason(group, standing, speaking(steps, weights), heavy, maybe)
    return Assessment(
        id=listing.id,
        risk=risk,
        interval=interval_of(score, spread_of_score(vector, model, completeness)),
        score=score,
        steps=steps,
        completeness=completeness,
        next_step=group,
        reason=f"{over.capitalize()}, no longer on offer." if over else reason,
        reference=resolution.reference,
        edition=resolution.edition,
        candidates=tuple(resolution.candidates),
        findings=tuple(findings),
        shares_photo_with=shares_photo_with,
        over=over,
        figures=() if over else say_turns(risk, costs),
        stands_with=choose_place(group, findings, _told(steps), heavy),
        questions=()
        if over
        else choose_questions(
            language or guess_language(listing.text),
            resolution.reference is not None,
            findings,
            standing.borrowed,
            risk,
            weights,
            sheet,
            costs,
        ),
    )


def over_as(listing: Listing) -> Literal["ended", "sold"] | None:
    """Whether a listing says that it is over, and how; None where it is open or does not say."""
    if listing.price_kind == "sold":
        return "sold"
    return "ended" if listing.ended else None


def _points_of(findings: Sequence[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f.point for f in findings if f.result != "no_reference"))
