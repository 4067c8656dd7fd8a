"""Stated dimensions: every length a seller writes, named, and told whether it is the item's own.

Figures are found by quantities.py and words by size_cues.py. Step by step: what is worth reading
(size_pieces.py); figures joined to ranges, products and boxed sizes (size_mentions.py); words
shared out among them (size_labels.py, size_sharing.py); headings and notes carried on
(size_context.py); units of bare figures (size_units.py); names given here.
Sizes are millimetres. Names are those of the boxing system (ISO 8624:2011) and common usage.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import NamedTuple

from extractors.quantities import MM_PER_UNIT, half_width_mm, plain, read_rows, to_mm
from extractors.reading import Reading
from extractors.records import Basis, Measurement
from extractors.size_context import (
    Context,
    Side,
    enter_line,
    note_approximation,
    note_heading,
    note_models,
    note_piece,
    note_side,
    note_units,
    note_units_seen,
)
from extractors.size_cues import KIND, LONGEST_HEAD, goods_of_words, name_quantity
from extractors.size_labels import NOTHING_SAID, Label
from extractors.size_mentions import Mention, Segment
from extractors.size_pieces import Placed, segments_of
from extractors.size_sharing import complete_labels
from extractors.size_units import unit_of_bare

_SLOT_REACH = 1.0  # a thing named further away does not own a size that tells itself
_MOST = 5000  # measurements of one text; more is no listing
_OBJECTS = {"other_piece": "other", "not_sold": "other", "pd": "person", "ruler": "reference"}
_BASES: dict[str, Basis] = {
    "to_bend": "to_bend",
    "overall": "overall",
    "hinge_to_hinge": "hinge_to_hinge",
    "printed": "printed",
    "ruler": "ruler",
}


def find_measurements(reading: Reading, goods: str | None = None) -> tuple[Measurement, ...]:
    """Every stated length, in the order of the text; spans point into `reading.text`.

    `goods` is one of size_cues.GOODS; None has it guessed from the text, which a single item
    specific is too short for. `quantity` is "unspecified" where nothing names it. Never raises;
    linear in the text.
    """
    text = plain(reading.folded)
    if goods is None:
        goods = _goods_of(reading, text)
        reading.memory["goods"] = goods  # construction.py asks for it again
    context = Context(goods)
    found: list[Measurement] = []
    placed = segments_of(reading, text, context.goods)
    context.note = next((one.worded.noted for one in placed if one.worded.noted), None)
    for one in placed:
        if one.line != context.line:
            enter_line(one.line, one.after_gap, context)
        _measure(reading, one, context, found)
        if len(found) > _MOST:
            break
    if len(context.sides) > 1:
        _name_by_sides(found, context.sides)
    if context.all_approximate:
        found = [replace(m, approximate=m.approximate or m.of_item) for m in found]
    return tuple(found[:_MOST])


def _goods_of(reading: Reading, text: str) -> str:
    words = reading.words
    if len(text) > LONGEST_HEAD:
        words = words[: reading.word_at(LONGEST_HEAD)]
    title_end = words.index("\n") if "\n" in words else len(words)
    return goods_of_words(words[:title_end], words[title_end:], text)


def _measure(reading: Reading, placed: Placed, context: Context, found: list[Measurement]) -> None:
    """Add the measurements of one segment; `context` is kept up to date for the next."""
    segment, entries, said, kinds, _ = placed.worded
    note_units_seen(segment.mentions, context)
    if kinds & _UNIT:
        note_units(segment, entries, context)
    if kinds & _APPROX:
        note_approximation(segment, entries, context)
    if not segment.mentions:
        note_heading(segment, entries, context)
        return
    if context.line == 0:
        note_models(segment, context)
        if any(entry.value == "chain" for entry in entries):
            note_piece(entries, context)
    labels = complete_labels(segment, entries, said, context)
    if kinds & _BASIS:
        basis = next(entry.value for entry in entries if entry.kind == "basis")
        labels = [label._replace(basis=label.basis or basis) for label in labels]
    for mention, label in zip(segment.mentions, labels, strict=True):
        if label.item:
            context.item = label.item
        if label.is_worn or label.owner == "nothing":
            continue  # no length of anything
        made = _name(reading, placed, mention, label, context)
        if made is not None:
            if context.goods == "watch" and mention.group < 0 and made.of_item:
                note_side(label, made.low_mm, len(found), context)
            found.append(made)
    context.subject = labels[-1]
    context.asked = NOTHING_SAID


def _name_by_sides(found: list[Measurement], sides: list[Side]) -> None:
    """Call a watch's width and height so: "26 mm wide, 39 mm high" is no diameter and thickness."""
    for a, b in pairwise(sides):
        if {a.dim, b.dim} != {"width", "height"} or b.line - a.line > 1:
            continue
        width, height = (a, b) if a.dim == "width" else (b, a)
        if found[height.place].low_mm >= _FLATTEST * found[width.place].low_mm:
            for side in (a, b):
                found[side.place] = replace(found[side.place], quantity=side.dim)


_UNIT, _APPROX, _BASIS = KIND["unit"], KIND["approx"], KIND["basis"]


def _name(
    reading: Reading, placed: Placed, mention: Mention, label: Label, context: Context
) -> Measurement | None:
    """The finished measurement, or None where the figure is no length."""
    segment, goods = placed.worded.segment, context.goods
    start, end, _, _, low, high, number, unit, _, group, _, slot, _ = mention
    if group >= 0 or goods == "jewellery":
        label = _placed(segment, mention, label, context)
    unit = unit or unit_of_bare(segment, mention, label, context)
    if unit is None:
        return None
    mm = (low + high) / 2 * MM_PER_UNIT[unit]
    if not 0.2 <= mm <= 5000:
        return None
    part, dim, state, owner, *_ = label
    quantity = slot or name_quantity("object" if owner else goods, part, dim, state, mm)
    if slot and label.reach > _SLOT_REACH:
        owner = ""
    if quantity is not None and quantity[0] == "@":
        owner, quantity = quantity[1:], None
    low_mm = to_mm(low, unit)
    return Measurement(
        quantity=quantity or "unspecified",
        low_mm=low_mm,
        high_mm=low_mm if low == high else to_mm(high, unit),
        approximate=low == high
        and (label.is_approximate or (context.is_approximate and not owner)),
        of_item=not owner,
        object=_OBJECTS.get(owner, owner) or "item",
        item=context.item,
        half_width_mm=half_width_mm(number, unit),
        basis=_BASES.get(label.basis),
        quoted=(reading.span(start + placed.offset, end + placed.offset),),
    )


class _Product(NamedTuple):
    """One row of data/size_products.csv: the dimensions of "a x b x c" by place."""

    goods: str
    part: str
    state: str
    low: float
    high: float
    second_high: float
    dims: tuple[str, ...]


@cache
def _products() -> tuple[_Product, ...]:
    return tuple(
        _Product(
            row["goods"],
            row["part"],
            row["state"],
            float(row["low"] or 0),
            float(row["high"] or "inf"),
            float(row["second_high"] or "inf"),
            tuple(row["dims"].split()),
        )
        for row in read_rows("size_products.csv")
    )


def _placed(segment: Segment, mention: Mention, label: Label, context: Context) -> Label:
    """The label with the dimension that its place in "a x b" gives, and a jewel's own part."""
    if not (label.part or label.owner) and context.goods == "jewellery":
        label = label._replace(part=context.piece)
    if mention.group >= 0 and context.goods == "watch" and not label.owner:
        label = _across(segment, mention, label)
    if mention.group < 0 or label.dim or label.stands_alone:
        return label
    goods = "object" if label.owner else context.goods
    unit = segment.unit or context.unit or context.note or "mm"
    members = [m.mm(m.unit or unit) for m in segment.product_of(mention)]
    for row in _products():
        if (
            row.goods in (goods, "*")
            and row.part in ("*", label.part or "-")
            and row.state in ("*", label.state or "-")
            and row.low <= members[0] <= row.high
            and members[1] <= row.second_high
            and mention.place < len(row.dims)
        ):
            return _with_place(label, row.dims[mention.place], context)
    return label


def _across(segment: Segment, mention: Mention, label: Label) -> Label:
    """Read "15 mm wide x 22 mm high" of a watch as its width and height, not its thickness."""
    members = segment.product_of(mention)
    if mention.place and mention.low < _THICKEST * members[0].low:
        return label._replace(part="case", dim="thickness")
    if not label.dim or len(members) != 2 or members[1].low < _FLATTEST * members[0].low:
        return label
    dim = "width" if mention.place == 0 else "height"
    return label._replace(part="case", dim=dim, state="no_diameter")


_THICKEST = 0.45  # of its width
_FLATTEST = 0.6  # of its width: what is less is a thickness


def _with_place(label: Label, place: str, context: Context) -> Label:
    part, _, dim = place.rpartition(":")
    dim = dim.strip("-")
    if context.goods == "watch" and part == "case" and dim:
        return label._replace(part=part, dim=dim, state="no_diameter")
    return label._replace(part=label.part if part == "-" else part or label.part, dim=dim)
