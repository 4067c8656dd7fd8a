"""The second opinion finds what no list words, and leaves near misses alone."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.feature_extraction import DictVectorizer
from sklearn.linear_model import LogisticRegression

from extractors import second_opinion
from extractors.catalogue import extract
from extractors.phrase_ideas import IdeaWeights, ideas, named_ideas
from extractors.reading import prepare
from extractors.records import Listing
from extractors.second_opinion import Weights, features_of, opinions


def classes(text: str) -> set[str]:
    found = extract(Listing("a", "a", "", text)).key_phrases
    return {phrase.phrase_class for phrase in found}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Lens 48 mm. Once sold I never take it back again.", "returns_refused"),
        ("Glas 48 mm. Was verkauft ist, nehme ich nicht zurück.", "returns_refused"),
        ("Je ne la reprends pas une fois vendue.", "returns_refused"),
        ("I can photograph the back for you.", "more_photos_offered"),
        ("Fotografo con piacere anche l'interno.", "more_photos_offered"),
        ("La foto enseña uno igual, no este.", "stock_text"),
    ],
)
def test_wordings_that_stand_in_no_list_are_found(text: str, expected: str) -> None:
    assert expected in classes(text)


@pytest.mark.parametrize(
    "text",
    [
        "Lens 48 mm, bridge 20 mm, arms 140 mm. Seven barrel hinges.",
        "Das Bild zeigt genau dieses Stück. Rückgabe gern möglich.",
        "I take it back within two weeks, no questions asked.",
        "Keine Überweisung bitte.",
        "Je n'ai plus la facture.",
        "",
    ],
)
def test_plain_words_and_near_misses_hold_none(text: str) -> None:
    assert classes(text) == set()


def test_what_the_list_knows_as_denied_stays_denied() -> None:
    assert "off_platform_payment" not in classes("Bank transfer I do not accept.")


def test_an_opinion_quotes_the_words_that_speak_for_it() -> None:
    text = "Lens 48 mm and bridge 20 mm, I can gladly photograph any part you like."
    (phrase,) = extract(Listing("a", "a", "", text)).key_phrases
    assert "photograph" in phrase.quoted[0].text
    assert "48" not in phrase.quoted[0].text


def test_the_sum_is_that_of_logistic_regression(monkeypatch: pytest.MonkeyPatch) -> None:
    """Oracle: scikit-learn's decision function on the same features."""
    texts = ["never take back", "take a photo", "photo of the back", "no money back", "blue frame"]
    readings = [prepare(text) for text in texts]
    rows = [{name: 1 for _, name in features_of(r.keys)} for r in readings]
    vectors = DictVectorizer()
    table = vectors.fit_transform(rows)
    model = LogisticRegression().fit(table, [1, 0, 0, 1, 0])
    features = {
        name: {"returns_refused": float(weight)}
        for name, weight in zip(vectors.feature_names_, model.coef_[0], strict=True)
    }
    starts = {"returns_refused": float(model.intercept_[0])}
    monkeypatch.setattr(second_opinion, "weights", lambda: Weights(starts, -math.inf, features))
    for reading, expected in zip(readings, model.decision_function(table), strict=True):
        (opinion,) = opinions(reading)
        assert opinion.log_odds == pytest.approx(expected, abs=1e-9)


IDEA_SENTENCES = ["more photos, just ask", "altre foto, basta chiedere", "no money back", "blue"]


def test_one_idea_is_one_in_every_language() -> None:
    held = [{*named_ideas(prepare(text).keys)} for text in IDEA_SENTENCES[:2]]
    assert {"more", "photo", "ask", "more photo", "ask more"} <= held[0] & held[1]


def test_what_ideas_add_is_the_sum_of_those_held_and_each_two_of_them() -> None:
    readings = [prepare(text) for text in IDEA_SENTENCES]
    held = [[*named_ideas(reading.keys)] for reading in readings]
    named = sorted({name for names in held for name in names})
    rows = {name: {"b": 1 + 0.25 * place} for place, name in enumerate(named)}
    weights = IdeaWeights(rows, ("a", "b"))
    bits = np.array([ideas().of(reading.keys) for reading in readings], np.int64)
    expected = [[0.0, sum(rows[name]["b"] for name in names)] for names in held]
    assert weights.gains(bits) == pytest.approx(np.array(expected))


def test_a_word_shares_in_what_its_ideas_add_with_others() -> None:
    weights = IdeaWeights({"more photo": {"a": 2.0}}, ("a",))
    assert weights.shares(prepare("more red photos").keys, 0) == pytest.approx([2.0, 0.0, 2.0])


@given(st.text(alphabet="ab .,\n1", max_size=200))
@settings(max_examples=50, deadline=None)
def test_opinions_lie_within_the_text(text: str) -> None:
    reading = prepare(text)
    for opinion in opinions(reading):
        assert 0 <= opinion.first < opinion.last <= len(reading.words)


@given(
    st.lists(
        st.sampled_from(["never", "returned", "returned", "the", "back", "12", ",", "photo", ""]),
        max_size=25,
    )
)
@settings(max_examples=100, deadline=None)
def test_features_are_those_that_the_training_counts(words: list[str]) -> None:
    known = {name: {"urgency": 1.0 + n} for n, (_, name) in enumerate(features_of(tuple("abcd")))}
    known |= {name: {"urgency": 2.0} for _, name in features_of(words[: len(words) // 2 + 1])}
    table = Weights({"urgency": 0.0}, 0.0, known)
    expected: dict[str, int] = {}
    for place, name in features_of(words):
        expected.setdefault(name, place)
    found = [place for place, _ in second_opinion._spoken(table.tables, words)]
    assert sorted(found) == sorted(place for name, place in expected.items() if name in known)


def test_what_was_found_of_a_line_that_comes_often_holds_wherever_it_stands() -> None:
    line = "Once sold I never take it back again."
    texts = [f"Lens 48 mm, no. {n}.\n\n{line}\nArms 140 mm, no. {n}" for n in range(5)]
    found = [[o.phrase_class for o in opinions(prepare(text))] for text in (line, *texts)]
    assert found == [["returns_refused"]] * 6
    for text in texts:
        reading = prepare(text)
        (opinion,) = opinions(reading)
        assert reading.slice(opinion.first, opinion.last) in line
        assert "never" in reading.slice(opinion.first, opinion.last)
