"""Made-up outcomes for the tests of learning and evaluation."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from models.outcomes import Outcome
from models.weights import load_weights

WEIGHTS = load_weights()


def _make_outcomes(n: int, seed: int = 0, sellers: int = 10_000) -> list[Outcome]:
    """Outcomes of a world in which the starting weights are true."""
    random = np.random.default_rng(seed)
    made = []
    for i in range(n):
        amounts = {code: 1.0 for code in WEIGHTS.rows if random.random() < 0.05}
        score = WEIGHTS.prior.log_odds + sum(WEIGHTS.rows[code].log_odds for code in amounts)
        bad = bool(random.random() < 1 / (1 + math.exp(-score)))
        day = f"{2000 + i // 300}-{i % 300:03}"
        made.append(Outcome(f"{i:04}", amounts, bad, day, seller=f"s{random.integers(sellers)}"))
    return made


@pytest.fixture(scope="session")
def make_outcomes() -> Callable[..., list[Outcome]]:
    """The maker of outcomes: number, seed, number of sellers."""
    return _make_outcomes
