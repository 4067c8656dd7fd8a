"""Figures without a unit: which unit they are meant in, if they are sizes at all."""

from __future__ import annotations

from collections.abc import Iterator

from extractors.lexicon import common_words, small_words
from extractors.quantities import WORD, unit_starts
from extractors.size_context import Context
from extractors.size_cues import (
    DIM,
    KIND,
    PART,
    has_range,
    is_possible,
    is_size_word,
    is_usual,
    name_quantity,
)
from extractors.size_labels import Label
from extractors.size_mentions import Mention, Segment

_BARE_REACH = 0.75  # how far a word may be that names a figure without a unit
_ARM_REACH = 1.4  # "140 on the other arm"; nothing else about arms counts to a hundred
_FEW_CM = 10  # a bare whole number below stands for what the others beside it do
_MOST_CM = 45  # a larger bare figure of a case or parcel is millimetres


def unit_of_bare(segment: Segment, mention: Mention, label: Label, context: Context) -> str | None:
    """The unit of a figure without one, or None where nothing makes it a size."""
    reach = _ARM_REACH if label.part == "temple" and mention.low >= 100 else _BARE_REACH
    if label.owner == "other_piece" and mention.number.step < 1:
        reach = _ARM_REACH
    noted = segment.unit or context.unit or context.note
    is_placed = mention.group >= 0 and label.dim and noted
    is_named = mention.is_tolerance or not (label.reach > reach or label.is_empty)
    if not (is_placed or is_named) or _is_barred(segment, mention, label, context):
        return None
    if context.goods == "lens" and mention.number.step < 1 and not label.dim:
        return None  # an aperture: 2.8/135
    if is_placed:
        return noted
    units = tuple(_likely_units(segment, mention, label, context))
    goods = "object" if label.owner else context.goods
    for is_box in (False, True):  # a case of 102 mm is a box; first see whether it may be 10.2 mm
        for unit in units:
            mm = mention.mm(unit)
            quantity = name_quantity(goods, label.part, label.dim, label.state, mm)
            if quantity is None or quantity.startswith("@") != is_box:
                continue
            if _fits(quantity, label, context, mm, mention.number.step):
                context.units_seen[unit] = context.units_seen.get(unit, 0) + 1
                return unit
    return None


def _fits(quantity: str, label: Label, context: Context, mm: float, step: float) -> bool:
    """Whether a bare figure can be this quantity; the less is said, the more usual it must be."""
    if label.owner == "person":
        return step == _TENTH and _WRIST[0] <= mm <= _WRIST[1]  # a head size is no length
    if label.owner == "parcel" and step < 0.05:
        return False  # what it costs: "postage 3,50"
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


_TENTH = 0.1
_WRIST = (120, 250)  # mm


def _likely_units(
    segment: Segment, mention: Mention, label: Label, context: Context
) -> Iterator[str]:
    """Units to try for a bare figure, best first."""
    if label.unit:
        yield label.unit
    if label.part == "straplength":
        yield from _unit_behind(segment, mention)
    if mention.number.is_fraction:
        if "mm" in (segment.unit, context.unit, context.note) and mention.number.step == 0.5:
            yield "mm"  # "thickness 10 ½, all in millimetres"
        yield "in"
        if mention.number.step == 0.5:
            yield "cm"  # "13 e mezzo"
        return
    if segment.unit:
        yield segment.unit
    if label.owner and label.owner != "pd":
        yield _unit_of_thing(segment, mention, context)
    for noted in (context.unit, context.note):
        if noted:
            yield noted
    is_decimal = mention.number.step < 1
    beside = {m.unit for m in segment.mentions}
    if beside == {"cm", None} and mention.low < _FEW_CM and not is_decimal:
        yield "cm"  # "3 cm hoch, 2 breit"
    nearby = {*context.units_seen, *beside}
    if is_decimal and "in" in nearby:
        yield "in"
    if is_decimal:
        yield "cm"
    yield "mm"
    if "cm" in nearby or any(m.unit is None and m.number.step < 1 for m in segment.mentions):
        yield "cm"
    if (is_decimal and label.part) or "in" in nearby:
        yield "in"


def _unit_behind(segment: Segment, mention: Mention) -> Iterator[str]:
    """The unit of the figure that a sign joins to this one: "12 + 7,5 cm"."""
    if segment.tokens.texts[mention.last : mention.last + 1] not in (["+"], ["/"]):
        return
    for other in segment.mentions:
        if other.first == mention.last + 1 and other.unit:
            yield other.unit


def _unit_of_thing(segment: Segment, mention: Mention, context: Context) -> str:
    """The likely unit of a case or parcel: the listing's, else by how large the figures are."""
    members = segment.product_of(mention) if mention.group >= 0 else [mention]
    is_small = max(member.high for member in members) <= _MOST_CM
    seen = max(context.units_seen, key=lambda unit: context.units_seen[unit], default=None)
    if seen is not None and not (seen == "mm" and is_small and len(members) > 1):
        return seen
    return "cm" if is_small else "mm"


def _is_barred(segment: Segment, mention: Mention, label: Label, context: Context) -> bool:
    """Whether a bare figure is something else: by itself, or by the word right before it."""
    if _is_year_or_fineness(mention, context):
        return True
    tokens, at = segment.tokens, mention.first - 1
    before = tokens.texts[at] if at >= segment.lo else ""
    is_second = at - 1 >= segment.lo and tokens.texts[at - 1].isdigit()
    if before == "/" and is_second:
        return True  # the rest of a mark or date: 1/20
    after = tokens.texts[mention.last : mention.last + 2]
    if mention.low == 1 and after[:1] == ["/"] and after[-1].isdigit():
        return True  # the beginning of one: 1/10
    if before == ":" and is_second and tokens.texts[at - 1] == "1":
        return True  # an aperture: 1:4.5
    if _is_quoted(segment, mention):
        return True  # the words of a mark: "Bordeaux 8"
    if _is_numbered(segment, mention) or _is_decade(segment, mention):
        return True
    is_signed = before in ("+", "-") and tokens.end(at) == mention.start
    if is_signed and mention.number.step < 1:
        return True  # dioptres
    cue = segment.cue_before(mention.first)
    is_model = context.line == 0 or (before, mention.low) in context.models
    if cue is None and is_model and before.isalpha() and len(before) > _SHORT_NAME:
        return True  # a model's number in the title, or as in the title: "Merseburg 22"
    if cue is None and _is_code(before) and mention.number.step == 1:
        return True  # the words of a mark: "TB 22"
    # "case measures 34.5", but "nib size 6"
    is_of_part = label.part not in ("", "nib") and context.goods != "jewellery"
    if cue is not None and cue.kinds & _SIZE and not (context.goods == "spectacles" or is_of_part):
        return True  # the size of a ring
    return cue is not None and bool(cue.kinds & _NOT) and not cue.kinds & (PART | DIM | _SIZE)


_NOT, _SIZE = KIND["not"], KIND["size"]


def _is_year_or_fineness(mention: Mention, context: Context) -> bool:
    """Whether a bare figure is too great for a size, or tells how much of a jewel is silver."""
    if mention.number.step != 1 or mention.group >= 0:
        return False
    is_fineness = context.goods == "jewellery" and mention.low in _FINENESSES
    return is_fineness or mention.low >= _YEARS


_YEARS = 1000
_FINENESSES = frozenset((375, 417, 585, 750, 800, 830, 835, 900, 916, 925, 950, 958, 999))


def _is_code(word: str) -> bool:
    """Whether a word of two or three letters is none of any list, so likely a maker's code."""
    if not (1 < len(word) <= _SHORT_NAME and word.isalpha()):
        return False
    return not (word in common_words() or word in unit_starts() or is_size_word(word))


def _is_quoted(segment: Segment, mention: Mention) -> bool:
    """Whether a figure stands with a word between quotation marks."""
    tokens, texts = segment.tokens, segment.tokens.texts
    after = mention.last
    if '"' not in texts[after : after + _QUOTED + 1]:
        return False
    while after < segment.hi and after < mention.last + _QUOTED and texts[after] != '"':
        after += 1
    before = mention.first - 1
    while before >= segment.lo and before >= mention.first - _QUOTED and texts[before] != '"':
        before -= 1
    if before < segment.lo or after >= segment.hi or '"' not in texts[before]:
        return False
    if texts[after] != '"' or before < mention.first - _QUOTED:
        return False
    inside = (*range(before + 1, mention.first), *range(mention.last, after))
    is_open = tokens.end(before) == tokens.starts[before + 1]
    return is_open and any(tokens.kinds[at] == WORD and len(texts[at]) != 2 for at in inside)


_QUOTED = 6  # tokens to either side


def _is_numbered(segment: Segment, mention: Mention) -> bool:
    """Whether a small whole number only tells pieces apart ("pen 1", "pair 2")."""
    number = mention.number
    if mention.unit or number.step != 1 or number.value > _MOST_PIECES:
        return False
    at = mention.first - 1
    return at >= segment.lo and segment.tokens.texts[at] in small_words("numbered_thing")


def _is_decade(segment: Segment, mention: Mention) -> bool:
    """Whether the figure is that of a decade ("anni '30")."""
    at = mention.first - 1
    if at >= segment.lo and segment.tokens.texts[at] == "'":
        at -= 1
    return at >= segment.lo and segment.tokens.texts[at] in small_words("decade_lead")


_MOST_PIECES = 12
_SHORT_NAME = 3
