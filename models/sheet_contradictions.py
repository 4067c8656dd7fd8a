"""What in one sheet cannot be true together, or can never hold: (key, what, fix) of each.

Points given twice, marks on both lists, places and numerals against the text, sizes out of every
proportion, editions against what they are known by.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence

from extractors.folding import plain
from models.checks.country import country_names, group_of
from models.places import clash, read_place
from models.point_words import facet
from models.sheet_records import (
    Combination,
    Condition,
    Dimension,
    EditionSheet,
    ReferenceSheet,
    Rule,
    Sizes,
)

Warning_ = tuple[str, str, str]


def contradictions(sheet: ReferenceSheet) -> Iterator[Warning_]:
    """Everything in a sheet that contradicts itself or can never hold."""
    yield from _twice(sheet.rules)
    yield from _marks(sheet)
    yield from _countries(sheet)
    for rule in (*sheet.rules, *(r for e in sheet.editions for r in e.rules)):
        yield from _inscription(rule)
        yield from _conditions(rule)
    yield from _sizes(sheet.sizes, sheet.fixed)
    for edition in sheet.editions:
        yield from _sizes(edition.sizes or Sizes(), edition.fixed)
    yield from _editions(sheet.editions)


# --- points and marks ------------------------------------------------------------------------


def _twice(rules: Sequence[Rule]) -> Iterator[Warning_]:
    """Two statements of one point that hold always, with values that exclude each other."""
    for number, rule in enumerate(rules):
        for other in rules[:number]:
            same = other.point == rule.point and not rule.when and not other.when
            if same and rule.values and other.values and not set(rule.values) & set(other.values):
                both = f"{' or '.join(other.values)}, then {' or '.join(rule.values)}"
                fix = "keep one, list both values, or give each a when"
                yield rule.point, f"is given twice: {both}", fix
                break


def _marks(sheet: ReferenceSheet) -> Iterator[Warning_]:
    never = {plain(mark) for mark in sheet.marks_never}
    for mark in sheet.marks_belong:
        if plain(mark) in never:
            yield "marks", f"'{mark}' both belongs and is never there", "keep it in one of the two"


def _countries(sheet: ReferenceSheet) -> Iterator[Warning_]:
    for country in sheet.country:
        if group_of(country) is None:
            near = difflib.get_close_matches(plain(country), country_names(), 1)
            fix = f"did you mean '{near[0].title()}'?" if near else "write its English name"
            yield "country", f"'{country}' is no country that is known", fix


_SIDES = {"inscription_left": "left", "inscription_right": "right"}
_ROMAN = re.compile(r"\b(?:[IVX]{2,}|[IVX])\b")


def _inscription(rule: Rule) -> Iterator[Warning_]:
    found = rule.inscription
    if found is None:
        return
    side = _SIDES.get(rule.point)
    where = read_place(" ".join(found.where))
    if side and clash(where, frozenset({("side", side)})) == "side":
        what = f"sits on the {side} side by its name, but where = '{', '.join(found.where)}'"
        yield rule.point, what, f'write where = "inside of the {side} temple", or rename the point'
    text = " ".join(found.text)
    roman, arabic = _ROMAN.search(text), re.search(r"\d", text)
    wrong = (found.numerals == "arabic" and roman and not arabic) or (
        found.numerals == "roman" and arabic and not roman
    )
    if wrong:
        kind = "roman" if roman else "arabic"
        what = f"numerals = '{found.numerals}', but the text '{text}' has {kind} ones"
        yield rule.point, what, f'write numerals = "{kind}", or correct the text'


# words beside a colour that conditions on it understand
_SHADES = re.compile(
    r"\b(?:dark|light|pale|opaque|solid|transparent|translucent|see-through|any|other|colou?rs?|ones?)\b"
)


def _conditions(rule: Rule) -> Iterator[Warning_]:
    for condition in rule.when:
        for value in condition.values if condition.subject == "colour" else ():
            if not _is_colour(value):
                near = difflib.get_close_matches(value, facet("colour").values, 1)
                what = f"the colour '{value}' of its condition is not known, so it never holds"
                fix = f"did you mean '{near[0]}'?" if near else f"use one of {_colours()}"
                yield rule.point, what, fix


def _is_colour(value: str) -> bool:
    rest = _SHADES.sub(" ", value).strip()
    return not rest or any(p.search(rest) for p in facet("colour").values.values())


def _colours() -> str:
    return ", ".join(list(facet("colour").values)[:8])


# --- sizes -----------------------------------------------------------------------------------

_INSIDE = (("lens_width", "rim_width"), ("lens_height", "rim_height"), ("rim_width", "frame_width"))
_RULER_REPEATS = {"temple_length": 2.0}  # mm; a ruler along an old arm repeats no better


def _sizes(sizes: Sizes, fixed: Sequence[Dimension]) -> Iterator[Warning_]:
    yield from _same_twice(sizes.combinations)
    for combination in sizes.combinations or (Combination("the size", ()),):
        by_name = {d.quantity: d for d in (*combination.dimensions, *fixed)}
        for inner, outer in _INSIDE:
            small, large = by_name.get(inner), by_name.get(outer)
            if small and large and large.high_mm < small.low_mm:
                what = (
                    f"{combination.name}: {outer.replace('_', ' ')} {large.high_mm:g} mm is less "
                    f"than {inner.replace('_', ' ')} {small.low_mm:g} mm"
                )
                yield outer, what, f"check {inner} and {outer}: the one lies inside the other"
    for dimension in {d.quantity: d for c in sizes.combinations for d in c.dimensions}.values():
        least = _RULER_REPEATS.get(dimension.quantity, 0.0)
        if dimension.basis != "printed" and 0.5 <= dimension.tolerance_mm < least:
            name = dimension.quantity
            what = f"{name} ± {dimension.tolerance_mm:g} mm is finer than a ruler repeats"
            fix = f"write tolerance = {{ {name} = 3 }}, or leave the tolerance out"
            yield "tolerance", what, fix


def _same_twice(combinations: Sequence[Combination]) -> Iterator[Warning_]:
    seen: dict[tuple[tuple[str, float, float], ...], str] = {}
    for combination in combinations:
        key = tuple((d.quantity, d.low_mm, d.high_mm) for d in combination.dimensions)
        if key in seen:
            what = f"{combination.name} is the same as {seen[key]}"
            yield "combinations", what, "take one of them out, or correct it"
        seen.setdefault(key, combination.name)


# --- editions --------------------------------------------------------------------------------


def _editions(editions: Sequence[EditionSheet]) -> Iterator[Warning_]:
    names: set[str] = set()
    for edition in editions:
        if plain(edition.name) in names:
            what = "an edition of this name stands there twice"
            yield f"edition {edition.name}", what, "put both into one [[edition]], or rename one"
        names.add(plain(edition.name))
        for condition in edition.known_by:
            yield from _against_own_point(edition, condition)


def _against_own_point(edition: EditionSheet, condition: Condition) -> Iterator[Warning_]:
    """Known by silver rivets, and its own point says gold."""
    for rule in edition.rules:
        same = rule.point == condition.subject and not condition.negated and rule.values
        if same and rule.inscription is None and not set(rule.values) & set(condition.values):
            what = (
                f"is known by {condition.subject} {' or '.join(condition.values)}, but its point "
                f"says {' or '.join(rule.values)}"
            )
            yield f"edition {edition.name}", what, "correct known_by or the edition's point"
