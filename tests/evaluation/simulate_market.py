"""A simulated market for the learner: what outcomes buy in each world, and if intervals hold.

Run by hand:  python -m tests.evaluation.simulate_market [--replicates 200]

The generator. A listing has a sheet of ten points (three sizes, five of construction, two
inscriptions). A share of them is stated (uniform from 0 to 1 of the sheet); a stated point agrees
in 88, conflicts in 8 and is undecided in 4 of 100 cases; two conflicts in three are firm. Each cue
of wording stands in 5 to 25 of 100 listings. The findings go through the tool's own features, so
causes, families and caps are as in use. The chance of being not as described is logistic in the
amounts; what changes from world to world is its truth:

as believed       every weight, the starting share and the spread of habits, drawn around the
                  starting figure with its spread; what is unstated adds chance as much as the
                  weights file says. The intervals claim to hold here
four a seller     as believed, four pieces a seller, who has one habit. They claim to hold here too
other share       as believed, but four pieces in ten are bad and the buyer still says two
strong habits     as four a seller, with habits three times as strong (breaks the assumption)
louder weights    all weights half as large again as believed (breaks the assumption)
cheap conflicts   conflicts weigh a third of what is believed: careless honest sellers (breaks it)
silence tells     who leaves out half of the sheet hides something (breaks it)
two together      conflicts only matter when there are two of them (breaks it)
chosen pieces     as believed, but outcomes come only from the third of lowest risk, as buyers do

Each replicate draws a new truth, learns from n outcomes and is tested on 500 new listings. Shown:
mean log loss of learned less starting weights with its 95 % interval over replicates, and the share
of listings whose true chance lies in the stated 90 % interval.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, log_expit

from extractors.records import Evidence, KeyPhrase, Listing
from models.features import amounts, signs_of
from models.learn import codes, learn
from models.outcomes import Outcome
from models.records import Finding
from models.risk import Z90, Model, starting_model
from models.weights import load_weights

Floats = NDArray[np.float64]
WEIGHTS = load_weights()
CODES = codes(WEIGHTS)
START = np.array([row.log_odds for row in WEIGHTS.rows.values()])
SPREAD = np.array([row.spread for row in WEIGHTS.rows.values()])
LOW = np.array([row.at_least for row in WEIGHTS.rows.values()])
HIGH = np.array([row.at_most for row in WEIGHTS.rows.values()])
CONFLICT = np.array([".conflicts" in code for code in CODES])

SHEET = (
    *[("measurements", point) for point in ("lens_width", "bridge", "temple_length")],
    *[("points", f"build_{n}") for n in range(5)],
    *[("inscriptions", f"words_{n}") for n in range(2)],
)
WORDING = {
    "urgency": 0.1, "returns_refused": 0.25, "off_platform_payment": 0.06, "stock_text": 0.05,
    "off_platform_contact": 0.08, "provenance_offered": 0.08, "more_photos_offered": 0.15,
}  # fmt: skip
SIZES_LEARNED = (5, 50, 200)
TESTED = 500


@dataclass(frozen=True)
class Drawn:
    """Listings as the model sees them: amounts (n, p), completeness (n,), number of conflicts."""

    x: Floats
    completeness: Floats
    conflicts: Floats


@dataclass(frozen=True)
class World:
    """How a world differs: its weights, its share, and what else moves the odds."""

    name: str
    matches: bool
    weights: Callable[[np.random.Generator], Floats] | None = None
    share: float | None = None
    habits: float = 1.0  # in units of the believed spread
    seller_size: int = 1
    extra: Callable[[Drawn], Floats] | None = None
    chosen: bool = False


def _pull_down_single(drawn: Drawn) -> Floats:
    """Take back what a lone conflict weighs."""
    return np.where(drawn.conflicts == 1, -(drawn.x[:, CONFLICT] @ START[CONFLICT]), 0.0)


WORLDS = (
    World("as believed", True),
    World("four a seller", True, seller_size=4),
    World("other share", False, share=0.4),
    World("strong habits", False, habits=3.0, seller_size=4),
    World("louder weights", False, weights=lambda random: START * 1.5),
    World("cheap conflicts", False, weights=lambda random: np.where(CONFLICT, START / 3, START)),
    World("silence tells", False, extra=lambda drawn: 1.5 * (drawn.completeness < 0.5)),
    World("two together", False, extra=_pull_down_single),
    World("chosen pieces", False, chosen=True),
)


def draw_listings(random: np.random.Generator, n: int) -> Drawn:
    """Draw listings and put them through the tool's own features."""
    rows, told, conflicts = [], [], []
    for number in range(n):
        findings = tuple(_draw_findings(random))
        cues = [name for name, chance in WORDING.items() if random.random() < chance]
        evidence = Evidence(f"{number}", key_phrases=tuple(KeyPhrase(cue, ()) for cue in cues))
        stated = sum(finding.result != "not_stated" for finding in findings) / len(SHEET)
        signs = signs_of(Listing(f"{number}", ""), evidence, findings, stated, (), WEIGHTS)
        vector = amounts(signs)
        rows.append([vector.get(code, 0.0) for code in CODES])
        told.append(stated)
        conflicts.append(sum(finding.result == "conflicts" for finding in findings))
    return Drawn(np.array(rows), np.array(told), np.array(conflicts))


def _draw_findings(random: np.random.Generator) -> Iterator[Finding]:
    stated = random.random()
    for check, point in SHEET:
        result = "not_stated"
        if random.random() < stated:
            result = str(random.choice(["agrees", "conflicts", "undecided"], p=[0.88, 0.08, 0.04]))
        strength = "hard" if random.random() < 0.67 else "soft"
        yield Finding(check, point, result, strength, "")  # type: ignore[arg-type]


def draw_truth(world: World, random: np.random.Generator) -> tuple[float, Floats, float]:
    """The world's own starting log-odds, weights and spread of habits for one replicate."""
    share = world.share or WEIGHTS.prior.share
    intercept = float(np.log(share / (1 - share)))
    habits = WEIGHTS.habit_spread * world.habits
    if world.habits == 1.0:
        habits *= float(np.exp(WEIGHTS.habit_doubt * random.normal()))
    if world.weights is not None:
        return intercept, world.weights(random), habits
    weights = np.clip(random.normal(START, SPREAD), LOW, HIGH)
    if world.share is None:
        intercept = float(random.normal(intercept, WEIGHTS.prior.spread))
    return intercept, weights, habits


def true_log_odds(
    world: World, truth: tuple[float, Floats, float], drawn: Drawn, random: np.random.Generator
) -> Floats:
    """The log-odds that rule in this world, listing by listing."""
    n = len(drawn.x)
    odds = truth[0] + drawn.x @ truth[1]
    odds = odds + random.normal(size=n) * WEIGHTS.unstated_spread * (1 - drawn.completeness)
    habits = truth[2] * random.normal(size=n)
    odds = odds + np.repeat(habits, world.seller_size)[:n]
    if world.extra is not None:
        odds = odds + world.extra(drawn)
    return odds


def as_outcomes(drawn: Drawn, bad: NDArray[np.bool_], seller_size: int) -> list[Outcome]:
    """Outcomes as the learner takes them; `seller_size` pieces belong to one seller."""
    return [
        Outcome(
            f"{i:05}",
            {code: value for code, value in zip(CODES, row, strict=True) if value},
            bool(bad[i]),
            seller=f"s{i // seller_size}",
        )
        for i, row in enumerate(drawn.x)
    ]


def scores(model: Model, drawn: Drawn) -> Floats:
    """Log-odds of all listings under a linear model."""
    weights = np.array([model.coefficients[code] for code in CODES])
    made: Floats = model.intercept + drawn.x @ weights
    return made


def spreads(model: Model, drawn: Drawn) -> Floats:
    """Standard deviation of each score as `models.risk.spread_of_score` has it."""
    unstated = model.unstated_spread * (1 - drawn.completeness)
    if model.covariance is None:
        known = model.intercept_spread**2 + (drawn.x**2) @ SPREAD**2
    else:
        names = ("", *CODES)
        table = np.array([[model.covariance.get((a, b), 0.0) for b in names] for a in names])
        full = np.column_stack([np.ones(len(drawn.x)), drawn.x])
        known = np.einsum("ij,jk,ik->i", full, table, full)
    made: Floats = np.sqrt(known + unstated**2 + model.habit_spread**2)
    return made


def expected_loss(odds: Floats, truth: Floats) -> float:
    """Mean log loss over the true chances (no luck of the draw in the test)."""
    p = expit(truth)
    return float(-(p * log_expit(odds) + (1 - p) * log_expit(-odds)).mean())


def coverage(model: Model, drawn: Drawn, truth: Floats) -> float:
    """Share of listings whose true chance lies within the stated 90 % interval."""
    made, spread = scores(model, drawn), spreads(model, drawn)
    return float((np.abs(truth - made) <= Z90 * spread).mean())


def run_once(
    world: World, seed: int, pool: Drawn, test: Drawn
) -> Mapping[int, tuple[float, float]]:
    """One replicate: {n: (loss of learned less starting weights, coverage)}; n = 0 is the start."""
    random = np.random.default_rng(seed)
    truth = draw_truth(world, random)
    order = random.permutation(len(pool.x))
    start = starting_model(WEIGHTS)
    if world.chosen:
        best = np.argsort(scores(start, pool)[order])[: len(order) // 3]
        order = random.permutation(order[best])
    tested = true_log_odds(world, truth, test, random)
    base = expected_loss(scores(start, test), tested)
    made = {0: (0.0, coverage(start, test, tested))}
    for n in SIZES_LEARNED:
        rows = order[:n]
        part = Drawn(pool.x[rows], pool.completeness[rows], pool.conflicts[rows])
        odds = true_log_odds(world, truth, part, random)
        bad = random.random(len(rows)) < expit(odds)
        model = learn(WEIGHTS, as_outcomes(part, bad, world.seller_size))
        loss = expected_loss(scores(model, test), tested) - base
        made[n] = (loss, coverage(model, test, tested))
    return made


def simulate(world: World, replicates: int, pool: Drawn, test: Drawn) -> None:
    """Print one world's lines of the table."""
    runs = [run_once(world, seed, pool, test) for seed in range(replicates)]
    for n in (0, *SIZES_LEARNED):
        gains = np.array([run[n][0] for run in runs])
        half = 1.96 * gains.std(ddof=1) / np.sqrt(replicates)
        held = float(np.mean([run[n][1] for run in runs]))
        kind = "matches" if world.matches else "breaks"
        loss = f"{gains.mean():+.4f} ± {half:.4f}" if n else "start".center(17)
        print(f"{world.name:16} {kind:8} {n:4}  {loss}   {held:.3f}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--replicates", type=int, default=200)
    replicates = parser.parse_args().replicates
    random = np.random.default_rng(12345)
    pool, test = draw_listings(random, 3000), draw_listings(random, TESTED)
    print("world            kind        n  log loss learned - start   in 90 % interval")
    for world in WORLDS:
        simulate(world, replicates, pool, test)


if __name__ == "__main__":
    main()
