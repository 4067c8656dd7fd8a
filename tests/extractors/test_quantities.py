"""Figures and units become millimetres, each with the half-width of its rounding."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.quantities import (
    MM_PER_UNIT,
    find_amounts,
    half_width_mm,
    plain,
    read_number,
    to_mm,
    tokenise,
)

# text, then (figure with unit as written, millimetres) of every figure in it
FORMS = [
    ("52 mm", [("52 mm", 52.0)]),
    ("42MM", [("42MM", 42.0)]),
    ("13.8cm", [("13.8cm", 138.0)]),
    ("12,9cm", [("12,9cm", 129.0)]),
    ("1,200 mm", [("1,200 mm", 1200.0)]),
    ("5.125 inches", [("5.125 inches", 130.175)]),
    ("5 3/4 inch", [("5 3/4 inch", 146.05)]),
    ("1-3/4 in", [("1-3/4 in", 44.45)]),
    ("5 ½ in", [("5 ½ in", 139.7)]),
    ("4⅞ INCHES", [("4⅞ INCHES", 123.825)]),
    ("5 3⁄8\"", [("5 3⁄8\"", 136.525)]),
    ("2⅜″", [("2⅜″", 60.325)]),
    ("6¾”", [("6¾”", 171.45)]),
    ("5.75''", [("5.75''", 146.05)]),
    ("5.75’’", [("5.75’’", 146.05)]),
    ("11'''", [("11'''", 24.8138)]),
    ("12 lignes", [("12 lignes", 27.0696)]),
    ("５２ｍｍ", [("５２ｍｍ", 52.0)]),
    ("12x9cm", [("12", None), ("9cm", 90.0)]),
    ("12cmx9cm", [("12cm", 120.0), ("9cm", 90.0)]),
    ("52/16-140", [("52", None), ("16", None), ("140", None)]),
    ("1/20 12K", [("1", None), ("20", None), ("12", None)]),
    ("45 m/m", [("45 m/m", 45.0)]),
    ("five and a half inches", [("five and a half inches", 139.7)]),
    ("half an inch", [("half an inch", 12.7)]),
    ("three quarters of an inch", [("three quarters of an inch", 19.05)]),
    ("forty-two mm", [("forty-two mm", 42.0)]),
    ("fünfeinhalb cm", [("fünfeinhalb cm", 55.0)]),
    ("vierzehn Zentimeter", [("vierzehn Zentimeter", 140.0)]),
    ("zweiundfünfzig mm", [("zweiundfünfzig mm", 52.0)]),
    ("cinq pouces et demi", [("cinq pouces et demi", 139.7)]),
    ("quarante-deux millimètres", [("quarante-deux millimètres", 42.0)]),
    ("cinque pollici e mezzo", [("cinque pollici e mezzo", 139.7)]),
    ("quattordici centimetri", [("quattordici centimetri", 140.0)]),
    ("dos pulgadas y media", [("dos pulgadas y media", 63.5)]),
    ("cuarenta y dos milímetros", [("cuarenta y dos milímetros", 42.0)]),
    ("50 milimeters, 5 centimeteres, 2 inchs", [
        ("50 milimeters", 50.0), ("5 centimeteres", 50.0), ("2 inchs", 50.8),
    ]),
    ("one lens is five years old", []),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), FORMS, ids=[form[0] for form in FORMS])
def test_figures_are_read_with_their_unit(
    text: str, expected: list[tuple[str, float | None]]
) -> None:
    amounts = find_amounts(tokenise(plain(text.lower())))
    read = [
        (text[a.start : a.stop], to_mm(a.number.value, a.unit) if a.unit else None) for a in amounts
    ]
    assert read == expected


HALF_WIDTHS = [  # half the step of the figure as written (F40)
    ("5 3/8", "in", 1.5875),
    ("2 1/4", "in", 3.175),
    ("5 ½", "in", 6.35),
    ("5.00", "in", 0.127),
    ("6", "in", 12.7),
    ("52", "mm", 0.5),
    ("52.5", "mm", 0.05),
    ("13.8", "cm", 0.5),
    ("14,0", "cm", 0.5),
    ("14", "cm", 5.0),
]


@pytest.mark.parametrize(("figure", "unit", "expected"), HALF_WIDTHS)
def test_stated_precision_sets_the_half_width(figure: str, unit: str, expected: float) -> None:
    assert half_width_mm(figure, unit) == pytest.approx(expected)


def test_a_half_width_of_no_figure_is_an_error() -> None:
    with pytest.raises(ValueError, match="no figure"):
        half_width_mm("wide", "mm")


@pytest.mark.parametrize("unit", ["mm", "cm", "m", "in"])
def test_units_agree_with_pint(unit: str) -> None:
    registry = pint.UnitRegistry()
    name = {"in": "inch"}.get(unit, unit)
    assert pytest.approx(registry.Quantity(1, name).to("mm").magnitude) == MM_PER_UNIT[unit]


@given(st.integers(10, 99999), st.sampled_from([1, 2, 4, 8, 16, 32]))
def test_fractions_agree_with_arithmetic(sixteenths: int, denominator: int) -> None:
    whole, top = divmod(sixteenths % 200, denominator)
    text = f"{whole} {top}/{denominator}" if top else str(whole)
    number = read_number(text)
    assert number is not None
    assert math.isclose(number.value, whole + (top / denominator if top else 0))


@given(st.text(max_size=200))
def test_plain_text_keeps_its_length(text: str) -> None:
    assert len(plain(text)) == len(text)


@given(st.text(alphabet="0123456789/., -'\"½¼x□mcin", max_size=120))
def test_tokens_and_amounts_lie_inside_the_text(text: str) -> None:
    tokens = tokenise(plain(text.lower()))
    places = [(tokens.starts[at], tokens.end(at)) for at in range(len(tokens))]
    assert [plain(text.lower())[start:end] for start, end in places] == tokens.texts
    ends = [0]
    for amount in find_amounts(tokens):
        assert ends[-1] <= amount.start < amount.end <= amount.stop <= len(text)
        ends.append(amount.stop)
