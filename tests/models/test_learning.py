"""Outcomes move the weights as far as the priors let them, and taking one back undoes it."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from itertools import pairwise, permutations
from math import factorial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.linear_model import LogisticRegression

from extractors.errors import UserError
from models import trees
from models.artefact import digest_of, load_model, make_card, save_model
from models.calibrate import Platt, Steps, VennAbers, fit_calibration, fit_platt, fit_steps
from models.challenger import folds_in_time, grow, is_due, try_challenger
from models.learn import PriorLogistic, codes, design_of, learn, prior_learner
from models.outcomes import (
    LABELS,
    RETURNS,
    Outcome,
    group_outcomes,
    group_weights,
    label_of,
    reliability,
)
from models.risk import probability, starting_model
from models.trees import Node, Trees
from models.weights import load_weights

WEIGHTS = load_weights()
CODES = codes(WEIGHTS)


some_outcomes = st.lists(
    st.builds(
        Outcome,
        id=st.uuids().map(str),
        amounts=st.dictionaries(st.sampled_from(CODES), st.floats(0, 1), max_size=5),
        bad=st.booleans(),
    ),
    max_size=8,
    unique_by=lambda outcome: outcome.id,
)
one_outcome = st.builds(
    Outcome,
    id=st.just("one more"),
    amounts=st.dictionaries(st.sampled_from(CODES), st.floats(0, 1), max_size=5),
    bad=st.booleans(),
)


def as_vector(model):
    return np.array([model.intercept, *(model.coefficients[code] for code in CODES)])


def test_without_outcomes_the_model_is_the_starting_model():
    assert learn(WEIGHTS, []) == starting_model(WEIGHTS)


def test_classifier_before_any_outcome_gives_the_risk_of_the_starting_weights(make_outcomes):
    """The scikit-learn classifier and the sum of steps are one model, from the first listing on."""
    columns = design_of(make_outcomes(40), CODES)
    fitted = prior_learner(WEIGHTS).fit(np.empty((0, len(CODES))), np.empty(0, int))
    start = starting_model(WEIGHTS)
    weights = np.array([start.coefficients[code] for code in CODES])
    expected = [probability(start.intercept + row @ weights) for row in columns]
    assert fitted.predict_proba(columns)[:, 1] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("n", "measured"), [(1, False), (29, False), (30, True), (200, True)])
def test_the_start_is_called_not_measured_until_there_are_enough_outcomes(
    make_outcomes, tmp_path, n, measured
):
    outcomes = make_outcomes(n)
    model = learn(WEIGHTS, outcomes)
    assert ("not measured" not in model.note) is measured
    assert f"{n} outcomes" in model.note
    save_model(tmp_path / "m.json", model, make_card(WEIGHTS, outcomes, "", {}, []))
    assert load_model(tmp_path / "m.json", WEIGHTS).note == model.note


def test_order_of_outcomes_does_not_matter(make_outcomes):
    outcomes = make_outcomes(30)
    assert learn(WEIGHTS, outcomes) == learn(WEIGHTS, outcomes[::-1])


def test_a_withdrawn_outcome_brings_the_model_back_exactly(make_outcomes):
    outcomes = make_outcomes(30)
    before = learn(WEIGHTS, outcomes)
    during = learn(WEIGHTS, [*outcomes, Outcome("x", {"any.conflicts.hard": 1.0}, False)])
    assert during != before
    assert learn(WEIGHTS, list(outcomes)) == before


@settings(max_examples=60, deadline=None)
@given(some_outcomes, one_outcome)
def test_one_outcome_moves_the_weights_no_more_than_the_prior_allows(outcomes, added):
    """In units of its spread the whole change is at most the length of the outcome, likewise."""
    start = prior_learner(WEIGHTS)
    spreads = np.asarray(start.spreads)
    before = as_vector(learn(WEIGHTS, outcomes))
    after = as_vector(learn(WEIGHTS, [*outcomes, added]))
    x = np.concatenate([[1.0], design_of([added], CODES)[0]])
    assert np.linalg.norm((after - before) / spreads) <= np.linalg.norm(spreads * x) + 1e-4


@settings(max_examples=60, deadline=None)
@given(some_outcomes)
def test_no_outcome_takes_a_weight_out_of_its_bounds(outcomes):
    model = learn(WEIGHTS, outcomes)
    for code, row in WEIGHTS.rows.items():
        assert row.at_least - 1e-9 <= model.coefficients[code] <= row.at_most + 1e-9


def test_outcomes_of_one_seller_count_less_than_as_many_of_several():
    sign = {"any.conflicts.soft": 1.0}
    apart = [Outcome(f"{i}", sign, False, seller=f"s{i}") for i in range(10)]
    together = [replace(outcome, seller="s") for outcome in apart]
    start = WEIGHTS.rows["any.conflicts.soft"].log_odds
    moved = [
        start - learn(WEIGHTS, o).coefficients["any.conflicts.soft"] for o in (apart, together)
    ]
    assert moved[0] > moved[1] > 0


def test_learner_equals_scikit_learn_where_both_can_do_it():
    random = np.random.default_rng(3)
    x = random.normal(size=(200, 4))
    y = (x @ [1, -1, 0.5, 0] + random.normal(size=200) > 0).astype(int)
    theirs = LogisticRegression(C=4.0, tol=1e-10, max_iter=5000).fit(x, y)
    ours = PriorLogistic(spreads=np.array([1e6, 2, 2, 2, 2])).fit(x, y)
    assert ours.coef_ == pytest.approx(theirs.coef_, abs=1e-5)
    assert ours.intercept_ == pytest.approx(theirs.intercept_, abs=1e-5)
    assert ours.predict_proba(x) == pytest.approx(theirs.predict_proba(x), abs=1e-5)
    assert (ours.predict(x) == theirs.predict(x)).all()


def test_interval_narrows_with_outcomes(make_outcomes):
    few, many = (learn(WEIGHTS, make_outcomes(n)).covariance for n in (5, 300))
    assert many["", ""] < few["", ""] < WEIGHTS.prior.spread**2


@pytest.mark.parametrize(("outcome", "label"), sorted(LABELS.items()))
def test_every_defined_outcome_has_its_label(outcome, label):
    assert label_of(outcome.upper()) is label


@pytest.mark.parametrize(("reason", "label"), [*RETURNS.items(), ("lost on the way", None)])
def test_a_return_counts_by_its_reason(reason, label):
    assert label_of("returned", reason) is label


def test_not_bought_is_no_label_and_an_unknown_word_is_an_error():
    assert label_of("not bought") is None
    with pytest.raises(UserError, match="no outcome"):
        label_of("meh")


def test_groups_join_sellers_and_photos_in_chains():
    outcomes = [
        Outcome("a", {}, True, seller="s"),
        Outcome("b", {}, True, seller="s", photo_group="p"),
        Outcome("c", {}, True, photo_group="p"),
        Outcome("d", {}, True),
        Outcome("e", {}, True),
    ]
    assert group_outcomes(outcomes) == (0, 0, 0, 1, 2)
    assert group_weights([0, 0, 1], 0.0) == (1.0, 1.0, 1.0)


def test_inspected_points_are_counted_per_point():
    outcomes = [
        Outcome("a", {}, True, points={"bridge": True, "badge": False}),
        Outcome("b", {}, False, points={"bridge": False}),
    ]
    assert reliability(outcomes) == {"bridge": (1, 2), "badge": (0, 1)}


def test_folds_in_time_keep_sellers_apart_and_test_later(make_outcomes):
    outcomes = make_outcomes(200, sellers=60)
    groups = group_outcomes(outcomes)
    folds = list(folds_in_time(outcomes))
    assert folds
    for training, test in folds:
        assert not {groups[i] for i in training} & {groups[i] for i in test}
        assert max(outcomes[i].date for i in training) <= min(outcomes[i].date for i in test)


def test_challenger_is_not_tried_on_little_and_says_what_is_lacking(make_outcomes):
    verdict = try_challenger(WEIGHTS, make_outcomes(40))
    assert not verdict.takes_over
    assert "of 100" in verdict.why
    assert verdict.difference is None


@pytest.mark.slow
def test_challenger_does_not_take_over_where_the_linear_world_holds(make_outcomes):
    outcomes = make_outcomes(500)
    assert is_due(outcomes)[0]
    verdict = try_challenger(WEIGHTS, outcomes)
    assert not verdict.takes_over
    assert verdict.difference is not None


@pytest.mark.slow
def test_challenger_takes_over_where_only_two_signs_together_matter(make_outcomes):
    random = np.random.default_rng(1)
    outcomes = []
    for outcome in make_outcomes(900, seed=1):
        pair = {
            name: float(random.random() < 0.5) for name in ("wording.urgency", "wording.hedged")
        }
        outcomes.append(replace(outcome, amounts=pair, bad=sum(pair.values()) == 2))
    verdict = try_challenger(WEIGHTS, outcomes)
    assert verdict.takes_over
    assert verdict.why.startswith("takes over")


def test_tree_steps_add_up_and_trees_equal_the_library_they_came_from(make_outcomes):
    outcomes = make_outcomes(300)
    grown = grow(WEIGHTS, outcomes)
    for outcome in outcomes[:20]:
        total = grown.start() + sum(grown.shapley(outcome.amounts).values())
        assert abs(total - grown.score(outcome.amounts)) < 1e-9


def test_trees_score_as_scikit_learn_does(make_outcomes):
    from sklearn.ensemble import HistGradientBoostingClassifier

    outcomes = make_outcomes(200)
    x = design_of(outcomes, CODES)
    y = [int(outcome.bad) for outcome in outcomes]
    booster = HistGradientBoostingClassifier(max_iter=20, max_leaf_nodes=5).fit(x, y)
    ours = trees.trees_of(booster, CODES)
    theirs = booster.decision_function(x)
    assert [ours.score(outcome.amounts) for outcome in outcomes] == pytest.approx(theirs)


def test_shapley_of_a_tree_worked_by_hand():
    """AND of two fair coins: each is worth 3/8 when both are up (start 1/4, score 1)."""
    tree = (
        Node(0, 4, "a", 0.5, 1, 2),
        Node(0.0, 2),
        Node(0, 2, "b", 0.5, 3, 4),
        Node(0.0, 1),
        Node(1.0, 1),
    )
    grown = Trees(0.0, (tree,))
    assert grown.start() == pytest.approx(0.25)
    assert grown.shapley({"a": 1, "b": 1}) == pytest.approx({"a": 0.375, "b": 0.375})


def test_no_conflict_lowers_the_risk_in_the_challenger(make_outcomes):
    grown = grow(WEIGHTS, make_outcomes(400))
    for outcome in make_outcomes(50, seed=9):
        more = {**outcome.amounts, "any.conflicts.hard": 1.0}
        less = {**outcome.amounts, "any.conflicts.hard": 0.0}
        assert grown.score(more) >= grown.score(less) - 1e-12


@pytest.mark.parametrize(("n", "kind"), [(10, None), (60, Platt), (400, VennAbers), (1500, Steps)])
def test_calibration_is_chosen_by_the_amount_of_data(n, kind):
    random = np.random.default_rng(n)
    scores = random.normal(size=n)
    bad = [bool(random.random() < 1 / (1 + math.exp(-s))) for s in scores]
    made = fit_calibration(scores.tolist(), bad)
    assert made is None if kind is None else isinstance(made, kind)


@pytest.mark.parametrize("fit", [fit_platt, fit_steps, lambda s, b: VennAbers(tuple(s), tuple(b))])
def test_calibration_never_turns_the_order_round(fit):
    random = np.random.default_rng(5)
    scores = random.normal(size=150).tolist()
    bad = [bool(random.random() < 1 / (1 + math.exp(-s))) for s in scores]
    calibrate = fit(scores, bad)
    made = [calibrate(s) for s in np.linspace(-4, 4, 41)]
    assert all(b >= a - 1e-9 for a, b in pairwise(made))


def test_venn_abers_bounds_hold_the_merged_value():
    calibrate = VennAbers((-1.0, 0.0, 1.0, 2.0), (False, True, False, True))
    low, high = calibrate.bounds(0.5)
    assert low <= 1 / (1 + math.exp(-calibrate(0.5))) <= high


CALIBRATIONS = [None, Platt(1.5, -0.2), Steps((-1.0, 0.0), (-2.0, 1.0)),
                VennAbers((-1.0, 1.0), (False, True))]  # fmt: skip


@pytest.mark.parametrize("calibration", CALIBRATIONS)
@pytest.mark.parametrize("boosted", [False, True])
def test_a_stored_model_comes_back_equal(make_outcomes, tmp_path, calibration, boosted):
    outcomes = make_outcomes(120)
    model = learn(WEIGHTS, outcomes)
    grown = grow(WEIGHTS, outcomes) if boosted else None
    model = replace(model, trees=grown, calibrate=calibration)
    card = make_card(WEIGHTS, outcomes, "2026-01-01", {"auc": 0.8}, ["bought pieces only"])
    save_model(tmp_path / "m.json", model, card)
    back = load_model(tmp_path / "m.json", WEIGHTS)
    assert back.coefficients == model.coefficients
    assert back.covariance == model.covariance
    assert back.habit_spread == model.habit_spread
    assert (back.trees, back.calibrate, back.intercept) == (grown, calibration, model.intercept)
    assert back.card["data_digest"] == digest_of(outcomes[::-1])


def _damage(path, change):
    table = json.loads(path.read_text())
    change(table)
    path.write_text(json.dumps(table))


BROKEN = [
    ("another format", lambda t: t.update(format="x")),
    ("an extra key", lambda t: t.update(code="import os")),
    ("a later version", lambda t: t.update(version=99)),
    ("a weight out of bounds", lambda t: t["coefficients"].update({"any.conflicts.hard": -1})),
    ("a weight that is no number", lambda t: t["coefficients"].update({"any.agrees": "0"})),
    ("an unknown code", lambda t: t["coefficients"].update({"nothing": 1})),
    ("other starting weights", lambda t: t["card"].update(weights_digest="0")),
    ("a card without its count", lambda t: t["card"].pop("outcomes")),
    ("a spread below zero", lambda t: t.update(habit_spread=-0.1)),
    ("a huge intercept", lambda t: t.update(intercept=1e9)),
    ("a looping tree", lambda t: t.update(
        trees={"baseline": 0, "trees": [[[0, 1, "any.agrees", 0.5, 0, 0]]]})),
    ("a falling staircase", lambda t: t.update(
        calibration={"kind": "isotonic", "edges": [0, 1], "values": [1, 0]})),
    ("an unknown calibration", lambda t: t.update(calibration={"kind": "magic"})),
    ("a bad covariance", lambda t: t.update(covariance=[["", "", "x"]])),
]  # fmt: skip


@pytest.mark.parametrize(("name", "change"), BROKEN, ids=[case[0] for case in BROKEN])
def test_a_damaged_model_is_refused(make_outcomes, tmp_path, name, change):
    outcomes = make_outcomes(20)
    path = tmp_path / "m.json"
    save_model(path, learn(WEIGHTS, outcomes), make_card(WEIGHTS, outcomes, "", {}, []))
    _damage(path, change)
    with pytest.raises(UserError):
        load_model(path, WEIGHTS)


@pytest.mark.parametrize("data", [b"", b"{", b"[1]", b"\x80\x04K\x01.", b'{"intercept": NaN}',
                                  b"[" * 100_000])  # fmt: skip
def test_anything_else_than_a_stored_model_is_refused(tmp_path, data):
    (tmp_path / "m.json").write_bytes(data)
    with pytest.raises(UserError):
        load_model(tmp_path / "m.json", WEIGHTS)


def _grown(draw, names, depth, nodes):
    """Draw a small tree into `nodes`, children after their parent; returns its place and count."""
    at = len(nodes)
    nodes.append(None)
    if depth == 0 or draw(st.booleans()):
        count = draw(st.integers(1, 9))
        nodes[at] = Node(draw(st.floats(-2, 2)), count)
        return at, count
    name, threshold = draw(st.sampled_from(names)), draw(st.sampled_from([0.25, 0.5, 0.75]))
    left, many = _grown(draw, names, depth - 1, nodes)
    right, few = _grown(draw, names, depth - 1, nodes)
    nodes[at] = Node(0.0, many + few, name, threshold, left, right)
    return at, many + few


@st.composite
def some_trees(draw):
    nodes: list[Node] = []
    _grown(draw, ["a", "b", "c", "d"], 3, nodes)
    return tuple(nodes)


def _expected(tree, known, amounts, at=0):
    """Conditional mean by walking down; what is not known goes both ways by count."""
    node = tree[at]
    if node.feature is None:
        return node.value
    ways = [node.left if amounts[node.feature] <= node.threshold else node.right]
    if node.feature not in known:
        ways = [node.left, node.right]
    total = sum(tree[way].count for way in ways)
    return sum(tree[way].count / total * _expected(tree, known, amounts, way) for way in ways)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(some_trees(), min_size=1, max_size=3),
    st.lists(st.floats(0, 1), min_size=4, max_size=4),
)
def test_shapley_values_equal_the_mean_over_all_orders_in_which_features_become_known(made, values):
    amounts = dict(zip("abcd", values, strict=True))
    grown = Trees(0.3, tuple(made))
    parts = grown.shapley(amounts)
    for name in amounts:
        gains = []
        for order in permutations(amounts):
            before = set(order[: order.index(name)])
            gains += [
                _expected(t, before | {name}, amounts) - _expected(t, before, amounts) for t in made
            ]
        assert parts.get(name, 0.0) == pytest.approx(sum(gains) / factorial(4), abs=1e-9)
    assert grown.start() + sum(parts.values()) == pytest.approx(grown.score(amounts), abs=1e-9)
