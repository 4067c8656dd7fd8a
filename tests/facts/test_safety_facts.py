"""Published safety facts, raised as notes by the seller's words; each row names its source."""

from __future__ import annotations

from pathlib import Path

import pytest

import models
from extractors.records import Listing
from models.notes import find_notes

NOTES = [
    ("F146", "21 CFR 801.410(d)(2)", "original glass lenses", "glass"),
    ("F148", "consumer eye-care pages", "very dark so great UV protection", "uv"),
    ("F149", "REACH Annex XVII entry 27", "nickel silver frame", "nickel"),
    ("F151", "CCI Notes 15/3", "celluloid frame", "celluloid"),
    ("F152", "encyclopaedia article on radium dials", "lume radium dial", "radium"),
    ("F153", "half-life of radium-226", "radium but no longer glows", "radium"),
    ("F154", "hobby reference page", "thoriated lens", "thorium"),
    ("F158", "optical practice (from memory)", "prescription lenses included", "prescription"),
    ("F63", "ISO 12312-1, College of Optometrists", "cat. 4 great for driving", "category4"),
]


@pytest.mark.parametrize(("row", "source", "text", "note"), NOTES)
def test_wording_raises_a_note(row: str, source: str, text: str, note: str) -> None:
    found = find_notes(Listing("1", "x", text))
    assert [n.id for n in found] == [note]
    assert found[0].quoted.text


@pytest.mark.parametrize("text", ["no celluloid here", "acetate frame", "glass case included"])
def test_other_wording_raises_none(text: str) -> None:
    assert find_notes(Listing("1", "x", text)) == ()


def test_impact_resistant_is_not_called_unbreakable() -> None:
    """FDA Q&A booklet HHS 87-4002 (F147)."""
    (note,) = find_notes(Listing("1", "x", "original glass lenses"))
    assert "not unbreakable" in note.text


def test_no_text_calls_a_seller_dishonest() -> None:
    """UK Defamation Act 2013 (F156): differences are stated, never guilt."""
    folder = Path(models.__file__).parent
    checked = [*(folder / "checks").glob("*.py"), folder / "resolve.py", folder / "notes.py"]
    for path in checked:
        text = path.read_text(encoding="utf-8").lower()
        for word in ("fraud", "scam", "fake", "dishonest", "counterfeiter", "liar", "forger"):
            assert word not in text, f"{path.name}: {word}"
