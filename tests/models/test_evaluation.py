"""Figures against scikit-learn, and what the evaluation says and leaves open."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn import metrics as sk
from sklearn.calibration import calibration_curve

from models import metrics
from models.evaluate import (
    OF_ALL,
    draw_random_looks,
    evaluate,
    learn_calibrated,
    learning_curve,
    measure_all,
    reliability_bins,
    say_all,
    say_interval,
    say_selection,
    shown_risk,
    with_interval,
)
from models.outcomes import Outcome
from models.weights import load_weights

WEIGHTS = load_weights()
pairs = st.lists(
    st.tuples(st.integers(0, 1), st.sampled_from([0.05, 0.2, 0.25, 0.5, 0.7, 0.99])), min_size=2
).map(lambda rows: (np.array([r[0] for r in rows]), np.array([r[1] for r in rows])))
mixed = pairs.filter(lambda pair: 0 < pair[0].sum() < len(pair[0]))


@given(mixed)
def test_figures_equal_scikit_learn(pair):
    bad, risk = pair
    assert metrics.auc(bad, risk) == pytest.approx(sk.roc_auc_score(bad, risk))
    ours = metrics.average_precision(bad, risk)
    assert ours == pytest.approx(sk.average_precision_score(bad, risk))
    assert metrics.brier(bad, risk) == pytest.approx(sk.brier_score_loss(bad, risk))
    assert metrics.natural_log_loss(bad, risk) == pytest.approx(sk.log_loss(bad, risk))


@given(mixed)
def test_murphys_parts_add_up_to_the_brier_score(pair):
    bad, risk = pair
    parts = metrics.murphy(bad, risk)
    whole = parts.reliability - parts.resolution + parts.uncertainty
    assert whole == pytest.approx(metrics.brier(bad, risk), abs=1e-12)


@given(mixed)
def test_reliability_bins_hold_every_piece_once(pair):
    bad, risk = pair
    bins = reliability_bins(bad, risk)
    assert sum(b.count for b in bins) == len(bad)
    assert all(b.low - 1e-9 <= b.found <= b.high + 1e-9 for b in bins)


def test_reliability_bins_equal_scikit_learn_off_the_edges():
    random = np.random.default_rng(0)
    risk = random.uniform(0.01, 0.99, 500)
    bad = (random.random(500) < risk).astype(int)
    found, stated = calibration_curve(bad, risk, n_bins=5)
    assert [b.found for b in reliability_bins(bad, risk)] == pytest.approx(found)
    assert [b.stated for b in reliability_bins(bad, risk)] == pytest.approx(stated)


@pytest.mark.parametrize(
    ("risk", "saved"),
    [([0.1, 0.2, 0.8, 0.9], 0.5), ([0.9, 0.8, 0.2, 0.1], 0.0), ([0.1, 0.8, 0.2, 0.9], 0.25)],
)
def test_work_saved_counts_listings_that_need_no_opening(risk, saved):
    assert metrics.work_saved(np.array([0, 0, 1, 1]), np.array(risk)) == saved


def test_lift_of_a_perfect_order_is_one_over_the_base():
    bad = np.array([0] * 5 + [1] * 15)
    assert metrics.lift(bad, np.linspace(0, 1, 20), 5) == pytest.approx(4.0)


def test_bootstrap_of_whole_sellers_is_wider_than_of_single_pieces():
    bad, risk = [1.0] * 80 + [0.0] * 120, [0.3] * 200
    single = metrics.bootstrap(metrics.brier, bad, risk, range(200))
    grouped = metrics.bootstrap(metrics.brier, bad, risk, [i // 40 for i in range(200)])
    assert single.low <= single.value <= single.high
    assert grouped.high - grouped.low > 2 * (single.high - single.low)


def test_no_outcomes_is_said_and_no_figure_is_made_up():
    made = evaluate(WEIGHTS, [])
    assert made.count == 0
    assert made.figures == ()
    assert "not measured" in made.selection


def test_a_single_kind_of_outcome_gives_no_area():
    made = evaluate(WEIGHTS, [Outcome("a", {}, False), Outcome("b", {}, False)])
    areas = {figure.key: figure.estimate.value for figure in made.figures}
    assert math.isnan(areas["auc"])
    assert made.roc == ()


def test_evaluation_finds_the_starting_weights_good_in_their_own_world(make_outcomes):
    made = evaluate(WEIGHTS, make_outcomes(250))
    area = next(figure.estimate for figure in made.figures if figure.key == "auc")
    assert area.low > 0.6
    assert area.low <= area.value <= area.high
    assert made.found_good[-1] == (1.0, 1.0)
    assert {part.name for part in made.by_reference} == {"no sheet"}
    assert made.bad == sum(outcome.bad for outcome in make_outcomes(250))


def test_inspected_points_are_told_with_an_exact_interval():
    seen = [Outcome(f"{n}", {}, False, points={"bridge": n < 8}) for n in range(10)]
    (one,) = evaluate(WEIGHTS, seen).inspected
    assert (one.point, one.held, one.seen) == ("bridge", 8, 10)
    assert (one.low, one.high) == pytest.approx((0.4439, 0.9748), abs=1e-4)


def test_shown_scores_are_judged_where_they_were_kept(make_outcomes):
    outcomes = [replace(o, score=5.0 if o.bad else -5.0) for o in make_outcomes(60)]
    area = next(f.estimate for f in evaluate(WEIGHTS, outcomes).figures if f.key == "auc")
    assert area.value == 1.0


def test_claims_are_kept_to_bought_pieces_without_random_looks(make_outcomes):
    outcomes = make_outcomes(10)
    assert "bought pieces only" in say_selection(outcomes)
    looked = [replace(outcomes[0], probability=0.1), *outcomes[1:]]
    assert "1 of 10" in say_selection(looked)


def test_pieces_drawn_by_lot_are_measured_apart(make_outcomes):
    outcomes = [
        replace(o, probability=0.1) if n % 3 == 0 else o for n, o in enumerate(make_outcomes(90))
    ]
    chosen, drawn = evaluate(WEIGHTS, outcomes).by_choice
    assert (chosen.name, chosen.count) == ("chosen by you", 60)
    assert (drawn.name, drawn.count) == ("drawn by lot", 30)
    assert drawn.bad == sum(o.bad for o in outcomes[::3])
    assert drawn.auc.low <= drawn.auc.value <= drawn.auc.high


def test_learning_curve_tests_only_on_later_outcomes_of_others(make_outcomes):
    outcomes = make_outcomes(120)
    assert [point.outcomes for point in learning_curve(WEIGHTS, outcomes)] == [5, 10, 20, 50, 100]
    one_seller = [replace(outcome, seller="s") for outcome in outcomes]
    assert learning_curve(WEIGHTS, one_seller) == ()


def test_learned_model_is_calibrated_once_there_is_enough(make_outcomes):
    few, _ = learn_calibrated(WEIGHTS, make_outcomes(20))
    many, verdict = learn_calibrated(WEIGHTS, make_outcomes(150))
    assert few.calibrate is None
    assert many.calibrate is not None
    assert not verdict.takes_over


def test_random_looks_are_fair_logged_and_do_not_depend_on_order():
    ids = [f"{n}" for n in range(50)]
    chosen, chance = draw_random_looks(ids, 5, seed=1)
    assert len(chosen) == 5
    assert chance == 0.1
    assert draw_random_looks(ids[::-1], 5, seed=1) == (chosen, chance)
    assert draw_random_looks([], 5, seed=1) == ((), 0.0)
    counts = dict.fromkeys(ids, 0)
    for seed in range(400):
        for name in draw_random_looks(ids, 5, seed)[0]:
            counts[name] += 1
    assert min(counts.values()) > 15
    assert max(counts.values()) < 75


weighted = st.lists(
    st.tuples(
        st.integers(0, 1),
        st.sampled_from([0.05, 0.2, 0.25, 0.5, 0.7, 0.99]),
        st.floats(0.5, 40),
    ),
    min_size=2,
).map(lambda rows: tuple(np.array(column) for column in zip(*rows, strict=True)))


@given(weighted.filter(lambda columns: 0 < columns[0].sum() < len(columns[0])))
def test_figures_of_pieces_that_stand_for_several_equal_scikit_learn(columns):
    bad, risk, w = columns
    assert metrics.auc(*columns) == pytest.approx(sk.roc_auc_score(bad, risk, sample_weight=w))
    ours = metrics.average_precision(*columns)
    assert ours == pytest.approx(sk.average_precision_score(bad, risk, sample_weight=w))
    ours = metrics.brier(*columns)
    assert ours == pytest.approx(sk.brier_score_loss(bad, risk, sample_weight=w))
    ours = metrics.natural_log_loss(*columns)
    assert ours == pytest.approx(sk.log_loss(bad, risk, sample_weight=w))


@given(pairs, st.integers(2, 5))
def test_a_piece_that_stands_for_several_counts_like_so_many_pieces(pair, times):
    bad, risk = pair
    w = np.array([times, *[1] * (len(bad) - 1)])
    for figure in (metrics.share_bad, metrics.brier, metrics.natural_log_loss):
        repeated = figure(np.repeat(bad, w), np.repeat(risk, w))
        assert figure(bad, risk, w) == pytest.approx(repeated)
    ours = metrics.calibration_error(bad, risk, 5, w)
    again = metrics.calibration_error(np.repeat(bad, w), np.repeat(risk, w), 5)
    assert ours == pytest.approx(again)


def test_random_looks_bring_figures_for_listings_nobody_chose(make_outcomes):
    """The buyer chose the quarter of lowest risk; a tenth of the rest was drawn by lot."""
    market = sorted(make_outcomes(1200), key=metrics_score)
    random = np.random.default_rng(5)
    lot = [replace(o, probability=0.1) for o in market[300:] if random.random() < 0.1]
    seen = [*market[:300], *lot]
    bad, risk = columns_of(seen)
    for one in measure_all(seen, bad, risk, range(len(seen))):
        truth = OF_ALL[one.key](*columns_of(market), np.ones(len(market)))
        assert one.estimate.low <= truth <= one.estimate.high, one.key
    # what the pieces without their chances would say
    assert bad.mean() < columns_of(market)[0].mean() - 0.04
    assert f"Each of {len(lot)} pieces drawn by lot" in say_all(seen)


def columns_of(outcomes) -> tuple[np.ndarray, np.ndarray]:
    risk = np.array([shown_risk(WEIGHTS, o) for o in outcomes])
    return np.array([float(o.bad) for o in outcomes]), risk


def metrics_score(outcome: Outcome) -> float:
    return sum(WEIGHTS.rows[code].log_odds for code in outcome.amounts)


def test_without_random_looks_nothing_is_claimed_of_all_listings(make_outcomes):
    made = evaluate(WEIGHTS, make_outcomes(40))
    assert (made.of_all, made.of_all_says) == ((), "")


def test_the_places_of_chosen_pieces_are_told(make_outcomes):
    outcomes = [replace(o, rank=n + 1) for n, o in enumerate(make_outcomes(9))]
    assert "from No 1 to 9 in the order, the middle one No 5" in say_selection(outcomes)


@pytest.mark.parametrize(
    ("score", "told"), [(4.0, "would have been right"), (0.1, "no difference beyond noise")]
)
def test_intervals_are_held_against_outcomes(score, told):
    """Half of the pieces are bad, whatever was stated with much doubt."""
    outcomes = [
        Outcome(f"{n}", {}, n % 2 == 0, score=score, spread=2.0 if score > 1 else 0.01)
        for n in range(80)
    ]
    assert told in say_interval(outcomes)


def test_an_interval_counted_in_is_the_mean_over_it():
    random = np.random.default_rng(0).normal(1.5, 1.0, 200_000)
    mean = float((1 / (1 + np.exp(-random))).mean())
    assert with_interval(1.5, 1.0) == pytest.approx(mean, abs=0.005)
