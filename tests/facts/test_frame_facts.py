"""Published facts of frame measurement, held against the code; each row names its source."""

from __future__ import annotations

import pytest

from extractors.catalogue import extract
from extractors.records import Listing, Measurement
from models import boxing
from models.checks.catalogue import run_checks
from models.checks.measurements import compare
from models.records import Finding
from models.resolve import resolve
from models.sheet_reading import default_tolerance
from models.sheet_records import Dimension
from models.sheets import Sheets, sheet_from_text

SHEET = """
name = "Vennerby Halm"
[sizes]
complete = true
basis = "ruler"
combinations = [{ lens_width = 52, bridge = 18, temple_length = 140 }]
"""


def findings(text: str, title: str = "Vennerby Halm") -> dict[str, Finding]:
    """What the checks say of a listing of the sheet above, by point."""
    sheet, problems = sheet_from_text(SHEET, "halm.toml", "halm")
    assert sheet is not None
    assert not problems
    sheets = Sheets((sheet,))
    listing = Listing("1", "x", title, text)
    evidence = extract(listing)
    found = run_checks(listing, evidence, resolve(listing, evidence, sheets), sheets)
    return {f.point: f for f in found}


def sizes(text: str) -> dict[str, float]:
    """Stated sizes by quantity, in mm."""
    evidence = extract(Listing("1", "x", "spectacles", text))
    return {m.quantity: m.low_mm for m in evidence.measurements if m.of_item}


@pytest.mark.parametrize(
    ("row", "outline", "box"),
    [
        # ISO 8624:2011 cl. 3: a rectangle touching the shape on four sides
        ("F1", [(-26, 3), (26, -2), (4, 19), (1, -19)], (52, 38)),
        ("F2", [(-26, 0), (26, 0), (0, 19), (0, -19)], (52, 38)),
        ("F3", [(0, 0), (52, 5), (20, 38)], (52, 38)),
    ],
)
def test_lens_is_boxed_by_touching_rectangle(
    row: str, outline: list[tuple[float, float]], box: tuple[float, float]
) -> None:
    assert boxing.boxed(outline) == box


@pytest.mark.parametrize("word", ["bridge", "DBL", "nose bridge"])
def test_bridge_has_several_names(word: str) -> None:
    """ISO 8624:2011 cl. 2 and its note on older practice (F4, F5)."""
    assert sizes(f"{word} 18mm") == {"bridge": 18}


@pytest.mark.parametrize("text", ["temple 140", "arm 14 cm", "arms 140mm"])
def test_side_is_temple_length(text: str) -> None:
    """ISO 8624:2011 cl. 2: length of side (F6)."""
    assert sizes(text) == {"temple_length": 140}


def test_centre_distance_is_width_plus_bridge() -> None:
    """Boxing system, flat front: c = a + d (F9)."""
    assert [boxing.centre_distance(52, 18), boxing.centre_distance(50, 20)] == [70, 70]


@pytest.mark.parametrize(
    "text", ["52□18-140", "52[]18 140", "52/18/140", "52-18-140", "52▢18 140", "52 18 140"]
)
def test_marking_order_is_lens_bridge_side(text: str) -> None:
    """ISO 8624 marking order on a side; WHITE SQUARE U+25A1 and what stands for it (F10, F11)."""
    assert sizes(text) == {"lens_width": 52, "bridge": 18, "temple_length": 140}


def test_jumbled_order_is_restored_from_values() -> None:
    """The usual ranges of lens, bridge and side do not overlap: retail size guides (F15-F19)."""
    assert sizes("18-52-140") == {"lens_width": 52, "bridge": 18, "temple_length": 140}


def test_c_size_is_no_lens_width() -> None:
    """C-size is the lens circumference: dispensing lecture on the datum system (F14)."""
    assert "lens_width" not in sizes("C 160")


def test_effective_diameter_of_rectangle() -> None:
    """Twice the longest radius from the boxed centre: edger manual (F22)."""
    corners = [(-26.0, -19.0), (26.0, -19.0), (26.0, 19.0), (-26.0, 19.0)]
    assert boxing.effective_diameter(corners) == pytest.approx(64.4, abs=0.01)


@pytest.mark.parametrize(("diagonal", "result"), [(70, "conflicts"), (50, "conflicts"), (60, None)])
def test_diagonal_lies_within_geometry(diagonal: int, result: str | None) -> None:
    """max(a, b) <= ED <= sqrt(a^2 + b^2), plane geometry (F23)."""
    low, high = boxing.diagonal_bounds(52, 38)
    assert (low <= diagonal <= high) == (result is None)


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("lens 52 mm, bridge 18 mm, total width 118 mm", "conflicts"),
        ("lens 52 mm, bridge 18 mm, total width 132 mm", None),
        ("lens 52 mm, bridge 18 mm, hinge to hinge 119 mm", None),
        ("lens 52 mm, bridge 18 mm, total width about 120 mm", None),
        ("strongly curved wrap sunglasses, lens 52 mm, bridge 18 mm, total width 118 mm", None),
    ],
)
def test_front_is_wider_than_two_lenses_and_bridge(text: str, result: str | None) -> None:
    """Full front must exceed 2a + d, plane geometry of the boxing system (F26, F8)."""
    finding = findings(text).get("front_against_lenses")
    assert (finding.result if finding else None) == result


def stated(quantity: str, mm: float, half: float = 0.0) -> Measurement:
    """A size as stated, rounding given."""
    return Measurement(quantity, mm, mm, False, True, "item", 1, half, None, ())


@pytest.mark.parametrize(
    ("row", "quantity", "sheet_mm", "stated_mm", "within"),
    [
        # ISO 12870, dimensional tolerances of marked sizes (from memory)
        ("F31", "lens_width", 52, 52.4, True),
        ("F31", "lens_width", 52, 53.2, False),
        ("F31", "bridge", 18, 18.5, True),
        ("F32", "temple_length", 140, 138.5, True),
        ("F32", "temple_length", 140, 136, False),
    ],
)
def test_marked_sizes_have_standard_tolerance(
    row: str, quantity: str, sheet_mm: float, stated_mm: float, within: bool
) -> None:
    tolerance = default_tolerance(quantity, "printed")
    dimension = Dimension(quantity, sheet_mm, sheet_mm, tolerance)
    assert (compare(stated(quantity, stated_mm), dimension).result == "agrees") is within


@pytest.mark.parametrize(
    ("text", "lens"),
    [("53/18/142", "agrees"), ("lens 53 bridge 18 temple 142", "agrees"),
     ("lens 56 bridge 18 temple 140", "conflicts")],
)  # fmt: skip
def test_ruler_has_wider_tolerance(text: str, lens: str) -> None:
    """Own choice, wider than ISO 12870: +-1 mm on lens and bridge, +-3 mm on the side (F35)."""
    found = findings(text)
    assert found["lens_width"].result == lens
    assert found["temple_length"].result == "agrees"


def test_inch_stated_to_a_quarter_is_three_millimetres_wide() -> None:
    """Stated precision sets the error: measurement practice, half the step (F40); 25.4 mm (F37)."""
    evidence = extract(Listing("1", "x", "spectacles", "lens 2 1/4 in"))
    (lens,) = evidence.measurements
    assert lens.low_mm == pytest.approx(57.15)
    assert lens.half_width_mm == pytest.approx(3.175, abs=0.05)


@pytest.mark.parametrize(
    ("row", "text", "mm"),
    [
        # international yard and pound agreement 1959: 25.4 mm exactly
        ("F37", "temple 5 1/2 in", 139.7),
        ("F37", "temple 5.75''", 146.05),
        # arithmetic on the inch
        ("F39", 'lens 2⅜"', 60.325),
        ("F39", "lens 1 3/4 in", 44.45),
        # SI
        ("F41", "lens 5.2 cm", 52.0),
        ("F41", "temple 14.0cm", 140.0),
        # European usage
        ("F42", "lens 5,2 cm", 52.0),
    ],
)
def test_units_become_millimetres(row: str, text: str, mm: float) -> None:
    assert list(sizes(text).values()) == [pytest.approx(mm)]


def test_siblings_are_told_apart_by_an_honest_ruler() -> None:
    """Two siblings of 46 x 59 and 51 x 61 over the rim (common practice, no source)."""
    small = [Dimension("rim_height", 46, 46, 1.0), Dimension("rim_width", 59, 59, 1.0)]
    for off in (-1.0, 0.0, 1.0):
        honest_small = stated("rim_height", 46 + off, 0.5)
        honest_large = stated("rim_height", 51 + off, 0.5)
        assert compare(honest_small, small[0]).result == "agrees"
        assert compare(honest_large, small[0]).result == "conflicts"
    assert compare(stated("rim_width", 61, 0.5), small[1]).result == "undecided"
