"""A sheet's own words for a value stand before the general vocabulary."""

from __future__ import annotations

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.checks.catalogue import run_checks
from models.resolve import resolve
from models.sheets import Sheets, sheet_from_text

SHEET = """
name = "Korvell Ridge"
[[point]]
name = "bars"
always = "double bar"
never = "single bar"
topic = ["brow bar", "bar", "bars"]
[[point]]
name = "end_caps"
always = "brass dome"
never = "flat disc"
cues = { "flat disc" = ["coin"] }
[[point]]
name = "clip_shape"
always = "half moon"
[[point]]
name = "rivet_shape"
always = "long oval"
never = "oval"
[[point]]
name = "front_seam"
always = "one piece"
[[point]]
name = "material"
always = "gold"
never = "gold filled"
cues = { gold = ["or massif"] }
[[point]]
name = "core_wire"
never = "any"
"""

ROWS = [
    ("bars", "double bar across the top", "agrees"),
    ("bars", "a twin bar bridge", "agrees"),
    ("bars", "two bars over the bridge", "agrees"),
    ("bars", "double brow bar", "agrees"),
    ("bars", "bars: double", "agrees"),
    ("bars", "single bar at the top", "conflicts"),
    ("bars", "only one bar on top", "conflicts"),
    ("bars", "with a bar at the top", "not_stated"),  # which of the two is not said
    ("end_caps", "end caps: brass domes", "agrees"),
    ("end_caps", "flat disc end caps", "conflicts"),
    ("end_caps", "end caps like a coin", "conflicts"),
    ("end_caps", "silver end caps", "not_stated"),  # the sheet says nothing of a colour
    ("clip_shape", "half-moon clip", "agrees"),
    ("clip_shape", "round clip", "conflicts"),  # the point's name says that it is a shape
    ("rivet_shape", "long oval rivets", "agrees"),
    ("rivet_shape", "oval rivets", "conflicts"),
    ("front_seam", "front seam: one piece", "agrees"),
    ("material", "Monture en or massif 14 carats", "agrees"),
    ("material", "solid gold", "agrees"),
    ("material", "gold filled", "conflicts"),
    ("core_wire", "Monture imitation corne, âme métallique visible", "conflicts"),
    ("core_wire", "an imitation, the real one has a visible core wire", "not_stated"),
]


@pytest.mark.parametrize(("point", "text", "result"), ROWS)
def test_own_value_beats_the_general_word_in_it(point: str, text: str, result: str) -> None:
    sheet, problems = sheet_from_text(SHEET, "ridge.toml", "ridge")
    assert sheet is not None
    assert not problems
    listing, sheets = Listing("1", "x", "Korvell Ridge", text), Sheets((sheet,))
    evidence = extract(listing)
    found = run_checks(listing, evidence, resolve(listing, evidence, sheets), sheets)
    assert {f.point: f.result for f in found}[point] == result
