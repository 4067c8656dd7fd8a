"""A sheet that contradicts itself is told so, with the line and the fix."""

from __future__ import annotations

import pytest

from models.sheet_advice import check_sheets
from models.sheets import Sheets, example, sheet_from_text

HEAD = 'name = "Orlenza Merrin"\nsource = "x"\nyears = [1958, 1964]\n'
SIZES = "[sizes]\ncomplete = true\n"


def warnings(body: str) -> list[tuple[str, str]]:
    sheet, problems = sheet_from_text(HEAD + body, "m.toml", "m")
    assert sheet is not None
    assert problems == []
    return [(p.what, p.do) for p in check_sheets(Sheets((sheet,)))]


@pytest.mark.parametrize(
    ("body", "says", "fix"),
    [
        ("[[point]]\nname='hinge_barrels'\nalways=5\n[[point]]\nname='hinge_barrels'\nalways=7",
         "line 5: warning: hinge_barrels: is given twice: 5, then 7", "keep one"),
        ("[marks]\nbelong=['CE']\nnever=['CE']", "line 4: warning: marks: 'CE' both", "keep"),
        ("country='Engand'", "line 4: warning: country: 'Engand' is no country", "'England'"),
        ("[points.inscription_left]\ntext='ORLENZA'\nalways=true\nwhere='right temple'",
         "sits on the left side by its name", "left temple"),
        ("[points.inscription_right]\ntext='MERRIN IV'\nalways=true\nnumerals='arabic'",
         "the text 'MERRIN IV' has roman ones", 'numerals = "roman"'),
        ("[points.inscription_right]\ntext='MERRIN 4'\nalways=true\nnumerals='roman'",
         "has arabic ones", 'numerals = "arabic"'),
        ("[[point]]\nname='frame_width'\nvalue=13.8",
         "frame width 13.8 mm is hardly", "millimetres"),
        ("[[point]]\nname='nose_pads'\nalways='black'\nwhen='colour is blakc'",
         "the colour 'blakc' of its condition is not known", "did you mean 'black'?"),
        (SIZES + "combinations=[{lens_width=56,rim_width=50,bridge=20}]",
         "rim width 50 mm is less than lens width 56 mm", "lies inside"),
        (SIZES + "combinations=['46-22-140','46-22-140']", "size 2 is the same as size 1", "take"),
        (SIZES + "tolerance=1\ncombinations=[{rim_width=62,temple_length=140}]",
         "temple_length ± 1 mm is finer than a ruler repeats", "temple_length = 3"),
        ("[[edition]]\nname='Silver'\n[[edition]]\nname='Silver'",
         "stands there twice", "rename one"),
        ("[[edition]]\nname='Silver'\nknown_by='rivet_colour is silver'\n[[edition.point]]\n"
         "name='rivet_colour'\nalways='gold'",
         "line 5: warning: edition Silver: is known by rivet_colour silver", "correct known_by"),
        ("[[look_alike]]\nreference='x'\ntell_by=['clasp']\n[points]\nhinge_barrels=7",
         "tell_by names 'clasp'", "use one of hinge_barrels"),
    ],
)  # fmt: skip
def test_contradiction_is_told_with_its_fix(body: str, says: str, fix: str) -> None:
    found = [do for what, do in warnings(body) if says in what]
    assert found, warnings(body)
    assert fix in found[0]


@pytest.mark.parametrize(
    "body",
    [
        "[[point]]\nname='nose_pads'\nalways='black'\nwhen='colour is black'\n"
        "[[point]]\nname='nose_pads'\nalways='clear'\notherwise=true",
        "[points.core_wire]\nalways='visible'\nwhen='colour is not dark or opaque'",
        "country='Great Britain'",
        "[points.inscription_inside]\ntext='MERRIN 4'\nalways=true\nwhere='inside of both temples'",
        SIZES + "combinations=[{lens_width=46,rim_width=50,bridge=20,temple_length=140}]",
        SIZES + "basis='printed'\ntolerance=1\ncombinations=['46-22-140']",
    ],
)
def test_what_can_be_true_is_not_warned_of(body: str) -> None:
    words = ("twice", "both", "not known", "no country", "sits on", "less than", "finer")
    told = [what for what, _ in warnings(body) if any(word in what for word in words)]
    assert told == []


def test_example_reads_clean() -> None:
    sheet, problems = sheet_from_text(example(), "example.toml", "example")
    assert problems == []
    assert sheet is not None
    told = [p.what for p in check_sheets(Sheets((sheet,))) if "has no sheet" not in p.what]
    assert told == []
