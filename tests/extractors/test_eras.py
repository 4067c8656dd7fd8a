"""Years and decades in five languages, and the years that are no era."""

from __future__ import annotations

import pytest

from extractors.eras import find_eras
from extractors.reading import prepare
from extractors.records import Era

# (text, eras as from-to, "~" for approximate, "" for an open side)
CASES = [
    ("made in the early 1960s", "1960-1963"),
    ("1950s or 60s", "1950-1959 1960-1969"),
    ("1910s-20s ring", "1910-1929"),
    ("circa 1950s", "1950-1959~"),
    ("c.1905 brooch", "1905~"),
    ("c1915", "1915~"),
    ("ca 1930", "1930~"),
    ("Anfang der 60er Jahre", "1960-1963"),
    ("frühe 50er", "1950-1953"),
    ("aus den späten 1960ern", "1967-1969"),
    ("aus den Siebzigern", "1970-1979"),
    ("um 1910", "1910~"),
    ("Baujahr 1965", "1965"),
    ("Bj. 65", "1965"),
    ("années 60", "1960-1969"),
    ("début des années 50", "1950-1953"),
    ("fin années 70", "1977-1979"),
    ("les années 1960", "1960-1969"),
    ("anni '70", "1970-1979"),
    ("primi anni 50", "1950-1953"),
    ("metà anni '60", "1964-1966"),
    ("fine degli anni Cinquanta", "1957-1959"),
    ("años 60", "1960-1969"),
    ("principios de los 50", "1950-1953"),
    ("mediados de los años 60", "1964-1966"),
    ("finales de los setenta", "1977-1979"),
    ("década de los 60", "1960-1969"),
    ("década de 1950", "1950-1959"),
    ("hacia 1968", "1968~"),
    ("pre-1950", "-1949"),
    ("before 1965", "-1964"),
    ("vor 1950", "-1949"),
    ("avant 1940", "-1939"),
    ("prima del 1955", "-1954"),
    ("antes de 1945", "-1944"),
    ("mid-century modern", "1945-1965"),
    ("sixties inspired shape", ""),
    ("1950s style cat eye", ""),
    ("style années 50", ""),
    ("Art Deco style brooch", ""),
    ("we opened in 2003", ""),
    ("receipt dated 1991", ""),
    ("bought in 1985", ""),
    ("bought new in 1985, made in 1983", "1983"),
    ("model 1976", ""),
    ("no. 1965", ""),
    ("glasses frame by X / 1671", ""),
    ("between 1955 and 1960", "1955-1960"),
    ("zwischen 1955 und 1960", "1955-1960"),
    ("de 1955 à 1960", "1955-1960"),
    ("from 1962", "1962"),
    ("dated 1944", "1944"),
    ("reissued in 2015 after the 1958 pattern", "2015"),
    ("reissue of the 1958 model", ""),
    ("Vintage 1980", "1980"),
    ("1960s Vennerby", "1960-1969"),
    ("Lens 1960 mm", ""),
    ("price 1950 EUR", ""),
    ("early to mid 1960s", "1960-1966"),
    ("mid to late 70s", "1974-1979"),
    ("mid-1970s", "1974-1976"),
    ("1930's-1940's", "1930-1949"),
    ("Victorian", "1837-1901"),
    ("serviced in 2019", ""),
    ("Since 1998 we sell frames", ""),
    ("20er Jahre", "1920-1929"),
    ("2000er", "2000-2009"),
    ("Sixties sunglasses", "1960-1969"),
    ("Tel 1970 22", ""),
    ("estimated 1920 or so", "1920~"),
    ("Dating from about 1935", "1935~"),
    ("Seventies Brille", "1970-1979"),
    ("90s", "1990-1999"),
    ("the 1980s", "1980-1989"),
    ("anni sessanta", "1960-1969"),
    ("Style sixties", ""),
    ("60-70s", "1960-1979"),
    ("50er/60er", "1950-1959 1960-1969"),
    ("50er-60er Jahre", "1950-1969"),
    ("années 50-60", "1950-1969"),
    ("'50s", "1950-1959"),
    ("in the 1950's", "1950-1959"),
    ("model year 1978", "1978"),
    ("modèle 1962", ""),
    ("gafas de los 80", "1980-1989"),
    ("los años 80", "1980-1989"),
]


def show(era: Era) -> str:
    """Write an era as the table does."""
    first, last = era.from_year or "", era.to_year or ""
    years = str(first) if first == last else f"{first}-{last}"
    return years + "~" * era.approximate


@pytest.mark.parametrize(("text", "expected"), CASES)
def test_years_are_read_as_the_making_of_the_piece(text: str, expected: str) -> None:
    assert " ".join(show(era) for era in find_eras(prepare(text))) == expected


@pytest.mark.parametrize("text", ["we opened in 2003", "receipt dated 1991", "model 1976"])
def test_other_years_do_not_hide_the_era(text: str) -> None:
    eras = find_eras(prepare(f"Frame from the 1950s. {text}."))
    assert [show(era) for era in eras] == ["1950-1959"]


def test_early_and_mid_belong_to_the_quoted_words() -> None:
    (era,) = find_eras(prepare("Frame of the early to mid 1960s"))
    assert era.quoted[0].text == "early to mid 1960s"
