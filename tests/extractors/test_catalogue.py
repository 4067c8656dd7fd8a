"""Everything together: parts of a listing, repeats, spans, long and hostile text."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extractors.catalogue import EXTRACTORS, LIMIT, extract
from extractors.records import Authenticity, Evidence, Listing, Span
from tests.endings import calls, ends, steps

SENTENCES = (
    "Stamped ORLENA 52-18 on the left temple.",
    "No CE mark.",
    "Made in the late 1950s.",
    "Seven-barrel hinges, diamond rivets.",
    "I believe these are Tarvell.",
    "No returns.",
    "One hairline crack at the hinge.",
    "Black front, clear temples.",
    "Limited edition.",
    "Innen am Bügel: ULMITZ.",
    "Vendu en l'état.",
    "Lenti in vetro.",
    "Más fotos si las pide.",
    "🕶️ 100% genuine Tarvell 🔥",
    "CE? none",
)
UNRELATED = "The parcel travels by bicycle through a quiet valley."


def listing(title: str = "", description: str = "", **fields: object) -> Listing:
    """Make a listing of a text."""
    return Listing("a", "test", title, description, **fields)  # type: ignore[arg-type]


def items(evidence: Evidence) -> list[object]:
    """Give every item of the evidence."""
    fields = [getattr(evidence, name) for name in EXTRACTORS if name != "authenticity"]
    return [item for field in fields for item in field]


def spans(evidence: Evidence) -> list[Span]:
    """Give every quoted span."""
    quoted = [span for item in items(evidence) for span in item.quoted]  # type: ignore[attr-defined]
    return [*quoted, *evidence.authenticity.quoted]


@given(st.lists(st.sampled_from(SENTENCES), max_size=8), st.sampled_from([" ", "\n", " ... "]))
@settings(max_examples=60, deadline=None)
def test_spans_point_at_their_own_text(chosen: list[str], joint: str) -> None:
    offer = listing("Tarvell frame", joint.join(chosen))
    for span in spans(extract(offer)):
        assert offer.text[span.start : span.end] == span.text
        assert span.text


@given(st.text(max_size=200))
@settings(max_examples=60, deadline=None)
def test_any_text_is_read_without_error_and_quoted_truly(text: str) -> None:
    offer = listing("", text)
    for span in spans(extract(offer)):
        assert offer.text[span.start : span.end] == span.text


@given(st.lists(st.sampled_from(SENTENCES), max_size=6))
@settings(max_examples=40, deadline=None)
def test_an_unrelated_sentence_changes_nothing(chosen: list[str]) -> None:
    without = extract(listing("Tarvell frame", "\n".join(chosen)))
    added = extract(listing("Tarvell frame", "\n".join([*chosen, UNRELATED])))
    assert without == added


def test_repeats_are_joined_and_quote_every_place() -> None:
    evidence = extract(listing("Frame 1960s", "Nice frame of the 1960s."))
    (era,) = evidence.eras
    assert [span.text for span in era.quoted] == ["1960s", "1960s"]


def test_specifics_are_read_with_their_label_and_quoted_without() -> None:
    evidence = extract(listing("Frame", "", specifics=(("Hinge", "7 barrel"), ("Decade", "1960s"))))
    (feature,) = evidence.features
    assert feature.value == "7"
    assert feature.quoted == (Span("specific", "Hinge", 0, 8, "7 barrel"),)
    (era,) = evidence.eras
    assert era.quoted == (Span("specific", "Decade", 0, 5, "1960s"),)


def test_answers_are_read_with_their_number() -> None:
    evidence = extract(listing("Frame", "", answers=("Yes.", "There is no CE mark.")))
    (mark,) = evidence.markings
    assert (mark.text, mark.claimed, mark.quoted[0].part, mark.quoted[0].key) == (
        "CE",
        "absent",
        "answer",
        "1",
    )


def test_an_answer_can_lower_the_label() -> None:
    evidence = extract(listing("Tarvell frame", "Genuine Tarvell.", answers=("It is a replica.",)))
    assert evidence.authenticity.label == "disclaimed"
    assert [span.part for span in evidence.authenticity.quoted] == ["answer"]


def test_a_year_inside_a_mark_is_no_era() -> None:
    assert extract(listing("", "Clip says PAT 1927.")).eras == ()


def test_an_empty_listing_says_nothing() -> None:
    assert extract(listing()) == Evidence("a", authenticity=Authenticity())


@pytest.mark.parametrize(
    ("text", "kind", "claimed"),
    [
        ("Hairline crack at the bridge.", "crack", "present"),
        ("No cracks.", "crack", "absent"),
        ("Arms slightly bent.", "warp", "present"),
        ("Keine Risse.", "crack", "absent"),
        ("No chips, cracks or repairs.", "repair", "absent"),
        ("No chips, cracks or repairs.", "crack", "absent"),
        ("Scratches and no cracks.", "scratches", "present"),
        ("Une branche est tordue.", "warp", "present"),
        ("Lenti graduate.", "prescription_lenses", "present"),
        ("Falta un tornillo.", "part_missing", "present"),
        ("Lenses have been replaced.", "lenses_replaced", "present"),
        ("Maybe repaired once.", "repair", "unsure"),
    ],
)
def test_condition(text: str, kind: str, claimed: str) -> None:
    found = {(c.kind, c.claimed) for c in extract(listing("", text)).conditions}
    assert (kind, claimed) in found


@pytest.mark.parametrize(
    ("text", "value", "part"),
    [
        ("Black front with clear temples.", "black", "front"),
        ("Black front with clear temples.", "clear", "temples"),
        ("Grüne Gläser", "green", "lenses"),
        ("Rivets are silver", "silver", "rivets"),
        ("tortoiseshell", "tortoiseshell", None),
    ],
)
def test_colours_belong_to_parts(text: str, value: str, part: str | None) -> None:
    found = {(c.value, c.part) for c in extract(listing("", text)).colours}
    assert (value, part) in found


@pytest.mark.parametrize(
    ("text", "colours"),
    [
        ("Brille schwarz, ob original weiß nicht.", ["black"]),
        ("Ich weiß es nicht.", []),
        ("Wer weiß.", []),
        ("Rahmen weiß, nicht gelb.", ["white"]),
    ],
)
def test_a_word_for_not_knowing_is_no_colour(text: str, colours: list[str]) -> None:
    assert [c.value for c in extract(listing("", text)).colours] == colours


@pytest.mark.parametrize(
    ("text", "name"),
    [("Limited edition", "limited edition"), ("Jubiläumsmodell", "anniversary edition")],
)
def test_editions(text: str, name: str) -> None:
    assert [edition.name for edition in extract(listing("", text)).editions] == [name]


def test_text_beyond_the_limit_is_not_read() -> None:
    offer = listing("Frame", "x " * (LIMIT // 2) + "No returns.")
    assert extract(offer).key_phrases == ()


def test_a_phrase_late_in_a_long_text_is_quoted_where_it_stands() -> None:
    offer = listing("Frame", "plain words here. " * 2_500 + "No returns.")
    (phrase,) = extract(offer).key_phrases
    span = phrase.quoted[0]
    assert offer.text[span.start : span.end] == "No returns"


@pytest.mark.slow
@pytest.mark.parametrize(
    "unit",
    ["1/2/", "((((", "stamped ", "no ", "'a ", "7 barrel hinge ", "\u200b1", "a" * 99, "52-"],
)
def test_hostile_text_of_any_length_is_read_to_its_end(unit: str) -> None:
    assert ends(lambda: extract(listing("", unit * (200_000_000 // len(unit)))))


def test_a_size_among_the_specifics_is_named_by_the_goods_of_the_title() -> None:
    offer = listing("Gents watch, manual wind", "Dial clean.", specifics=(("Diameter", "36 mm"),))
    assert [m.quantity for m in extract(offer).measurements] == ["case_diameter"]


@pytest.mark.parametrize(
    "unit",
    [
        *("a@", "a-", "a'", ":", "=", "in on ", "left ", "the ", "stamped on ", "and on the "),
        *("PAT. 1,234,567 y ", "not PAT. 1,234,567 1.5.1 ½", "a ", "ab; "),
    ],
)
def test_work_on_one_endless_line_grows_with_its_length(unit: str) -> None:
    """Eight times the text takes about eight times the calls and steps, not sixty-four times."""

    def work(length: int, counted: Callable[[Callable[[], object]], int]) -> int:
        return counted(lambda: extract(listing("", (unit * length)[:length])))

    for counted in (calls, steps):
        work(100, counted)
        assert work(8_000, counted) < 12 * work(1_000, counted)
    assert ends(lambda: extract(listing("", (unit * 30_000)[:30_000])))
