"""How good the order and the stated risks were, measured on outcomes, with intervals.

Sellers are kept together in every interval and every split. What the figures may be said of
depends on how the pieces were chosen, so that stands first.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from sklearn.metrics import roc_curve

from models import metrics
from models.calibrate import fit_calibration
from models.challenger import Verdict, folds_in_time, grow, surprise, try_challenger
from models.counts import count_text
from models.decide import DEFAULT_COSTS, Costs, say_changes
from models.learn import learn
from models.metrics import Estimate, Figure, Murphy
from models.outcomes import Outcome, group_outcomes, reliability, stands_for
from models.risk import Model, probability, starting_model
from models.weights import Weights

Floats = NDArray[np.float64]
BINS = 5
CURVE_AT = (5, 10, 20, 50, 100, 200, 500, 1000)
LEAST_IN_PART = 8


@dataclass(frozen=True, slots=True)
class Named:
    """One figure with its interval, its name, and what it says in plain words."""

    key: str
    title: str
    says: str
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class Bin:
    """Pieces of about one stated risk: how many, mean stated risk, share found bad (95 %)."""

    count: int
    stated: float
    found: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Part:
    """One reference, or sellers of one size: how many pieces, how many bad, and the AUC."""

    name: str
    count: int
    bad: int
    auc: Estimate


@dataclass(frozen=True, slots=True)
class Inspected:
    """How often inspection bore out what the listing said of a point (exact 95 % interval)."""

    point: str
    held: int
    seen: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """Log loss on later outcomes of others, learned less starting weights (below 0 is better)."""

    outcomes: int
    difference: float
    error: float


@dataclass(frozen=True, slots=True)
class Evaluation:
    """All that `triage evaluate` shows."""

    count: int
    bad: int
    groups: int
    selection: str
    figures: tuple[Named, ...]
    murphy: Murphy | None
    bins: tuple[Bin, ...]
    roc: tuple[tuple[float, float], ...]
    found_good: tuple[tuple[float, float], ...]  # share opened, share of the good ones found
    curve: tuple[CurvePoint, ...]
    by_reference: tuple[Part, ...]
    by_seller_size: tuple[Part, ...]
    by_choice: tuple[Part, ...]  # drawn by lot, or chosen by the buyer
    inspected: tuple[Inspected, ...]
    calibration: str
    challenger: Verdict
    changes: tuple[str, ...] = ()  # what a change of the buyer's figures would have done
    of_all: tuple[Named, ...] = ()  # for all listings seen, each piece counting for those like it
    of_all_says: str = ""
    interval: str = ""  # whether the intervals shown were worth heeding


FIGURES: tuple[tuple[str, str, str, Figure], ...] = (
    ("share_bad", "Not as described", "share of the pieces", metrics.share_bad),
    ("auc", "ROC AUC", "chance that a piece not as described has the higher risk", metrics.auc),
    ("average_precision", "Average precision", "purity of the risky end",
     metrics.average_precision),
    ("lift_20", "Lift in the first 20", "how much purer than unsorted",
     lambda bad, risk: metrics.lift(bad, risk, 20)),
    ("work_saved", "Work saved at 95 %", "listings not opened, finding 95 of 100 good ones",
     metrics.work_saved),
    ("brier", "Brier score", "mean squared error of the stated risk", metrics.brier),
    ("log_loss", "Log loss", "mean surprise in nats", metrics.natural_log_loss),
    ("calibration_error", "Expected calibration error", "how far stated and found lie apart",
     lambda bad, risk: metrics.calibration_error(bad, risk, BINS)),
)  # fmt: skip

# those that can be had for all listings seen, by key; the calibration error is too high in small
# samples, and pieces that stand for many are a small sample
OF_ALL: Mapping[str, metrics.Weighted] = {
    "share_bad": metrics.share_bad,
    "auc": metrics.auc,
    "average_precision": metrics.average_precision,
    "brier": metrics.brier,
    "log_loss": metrics.natural_log_loss,
}


def evaluate(
    weights: Weights, outcomes: Sequence[Outcome], costs: Costs = DEFAULT_COSTS
) -> Evaluation:
    """Measure the risks shown to the buyer (the starting weights' where none was kept)."""
    ordered = sorted(outcomes, key=lambda outcome: (outcome.date, outcome.id))
    bad = np.array([float(outcome.bad) for outcome in ordered])
    risk = np.array([shown_risk(weights, outcome) for outcome in ordered])
    groups = group_outcomes(ordered)
    both = 0 < bad.sum() < len(bad)
    return Evaluation(
        count=len(ordered),
        bad=int(bad.sum()),
        groups=len(set(groups)),
        selection=say_selection(ordered),
        figures=measure(bad, risk, groups) if len(ordered) else (),
        murphy=metrics.murphy(bad, _binned(risk)) if len(ordered) else None,
        bins=reliability_bins(bad, risk),
        roc=_roc(bad, risk) if both else (),
        found_good=_found_good(bad, risk) if both else (),
        curve=learning_curve(weights, ordered),
        by_reference=_parts(ordered, bad, risk, lambda o: o.reference or "no sheet"),
        by_seller_size=_parts(ordered, bad, risk, _seller_size(ordered)),
        by_choice=_parts(ordered, bad, risk, _choice),
        inspected=tuple(
            Inspected(point, held, seen, *metrics.clopper_pearson(held, seen))
            for point, (held, seen) in sorted(reliability(ordered).items())
        ),
        calibration=say_calibration(risk, bad),
        challenger=try_challenger(weights, ordered),
        changes=say_changes(risk.tolist(), costs),
        of_all=measure_all(ordered, bad, risk, groups),
        of_all_says=say_all(ordered),
        interval=say_interval(ordered),
    )


def with_interval(score: float, spread: float) -> float:
    """The risk with its interval counted in: what is unsure is stated nearer to one half.

    The mean of the logistic over a normal, by MacKay's formula (1992).

    >>> round(with_interval(2.0, 0.0), 4), round(with_interval(2.0, 2.0), 4)
    (0.8808, 0.7768)
    """
    return probability(score / math.sqrt(1.0 + math.pi * spread * spread / 8.0))


def say_interval(outcomes: Sequence[Outcome]) -> str:
    """Whether the intervals shown were worth heeding; empty where none was kept.

    Log loss of the risks with their intervals counted in, less that of the bare risks.
    """
    kept = [o for o in outcomes if o.score is not None and o.spread is not None]
    gains = [_gain_of_interval(o.score or 0.0, o.spread or 0.0, o.bad) for o in kept]
    if len(kept) < LEAST_IN_PART:
        return ""
    mean, error = metrics.mean_over_groups(gains, group_outcomes(kept))
    if abs(mean) <= 2.0 * error:
        verb = "makes no difference beyond noise"
    else:
        verb = "would have been right" if mean < 0 else "would have overdone it"
    return (
        f"Stating what is unsure nearer to one half, as far as the intervals shown say, {verb}: "
        f"log loss {mean:+.3f} (standard error {error:.3f}) on {len(kept)} pieces."
    )


def _gain_of_interval(score: float, spread: float, bad: bool) -> float:
    counted = with_interval(score, spread)
    return surprise(math.log(counted / (1.0 - counted)), bad) - surprise(score, bad)


def shown_risk(weights: Weights, outcome: Outcome) -> float:
    """The risk the buyer saw, or what the starting weights give for the same amounts."""
    if outcome.score is not None:
        return probability(outcome.score)
    return probability(score_of(starting_model(weights), outcome.amounts))


def score_of(model: Model, amounts: Mapping[str, float]) -> float:
    """Log-odds of a listing's amounts under a linear model, before calibration."""
    coefficients = model.coefficients
    return model.intercept + sum(coefficients.get(c, 0.0) * a for c, a in amounts.items())


def measure(bad: Floats, risk: Floats, groups: Sequence[int]) -> tuple[Named, ...]:
    """Every figure with its 90 % interval over groups."""
    return tuple(
        Named(key, title, says, metrics.bootstrap(figure, list(bad), list(risk), groups))
        for key, title, says, figure in FIGURES
    )


def measure_all(
    outcomes: Sequence[Outcome], bad: Floats, risk: Floats, groups: Sequence[int]
) -> tuple[Named, ...]:
    """Figures for all listings seen, bought or not; none unless some were drawn by lot.

    Each piece counts for as many as it stands for (Horvitz and Thompson 1952), as shares of the
    sum of these (Hajek 1971).
    """
    if not any(o.probability for o in outcomes):
        return ()
    weight = list(stands_for(outcomes))
    named = {key: (title, says) for key, title, says, _ in FIGURES}
    return tuple(
        Named(
            key,
            *named[key],
            metrics.bootstrap(figure, list(bad), list(risk), groups, stands_for=weight),
        )
        for key, figure in OF_ALL.items()
    )


def say_all(outcomes: Sequence[Outcome]) -> str:
    """How the figures for all listings were made; empty where there are none.

    >>> say_all([Outcome("a", {}, True), Outcome("b", {}, False, probability=0.5)])[-79:]
    '2 pieces that tell of about 3 listings, as surely as 1.8 pieces alike would do.'
    """
    drawn = sum(bool(o.probability) for o in outcomes)
    if not drawn:
        return ""
    weight = np.array(stands_for(outcomes))
    return (
        f"Each of {count_text(drawn, 'piece')} drawn by lot stands for 1 over its "
        f"chance, each chosen one for itself: {len(outcomes)} pieces that tell of about "
        f"{weight.sum():.0f} listings, as surely as {metrics.counts_like(weight):.1f} pieces alike "
        "would do."
    )


def _binned(risk: Floats) -> Floats:
    """Each risk replaced by the mean of its bin, so that Murphy's split has few distinct values."""
    where = metrics.in_bins(risk, BINS)
    return np.array([risk[where == b].mean() for b in where])


def reliability_bins(bad: Floats, risk: Floats) -> tuple[Bin, ...]:
    """Stated against found in equal bins of stated risk, empty ones left out."""
    where = metrics.in_bins(risk, BINS)
    made = []
    for b in np.unique(where):
        here = where == b
        hits, n = int(bad[here].sum()), int(here.sum())
        made.append(Bin(n, float(risk[here].mean()), hits / n, *metrics.wilson(hits, n)))
    return tuple(made)


def _roc(bad: Floats, risk: Floats) -> tuple[tuple[float, float], ...]:
    false, true, _ = roc_curve(bad, risk)
    return tuple(zip(map(float, false), map(float, true), strict=True))


def _found_good(bad: Floats, risk: Floats) -> tuple[tuple[float, float], ...]:
    good = np.cumsum(1 - bad[np.argsort(risk, kind="stable")])
    opened = np.arange(1, len(bad) + 1) / len(bad)
    return ((0.0, 0.0), *zip(map(float, opened), map(float, good / good[-1]), strict=True))


def learning_curve(weights: Weights, outcomes: Sequence[Outcome]) -> tuple[CurvePoint, ...]:
    """What learning from the first n outcomes bought on the later ones of other sellers."""
    groups = group_outcomes(outcomes)
    start = starting_model(weights)
    points = []
    for n in (n for n in CURVE_AT if n < len(outcomes)):
        known, seen = outcomes[:n], set(groups[:n])
        later = [i for i in range(n, len(outcomes)) if groups[i] not in seen]
        if len(later) < LEAST_IN_PART:
            continue
        model = learn(weights, known)
        gains = [
            surprise(score_of(model, outcomes[i].amounts), outcomes[i].bad)
            - surprise(score_of(start, outcomes[i].amounts), outcomes[i].bad)
            for i in later
        ]
        points.append(CurvePoint(n, *metrics.mean_over_groups(gains, [groups[i] for i in later])))
    return tuple(points)


def _parts(
    outcomes: Sequence[Outcome], bad: Floats, risk: Floats, name_of: Callable[[Outcome], str]
) -> tuple[Part, ...]:
    names = [name_of(outcome) for outcome in outcomes]
    groups = group_outcomes(outcomes)
    parts = []
    for name in sorted(set(names)):
        rows = [i for i, other in enumerate(names) if other == name]
        area = Estimate(float("nan"), float("nan"), float("nan"))
        if len(rows) >= LEAST_IN_PART:
            area = metrics.bootstrap(
                metrics.auc, bad[rows].tolist(), risk[rows].tolist(), [groups[i] for i in rows]
            )
        parts.append(Part(name, len(rows), int(bad[rows].sum()), area))
    return tuple(parts)


def _seller_size(outcomes: Sequence[Outcome]) -> Callable[[Outcome], str]:
    counts: dict[str, int] = {}
    for outcome in outcomes:
        counts[outcome.seller] = counts.get(outcome.seller, 0) + 1

    def name(outcome: Outcome) -> str:
        if not outcome.seller:
            return "seller not known"
        n = counts[outcome.seller]
        return "one piece" if n == 1 else "2 to 5 pieces" if n <= 5 else "more than 5 pieces"

    return name


def _choice(outcome: Outcome) -> str:
    return "chosen by you" if outcome.probability is None else "drawn by lot"


def say_selection(outcomes: Sequence[Outcome]) -> str:
    """What the figures may be said of, given how the pieces were chosen."""
    if not outcomes:
        return "No outcome is recorded yet: all weights are starting figures, not measured."
    where = say_where([o.rank for o in outcomes if o.probability is None and o.rank is not None])
    random = sum(outcome.probability is not None for outcome in outcomes)
    if not random:
        return (
            f"Every piece was chosen by the buyer{where}, so all figures hold for bought pieces "
            "only; nothing is known of the rest. A few random close looks a week would tell."
        )
    return (
        f"{random} of {len(outcomes)} pieces come from random close looks, the others were chosen"
        f"{where}. The figures for these pieces take all alike; the figures for all listings "
        "count each by its logged chance, as learning does."
    )


def say_where(ranks: Sequence[int]) -> str:
    """From where in the order the chosen pieces came.

    >>> say_where([3, 1, 40])
    ' (from No 1 to 40 in the order, the middle one No 3)'
    >>> say_where([40, 1])
    ' (No 1 and 40 in the order)'
    """
    if not ranks:
        return ""
    if len(ranks) < 3:
        return f" (No {' and '.join(map(str, sorted(ranks)))} in the order)"
    middle = sorted(ranks)[len(ranks) // 2]
    return f" (from No {min(ranks)} to {max(ranks)} in the order, the middle one No {middle})"


def say_calibration(risk: Floats, bad: Floats) -> str:
    """Which calibration the amount of data allows, and whether it is in use."""
    scores = np.log(np.clip(risk, 1e-9, 1) / np.clip(1 - risk, 1e-9, 1))
    made = fit_calibration(scores.tolist(), [bool(b) for b in bad])
    if made is None:
        return "too few outcomes to calibrate on: the stated risks are used as they are"
    return f"{made.kind}, fitted on {len(bad)} outcomes as the last step of the sum"


def learn_calibrated(weights: Weights, outcomes: Sequence[Outcome]) -> tuple[Model, Verdict]:
    """The model to use from now on: learned, calibrated on held-out scores, challenged.

    Calibration is fitted on scores that later outcomes got from models without their sellers.
    """
    model = learn(weights, outcomes)
    verdict = try_challenger(weights, outcomes)
    if verdict.takes_over:
        model = replace(model, trees=grow(weights, outcomes))
    scores: list[float] = []
    bad: list[bool] = []
    for training, test in folds_in_time(outcomes):
        known = [outcomes[i] for i in training]
        part = learn(weights, known)
        trees = grow(weights, known) if verdict.takes_over else None
        for i in test:
            amounts = outcomes[i].amounts
            scores.append(trees.score(amounts) if trees else score_of(part, amounts))
            bad.append(outcomes[i].bad)
    return replace(model, calibrate=fit_calibration(scores, bad)), verdict


def draw_random_looks(ids: Sequence[str], looks: int, seed: int) -> tuple[tuple[str, ...], float]:
    """Pick listings for random close looks, and the chance with which each was picked.

    Equal chances for all, whatever their risk: only so can be learned what the order hides.
    """
    if not ids or looks <= 0:
        return (), 0.0
    count = min(looks, len(ids))
    random = np.random.default_rng(seed)
    chosen = random.choice(len(ids), size=count, replace=False)
    ordered = sorted(ids)
    return tuple(sorted(ordered[i] for i in chosen)), count / len(ids)
