"""Warnings about sheets that load but may judge badly: each names the file, what, and the fix."""

from __future__ import annotations

import difflib
from collections import defaultdict
from collections.abc import Iterator

from extractors.folding import plain
from extractors.records import Measurement, Problem
from models.checks.measurements import compare
from models.places import read_alignment, read_place
from models.point_words import facet, is_known_value, known_points, known_values
from models.sheet_contradictions import contradictions
from models.sheet_records import (
    INSCRIPTIONS,
    LENGTHS,
    Combination,
    Dimension,
    LookAlike,
    ReferenceSheet,
    Rule,
)
from models.sheets import Sheets, line_of, line_with

# a seller's ruler reads to a millimetre; half of it is rounding (measurement practice, F40)
FINEST_RULER_MM = 0.5


def check_sheets(sheets: Sheets) -> tuple[Problem, ...]:
    """What could not be read, then the warnings, sheet by sheet."""
    found = [w for sheet in sheets.sheets for w in _warnings(sheet, sheets)]
    return (*sheets.problems, *found, *_shared_names(sheets))


def _warnings(sheet: ReferenceSheet, sheets: Sheets) -> Iterator[Problem]:
    for key, what, fix in (
        *_size_warnings(sheet),
        *_point_warnings(sheet),
        *_word_warnings(sheet),
        *contradictions(sheet),
        *_look_alike_warnings(sheet, sheets),
        *_source_warnings(sheet),
    ):
        where = line_of(sheet.text, key)
        yield Problem(sheet.file, None, f"{where}warning: {key}: {what}", fix)


Warning_ = tuple[str, str, str]


def _size_warnings(sheet: ReferenceSheet) -> Iterator[Warning_]:
    if not sheet.sizes.combinations and not sheet.fixed:
        yield (
            "sizes",
            "no size at all",
            "give at least lens width and bridge: they decide most cases",
        )
    for dimension in _dimensions(sheet):
        if dimension.basis != "printed" and dimension.tolerance_mm < FINEST_RULER_MM:
            what = (
                f"{dimension.quantity} ± {dimension.tolerance_mm:g} mm is finer than a ruler reads"
            )
            yield "tolerance", what, "use 1 mm for lens and bridge, 3 mm for temples"
    if len(sheet.sizes.combinations) > 1 and not sheet.sizes.complete:
        what = "the list is not complete, so an unlisted size never conflicts"
        yield "sizes", what, "write complete = true if no other size was made"
    for combination in sheet.sizes.combinations or (Combination("the size", ()),):
        sizes = {d.quantity: d for d in (*combination.dimensions, *sheet.fixed)}
        yield from _swapped(combination.name, sizes)
        if _cannot_be(sizes):
            what = f"{combination.name}: the front is narrower than two lenses and the bridge"
            yield "sizes", what, "check frame_width, lens_width and bridge"


# what no frame is beyond, in mm (own choice, far around what retail guides call usual)
_CAN_BE = {
    "lens_width": (25, 80), "lens_height": (12, 75), "bridge": (8, 40), "temple_length": (80, 180),
    "rim_width": (28, 95), "rim_height": (15, 85), "frame_width": (90, 190),
    "frame_height": (15, 95), "temple_to_bend": (50, 140),
}  # fmt: skip


def _swapped(name: str, sizes: dict[str, Dimension]) -> Iterator[Warning_]:
    """A bridge of 140 mm, a temple of 22 mm: figures that stand under the wrong name."""
    for quantity, (least, most) in _CAN_BE.items():
        dimension = sizes.get(quantity)
        if dimension and not (least <= dimension.low_mm and dimension.high_mm <= most):
            size = f"{quantity.replace('_', ' ')} {dimension.low_mm:g} mm"
            what = f"{name}: {size} is hardly possible"
            yield (
                quantity if name == "the size" else "sizes",
                what,
                "check whether two figures have changed places, or the unit (millimetres)",
            )


def _cannot_be(sizes: dict[str, Dimension]) -> bool:
    if not {"frame_width", "lens_width", "bridge"} <= set(sizes):
        return False
    least = 2 * sizes["lens_width"].low_mm + sizes["bridge"].low_mm
    return sizes["frame_width"].high_mm + sizes["frame_width"].tolerance_mm < least


def _dimensions(sheet: ReferenceSheet) -> Iterator[Dimension]:
    for combination in sheet.sizes.combinations:
        yield from combination.dimensions
    yield from sheet.fixed
    for edition in sheet.editions:
        for combination in edition.sizes.combinations if edition.sizes else ():
            yield from combination.dimensions
        yield from edition.fixed


# everyday names of points, with the one the sheets use
_EVERYDAY = {
    "tips": "temple_tip", "ends": "temple_tip", "screws": "screw_slot", "pads": "nose_pads",
    "barrels": "hinge_barrels", "wire": "core_wire", "studs": "hinge_studs",
}  # fmt: skip


def _point_warnings(sheet: ReferenceSheet) -> Iterator[Warning_]:
    known = {*known_points(), *LENGTHS}
    for rule in (*sheet.rules, *(r for e in sheet.editions for r in e.rules)):
        near = [] if rule.point in known else difflib.get_close_matches(rule.point, known, 1, 0.85)
        if near:
            yield rule.point, "looks like a typing slip", f"did you mean '{near[0]}'?"
        if not (rule.values or rule.never or rule.inscription):
            yield rule.point, "says nothing", "add always, never, usually or text"
        both = set(rule.values) & set(rule.never)
        if both:
            yield rule.point, f"'{', '.join(both)}' is both admitted and never so", "keep one"
        if main := _EVERYDAY.get(rule.point):
            yield rule.point, f"is read as {main}", f'write name = "{main}"'
            continue
        if rule.point not in known and not rule.topic and not rule.inscription:
            what = "a point of your own: words that name its part help to find it"
            yield rule.point, what, 'add topic = ["..."] with the words sellers use'
    mute = list(dict.fromkeys(r.point for r in sheet.rules if not r.question))
    if mute:
        what = f"no question for {', '.join(mute)}"
        yield mute[0], what, 'add question = "..." to the points (polite, accusing nobody)'
    yield from _edition_warnings(sheet)


def _word_warnings(sheet: ReferenceSheet) -> Iterator[Warning_]:
    """Words of the sheet that nothing a seller writes will be recognised as."""
    for rule in (*sheet.rules, *(r for e in sheet.editions for r in e.rules)):
        known = known_values(rule.point)
        for value in (*rule.values, *rule.usual, *rule.never):
            if known and not rule.inscription and not is_known_value(rule, value):
                what = f"only the very word '{value}' will be found for it"
                yield (
                    rule.point,
                    what,
                    f'use {_some(known)}, or add cues = {{ "{value}" = ["..."] }}',
                )
        yield from _inscription_warnings(rule)


def _inscription_warnings(rule: Rule) -> Iterator[Warning_]:
    if rule.inscription is None:
        return
    methods = facet("method")
    for how in rule.inscription.how:
        if methods.canonical(how) is None:
            what = f"how = '{how}' is no way of making a mark that is known"
            yield rule.point, what, f"use {_some(tuple(methods.values))}"
    for place in (*rule.inscription.where, *rule.inscription.not_where):
        if not read_place(place) and not read_alignment(place):
            what = f"'{place}' names no side, surface, part or spot"
            yield rule.point, what, 'write where = "inside of the left temple"'


def _some(values: tuple[str, ...]) -> str:
    shown = ", ".join(f'"{value}"' for value in values[:6])
    return f"one of {shown} ..." if len(values) > 6 else f"one of {shown}"


def _edition_warnings(sheet: ReferenceSheet) -> Iterator[Warning_]:
    """An edition known by something no listing could be held against."""
    told = {*known_points(), *sheet.points, *LENGTHS, "colour", "country", "lens", "edition"}
    for edition in sheet.editions:
        told |= {rule.point for rule in edition.rules}
        for condition in edition.known_by:
            if condition.subject == "colour" and len(" ".join(condition.values).split()) > 1:
                what = f"known_by is read as the colour '{' or '.join(condition.values)}'"
                yield f"edition {edition.name}", what, 'write known_by = "rivet_colour is gold"'
            if condition.subject not in told:
                what = f"known_by speaks of '{condition.subject}', which is no point of the sheet"
                yield f"edition {edition.name}", what, 'write known_by = "rivet_colour is gold"'


def _look_alike_warnings(sheet: ReferenceSheet, sheets: Sheets) -> Iterator[Warning_]:
    for look in sheet.look_alikes:
        other = sheets.find(look.reference)
        if not look.tell_by:
            what = f"{look.reference} has no telling point"
            yield "look_alike", what, 'add tell_by = ["..."]'
        theirs = other.points if other else ()
        for point in look.tell_by:
            if point not in {*known_points(), *LENGTHS, *INSCRIPTIONS, *sheet.points, *theirs}:
                what = f"tell_by names '{point}', which is no point and no size"
                use = [*dict.fromkeys((*(r.point for r in sheet.rules), *sheet.points))]
                yield "tell_by", what, f"use one of {', '.join(use[:8])}"
        if other is None:
            what = f"{look.reference} has no sheet, so its sizes cannot be recognised"
            near = difflib.get_close_matches(look.reference, [s.id for s in sheets.sheets], 1)
            known = ", ".join(s.id for s in sheets.sheets if s is not sheet)
            fix = f"did you mean '{near[0]}'? " if near else f"known: {known[:200]}; "
            yield "look_alike", what, f"{fix}write a sheet for it or correct the reference"
        elif other is not sheet:
            yield from _same_points(sheet, other, look)


def _same_points(
    sheet: ReferenceSheet, other: ReferenceSheet, look: LookAlike
) -> Iterator[Warning_]:
    for point in look.tell_by:
        if point in sheet.points and point in other.points and not _differs(sheet, other, point):
            what = f"{point} is the same on {other.name}: it tells nothing apart"
            yield "look_alike", what, "name a point whose values differ"


def _differs(sheet: ReferenceSheet, other: ReferenceSheet, point: str) -> bool:
    mine = [d for d in _dimensions(sheet) if d.quantity == point]
    theirs = [d for d in _dimensions(other) if d.quantity == point]
    if mine and theirs:
        return any(compare(_as_stated(d), t).result != "agrees" for d in mine for t in theirs)
    return _told(sheet, point) != _told(other, point)


def _as_stated(dimension: Dimension) -> Measurement:
    low, high = dimension.low_mm, dimension.high_mm
    return Measurement(dimension.quantity, low, high, False, True, "item", 1, 0.5, None, ())


def _told(sheet: ReferenceSheet, point: str) -> set[tuple[object, ...]]:
    rules: list[Rule] = [r for r in sheet.rules if r.point == point]
    return {(r.values, r.never, r.force, r.inscription) for r in rules}


def _source_warnings(sheet: ReferenceSheet) -> Iterator[Warning_]:
    unsourced = [r.point for r in sheet.rules if not r.source]
    if not sheet.source and (unsourced or not sheet.rules):
        yield "source", "no source is named", 'write source = "..." at the top, or per point'
    if sheet.years.first is None and sheet.years.last is None:
        yield "years", "no production years", "write years = [1958, 1964], or leave one side open"


def _shared_names(sheets: Sheets) -> Iterator[Problem]:
    owners: dict[str, list[ReferenceSheet]] = defaultdict(list)
    for sheet in sheets.sheets:
        for name in {plain(n) for n in (sheet.name, *sheet.aliases)}:
            owners[name].append(sheet)
    for name, sharing in owners.items():
        if len(sharing) > 1:
            others = ", ".join(s.id for s in sharing)
            where = line_with(sharing[0].text, name)
            what = f"{where}warning: the name '{name}' belongs to several sheets: {others}"
            yield Problem(sharing[0].file, None, what, "keep it in one of them")
