"""Questions are the best there are by brute force; decisions are those of least expected cost."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from models.decide import (
    DEFAULT_COSTS,
    RANGES,
    Costs,
    best_action,
    leave_from,
    say_changes,
    say_turns,
    spend_looks,
    turns,
    value_of,
    value_of_best,
    what_if,
)
from models.point_words import known_points
from models.questions import (
    ANSWERED,
    CURIOSITY,
    MOST_QUESTIONS,
    Ask,
    best_set,
    choose_questions,
    compose_message,
    gain,
    word_question,
)
from models.questions import _words as words_of_all_languages
from models.records import Finding, Question
from models.sheet_records import (
    INSCRIPTIONS,
    LENGTHS,
    Combination,
    Dimension,
    ReferenceSheet,
    Rule,
    Sizes,
)
from models.weights import load_weights

WEIGHTS = load_weights()
LANGUAGES = ("en", "de", "fr", "it", "es")
POINTS = (*LENGTHS, *INSCRIPTIONS, *known_points(), "production_years", "mark_date")
SHEET = ReferenceSheet(
    id="m",
    name="M",
    sizes=Sizes((Combination("", (Dimension("bridge", 20, 20, 1),)),), question="What is printed?"),
    rules=(
        Rule("hinge_barrels", ("7",), question="Are there seven?"),
        Rule("lacquer", ("red",)),
        Rule("screw_slot", ("slotted",)),
    ),
)


def worth(risk: float) -> float:
    best = max(value_of(action, risk) for action in ("buy", "look", "leave"))
    return best - CURIOSITY * risk * (1 - risk)


def brute_force(asked, risk: float) -> float:
    """Go through every joint answer of every question, one by one."""
    total = 0.0
    for answers in product(("against", "for", "none"), repeat=len(asked)):
        joint = []
        for bad, prior in ((False, 1 - risk), (True, risk)):
            chance = prior
            for answer, shares in zip(answers, asked, strict=True):
                share = shares[bad]
                spoken = share if answer == "against" else 1 - share
                chance *= 1 - ANSWERED if answer == "none" else ANSWERED * spoken
            joint.append(chance)
        if sum(joint) > 0:
            total += sum(joint) * worth(joint[1] / sum(joint))
    return total - worth(risk) - DEFAULT_COSTS.ask * len(asked)


shares = st.tuples(st.floats(0.01, 0.5), st.floats(0.01, 0.95))
asks = st.lists(shares, min_size=1, max_size=5, unique=True)
# a sheet's points fall into few kinds of equal chances
sheet_asks = st.lists(
    st.sampled_from([(0.04, 0.36), (0.04, 0.2), (0.35, 0.9), (0.2, 0.92), (0.1, 0.75)]),
    min_size=1,
    max_size=9,
)
risks = st.floats(0.01, 0.95).map(lambda risk: round(risk, 3))


@settings(max_examples=60, deadline=None)
@given(asks.map(lambda found: found[:3]), risks)
def test_gain_of_questions_equals_brute_force(found, risk):
    assert gain(tuple(found), risk, DEFAULT_COSTS) == pytest.approx(brute_force(found, risk))


@settings(max_examples=40, deadline=None)
@given(asks | sheet_asks, risks)
def test_chosen_questions_are_the_best_set_by_brute_force(found, risk):
    candidates = [Ask(f"p{i}", "point", *pair) for i, pair in enumerate(found)]
    chosen = best_set(candidates, risk, DEFAULT_COSTS)
    size = min(MOST_QUESTIONS, len(found))
    best = max(brute_force(some, risk) for some in combinations(found, size))
    value = brute_force([(ask.good, ask.bad) for ask in chosen], risk)
    assert value == pytest.approx(best, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(asks, risks)
def test_the_first_question_is_the_best_single_one(found, risk):
    candidates = [Ask(f"p{i}", "point", *pair) for i, pair in enumerate(found)]
    chosen = best_set(candidates, risk, DEFAULT_COSTS)
    first = brute_force([(chosen[0].good, chosen[0].bad)], risk)
    assert all(first >= brute_force([(a.good, a.bad)], risk) - 1e-9 for a in chosen)


def ask_about(findings, known=True, borrowed=False, language="en", risk=0.3):
    return choose_questions(
        language, known, findings, borrowed, risk, WEIGHTS, SHEET if known else None, DEFAULT_COSTS
    )


@pytest.mark.parametrize(
    ("point", "language", "words"),
    [
        ("hinge_barrels", "en", "Are there seven?"),
        ("bridge", "en", "What is printed?"),
        ("bridge", "de", "an der engsten Stelle"),
        ("screw_slot", "en", "straight slot"),
        ("lacquer", "en", "Could you tell me about the lacquer"),
        ("lacquer", "it", "lacquer"),
    ],
)
def test_sheets_own_words_come_first_in_its_language(point, language, words):
    assert words in word_question(Ask(point, "point", 0.1, 0.5), language, SHEET)


GERMAN = replace(SHEET, rules=(Rule("hinge_barrels", ("7",), question="Wie viele sind es?"),))


@pytest.mark.parametrize(
    ("language", "words"), [("de", "Wie viele sind es?"), ("en", "How many barrels")]
)
def test_a_sheets_question_is_used_only_where_its_language_fits(language, words):
    ask = Ask("hinge_barrels", "point", 0.1, 0.5)
    assert word_question(ask, language, GERMAN).startswith(words)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", ["point", "again"])
def test_every_built_in_point_is_asked_in_the_language_of_the_listing(language, kind):
    for point in POINTS:
        text = word_question(Ask(point, kind, 0.1, 0.5), language, None)
        words = words_of_all_languages()[language]
        own = {"en": point.replace("_", " ")}
        named = words["name"].get(point) or own[language]
        again = words["again"].replace("{point}", named)
        assert text in ({again} if kind == "again" else words["point"].values())


def test_several_conflicting_sizes_are_one_question_and_the_first():
    sizes = Combination("", tuple(Dimension(n, 20, 20, 1) for n in ("bridge", "lens_width")))
    wrong = tuple(
        Finding("measurements", n, "conflicts", "hard", "") for n in ("bridge", "lens_width")
    )
    sheet = replace(SHEET, sizes=Sizes((sizes,)))
    asked = choose_questions("de", True, wrong, False, 0.8, WEIGHTS, sheet, DEFAULT_COSTS)
    assert "der Brückenweite, der Glasbreite" in asked[0].text
    assert len(asked) == MOST_QUESTIONS


def test_a_german_listing_is_asked_in_german():
    texts = {q.point: q.text for q in ask_about((), language="de")}
    assert texts["hinge_barrels"].startswith("Wie viele Glieder")


def test_what_agrees_is_not_asked_and_a_conflict_is_asked_again():
    findings = (
        Finding("points", "hinge_barrels", "conflicts", "hard", ""),
        Finding("points", "screw_slot", "agrees", "hard", ""),
    )
    texts = {q.point: q.text for q in ask_about(findings, risk=0.6)}
    assert "screw_slot" not in texts
    assert "once more at the hinge barrels" in texts["hinge_barrels"]


def test_borrowed_pictures_are_answered_by_a_request_for_a_fresh_one():
    assert ask_about((), borrowed=True)[0].point == "photos"


def test_without_a_reference_the_question_is_which():
    assert [q.point for q in ask_about((), known=False)] == ["reference"]


def test_each_wording_is_asked_once():
    texts = [q.text for q in ask_about(())]
    assert len(texts) == len(set(texts)) <= MOST_QUESTIONS


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_words_every_point(language):
    words = words_of_all_languages()[language]
    assert set(words["point"]) == set(POINTS)
    assert language == "en" or set(words["name"]) == set(POINTS)
    assert all(text.rstrip().endswith("?") for text in words["point"].values())
    kinds = ("opening", "closing", "which_reference", "again", "any_point", "fresh_photo")
    assert all(words[key] for key in kinds)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", ["point", "again", "fresh_photo", "which_reference"])
def test_questions_accuse_nobody(language, kind):
    blunt = ("fake", "copy", "genuine", "real", "true", "wrong", "false", "lie", "echt", "falsch",
             "kopie", "faux", "copie", "falso", "copia", "auténtic", "authenti")  # fmt: skip
    for point in POINTS:
        text = word_question(Ask(point, kind, 0.1, 0.5), language, None).lower()
        assert not set(text.replace("?", " ").replace(",", " ").split()) & set(blunt)
        assert "{" not in text


def test_a_message_is_ready_to_copy():
    message = compose_message([Question("How wide?", "lens_width")], "fr")
    assert message.startswith("Bonjour")
    assert "- How wide?" in message
    assert compose_message([], "fr") == ""


@given(st.floats(0, 1))
def test_best_action_is_never_worth_less_than_leaving(risk):
    assert value_of_best(risk) == max(0.0, value_of(best_action(risk), risk)) >= 0.0


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_knowing_more_is_never_worth_less(a, b, share):
    """The value of the best action is convex in the risk: answers never harm (Good 1967)."""
    mixed = share * a + (1 - share) * b
    spread = share * value_of_best(a) + (1 - share) * value_of_best(b)
    assert spread >= value_of_best(mixed) - 1e-12


def test_leaving_begins_where_nothing_else_pays():
    edge = leave_from()
    assert best_action(edge + 1e-6) == "leave" != best_action(edge - 1e-6)


@pytest.mark.parametrize(
    ("change", "earlier"),
    [({"gain": 0.1}, True), ({"gain": 0.8}, False), ({"return_chance": 0.0}, True),
     ({"resale": 0.9}, False), ({"look": 0.1}, True), ({"look_finds": 0.99}, False)],
)  # fmt: skip
def test_buyers_figures_move_the_edge_the_right_way(change, earlier):
    changed = leave_from(replace(DEFAULT_COSTS, **change))
    assert (changed < leave_from()) is earlier


def test_a_changed_figure_tells_for_how_many_a_look_would_pay():
    costly = replace(DEFAULT_COSTS, look=0.2)
    assert what_if([0.01, 0.5, 0.95], DEFAULT_COSTS, costly) == (0, 1)
    assert what_if([0.01, 0.5, 0.95], costly, DEFAULT_COSTS) == (1, 0)
    assert what_if([0.5], DEFAULT_COSTS, DEFAULT_COSTS) == (0, 0)
    assert any("--look-cost" in line for line in say_changes([0.6] * 9))
    assert say_changes([]) == ()


@settings(max_examples=100, deadline=None)
@given(
    st.floats(0, 1),
    st.builds(
        Costs,
        gain=st.floats(0, 1),
        resale=st.floats(0, 0.9),
        return_chance=st.floats(0, 1),
        look=st.floats(0, 0.3),
    ),
)
def test_a_figures_turn_is_where_a_look_begins_or_ceases_to_pay(risk, costs):
    pays = value_of("look", risk, costs) > 0
    assume(abs(value_of("look", risk, costs)) > 1e-6)
    found = {turn.figure: turn for turn in turns(risk, costs)}
    for figure, ends in RANGES.items():
        turn = found.get(figure)
        if turn is None:
            worth = [value_of("look", risk, replace(costs, **{figure: end})) for end in ends]
            assert all((value > -1e-9) if pays else (value < 1e-9) for value in worth)
        else:
            step = -1e-6 if turn.below else 1e-6
            on = value_of("look", risk, replace(costs, **{figure: turn.at}))
            past = value_of("look", risk, replace(costs, **{figure: turn.at + step}))
            assert on == pytest.approx(0.0, abs=1e-9)
            assert (past <= 0) if pays else (past >= 0)


def test_what_a_change_of_a_figure_would_do_is_said_with_its_option():
    lines = say_turns(0.3)
    assert lines[0].startswith("At your figures a close look is worth")
    assert any(line.startswith("With --gain below") and "now 0.35" in line for line in lines)
    assert "than it brings" in say_turns(0.99)[0]


def test_worked_example_of_a_wrong_purchase():
    """Kept 6 times in 10 losing 65 of 100, given back 4 times losing 10 of 100: 43 of 100."""
    assert Costs().loss == pytest.approx(0.6 * 0.65 + 0.4 * 0.10)


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from("abcdef"), st.tuples(st.floats(0, 1), st.floats(1, 500)), max_size=6
    ),
    st.integers(0, 4),
)
def test_looks_are_spent_where_they_are_worth_most(listings, looks):
    risk = {key: pair[0] for key, pair in listings.items()}
    price = {key: pair[1] for key, pair in listings.items()}

    def total(some) -> float:
        return sum(value_of("look", risk[key]) * price[key] for key in some)

    chosen = spend_looks(risk, price, looks)
    every = [some for n in range(looks + 1) for some in combinations(sorted(listings), n)]
    assert len(chosen) <= looks
    assert total(chosen) == pytest.approx(max(map(total, every), default=0.0))
