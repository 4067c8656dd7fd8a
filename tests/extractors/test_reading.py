"""Readings: three forms of one length, languages by line, slips and hidden marks undone."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extractors.folding import lower, plain, unhide
from extractors.lexicon import SELDOM, all_cues
from extractors.reading import fold, forget_lines, guess_language, prepare
from tests.endings import ends


@given(st.text(max_size=300))
@settings(max_examples=150, deadline=None)
def test_all_forms_keep_the_length(text: str) -> None:
    reading = prepare(text)
    assert len(unhide(text)) == len(lower(text)) == len(plain(text)) == len(text)
    assert len(reading.folded) == len(reading.plain) == len(text)


@given(st.text(alphabet="ab 1.,\n?!ü'-", max_size=120))
@settings(max_examples=100, deadline=None)
def test_words_and_lines_lie_where_they_say(text: str) -> None:
    reading = prepare(text)
    for word, start, end in zip(reading.words, reading.starts, reading.ends, strict=True):
        assert reading.plain[start:end] == word
    assert [text[line.start : line.end] for line in reading.lines] == [
        raw for raw in text.split("\n") if raw
    ]
    assert [n for first, last in reading.sentences for n in range(first, last)] == list(
        range(len(reading.words))
    )


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("The frame is in good condition with some wear", "en"),
        ("Die Fassung ist gut erhalten und ohne Risse", "de"),
        ("La monture est en bon état avec des rayures", "fr"),
        ("La montatura è in buono stato con qualche graffio", "it"),
        ("La montura está en buen estado y con marcas de uso", "es"),
        ("Bügel 140", "de"),
        ("Patillas 140", "es"),
        ("52-18-140", "en"),
    ],
)
def test_language_of_a_line(text: str, language: str) -> None:
    assert guess_language(text) == language


def test_each_line_has_its_own_language() -> None:
    reading = prepare("No returns on this frame.\nKeine Rücknahme für diese Fassung.")
    assert [line.language for line in reading.lines] == ["en", "de"]


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("ge\u200bnuine", "genuine "),
        ("gen\u00aduine frame", "genuine  frame"),
        ("gеnuinе", "genuine"),  # Cyrillic
        ("Bügеl", "bügel"),  # beside an accent
        ("ɴo ʀeturns", "no returns"),  # small capitals
        ("gen\u0578ine", "gennine"),  # Armenian
        ("ＣＥ", "ce"),
        ("cafe\u0301", "cafe "),
        ("Тамара", "тамара"),  # a Cyrillic word stays one
    ],
)
def test_hidden_marks_and_look_alikes_are_undone(text: str, folded: str) -> None:
    assert fold(text).rstrip() == folded.rstrip()
    assert len(fold(text)) == len(text)


def test_text_under_a_direction_override_is_no_claim() -> None:
    assert "replica" not in fold("frame \u202ereplica\u202c nice")


def test_swapped_letters_of_known_words_are_put_right() -> None:
    reading = prepare("autehntic brdige, angel")
    assert reading.words == ("authentic", "bridge", ",", "angel")
    assert reading.folded == "authentic bridge, angel"


def test_a_span_takes_a_bent_word_whole() -> None:
    reading = prepare("ge\u200bnuine")
    assert reading.span(0, 7).text == "ge\u200bnuine"


@pytest.mark.parametrize(
    "unit", ["1/2/", "a-", "((", "no no no ", "stamped 'x", "\u200b", "7 barrel "]
)
def test_a_long_text_of_anything_is_read_to_its_end(unit: str) -> None:
    assert ends(lambda: prepare((unit * 200_000)[:200_000]))


LINES = (
    "Brücke 21 mm, Bügel 140",
    "no returns.",
    "",
    "Probably 1950s",
    "stamped 'ORLENA' on the left arm",
    "étui 15 x 6 cm",
)


@given(st.lists(st.sampled_from(LINES), min_size=1, max_size=6))
@settings(max_examples=50, deadline=None)
def test_a_line_reads_the_same_wherever_it_stands(lines: list[str]) -> None:
    reading = prepare("\n".join(lines))
    alone = [prepare(line) for line in lines]
    told = zip(reading.words, reading.keys, reading.languages, strict=True)
    assert [row for row in told if row[0] != "\n"] == [
        row for line in alone for row in zip(line.words, line.keys, line.languages, strict=True)
    ]
    for name in ("key_phrases.returns_refused", "words.unsure", "markings.verb", "markings.place"):
        assert [reading.text[hit.start : hit.end] for hit in reading.found(name)] == [
            line.text[hit.start : hit.end] for line in alone for hit in line.found(name)
        ]


LINES = (
    "Marked 585 inside the left arm, nothing else. No returns!",
    "Bügel 140 mm; nicht gestempelt (Scharnier: 7 Glieder)",
    "Lens 48 x 40 mm, bridge 22, D.R.G.M. on the bridge.",
    "frame from the early 1950s - not the ge\u200bnuine one? A: no",
    "En el aro, «X»; a devolución no se acepta",
    "",
    "OK.",
)


@given(st.lists(st.sampled_from(LINES) | st.text(max_size=40), max_size=9))
@settings(max_examples=150, deadline=None)
def test_lines_met_before_are_read_as_new_ones_are(lines: list[str]) -> None:
    text = "\n".join(lines)
    forget_lines()
    new = prepare(text)
    for line in lines * 2:
        prepare(line)
    assert prepare(text) == new


def test_words_seldom_asked_for_have_no_value_and_are_found_where_they_begin() -> None:
    asked = [cue for cue in all_cues() if cue.name in SELDOM]
    assert asked
    assert not any(cue.value for cue in asked)
    reading = prepare("genuine nose pads, made in the year 1950")
    assert [hit.first for hit in reading.found("authenticity.other")] == [1, 2]
    assert reading.end_at("authenticity.other", 1) == 3
    assert reading.end_at("authenticity.other", 0) == 0
