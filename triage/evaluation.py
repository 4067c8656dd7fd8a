"""`triage evaluate`: how good the ranking was, from a ranked folder and what became of its pieces.

Outcomes come as JSON Lines: `id` (as `triage rank` prints it) and `result`, and where known
`reason` (of a return), `date`, `price`, `seller`, `photo_group`, `probability` (of a random close
look), `score`, `rank`, `points` {point: true where inspection bore the finding out}.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import math
import textwrap
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from extractors.errors import UserError
from extractors.records import Problem
from models.artefact import make_card, save_model
from models.counts import count_text
from models.evaluate import (
    Bin,
    CurvePoint,
    Evaluation,
    Named,
    Part,
    draw_random_looks,
    evaluate,
    learn_calibrated,
)
from models.metrics import Estimate
from models.outcomes import RETURNS, Outcome, label_of, outcome_words
from models.risk import spread_of
from models.weights import Weights, load_weights
from triage.pages import render_page
from triage.run import Row, Run
from triage.settings import Settings
from triage.weighing import amounts_of, load_scales
from triage.words import printable

WIDE, HIGH = 320, 240  # units of a plot's inside
LARGEST_LINE = 100_000  # characters


@dataclass(frozen=True)
class Measured:
    """A ranking held against outcomes: the figures, and what they were reckoned from."""

    evaluation: Evaluation
    outcomes: tuple[Outcome, ...]
    problems: tuple[Problem, ...]
    weights: Weights
    uncounted: tuple[str, ...] = ()  # outcomes that tell nothing of the piece, in words


# of each kind, as described and not. At a true AUC of 0.8 its standard error is 0.10 with ten of
# each (Hanley and McNeil 1982), which tells it from chance; with five of each, 0.15, it does not.
# With fewer, drawing anew often meets no overlap at all and gives an interval of no width.
FEWEST = 10


def without_guesses(evaluation: Evaluation) -> Evaluation:
    """The evaluation without the figures and drawings that so few outcomes cannot carry."""
    drawn = _carries(evaluation.count, evaluation.bad)

    def plain(figures: tuple[Named, ...]) -> tuple[Named, ...]:
        kept = _carries(evaluation.count, evaluation.bad)
        enough = evaluation.count >= FEWEST
        return tuple(
            x if kept or (enough and x.key == "share_bad") else replace(x, estimate=_UNKNOWN)
            for x in figures
        )

    def parts(told: tuple[Part, ...]) -> tuple[Part, ...]:
        return tuple(x if _carries(x.count, x.bad) else replace(x, auc=_UNKNOWN) for x in told)

    return replace(
        evaluation,
        figures=plain(evaluation.figures),
        murphy=evaluation.murphy if drawn else None,
        bins=evaluation.bins if drawn else (),
        roc=evaluation.roc if drawn else (),
        found_good=evaluation.found_good if drawn else (),
        of_all=plain(evaluation.of_all),
        by_reference=parts(evaluation.by_reference),
        by_seller_size=parts(evaluation.by_seller_size),
        by_choice=parts(evaluation.by_choice),
    )


_UNKNOWN = Estimate(math.nan, math.nan, math.nan)


def _carries(count: int, bad: int) -> bool:
    return min(bad, count - bad) >= FEWEST


def measure_run(run: Run, settings: Settings) -> Measured:
    """Measure the ranking of a run against outcomes; lines that cannot be used are problems."""
    weights = load_weights(settings.weights)
    rows = {row.listing.id: row for row in run.rows}
    file = settings.outcomes or Path()
    outcomes, problems, uncounted = _read(file, rows, weights)
    costs = load_scales(settings).costs
    evaluation = without_guesses(evaluate(weights, outcomes, costs))
    return Measured(evaluation, outcomes, problems, weights, uncounted)


def measure_memory(settings: Settings) -> Measured:
    """Measure what the buyer saw when deciding against the outcomes that the memory holds."""
    from triage.workspace import Workspace

    weights = load_weights(settings.weights)
    with Workspace(settings.memory) as space:
        outcomes, uncounted = space.outcomes(), space.uncounted()
    costs = load_scales(settings).costs
    evaluation = without_guesses(evaluate(weights, outcomes, costs))
    return Measured(evaluation, outcomes, (), weights, uncounted)


def drawn_by_lot(run: Run, looks: int) -> tuple[tuple[str, ...], float]:
    """Listings (by id) drawn for a close look, and the chance of each; a folder draws the same."""
    ids = tuple(row.listing.id for row in run.rows)
    seed = int.from_bytes(hashlib.sha256("\n".join(sorted(ids)).encode()).digest()[:8], "big")
    chosen, chance = draw_random_looks(ids, looks, seed)
    return tuple(chosen), chance


def draw_lots(run: Run, looks: int) -> tuple[str, ...]:
    """Listings drawn by lot for a close look, told in lines; the same folder draws the same."""
    rows = {row.listing.id: row for row in run.rows}
    chosen, chance = drawn_by_lot(run, looks)
    if not chosen:
        return ()
    told = sorted((rows[name].rank, name) for name in chosen)
    return (
        f"Drawn by lot for a close look, each with a chance of {chance:.3f}"
        " (give it as --chance when you enter the outcome):",
        *(f"  No {rank}, id {name}" for rank, name in told),
    )


def uncounted_line(uncounted: Sequence[str]) -> str:
    """How many outcomes do not count, and why; "" where all count."""
    if not uncounted:
        return ""
    each = Counter(map(printable, uncounted)).most_common()
    told = "; ".join(f"{words} ({number})" for words, number in each)
    return (
        f"{count_text(len(uncounted), 'outcome')} beside these"
        f" {'does' if len(uncounted) == 1 else 'do'} not count, telling nothing of whether the"
        f" piece was as described: {told}. A return counts with one of these reasons:"
        f" {', '.join(RETURNS)}."
    )


def figure_lines(evaluation: Evaluation) -> tuple[str, ...]:
    """The figures as lines for the terminal."""
    head = f"{count_text(evaluation.count, 'outcome')}, {evaluation.bad} not as described"
    of_all = {x.key: figure_text(x.estimate) for x in evaluation.of_all}
    figures = [
        f"{x.title:26} {figure_text(x.estimate):20} {of_all.get(x.key, '')}".rstrip()
        for x in evaluation.figures
    ]
    if of_all:
        figures.insert(0, f"{'':26} {'these pieces':20} all listings")
    apart = [
        f"{part.name}: {count_text(part.count, 'piece')}, {part.bad} not as described, "
        f"ROC AUC {figure_text(part.auc)}"
        for part in evaluation.by_choice
    ]
    return (
        head,
        *textwrap.wrap(evaluation.selection, 80),
        *figures,
        *textwrap.wrap(evaluation.of_all_says, 80),
        *textwrap.wrap(evaluation.interval, 80),
        *(apart if len(apart) > 1 else ()),
        *(line for told in evaluation.changes for line in textwrap.wrap(told, 80)),
    )


def learn_from(measured: Measured, file: Path) -> str:
    """Write the model these outcomes teach, with its card; returns what was done, as a sentence."""
    model, verdict = learn_calibrated(measured.weights, measured.outcomes)
    figures = measured.evaluation.figures
    card = make_card(
        measured.weights,
        measured.outcomes,
        made=datetime.date.today().isoformat(),
        metrics={x.key: x.estimate.value for x in figures if math.isfinite(x.estimate.value)},
        remarks=[measured.evaluation.selection, verdict.why],
    )
    save_model(file, model, card)
    learned = count_text(len(measured.outcomes), "outcome")
    return f"{learned} learned into {file}. Challenger {verdict.why}."


def read_outcomes(
    file: Path, rows: Mapping[str, Row], weights: Weights
) -> tuple[tuple[Outcome, ...], tuple[Problem, ...]]:
    """Join outcomes to ranked listings by id; the last line about a piece stands."""
    outcomes, problems, _ = _read(file, rows, weights)
    return outcomes, problems


def _read(
    file: Path, rows: Mapping[str, Row], weights: Weights
) -> tuple[tuple[Outcome, ...], tuple[Problem, ...], tuple[str, ...]]:
    """The outcomes in a file, its problems, and in words the outcomes that tell nothing."""
    try:
        lines = file.read_text("utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise UserError(f"cannot read the outcomes in {file}: {error}") from error
    outcomes: dict[str, Outcome] = {}
    problems, uncounted = [], []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            told = _told_in(line)
            outcome = _outcome_of(told, rows, weights)
        except (UserError, ValueError, TypeError, KeyError, RecursionError) as error:
            what = f"line {number} is no outcome: {error}"
            problems.append(Problem(file.name, None, what, "write id and result as JSON"))
            continue
        if outcome is None:
            uncounted.append(outcome_words(told))
        else:
            outcomes[outcome.id] = outcome
    return tuple(outcomes.values()), tuple(problems), tuple(uncounted)


def _told_in(line: str) -> dict[str, Any]:
    if len(line) > LARGEST_LINE:
        raise ValueError("the line is too long")
    told: dict[str, Any] = json.loads(line)
    return told


def _outcome_of(
    told: Mapping[str, Any], rows: Mapping[str, Row], weights: Weights
) -> Outcome | None:
    row = rows.get(told["id"])
    if row is None:
        raise ValueError(f"no listing {told['id']!r} in the folder")
    bad = label_of(told["result"], told.get("reason") or "")
    if bad is None:
        return None
    return Outcome(
        id=row.listing.id,
        amounts=amounts_of(row, weights),
        bad=bad,
        date=str(told.get("date") or ""),
        seller=told.get("seller") or row.listing.seller_id or row.listing.seller_name or "",
        photo_group=str(told.get("photo_group") or ""),
        reference=row.assessment.reference or "",
        score=_number(told, "score") if "score" in told else row.assessment.score,
        spread=None if "score" in told else spread_of(row.assessment.interval),
        rank=int(_number(told, "rank") or row.rank),
        price=_number(told, "price"),
        probability=_chance(told),
        points={str(k): v is True for k, v in (told.get("points") or {}).items()},
    )


def _chance(told: Mapping[str, Any]) -> float | None:
    chance = _number(told, "probability")
    if chance is not None and not 0.0 < chance <= 1.0:
        raise ValueError("probability is no chance from 0 to 1")
    return chance


def _number(told: Mapping[str, Any], key: str) -> float | None:
    value = told.get(key)
    if value is None:
        return None
    if not math.isfinite(float(value)):
        raise ValueError(f"{key} is no number")
    return float(value)


# --- the page ---------------------------------------------------------------------------------


def make_page(evaluation: Evaluation) -> str:
    """The evaluation as one self-contained HTML page: no script, no network, plots as SVG."""
    values = {
        "made": evaluation,
        "of_all": {x.key: x.estimate for x in evaluation.of_all},
        "wide": WIDE,
        "high": HIGH,
        "roc": path_of(evaluation.roc),
        "found": path_of(evaluation.found_good),
        "bins": [_bin_mark(one) for one in evaluation.bins],
        "curve": _curve_marks(evaluation.curve),
    }
    styles = ("report.css", "evaluation.css")
    return render_page("evaluation.html", styles, values, {"figure": figure_text})


def figure_text(estimate: Estimate) -> str:
    """A figure with its interval, or a plain word where there is none.

    >>> figure_text(Estimate(0.8123, 0.7, 0.9))
    '0.81 (0.70 to 0.90)'
    """
    if not math.isfinite(estimate.value):
        return "too few outcomes to say"
    if not math.isfinite(estimate.low):
        return f"{estimate.value:.2f}"
    return f"{estimate.value:.2f} ({estimate.low:.2f} to {estimate.high:.2f})"


def path_of(points: Iterable[tuple[float, float]]) -> str:
    """Points of the unit square as an SVG path, y upwards.

    >>> path_of([(0, 0), (1, 1)])
    'M0.0 240.0L320.0 0.0'
    """
    steps = [f"{x * WIDE:.1f} {(1 - y) * HIGH:.1f}" for x, y in points]
    return "M" + "L".join(steps) if steps else ""


def _bin_mark(one: Bin) -> dict[str, float]:
    return {
        "x": one.stated * WIDE,
        "y": (1 - one.found) * HIGH,
        "low": (1 - one.low) * HIGH,
        "high": (1 - one.high) * HIGH,
        "size": 3 + min(9.0, math.sqrt(one.count)),
        "count": one.count,
    }


def _curve_marks(curve: Sequence[CurvePoint]) -> dict[str, Any]:
    """Learning curve: number of outcomes on a logarithmic axis, zero in the middle."""
    if not curve:
        return {}
    most = max(0.02, *(abs(p.difference) + 2 * p.error for p in curve))
    right = max(1.0, math.log10(curve[-1].outcomes))

    def down(value: float) -> float:
        return (0.5 + value / most / 2) * HIGH

    marks = [
        {
            "x": math.log10(p.outcomes) / right * WIDE * 0.94,
            "y": down(p.difference),
            "low": down(p.difference - 2 * p.error),
            "high": down(p.difference + 2 * p.error),
            "outcomes": p.outcomes,
        }
        for p in curve
    ]
    return {"marks": marks, "most": most}
