"""Published values of statistics, each with its source, through the project's own code.

Where scikit-learn computes the same figure it serves as the second witness.
"""

from __future__ import annotations

import math
import os
from pathlib import Path

import numpy as np
import pytest
from sklearn import metrics as sk
from sklearn.datasets import load_breast_cancer
from sklearn.isotonic import IsotonicRegression
from sklearn.model_selection import StratifiedKFold
from sklearn.preprocessing import StandardScaler

from models import metrics
from models.calibrate import EDGE, fit_calibration, fit_steps, merge_bounds, platt_targets
from models.features import Sign
from models.learn import PriorLogistic, learn
from models.outcomes import Outcome
from models.risk import add_up, explain, probability
from models.weights import (
    Family,
    Prior,
    Weight,
    Weights,
    in_bits,
    in_decibans,
    weight_of_evidence,
)

BAD = np.array([1, 0, 1, 1, 0, 0, 1, 0])
RISK = np.array([0.9, 0.8, 0.8, 0.6, 0.4, 0.4, 0.4, 0.1])


def test_auc_counts_ties_half():
    """Mann-Whitney form of the ROC area (F160); scikit-learn agrees."""
    pairs = [(p > q) + 0.5 * (p == q) for p in RISK[BAD == 1] for q in RISK[BAD == 0]]
    assert metrics.auc(BAD, RISK) == np.mean(pairs) == 0.78125 == sk.roc_auc_score(BAD, RISK)


def test_auc_of_equal_scores_is_one_half():
    """Mann-Whitney form of the ROC area (F161)."""
    assert metrics.auc(BAD, np.full(8, 0.3)) == 0.5


def test_example_of_the_scikit_learn_documentation():
    """scikit-learn documentation of roc_auc_score and average_precision_score (F162)."""
    bad, risk = np.array([0, 0, 1, 1]), np.array([0.1, 0.4, 0.35, 0.8])
    assert metrics.auc(bad, risk) == 0.75
    assert metrics.average_precision(bad, risk) == pytest.approx(0.8333, abs=5e-5)


def test_average_precision_takes_ties_together():
    """Sum of (R_n - R_n-1) P_n over distinct thresholds, scikit-learn's definition (F163)."""
    assert metrics.average_precision(BAD, RISK) == pytest.approx(0.7470238, abs=1e-6)


def test_error_of_an_auc():
    """Hanley and McNeil, Radiology 143 (1982) (F164)."""
    assert metrics.auc_error(0.78125, 4, 4) == pytest.approx(0.1746, abs=1e-4)


@pytest.mark.parametrize(
    ("bad", "risk", "score"),
    [(BAD, RISK, 0.1925), (np.array([0, 1, 1, 0]), np.array([0.1, 0.9, 0.8, 0.3]), 0.0375)],
)
def test_brier_score(bad, risk, score):
    """Brier 1950; the second row is the scikit-learn documentation's (F165)."""
    assert metrics.brier(bad, risk) == pytest.approx(score, abs=1e-9)
    assert sk.brier_score_loss(bad, risk) == pytest.approx(score, abs=1e-9)


def test_murphy_decomposition():
    """Murphy 1973: five at .2 with one hit, five at .8 with four (F166)."""
    bad = np.array([1, 0, 0, 0, 0, 1, 1, 1, 1, 0])
    risk = np.repeat([0.2, 0.8], 5)
    parts = metrics.murphy(bad, risk)
    assert parts.reliability == pytest.approx(0, abs=1e-9)
    assert parts.resolution == pytest.approx(0.09, abs=1e-9)
    assert parts.uncertainty == pytest.approx(0.25, abs=1e-9)
    assert metrics.brier(bad, risk) == pytest.approx(0.16, abs=1e-9)


def test_log_loss_in_nats():
    """Definition of the log loss (F167); scikit-learn agrees."""
    assert metrics.natural_log_loss(BAD, RISK) == pytest.approx(0.5615088, abs=1e-6)


def test_expected_calibration_error_with_bins_closed_on_the_right():
    """Form of Guo et al. 2017, five bins (0, .2], (.2, .4], ... (F168)."""
    assert metrics.calibration_error(BAD, RISK, bins=5) == pytest.approx(0.175, abs=1e-9)


def test_ndcg_of_the_documentation():
    """scikit-learn documentation of ndcg_score (F169)."""
    truth, scores = [[10, 0, 0, 1, 5]], [[0.1, 0.2, 0.3, 4, 70]]
    assert sk.ndcg_score(truth, scores) == pytest.approx(0.6957, abs=1e-4)


def test_matthews_correlation_of_the_documentation():
    """scikit-learn documentation of matthews_corrcoef (F170)."""
    assert sk.matthews_corrcoef([1, 1, 1, -1], [1, -1, 1, 1]) == pytest.approx(-0.3333, abs=1e-4)


def test_kappa_of_the_documentation():
    """scikit-learn documentation of cohen_kappa_score (F170)."""
    one = ["negative", "positive", "negative", "neutral", "positive"]
    other = ["negative", "positive", "negative", "neutral", "negative"]
    assert sk.cohen_kappa_score(one, other) == pytest.approx(0.6875, abs=1e-9)


def test_isotonic_fit_pools_adjacent_violators():
    """Pool adjacent violators (F171), through the calibration's staircase."""
    fit = IsotonicRegression().fit(range(5), [1, 3, 2, 4, 3.5])
    assert fit.predict(range(5)) == pytest.approx([1, 2.5, 2.5, 3.75, 3.75])
    stairs = fit_steps([0, 1, 2, 3], [False, True, False, True])
    assert [probability(v) for v in stairs.values] == pytest.approx([EDGE, 0.5, 0.5, 1 - EDGE])


def test_platt_targets():
    """Platt 1999: 10 of the one kind, 90 of the other (F172)."""
    good, bad = platt_targets(90, 10)
    assert bad == pytest.approx(0.916667, abs=1e-6)
    assert good == pytest.approx(0.0108696, abs=1e-6)


def test_venn_abers_pair_as_one_probability():
    """Vovk and Petej 2014, from memory (F173)."""
    assert merge_bounds(0.6, 0.7) == pytest.approx(0.636364, abs=1e-6)


def test_match_weights():
    """Fellegi and Sunter 1969: m .9, u .05 in bits (F174)."""
    assert in_bits(weight_of_evidence(0.9, 0.05)) == pytest.approx(4.1699, abs=1e-4)
    assert in_bits(weight_of_evidence(0.1, 0.95)) == pytest.approx(-3.2479, abs=1e-4)


def test_prior_and_match_weights_give_the_posterior():
    """Fellegi and Sunter 1969 with a prior, as in a public record-linkage guide (F175)."""
    total = math.log(0.01 / 0.99) + weight_of_evidence(0.95, 0.01)
    total += weight_of_evidence(0.9, 0.1) + weight_of_evidence(0.02, 0.5)
    assert in_bits(total) == pytest.approx(-1.5334, abs=1e-4)
    assert probability(total) == pytest.approx(0.256757, abs=1e-6)


def test_odds_form_of_bayes():
    """Good, Probability and the Weighing of Evidence, 1950 (F176)."""
    total = math.log(0.2 / 0.8) + math.log(4) + math.log(0.5) + math.log(3)
    assert probability(total) == pytest.approx(0.6, abs=1e-12)


def test_twenty_to_one_in_bits_and_decibans():
    """Good 1950 (F177)."""
    assert in_bits(math.log(20)) == pytest.approx(4.3219, abs=1e-4)
    assert in_decibans(math.log(20)) == pytest.approx(13.0103, abs=1e-4)


def test_base_rate():
    """Bayes' rule: a good test on a rare fault is mostly wrong (F178)."""
    total = math.log(0.02 / 0.98) + weight_of_evidence(0.9, 0.05)
    assert probability(total) == pytest.approx(0.2687, abs=1e-4)


def test_wilson_interval():
    """Wilson 1927, 8 of 10 (F179)."""
    assert metrics.wilson(8, 10) == pytest.approx((0.4902, 0.9433), abs=1e-4)


def test_clopper_pearson_interval():
    """Clopper and Pearson 1934, 8 of 10 and 0 of 30 (F180)."""
    assert metrics.clopper_pearson(8, 10) == pytest.approx((0.4439, 0.9748), abs=1e-4)
    assert metrics.clopper_pearson(0, 30) == pytest.approx((0.0, 0.1157), abs=1e-4)


def test_spector_data_logit():
    """Spector and Mazzeo 1980 as printed in Greene, Econometric Analysis (F192)."""
    spector = pytest.importorskip("statsmodels.datasets.spector").load_pandas()
    flat = PriorLogistic(spreads=1e6).fit(spector.exog.to_numpy(), spector.endog.to_numpy())
    found = [flat.intercept_[0], *flat.coef_[0]]
    assert found == pytest.approx([-13.0213, 2.8261, 0.0952, 2.3787], abs=1e-3)
    p = flat.predict_proba(spector.exog.to_numpy())[:, 1]
    y = spector.endog.to_numpy()
    likelihood = (y * np.log(p) + (1 - y) * np.log(1 - p)).sum()
    assert likelihood == pytest.approx(-12.8896, abs=1e-4)


def test_breast_cancer_data():
    """Data of Wolberg, Street and Mangasarian (UCI) in scikit-learn; figures computed (F191)."""
    data = load_breast_cancer()
    assert data.data.shape == (569, 30)
    assert np.bincount(data.target).tolist() == [212, 357]
    risk = _out_of_fold(data.data, data.target)[0]
    assert np.mean((risk > 0.5) == data.target) > 0.96
    assert metrics.auc(data.target, risk) > 0.99


def _weights_for(count: int) -> Weights:
    """Starting weights that know nothing: zero for each column, with a spread of 1."""
    rows = {
        f"column {i}": Weight(f"column {i}", 0.0, 1.0, "all", "", "", "", -np.inf, np.inf)
        for i in range(count)
    }
    family = Family("all", 1.0, np.inf, "")
    return Weights(Prior(0.5, 100.0, "none"), {"all": family}, rows, "")


def _out_of_fold(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, float]:
    """Risks of rows the model did not see (5 folds, seed 0), and the worst error of the steps."""
    weights = _weights_for(x.shape[1])
    risk, worst = np.zeros(len(y)), 0.0
    for training, test in StratifiedKFold(5, shuffle=True, random_state=0).split(x, y):
        scale = StandardScaler().fit(x[training])
        rows = scale.transform(x)
        model = learn(
            weights,
            [
                Outcome(f"{i:05}", dict(zip(weights.rows, rows[i], strict=True)), bool(y[i]))
                for i in training
            ],
        )
        for i in test:
            signs = [
                Sign(row, row.code, float(amount), float(amount))
                for row, amount in zip(weights.rows.values(), rows[i], strict=True)
            ]
            score = add_up(explain(signs, model))
            plain = model.intercept + rows[i] @ np.array(list(model.coefficients.values()))
            worst = max(worst, abs(score - plain))
            risk[i] = probability(score)
    return risk, worst


SPAM_PLACES = (
    os.environ.get("SPAM_RDA", ""),
    "/usr/lib/R/site-library/kernlab/data/spam.rda",  # where Debian's r-cran-kernlab puts it
)


def _load_spam() -> tuple[np.ndarray, np.ndarray]:
    rdata = pytest.importorskip("rdata")
    place = next((p for p in SPAM_PLACES if p and Path(p).is_file()), None)
    if place is None:
        if os.environ.get("CI"):
            pytest.fail("spam.rda is missing: install r-cran-kernlab or set SPAM_RDA")
        pytest.skip("spam.rda (Debian package r-cran-kernlab) is not here; SPAM_RDA names it")
    frame = rdata.conversion.convert(rdata.parser.parse_file(place))["spam"]
    return frame.iloc[:, :57].to_numpy(float), (frame["type"] == "spam").to_numpy(int)


@pytest.mark.slow
def test_spambase_reaches_the_published_error():
    """Spambase (Hopkins et al., UCI, 1999) in Debian's r-cran-kernlab (F188, F189).

    The data's own notes speak of about 7 % error. Same learning, explaining and calibrating code
    as for listings.
    """
    raw, y = _load_spam()
    assert raw.shape == (4601, 57)
    assert np.bincount(y).tolist() == [2788, 1813]
    risk, worst = _out_of_fold(np.log1p(raw), y)
    assert worst < 1e-9
    assert np.mean((risk > 0.5) != y) < 0.075
    assert metrics.auc(y, risk) > 0.975
    assert metrics.brier(y, risk) < 0.05
    scores = np.log(risk / (1 - risk)).clip(-30, 30)
    half = np.arange(len(y)) % 2 == 0
    calibrate = fit_calibration(scores[half].tolist(), [bool(v) for v in y[half]])
    assert calibrate is not None
    after = np.array([probability(calibrate(s)) for s in scores[~half]])
    assert metrics.brier(y[~half], after) < metrics.brier(y[~half], risk[~half]) + 0.003
    assert metrics.calibration_error(y[~half], after) < 0.03
