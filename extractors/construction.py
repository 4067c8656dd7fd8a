"""Construction claims: hinges, screws, rivets, core wire, pads, lenses, fillings, movements ..."""

from __future__ import annotations

from extractors.lexicon import numeral
from extractors.reading import Hit, Reading
from extractors.records import Feature
from extractors.scope import claim_of

KINDS = (
    "hinge",
    "screws",
    "rivets",
    "core_wire",
    "nose_pads",
    "lens_material",
    "temple_style",
    "filling_system",
    "movement",
    "crystal",
    "aperture_blades",
    "clasp",
)


def _value(reading: Reading, hit: Hit) -> str | None:
    """Give the normal form: the number said where the list says #, else the list's value."""
    if hit.value != "#":
        return hit.value or None
    numbers = [numeral(word) for word in reading.words[hit.first : hit.last]]
    return next((str(number) for number in numbers if number is not None), None)


def _is_contrast(reading: Reading, hit: Hit, earlier: list[Hit]) -> bool:
    """Tell whether this is the Y of "X, not Y" or "X instead of Y"."""
    same = [other for other in earlier if other.name == hit.name and other.last <= hit.first]
    if not same or hit.first - same[-1].last > 5:
        return False
    return any(
        same[-1].last <= other.first and other.last <= hit.first and hit.first - other.last <= 2
        for other in reading.found("words.instead")
    )


def find_features(reading: Reading) -> tuple[Feature, ...]:
    """Find every construction claim; each mention once, in the order of the text."""
    named = (hit for kind in KINDS for hit in reading.found(f"construction.{kind}"))
    hits = sorted(named, key=lambda hit: (hit.start, -hit.end))
    found: list[Feature] = []
    kept: list[Hit] = []
    for hit in hits:
        if _is_contrast(reading, hit, kept):
            continue
        kept.append(hit)
        kind = hit.name.removeprefix("construction.")
        found.append(
            Feature(
                kind,
                reading.text[hit.start : hit.end],
                claim_of(reading, hit.first, hit.last),
                _value(reading, hit),
                (reading.span(hit.start, hit.end),),
            )
        )
    return tuple(found)
