"""Marks of 280 sentences by family and language: text, place, present, absent or unsure.

One letter, the second of two in doubt, described, sought in vain, figures, sizes as marks, on a
part, names, dedications, asked, set against another, told by others, in tables, worn, several,
"nothing but", near misses, on other things, half words, numbers, capitals, small letters, no verb.
The second of each two sentences was set aside until the rules were done.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.markings import find_markings
from extractors.reading import prepare

CASES = Path(__file__).parent / "cases" / "marks.txt"
CLAIMED = {"-": "absent", "?": "unsure"}
ITEM = ("item", "lens", "sticker")
UNREAD = {  # not read yet
    "Stamp on the back: two letters in an oval and a tiny anchor.",
    "Punze mit Halbmond und Krone in der Schiene.",
    "Testa di Minerva e una losanga sul retro.",
    "On the caseback 30M and no. 55120.",
    "Sull'asta sinistra 118 e CE.",
    "La custodia riporta GANTREUX, sull'occhiale non c'è niente.",
    "Sur la branche je lis ORVELLE, sous réserve.",
    "All that is left on the arm is ...VELLE.",
    "BRANCHE GAUCHE MARQUEE ORVELLE, DROITE FRANCE.",
}
Told = tuple[str, str]  # letters and figures of a mark, its claim


def read_cases() -> list[tuple[str, str]]:
    """Give the sentences and their marks."""
    lines = CASES.read_text("utf-8").splitlines()
    parts = [line.split("|", 1)[1] for line in lines if line and not line.startswith("#")]
    return [(text, marks) for text, _, marks in (part.rpartition("|") for part in parts)]


def letters(text: str) -> str:
    """Leave out case, spaces and punctuation; "*" stays."""
    return "".join(filter(str.isalnum, text.casefold())) or text


def wanted(marks: str) -> list[tuple[Told, str]]:
    """Give the marks that a sentence tells, and the places of each, "" for any."""
    found = []
    for mark in filter(None, marks.split(";")):
        claimed = CLAIMED.get(mark[0], "present")
        text, _, place = mark.lstrip("-?").partition("@")
        found.append(((letters(text), claimed), place))
    return found


def told(text: str) -> dict[Told, str]:
    """Give the marks found in a sentence and their places."""
    marks = [mark for mark in find_markings(prepare(text)) if mark.object in ITEM]
    return {(letters(mark.text), mark.claimed): mark.place or "" for mark in marks}


def is_near(place: str, other: str) -> bool:
    """Tell whether half of the words of two places are the same."""
    words, others = set(place.casefold().split()), set(other.casefold().split())
    return not words or 2 * len(words & others) >= max(len(words), len(others))


@pytest.mark.parametrize(("text", "marks"), read_cases()[::2])
def test_every_sentence_that_rules_were_written_by_is_read(text: str, marks: str) -> None:
    found = set(told(text))
    assert (found == {mark for mark, _ in wanted(marks)}) is (text not in UNREAD)


def test_the_half_set_aside_is_read_nearly_as_well() -> None:
    right = wrong = 0
    for text, marks in read_cases()[1::2]:
        found, truth = set(told(text)), {mark for mark, _ in wanted(marks)}
        right += len(found & truth)
        wrong += len(found ^ truth)
    assert 2 * right / (2 * right + wrong) > 0.88


def test_nearly_every_mark_has_its_place() -> None:
    places = []
    for text, marks in read_cases():
        found = told(text)
        places += [is_near(p, found[m]) for m, p in wanted(marks) if p and m in found]
    assert sum(places) > 0.9 * len(places)
