"""Stated dimensions: every length a seller writes, named, and told whether it is the item's own.

Figures are found by quantities.py and words by size_cues.py; this module reads the text segment by
segment, joins figures to ranges, products and boxed sizes (size_mentions.py), shares the words
between them (size_labels.py), and carries headings, units and owners from one segment to the next.
Sizes are millimetres. Names are those of the boxing system (ISO 8624:2011) and common usage.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from typing import NamedTuple

from extractors.quantities import half_width_mm, plain, read_rows, to_mm
from extractors.reading import Reading
from extractors.records import Basis, Measurement
from extractors.size_cues import (
    guess_goods,
    has_range,
    is_possible,
    is_usual,
    lexicon,
    name_quantity,
    words_of,
)
from extractors.size_labels import NOTHING_SAID, Entry, Label, heading, read_words, share_words
from extractors.size_mentions import Mention, Segment, read_segments

_CHUNK = 3000  # characters read at a time, so that one endless line needs little memory
_MOST = 5000  # measurements of one text; more is no listing
_LINE_HEADING = 90  # characters; a longer line without figures heads nothing
_BARE_REACH = 0.75  # how far a word may be that names a figure without a unit
_ARM_REACH = 1.4  # "140 on the other arm"; nothing else about arms counts to a hundred
_MOST_CM = 45  # a larger bare figure of a case or parcel is millimetres
_FIGURES = re.compile(
    r"[\d½⅓⅔¼¾⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚]|inch|zoll|pouce|pollic|pulgad|\b[cm]m\b|mill?i|centi|zentim|metr|meter"
)
_OBJECTS = {"other_piece": "other", "pd": "person", "ruler": "reference"}
_SENTENCE_END = re.compile(r"[.!?;]\s+|\.\.+\s?|[•●▪►]\s?")
_BASES: dict[str, Basis] = {
    "to_bend": "to_bend",
    "overall": "overall",
    "hinge_to_hinge": "hinge_to_hinge",
    "printed": "printed",
    "ruler": "ruler",
}


@dataclass(slots=True)
class _Context:
    """What earlier segments leave behind for later ones."""

    goods: str
    piece: str = ""  # the part the title names: what a jewel is
    unit: str | None = None  # a heading: the figures under it are in mm
    note: str | None = None  # a note anywhere: all figures in mm
    columns: tuple[Label, ...] = ()  # the heads of a table
    units_seen: dict[str, int] = field(default_factory=dict)
    subject: Label = NOTHING_SAID  # what the sentence before was about
    heading: Label = NOTHING_SAID  # the line above, if it heads something
    is_approximate: bool = False
    all_approximate: bool = False
    item: int = 1
    line: int = -1


def find_measurements(reading: Reading) -> tuple[Measurement, ...]:
    """Every stated length, in the order of the text; spans point into `reading.text`.

    `quantity` is "unspecified" where nothing names it; never raises; linear in the text.
    """
    text = plain(reading.folded)
    title_end = text.find("\n")
    context = _Context(guess_goods(text, title_end if title_end >= 0 else len(text)))
    found: list[Measurement] = []
    segments = list(_segments(reading, text, context.goods))
    context.note = _noted_unit(segments)
    for segment in segments:
        found.extend(_measure(reading, segment, context))
        if len(found) > _MOST:
            break
    if context.all_approximate:
        found = [replace(m, approximate=m.approximate or m.of_item) for m in found]
    return tuple(found[:_MOST])


# -- what is worth reading


class _Piece(NamedTuple):
    """A stretch of one line that is read in one go."""

    line: int
    start: int
    end: int


def _segments(reading: Reading, text: str, goods: str) -> Iterator[Segment]:
    """The segments of all pieces, with the line they are of."""
    for piece in _pieces(reading, text):
        line = reading.lines[piece.line]
        before = reading.lines[piece.line - 1].end + 1 if piece.line else line.start
        words = lexicon(line.language, goods)
        whole = piece.start == line.start, piece.end == line.end
        for segment in read_segments(
            text[piece.start : piece.end], piece.start, words, goods, whole
        ):
            segment.line, segment.after_gap = piece.line, line.start > before
            yield segment


def _noted_unit(segments: list[Segment]) -> str | None:
    """The unit of a note such as "all figures in mm", wherever it stands."""
    for segment in segments:
        if not segment.mentions and any(cue.has("all", "size") for cue in segment.cues):
            units = [entry.value for entry in read_words(segment) if entry.kind == "unit"]
            if units:
                return units[0]
    return None


def _pieces(reading: Reading, text: str) -> Iterator[_Piece]:
    """The title, the sentences with figures, what stands right before them, headings and notes.

    Most of a listing has no figures; leaving it out is what makes this quick.
    """
    last: _Piece | None = None  # the latest sentence, if it was left out
    for number, line in enumerate(reading.lines):
        open_piece: _Piece | None = None
        for start, end in _sentences(text, line.start, line.end):
            piece = _Piece(number, start, end)
            if _FIGURES.search(text, start, end):
                if last is not None and (last.line == number or end - start < _LINE_HEADING):
                    if open_piece is None and last.line == number:
                        piece = piece._replace(start=last.start)
                    elif last.line != number and last.end - last.start <= _LINE_HEADING:
                        yield last
            elif number and not _is_note(text, start, end):
                last = piece
                if open_piece is not None:
                    yield open_piece
                    open_piece = None
                continue
            last = None
            if open_piece is not None and end - open_piece.start > _CHUNK:
                yield open_piece
                open_piece = None
            open_piece = piece if open_piece is None else open_piece._replace(end=end)
        if open_piece is not None:
            yield open_piece


def _is_note(text: str, start: int, end: int) -> bool:
    """Whether a sentence without figures may say something about sizes elsewhere."""
    return text[end - 1] == ":" or bool(_notes().search(text, start, end))


@cache
def _notes() -> re.Pattern[str]:
    """The words for size of the five languages."""
    words = sorted(words_of("size"), key=len, reverse=True)
    return re.compile(r"\b(?:" + "|".join(map(re.escape, words)) + r")\b")


def _sentences(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Rough sentences of a line, cut at spaces where one is endless."""
    at = start
    for match in _SENTENCE_END.finditer(text, start, end):
        yield from _chunks(text, at, match.end())
        at = match.end()
    if at < end:
        yield from _chunks(text, at, end)


def _chunks(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Cut a long stretch at spaces."""
    while end - start > _CHUNK:
        cut = text.rfind(" ", start + _CHUNK // 2, start + _CHUNK)
        cut = cut if cut > 0 else start + _CHUNK
        yield start, cut
        start = cut
    yield start, end


# -- one segment


def _measure(reading: Reading, segment: Segment, context: _Context) -> Iterator[Measurement]:
    """The measurements of one segment; `context` is kept up to date for the next."""
    if segment.line != context.line:
        context.line = segment.line
        if segment.after_gap:
            context.heading, context.subject = NOTHING_SAID, NOTHING_SAID
            context.columns = ()
    entries = read_words(segment)
    _note_units(segment, entries, context)
    _note_approximation(segment, entries, context)
    if not segment.mentions:
        _head(segment, entries, context)
        return
    labels = share_words(segment, context.goods)
    labels = _complete(segment, entries, labels, context)
    basis = next((entry.value for entry in entries if entry.kind == "basis"), "")
    labels = [replace(label, basis=label.basis or basis) for label in labels]
    for mention, label in zip(segment.mentions, labels, strict=True):
        if label.item:
            context.item = label.item
        made = _name(segment, mention, label, context)
        if made is not None:
            yield replace(made, quoted=(reading.span(mention.start, mention.end),))
    context.subject = labels[-1]


def _note_units(segment: Segment, entries: list[Entry], context: _Context) -> None:
    """Remember the units in use, and a note such as "all figures in mm"."""
    for mention in segment.mentions:
        if mention.unit:
            context.units_seen[mention.unit] = context.units_seen.get(mention.unit, 0) + 1
    first = segment.mentions[0].first if segment.mentions else segment.hi
    noted = [entry for entry in entries if entry.kind == "unit" and entry.first <= first]
    covered = {at for mention in segment.mentions for at in range(mention.first, mention.last)}
    free = {e.value for e in entries if e.kind == "unit" and e.first not in covered}
    segment.unit = free.pop() if len(free) == 1 else None
    if noted:
        noted = [entry for entry in noted if entry.first not in covered]
    if noted and (not segment.mentions or any(entry.kind == "size" for entry in entries)):
        context.unit = noted[0].value


def _note_approximation(segment: Segment, entries: list[Entry], context: _Context) -> None:
    """A heading or note that says approximate covers what stands under it."""
    sizes = [entry for entry in entries if entry.kind == "size"]
    for entry in entries:
        if entry.kind != "approx" or not sizes or _follows_figure(segment, entry):
            continue
        near = min(sizes, key=lambda size: abs(size.first - entry.first))
        follower = next((m for m in segment.mentions if m.first >= entry.last), None)
        heads = entry.colon or (near.first >= entry.last and near.first - entry.last <= 2)
        if heads or follower is None or follower.first - entry.last > 3:
            context.is_approximate = True
            if segment.mentions and follower is None:
                context.all_approximate = True
    if any(entry.kind == "approx" for entry in entries) and any(
        cue.has("all") for cue in segment.cues
    ):
        context.all_approximate = not segment.mentions or context.all_approximate


def _follows_figure(segment: Segment, entry: Entry) -> bool:
    return any(0 <= entry.first - mention.last <= 1 for mention in segment.mentions)


def _head(segment: Segment, entries: list[Entry], context: _Context) -> None:
    """Take a segment without figures as a heading, or as the subject of the next one."""
    if context.line == 0:
        jewels = [entry for entry in entries if entry.kind == "part" and entry.value != "stone"]
        context.piece = heading(jewels or entries).part or context.piece
        return
    words = sum(1 for token in segment.tokens[segment.lo : segment.hi] if token.kind == "word")
    covered = sum(entry.last - entry.first for entry in entries if entry.kind != "step")
    ends_with_colon = (
        segment.tokens[segment.hi - 1].text == ":" if segment.hi > segment.lo else False
    )
    if (
        segment.starts_line
        and segment.ends_line
        and ((ends_with_colon and words <= 6) or words <= covered + 1)
    ):
        context.heading = heading(entries)
        context.columns = _columns(entries)
    content = [entry for entry in entries if entry.kind in ("part", "object", "whole", "step")]
    if content and content[0].kind != "step" and content[0].first - segment.lo <= 3:
        context.subject = heading(content[:1])
    elif content:
        context.subject = NOTHING_SAID


def _columns(entries: list[Entry]) -> tuple[Label, ...]:
    """The labels of a table's head: one for each cell that names something."""
    cells: list[list[Entry]] = [[]]
    for entry in entries:
        if entry.kind == "step" and entry.value in ("|", "/", ",", "-", ";"):
            cells.append([])
        else:
            cells[-1].append(entry)
    labels = tuple(heading(cell) for cell in cells)
    named = tuple(replace(label, reach=0.0) for label in labels if not label.is_empty)
    return named if len(named) >= 2 else ()


# -- words that a figure shares with its neighbours


def _complete(
    segment: Segment, entries: list[Entry], labels: list[Label], context: _Context
) -> list[Label]:
    """Give figures without a part of their own that of their product, list, heading or subject."""
    if len(labels) == len(context.columns) and all(label.is_empty for label in labels):
        return list(context.columns)
    labels = _share_in_products(segment.mentions, labels)
    others = [e.first for e in entries if e.kind == "object" and e.value == "other_piece"]
    commas = [e.first for e in entries if e.kind == "step" and e.value == ","]
    done: list[Label] = []
    for n, (mention, label) in enumerate(zip(segment.mentions, labels, strict=True)):
        if others and (
            others[0] <= mention.first
            or not (label.part or any(mention.last <= c < others[0] for c in commas))
        ):
            label = replace(label, owner="other_piece")
        if label.part == "wrist" and _is_mine(segment, mention):
            label = replace(label, part="", owner="person")
        if mention.slot and n and done[-1].is_worn and segment.mentions[n - 1].slot:
            label = done[-1]
        if not (label.part or label.owner):
            label = (
                _from_neighbour(segment, n, label, done, context)
                if n
                else _from_before(segment, label, context)
            )
        done.append(_implied(mention, label, context))
    return done


def _implied(mention: Mention, label: Label, context: _Context) -> Label:
    """A width so small that it is a lens's makes what follows a lens's too ("46 w, 38 h")."""
    if label.part or label.owner or label.dim != "width" or context.goods != "spectacles":
        return label
    mm = mention.mm(mention.unit or context.unit or "mm")
    quantity = name_quantity(context.goods, "", label.dim, label.state, mm)
    return replace(label, part="lens") if quantity == "lens_width" else label


def _is_mine(segment: Segment, mention: Mention) -> bool:
    """Whether "my" stands right before the figure ("on my 17 cm wrist")."""
    cue = segment.cue_before(mention.first)
    return cue is not None and cue.has("mine")


def _share_in_products(mentions: list[Mention], labels: list[Label]) -> list[Label]:
    """Give all figures of "a x b" the part, owner and state that one of them has."""
    shared = list(labels)
    groups: dict[int, list[int]] = {}
    for n, mention in enumerate(mentions):
        if mention.group >= 0:
            groups.setdefault(mention.group, []).append(n)
    for members in groups.values():
        named = min(members, key=lambda n: labels[n].reach if _is_named(labels[n]) else 99.0)
        approximate = any(labels[n].is_approximate for n in members)
        if len({(labels[n].part, labels[n].owner) for n in members if _is_named(labels[n])}) > 1:
            for n in members:
                shared[n] = replace(labels[n], stands_alone=True)
            continue
        for n in members:
            shared[n] = _with_source(labels[n], labels[named], approximate)
    return shared


def _with_source(label: Label, source: Label, approximate: bool) -> Label:
    if not _is_named(source):
        return replace(label, state=label.state or source.state, is_approximate=approximate)
    return replace(
        label,
        part=source.part,
        owner=source.owner,
        state=label.state or source.state,
        is_approximate=approximate,
        reach=min(label.reach, source.reach),
    )


def _is_named(label: Label) -> bool:
    return bool(label.part or label.owner)


def _from_neighbour(
    segment: Segment, n: int, label: Label, done: list[Label], context: _Context
) -> Label:
    """What a figure takes from the one before it in the same segment."""
    mention, before, above = segment.mentions[n], segment.mentions[n - 1], done[-1]
    if mention.slot or (above.is_empty and not before.slot):
        return label
    near = mention.first - before.last <= 4
    if near and _is_conversion(before, mention):
        done[-1] = above = replace(above, state=above.state or label.state)
        return replace(above, unit=label.unit)
    if before.slot and not mention.slot:
        return label
    if not label.dim and not label.state:
        alike = near and _is_alike(before, mention)
        return replace(above, is_approximate=label.is_approximate) if alike else label
    taken = replace(label, part=above.part, owner=above.owner, reach=above.reach)
    return taken if _is_believable(taken, above, mention, context) else label


def _is_conversion(a: Mention, b: Mention) -> bool:
    """Whether the second figure says the first again in another unit."""
    if not a.unit or not b.unit or a.unit == b.unit:
        return False
    return abs(a.mm(a.unit) - b.mm(b.unit)) <= 0.04 * a.mm(a.unit) + a.number.step * 2


def _is_alike(a: Mention, b: Mention) -> bool:
    """Whether two figures can be the same size twice ("arms 140 and 142 mm")."""
    low, high = sorted((a.mm(a.unit or b.unit or "mm"), b.mm(b.unit or a.unit or "mm")))
    return high <= low * 1.25


def _is_believable(label: Label, above: Label, mention: Mention, context: _Context) -> bool:
    """Whether a part taken over gives a new, possible size."""
    if label.owner:
        return True
    if label.state == "total":
        return above.state == "to_bend"
    mm = mention.mm(mention.unit or context.unit or "mm")
    quantity = name_quantity(context.goods, label.part, label.dim, label.state, mm)
    if quantity is None or not is_possible(quantity, context.goods, mm):
        return False
    alone = name_quantity(context.goods, "", label.dim, label.state, mm)
    if alone and _is_surer(alone, quantity, context.goods, mm):
        return False
    if label.state and (label.state != above.state or label.state == "extreme"):
        return True
    return quantity != name_quantity(context.goods, above.part, above.dim, above.state, mm)


def _is_surer(alone: str, taken: str, goods: str, mm: float) -> bool:
    """Whether the name without a part suits the size better than the one taken over."""
    usual = has_range(alone, goods) and is_usual(alone, goods, mm)
    return usual and not (has_range(taken, goods) and is_usual(taken, goods, mm))


def _from_before(segment: Segment, label: Label, context: _Context) -> Label:
    """What the first figure of a segment takes from a heading line or the sentence before."""
    if context.heading.part or context.heading.owner or context.heading.state:
        above = context.heading
        return replace(
            label,
            part=above.part,
            owner=above.owner,
            dim=label.dim or above.dim,
            state=label.state or above.state,
            reach=min(label.reach, 1.0),
        )
    subject = context.subject
    opener = segment.cues[0] if segment.cues and segment.cues[0].first == segment.lo else None
    refers = opener is not None and opener.has("pronoun")
    opens = segment.mentions[0].first - segment.lo <= 1 and not segment.starts_line
    if subject.owner and (refers or (opens and _is_odd_for_item(segment, label, context))):
        return replace(label, owner=subject.owner, reach=min(label.reach, 1.0))
    if subject.part and refers and not segment.starts_line:
        return replace(label, part=subject.part, reach=min(label.reach, 1.0))
    return label


def _is_odd_for_item(segment: Segment, label: Label, context: _Context) -> bool:
    """Whether a size with only a dimension would be unusual for the item itself."""
    if not label.dim:
        return False
    mm = segment.mentions[0].mm(segment.mentions[0].unit or "mm")
    quantity = name_quantity(context.goods, "", label.dim, label.state, mm)
    return quantity is None or not is_usual(quantity, context.goods, mm)


# -- names


def _name(
    segment: Segment, mention: Mention, label: Label, context: _Context
) -> Measurement | None:
    """The finished measurement (without its span), or None where the figure is no length."""
    if label.is_worn or label.owner == "nothing":
        return None
    label = _placed(segment, mention, label, context)
    unit = mention.unit or _unit_of_bare(segment, mention, label, context)
    if unit is None:
        return None
    mm = mention.mm(unit)
    if not 0.2 <= mm <= 5000:
        return None
    goods = "object" if label.owner else context.goods
    quantity = mention.slot or name_quantity(goods, label.part, label.dim, label.state, mm)
    owner = label.owner if not (mention.slot and label.reach > 2.0) else ""
    if quantity is not None and quantity.startswith("@"):
        owner, quantity = quantity[1:], None
    return Measurement(
        quantity=quantity or "unspecified",
        low_mm=to_mm(mention.low, unit),
        high_mm=to_mm(mention.high, unit),
        approximate=mention.low == mention.high
        and (label.is_approximate or (context.is_approximate and not owner)),
        of_item=not owner,
        object=_OBJECTS.get(owner, owner) or "item",
        item=context.item,
        half_width_mm=half_width_mm(mention.number, unit),
        basis=_BASES.get(label.basis),
        quoted=(),
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


def _placed(segment: Segment, mention: Mention, label: Label, context: _Context) -> Label:
    """The label with the dimension that its place in "a x b" gives, and a jewel's own part."""
    if not (label.part or label.owner) and context.goods == "jewellery":
        label = replace(label, part=context.piece)
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


def _with_place(label: Label, place: str, context: _Context) -> Label:
    part, _, dim = place.rpartition(":")
    dim = dim.strip("-")
    if context.goods == "watch" and part == "case" and dim:
        return replace(label, part=part, dim=dim, state="no_diameter")
    return replace(label, part=label.part if part == "-" else part or label.part, dim=dim)


def _unit_of_bare(
    segment: Segment, mention: Mention, label: Label, context: _Context
) -> str | None:
    """The unit of a figure without one, or None where nothing makes it a size."""
    if _is_barred(segment, mention, context.goods):
        return None
    if context.goods == "lens" and mention.number.step < 1:
        return None  # an aperture: 2.8/135
    reach = _ARM_REACH if label.part == "temple" and mention.low >= 100 else _BARE_REACH
    if mention.group >= 0 and label.dim and (segment.unit or context.unit or context.note):
        return segment.unit or context.unit or context.note
    if (label.is_empty or label.reach > reach) and not mention.is_tolerance:
        return None
    for unit in _likely_units(segment, mention, label, context):
        mm = mention.mm(unit)
        goods = "object" if label.owner else context.goods
        quantity = name_quantity(goods, label.part, label.dim, label.state, mm)
        if quantity is not None and _fits(quantity, label, context, mm):
            context.units_seen[unit] = context.units_seen.get(unit, 0) + 1
            return unit
    return None


def _fits(quantity: str, label: Label, context: _Context, mm: float) -> bool:
    """Whether a bare figure can be this quantity; the less is said, the more usual it must be."""
    if label.owner == "person":
        return False  # a head size is no length
    if label.owner == "pd":
        return 50 <= mm <= 80  # between the pupils of a grown-up or child, with room to spare
    if label.owner:
        return 10 <= mm <= 500
    goods = context.goods
    if not has_range(quantity, goods) and not (label.unit or context.unit or context.note):
        return goods != "spectacles" and bool(context.units_seen)
    if label.part == "frame" and not label.dim:
        return label.reach <= 0.35 and is_usual(quantity, goods, mm)
    if not label.part:
        return bool(label.dim or label.state or label.is_empty) and is_usual(quantity, goods, mm)
    return is_possible(quantity, goods, mm)


def _likely_units(
    segment: Segment, mention: Mention, label: Label, context: _Context
) -> Iterator[str]:
    """Units to try for a bare figure, best first."""
    if label.unit:
        yield label.unit
    if mention.number.is_fraction:
        yield "in"
        return
    if segment.unit:
        yield segment.unit
    if label.owner and label.owner != "pd":
        yield _unit_of_thing(segment, mention, context)
    for noted in (context.unit, context.note):
        if noted:
            yield noted
    is_decimal = mention.number.step < 1
    nearby = {*context.units_seen, *(m.unit for m in segment.mentions)}
    if is_decimal and "in" in nearby:
        yield "in"
    if is_decimal:
        yield "cm"
    yield "mm"
    if "cm" in nearby or any(m.unit is None and m.number.step < 1 for m in segment.mentions):
        yield "cm"
    if is_decimal and label.part:
        yield "in"


def _unit_of_thing(segment: Segment, mention: Mention, context: _Context) -> str:
    """The likely unit of a case or parcel: the listing's, else by how large the figures are."""
    if context.units_seen:
        return max(context.units_seen, key=lambda unit: context.units_seen[unit])
    members = segment.product_of(mention) if mention.group >= 0 else [mention]
    return "cm" if max(member.high for member in members) <= _MOST_CM else "mm"


def _is_barred(segment: Segment, mention: Mention, goods: str) -> bool:
    """Whether the word right before a bare figure makes it something else ("no. 52")."""
    before = segment.tokens[mention.first - 1].text if mention.first > segment.lo else ""
    is_second = mention.first - 2 >= segment.lo and segment.tokens[mention.first - 2].text.isdigit()
    if before == "/" and is_second:
        return True  # the rest of a mark or date: 1/20
    cue = segment.cue_before(mention.first)
    if cue is not None and cue.has("size") and goods != "spectacles":
        return True  # the size of a ring
    return cue is not None and cue.has("not") and not cue.has("part", "dim", "size")
