"""How sure the order is: sure weights leave it as shown, doubt widens it, the same every time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.decide import leave_from
from models.order import rank
from models.records import Assessment
from models.risk import Model, probability, spread_of_score
from models.sureness import Sureness, how_sure, say_places, say_sureness

CONFLICT, AGREES = "points.conflicts.hard", "any.agrees"
SURE = Model(0.0, {}, {}, 0.0, 0.0)
DOUBTED = replace(SURE, spreads={CONFLICT: 0.7, AGREES: 0.1}, intercept_spread=0.6)


def seen(name: str, score: float, step: str = "ask", **more: object) -> Assessment:
    risk = probability(score)
    return Assessment(name, risk, (0, 1), score, (), 0.5, step, "", **more)  # type: ignore[arg-type]


def in_order(*several: Assessment) -> tuple[Assessment, ...]:
    return rank(several)


def places(
    ordered: tuple[Assessment, ...], model: Model, vectors: list[Mapping[str, float]] | None = None
) -> tuple[tuple[int, int], ...]:
    return how_sure(ordered, vectors or [{} for _ in ordered], model).places


@given(
    st.lists(
        st.tuples(
            st.floats(-3, 3),
            st.sampled_from(["look", "ask", "cannot_say", "no_sheet", "leave"]),
            st.booleans(),
        ),
        max_size=9,
    )
)
@settings(max_examples=60, deadline=None)
def test_without_doubt_every_listing_stays_where_it_is(drawn):
    several = []
    for number, (score, step, over) in enumerate(drawn):
        score = round(score, 3)
        heavy = probability(score) >= leave_from()  # stands among those to leave
        if step in ("ask", "cannot_say", "leave") and not over:
            step = "leave" if heavy else "ask" if step == "leave" else step
        stands = "leave" if step == "look" and heavy else None
        more = {"over": "sold"} if over else {"stands_with": stands}
        several.append(seen(f"{number}", score, "leave" if over else step, **more))
    ordered = rank(several)
    assert places(ordered, SURE) == tuple((n, n) for n in range(1, len(ordered) + 1))


def test_a_doubt_that_moves_all_alike_moves_no_place():
    ordered = in_order(*(seen(f"{n}", -2 + n / 10, "look") for n in range(9)))
    assert places(ordered, replace(SURE, intercept_spread=0.3)) == tuple(
        (n, n) for n in range(1, 10)
    )


def test_doubt_about_one_weight_moves_only_past_those_without_it():
    ordered = in_order(*(seen(f"{n}", -3 + n / 10, "look") for n in range(9)))
    vectors: list[Mapping[str, float]] = [{CONFLICT: 1.0}, *({} for _ in range(8))]
    (_, last), *others = places(ordered, DOUBTED, vectors)
    assert last > 5
    assert all(high - low <= 1 for low, high in others)


@pytest.mark.parametrize("spread", [0.1, 0.5, 1.5])
def test_places_widen_with_what_is_not_known_of_sellers(spread):
    ordered = in_order(*(seen(f"{n:02}", -3 + n / 10) for n in range(20)))

    def width(model: Model) -> int:
        return sum(high - low for low, high in places(ordered, model))

    assert width(replace(SURE, habit_spread=spread)) > width(replace(SURE, habit_spread=spread / 2))


def test_learned_weights_are_drawn_with_what_ties_them_together():
    """Two weights known only in their sum leave a listing with both where it is."""
    tied = {("", ""): 0.0, (CONFLICT, CONFLICT): 1.0, (AGREES, AGREES): 1.0}
    tied |= {(CONFLICT, AGREES): -1.0, (AGREES, CONFLICT): -1.0}
    ordered = in_order(*(seen(f"{n}", -3 + n / 10, "look") for n in range(6)))
    both: list[Mapping[str, float]] = [{CONFLICT: 1.0, AGREES: 1.0}, *({} for _ in range(5))]
    one: list[Mapping[str, float]] = [{CONFLICT: 1.0, AGREES: 0.0}, *({} for _ in range(5))]
    model = replace(SURE, covariance=tied)
    assert places(ordered, model, both)[0] == (1, 1)
    assert places(ordered, model, one)[0][1] > 1


def test_two_listings_swap_as_often_as_the_normal_says():
    """The chance that the second is the better one, from the spread of the difference."""
    model = replace(SURE, habit_spread=1.0)
    ordered = in_order(seen("a", -1.0), seen("b", -1.0 + 2 * 1.0))
    chance = NormalDist().cdf(-2.0 / 2**0.5)  # .079: beyond the 5 % point of the places
    assert chance > 0.05
    assert how_sure(ordered, [{}, {}], model, draws=4000).places[0] == (1, 2)
    apart = in_order(seen("a", -1.5), seen("b", -1.5 + 3 * 1.0))  # .017: within it
    assert how_sure(apart, [{}, {}], model, draws=4000).places[0] == (1, 1)


def test_the_doubt_is_that_of_the_interval():
    vector = {CONFLICT: 1.0, AGREES: 3.0}
    model = replace(DOUBTED, unstated_spread=1.1, habit_spread=0.5)
    parts = 0.6**2 + 0.7**2 + 0.3**2 + (1.1 / 2) ** 2 + 0.5**2
    assert spread_of_score(vector, model, 0.5) == pytest.approx(parts**0.5)


def test_so_many_of_the_first_should_be_as_described_as_their_risks_say():
    ordered = in_order(*(seen(f"{n:02}", -1.0986) for n in range(40)))  # risk .25 each
    low, high = how_sure(ordered, [{} for _ in ordered], SURE, draws=4000).good
    assert (low, high) == (12, 18)  # binomial, 20 at .75: 5 % and 95 % points


def test_the_same_listings_tell_the_same_twice():
    ordered = in_order(*(seen(f"{n:02}", -3 + n / 10) for n in range(20)))
    vectors = [{CONFLICT: n % 2} for n in range(20)]
    assert how_sure(ordered, vectors, DOUBTED) == how_sure(ordered, vectors, DOUBTED)


def test_nothing_to_order_says_nothing():
    assert how_sure((), [], SURE) == Sureness()
    assert say_sureness(Sureness()) == ""
    assert say_sureness(how_sure((seen("a", 0.0),), [{}], SURE)) == ""


def test_the_sentence_says_what_the_weights_rest_on():
    told = say_sureness(Sureness(((1, 5), (1, 9)), 2, (1, 2)), "starting figure, not measured")
    assert told.endswith("about 3 places off (starting figure, not measured).")


def test_a_place_that_hardly_moves_is_not_told_as_nought_places_off():
    told = say_sureness(Sureness(((1, 1), (2, 2)), 2, (0, 2)))
    assert told == "Of the first 2, 0 to 2 should be as described."


def test_a_place_is_told_as_a_range_or_as_good_as_sure():
    assert "from 1 to 14" in say_places(3, (1, 14))
    assert "as good as sure: 3" in say_places(3, (3, 3))
