"""Words that a figure shares with its neighbours, its heading or the sentence before."""

from __future__ import annotations

from collections.abc import Sequence

from extractors.lexicon import small_words
from extractors.quantities import END, MARK, STOP
from extractors.size_context import Context
from extractors.size_cues import KIND, has_range, is_possible, is_usual, name_quantity
from extractors.size_labels import Entry, Label
from extractors.size_mentions import Mention, Segment


def complete_labels(
    segment: Segment, entries: Sequence[Entry], labels: Sequence[Label], context: Context
) -> list[Label]:
    """Give figures without a part of their own that of their product, list, heading or subject."""
    if len(labels) == len(context.columns) and all(label.is_empty for label in labels):
        return list(context.columns)
    mentions = segment.mentions
    members = [n for n, mention in enumerate(mentions) if mention[9] >= 0]
    if members:
        labels = _share_in_products(mentions, members, labels)
    objects = [entry for entry in entries if entry[2] == "object"]
    if objects:
        labels = _with_things(segment, entries, objects, labels)
    done: list[Label] = []
    for n, (mention, label) in enumerate(zip(mentions, labels, strict=True)):
        if label[0] == "wrist" and _is_mine(segment, mention):
            label = label._replace(part="", owner="person")
        if mention[11] and n and done[-1].is_worn and mentions[n - 1].slot:
            label = done[-1]
        if n and done[-1].part and _is_said_again(mentions[n - 1], mention):
            label = done[-1]
        if not (label[0] or label[3]):
            label = (
                _from_neighbour(segment, n, label, done, context)
                if n
                else _from_before(segment, label, context)
            )
        if n and done[-1].state == "to_bend" and _is_whole_arm(mentions[n - 1], mention, label):
            label = done[-1]._replace(state="total", unit=label.unit)
        if label[1] == "width" and not (label[0] or label[3]):
            label = _implied(mention, label, context)
        done.append(label)
    return done


def _with_things(
    segment: Segment, entries: Sequence[Entry], objects: list[Entry], labels: Sequence[Label]
) -> list[Label]:
    """The labels with what is said of other pieces, and of what is sold separately."""
    mentions, made = segment.mentions, list(labels)
    others = [entry.first for entry in objects if entry.value == "other_piece"]
    unsold = [entry for entry in objects if entry.value == "not_sold"]
    commas = [e.first for e in entries if e.kind == "step" and e.value == ","] if others else []
    for n, mention in enumerate(mentions):
        if unsold and _is_unsold(mention, mentions, entries, unsold[0]):
            made[n] = made[n]._replace(part="", owner="not_sold")
        if others and _is_of_other(segment, mention, made[n], others[0], commas):
            made[n] = made[n]._replace(owner="other_piece")
    return made


def _is_of_other(
    segment: Segment, mention: Mention, label: Label, other: int, commas: list[int]
) -> bool:
    """Whether a figure is of the other piece named at a token: behind it, or right before it."""
    if other <= mention.first:
        return not _turns_back(segment, other, mention)
    return not (label.part or any(mention.last <= comma < other for comma in commas))


def _turns_back(segment: Segment, start: int, mention: Mention) -> bool:
    """Whether "these" or the like turns from another thing to the item before a figure."""
    between = (cue for cue in segment.cues if start <= cue.first < mention.first)
    return any(cue.kinds & _THIS_ONE for cue in between)


_THIS_ONE = KIND["this_one"]


def _is_unsold(
    mention: Mention, mentions: list[Mention], entries: Sequence[Entry], unsold: Entry
) -> bool:
    """Whether "sold separately" is said of a figure: the only one, or the last before it."""
    if len(mentions) == 1 or mention.group == mentions[0].group == mentions[-1].group >= 0:
        return True
    last = max((m.last for m in mentions if m.last <= unsold.first), default=0)
    named = (e for e in entries if last <= e.first < unsold.first)
    return mention.last == last and not any(e.kind in ("part", "whole", "object") for e in named)


def _is_whole_arm(a: Mention, b: Mention, label: Label) -> bool:
    """Whether "overall" behind an arm to the bend means the arm: "98 to the bend, overall 138"."""
    if label.part != "frame" or label.basis != "overall":
        return False
    unit = b.unit or a.unit or "mm"
    low, high = _BEHIND_BEND
    return low <= b.mm(unit) - a.mm(a.unit or unit) <= high


_BEHIND_BEND = (20, 60)  # mm of an arm behind its bend; common practice, no source


def _implied(mention: Mention, label: Label, context: Context) -> Label:
    """A width so small that it is a lens's makes what follows a lens's too ("46 w, 38 h")."""
    if context.goods != "spectacles":
        return label
    mm = mention.mm(mention.unit or context.unit or "mm")
    quantity = name_quantity(context.goods, "", label.dim, label.state, mm)
    return label._replace(part="lens") if quantity == "lens_width" else label


def _is_mine(segment: Segment, mention: Mention) -> bool:
    """Whether "my" stands right before the figure ("on my 17 cm wrist")."""
    cue = segment.cue_before(mention.first)
    return cue is not None and bool(cue.kinds & _MINE)


_MINE, _PRONOUN = KIND["mine"], KIND["pronoun"]


def _share_in_products(
    mentions: list[Mention], grouped: list[int], labels: Sequence[Label]
) -> list[Label]:
    """Give all figures of "a x b" the part, owner and state that one of them has."""
    shared = list(labels)
    groups: dict[int, list[int]] = {}
    for n in grouped:
        groups.setdefault(mentions[n].group, []).append(n)
    for members in groups.values():
        named = min(members, key=lambda n: labels[n].reach if _is_named(labels[n]) else 99.0)
        approximate = any(labels[n].is_approximate for n in members)
        parts = {(labels[n].part, labels[n].owner) for n in members if _is_named(labels[n])}
        if parts == _LENS_AND_RIM:  # "one rim is 60 x 51 over the outer edge"
            named = next(n for n in members if labels[n].part == "rim")
        elif len(parts) > 1:
            for n in members:
                shared[n] = labels[n]._replace(stands_alone=True)
            continue
        for n in members:
            shared[n] = _with_source(labels[n], labels[named], approximate)
    return shared


_LENS_AND_RIM = {("lens", ""), ("rim", "")}


def _with_source(label: Label, source: Label, approximate: bool) -> Label:
    if not _is_named(source):
        return label._replace(state=label.state or source.state, is_approximate=approximate)
    return label._replace(
        part=source.part,
        owner=source.owner,
        state=label.state or source.state,
        is_approximate=approximate,
        reach=min(label.reach, source.reach),
    )


def _is_named(label: Label) -> bool:
    return bool(label.part or label.owner)


def _from_neighbour(
    segment: Segment, n: int, label: Label, done: list[Label], context: Context
) -> Label:
    """What a figure takes from the one before it in the same segment."""
    mention, before, above = segment.mentions[n], segment.mentions[n - 1], done[-1]
    if mention.slot or (above.is_empty and not before.slot):
        return label
    if above.owner and _turns_back(segment, before.last, mention):
        return label  # "mine are 52 mm, these are 48"
    near = mention.first - before.last <= 4
    if near and _is_conversion(before, mention):
        done[-1] = above = above._replace(state=above.state or label.state)
        return above._replace(unit=label.unit)
    if before.slot and not mention.slot:
        return label
    if above.part == "filter" and label.dim:
        return label  # "49 mm filters, 62 mm across": the lens is
    if above.state == "folded" and label.dim and not label.state:
        return label._replace(state="folded")
    if above.state == "no_crown" and label.is_empty and _is_said_with(segment, mention):
        return above._replace(state="with_crown", unit=label.unit)
    if above.dim and not above.state and label.is_empty and _is_said_against(segment, mention):
        return above._replace(unit=label.unit)
    if not label.dim and not label.state:
        if near and _is_half_of_strap(above, before, mention):
            return above._replace(part="straplength", is_approximate=label.is_approximate)
        alike = near and _is_alike(before, mention)
        return above._replace(is_approximate=label.is_approximate) if alike else label
    taken = label._replace(part=above.part, owner=above.owner, reach=above.reach)
    if mention.unit is None and mention.number.step < 1 and (before.unit or _is_small(mention)):
        mention = mention._replace(unit=before.unit or "cm")  # "14.7 cm, of which 9.8 to the bend"
    if _is_height_of_lens(before, above, mention, taken):
        return taken
    return taken if _is_believable(taken, above, mention, context) else label


def _is_small(mention: Mention) -> bool:
    """Whether a figure with decimals is too small for millimetres of a part ("3,6 hoch")."""
    return mention.low < _FEW_MM


_FEW_MM = 10


def _is_height_of_lens(before: Mention, above: Label, mention: Mention, taken: Label) -> bool:
    """Whether the height behind a lens's width is the lens's: "6 cm wide, 5.3 high"."""
    if taken.part != "lens" or above.dim != "width" or taken.dim != "height":
        return False
    unit = before.unit or mention.unit or "mm"
    return mention.mm(mention.unit or unit) <= _SQUARE * before.mm(unit)


_SQUARE = 1.1  # a lens is rarely higher than it is wide


def _is_said_with(segment: Segment, mention: Mention) -> bool:
    """Whether "with" and a stop follow: "36 without crown, 38.5 with"."""
    at = mention.last
    if at >= segment.hi or segment.tokens.texts[at] not in small_words("bare_with"):
        return False
    return at + 1 >= segment.hi or segment.tokens.kinds[at + 1] in (MARK, STOP, END)


def _is_said_against(segment: Segment, mention: Mention) -> bool:
    """Whether "without" stands before the figure: "length with hook 45 mm, without 30 mm"."""
    at = mention.first - 1
    return at >= segment.lo and segment.tokens.texts[at] in small_words("bare_without")


def _is_half_of_strap(above: Label, a: Mention, b: Mention) -> bool:
    """Whether two figures are the long and the short piece of a strap ("115/75 mm")."""
    if above.part not in ("lug", "straplength"):
        return False
    low, high = _HALF_STRAP
    return all(low <= m.mm(m.unit or a.unit or b.unit or "mm") <= high for m in (a, b))


_HALF_STRAP = (60, 150)  # mm; common practice, no source


def _is_said_again(a: Mention, b: Mention) -> bool:
    """Whether a bare figure comes again with its unit: "Filter 58er, also 58 mm"."""
    is_near = b.first - a.last <= _FEW_TOKENS
    return is_near and a.unit is None and b.unit is not None and a.low == b.low


_FEW_TOKENS = 3


def _is_conversion(a: Mention, b: Mention) -> bool:
    """Whether the second figure says the first again in another unit."""
    if not a.unit or not b.unit or a.unit == b.unit:
        return False
    return abs(a.mm(a.unit) - b.mm(b.unit)) <= 0.04 * a.mm(a.unit) + a.number.step * 2


def _is_alike(a: Mention, b: Mention) -> bool:
    """Whether two figures can be the same size twice ("arms 140 and 142 mm")."""
    low, high = sorted((a.mm(a.unit or b.unit or "mm"), b.mm(b.unit or a.unit or "mm")))
    return high <= low * 1.25


def _is_believable(label: Label, above: Label, mention: Mention, context: Context) -> bool:
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


def _from_before(segment: Segment, label: Label, context: Context) -> Label:
    """What the first figure of a segment takes from a heading line or the sentence before."""
    if context.heading.part or context.heading.owner or context.heading.state:
        above = context.heading
        return label._replace(
            part=above.part,
            owner=above.owner,
            dim=label.dim or above.dim,
            state=label.state or above.state,
            reach=min(label.reach, 1.0),
        )
    if label.is_empty and not context.asked.is_empty:
        asked = context.asked
        return asked._replace(
            unit=label.unit, is_approximate=label.is_approximate, reach=0.3, basis=label.basis
        )
    subject = context.subject
    opener = segment.cues[0] if segment.cues and segment.cues[0].first == segment.lo else None
    refers = opener is not None and bool(opener.kinds & _PRONOUN)
    opens = segment.mentions[0].first - segment.lo <= 1 and not segment.starts_line
    if (
        subject.owner
        and subject.owner != "person"
        and (refers or (opens and _is_odd_for_item(segment, label, context)))
    ):
        return label._replace(owner=subject.owner, reach=min(label.reach, 1.0))
    if subject.part == "filter" and label.dim in ("length", "width", "height"):
        return label  # "Filter 55. Measures 9.5 cm long": the lens does
    if subject.part and refers and not segment.starts_line:
        return label._replace(part=subject.part, reach=min(label.reach, 1.0))
    return label


def _is_odd_for_item(segment: Segment, label: Label, context: Context) -> bool:
    """Whether a size with only a dimension would be unusual for the item itself."""
    if not label.dim:
        return False
    mm = segment.mentions[0].mm(segment.mentions[0].unit or "mm")
    quantity = name_quantity(context.goods, "", label.dim, label.state, mm)
    return quantity is None or not is_usual(quantity, context.goods, mm)
