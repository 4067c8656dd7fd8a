"""Safety notes: raised by the seller's words, quoted, and silent where the words deny it."""

from __future__ import annotations

import pytest

from extractors.records import Listing
from models.notes import find_notes


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("1930s Celluloid frame", {"celluloid"}),
        ("montura de celuloide", {"celluloid"}),
        ("not celluloid", set()),
        ("nickel silver rims", {"nickel"}),
        ("nickel-free metal", set()),
        ("Neusilber, mit Stärke", {"nickel", "prescription"}),
        ("original glass lenses", {"glass"}),
        ("dark green lenses, great UV protection", {"uv"}),  # FACTS F148
        ("UV400 sunglasses", {"uv"}),
        ("dark green lenses", set()),
        ("old prescription lenses fitted", {"prescription"}),
        ("no prescription lenses", set()),
        ("lentes graduadas", {"prescription"}),
        ("radium dial clock beside it", {"radium"}),
        ("category 4 lenses, do not wear while driving", {"category4"}),
        ("a plain frame", set()),
    ],
)
def test_words_that_raise_a_note(text: str, notes: set[str]) -> None:
    assert {note.id for note in find_notes(Listing("1", "x", text))} == notes


def test_a_note_quotes_the_sellers_words_where_they_stand() -> None:
    (note,) = find_notes(Listing("1", "x", "Frame", "Rims of German silver."))
    assert note.quoted.text == "German silver"
    assert "Frame\nRims of German silver."[note.quoted.start : note.quoted.end] == "German silver"
    (other,) = find_notes(Listing("1", "x", "Frame", specifics=(("Material", "Celluloid"),)))
    assert (other.quoted.part, other.quoted.key, other.quoted.text) == (
        "specific",
        "Material",
        "Celluloid",
    )


def test_every_note_names_its_source_and_gives_no_verdict() -> None:
    told = find_notes(
        Listing("1", "x", "celluloid, nickel, glass lenses, UV400, prescription lenses")
    )
    assert len(told) == 5
    assert all(note.source and note.text.endswith(".") for note in told)
