"""Words shared out among the figures of a segment: which part, dimension and owner each has.

Between two neighbouring figures the words are cut once: what stands left of the cut belongs to the
first, the rest to the second. The cheapest set of cuts wins, so "lens 54 bridge 18" and
"54 lens 18 bridge" both come out right without a rule for either.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import pairwise
from operator import attrgetter
from typing import NamedTuple

from extractors.quantities import JUNK, NUMBER, read_unit, unit_starts
from extractors.records import new_named
from extractors.size_cues import KIND, Found, has_range, is_possible, is_usual, name_quantity
from extractors.size_mentions import Mention, Segment

_REACH = 3.2  # a cue that costs more than this to reach says nothing about a figure
_TAIL_REACH = 1.1  # after a figure that already has a word of its own
_UNLABELLED = 2.2
_UNLABELLED_BARE = 1.0  # most figures without a unit are no sizes
_WASTED = 1.0
_CROWDED = 0.6
_IMPOSSIBLE = 2.4  # worse than no name at all
_UNUSUAL = 0.5
_RARE = 0.4
_DAMAGE_REACH = 0.8
_NEAR_BEFORE, _NEAR_AFTER = 0.75, 0.45  # how near "about" and "or so" must be
_MOST_KNOWN = 8192  # ways to say what a figure is that are remembered
_MOST_ENTRIES = 14  # per gap; further words are too far from both figures
# what it costs to reach past a mark or joining word: before the figure, after the figure
_STEPS = {
    ",": (1.0, 1.1), ";": (2.0, 2.0), "and": (0.7, 0.9), "with": (0.8, 1.0), "|": (0.15, 0.9),
    "-": (0.3, 0.9), "/": (0.5, 0.6), "(": (0.05, 0.1), ")": (0.1, 0.3), ":": (0.0, 1.2),
    "=": (0.0, 1.2), "*": (0.8, 0.8), "~": (0.1, 0.5), "#": (0.9, 0.9),
}  # fmt: skip
_QUOTES = frozenset(('"', "''", "″"))
_NAMES = frozenset({"part", "object", "whole", "letter"})
_MINE, _TOOL, _OWNER_LINK = KIND["mine"], KIND["tool"], KIND["owner_link"]
_CONTENT = ("part", "whole", "object", "dim", "state", "letter")


class Label(NamedTuple):
    """What the words say of a figure; "" is not said. `owner` is "" for the item itself."""

    part: str = ""
    dim: str = ""
    state: str = ""
    owner: str = ""
    unit: str | None = None
    is_approximate: bool = False
    reach: float = 9.0  # how far its nearest word is
    is_worn: bool = False  # the size the seller wears
    basis: str = ""
    item: int = 0
    stands_alone: bool = False  # the others of its "a x b" are sizes of other parts

    @property
    def is_empty(self) -> bool:
        """Whether nothing names the size."""
        says_state = self.state not in ("", "extreme")
        return not (self.part or self.dim or self.owner or says_state)


NOTHING_SAID = Label()


class Entry(NamedTuple):
    """A cue or a separator between figures; tokens first..last (exclusive)."""

    first: int
    last: int
    kind: str  # a cue kind, "unit", or "step" for a separator
    value: str
    colon: bool = False  # a colon follows: it labels what comes after


def share_words(segment: Segment, gaps: list[list[Entry]], goods: str) -> list[Label]:
    """One label a mention, by the cheapest way to cut the words between them."""
    if not segment.mentions:
        return []
    return _listed(segment.mentions, gaps) or _cheapest(segment.mentions, gaps, goods)


def read_gaps(segment: Segment) -> list[list[Entry]]:
    """The words before, between and after the figures of a segment."""
    gaps = []
    at = segment.lo
    for mention in segment.mentions:
        gaps.append(_entries(segment, at, mention[2]) if at < mention[2] else [])
        at = mention[3]
    gaps.append(_entries(segment, at, segment.hi) if at < segment.hi else [])
    return gaps


def heading(entries: Sequence[Entry]) -> Label:
    """What a line without figures says about those below it."""
    label = Label()
    for entry in reversed(entries):
        if entry.kind == "part" and not label.part:
            label = label._replace(part=entry.value)
        elif entry.kind == "object" and not label.owner:
            label = label._replace(owner=entry.value)
        elif entry.kind == "dim" and not label.dim:
            label = label._replace(dim=entry.value)
        elif entry.kind == "whole" and not label.part:
            part, dim, state = entry.value.split(":")
            label = label._replace(part=part, dim=label.dim or dim, state=state)
        elif entry.kind == "unit" and not label.unit:
            label = label._replace(unit=entry.value)
        elif entry.kind == "state" and not label.state:
            label = label._replace(state=entry.value)
    if label.owner and label.part:
        label = label._replace(part="")
    return label


# -- words between figures


def _entries(segment: Segment, start: int, stop: int) -> list[Entry]:
    """The words and separators of tokens start..stop, which no cue overlaps at an end."""
    entries: list[Entry] = []
    cue_at, kinds, separators, beyond = segment.cue_at, segment.tokens.kinds, _separators(), start
    for at, text in enumerate(segment.tokens.texts[start:stop], start):
        if at in cue_at and at >= beyond:
            found = cue_at[at]
            _, beyond, _, senses = found
            for kind, value in senses.entries:
                entries.append(new_named(Entry, (at, beyond, kind, value, False)))
            if senses.tells_whose:
                _settle_whose(entries, cue_at, found)
            continue
        separator = separators.get(text)
        if separator is None:
            if kinds[at] not in _FIGURES:
                continue
            separator = "#"
        if at < beyond:
            continue
        if separator is _MAY_BE_UNIT:
            unit = read_unit(segment.tokens, at)
            if unit is not None and not unit[2]:
                beyond = at + unit[0]
                entries.append(Entry(at, beyond, "unit", unit[1]))
            continue
        if separator in ":=" and entries and entries[-1][1] == at:
            entries[-1] = new_named(Entry, (*entries[-1][:4], True))
        entries.append(new_named(Entry, (at, at + 1, "step", separator, False)))
    if len(entries) > 1:
        entries = _one_per_name(cue_at, entries)
        if len(entries) > 2 * _MOST_ENTRIES:
            entries = entries[:_MOST_ENTRIES] + entries[-_MOST_ENTRIES:]
    return entries


@cache
def _separators() -> dict[str, str]:
    """What a word or mark is that no cue starts with: a step of _STEPS, or _MAY_BE_UNIT."""
    may_be = unit_starts() - _QUOTES  # away from a figure quotes are no inches
    return {**dict.fromkeys(may_be, _MAY_BE_UNIT), **{step: step for step in _STEPS}}


_MAY_BE_UNIT = "unit"
_FIGURES = NUMBER + JUNK


def _settle_whose(entries: list[Entry], cue_at: dict[int, Found], found: Found) -> None:
    """Take "my wrist" for the seller's, and "with a ruler" for no thing; the entries were added."""
    before = _cue_before(cue_at, found.first)
    place = len(entries) - len(found.senses.entries)
    if before is not None and entries[place].kind == "part" and before.kinds & _MINE:
        entries[place] = entries[place]._replace(kind="object", value="person")
    elif before is not None and entries[place].kind == "object" and before.kinds & _TOOL:
        del entries[place]


def _cue_before(cue_at: dict[int, Found], first: int) -> Found | None:
    """The cue of one to three tokens that ends where another starts."""
    for length in (1, 2, 3):
        found = cue_at.get(first - length)
        if found is not None and found.last == first:
            return found
    return None


def _one_per_name(cue_at: dict[int, Found], entries: list[Entry]) -> list[Entry]:
    """Keep the head of names made of two nouns: "lens cloth", "étui à lunettes"."""
    kept: list[Entry] = []
    for entry in entries:
        if entry[2] in _NOUNS and kept:
            other = kept[-1]
            if other.kind in _NOUNS and not other.colon:
                if other.last == entry.first:
                    kept[-1] = entry
                    continue
                if _is_linked(cue_at, other.last, entry.first):
                    kept[-1] = other._replace(last=entry.last)
                    continue
        kept.append(entry)
    return kept


_NOUNS = frozenset({"part", "object", "whole"})


def _is_linked(cue_at: dict[int, Found], start: int, stop: int) -> bool:
    """Whether only a linking word such as "for the" stands between two nouns."""
    found = cue_at.get(start)
    return found is not None and bool(found.kinds & _OWNER_LINK) and stop - found.last <= 2


# -- lists of words before lists of figures


def _listed(mentions: list[Mention], gaps: list[list[Entry]]) -> list[Label]:
    """The labels of "case W / H: 34 / 40 mm": as many words as figures, in order.

    Nothing where it is no such list.
    """
    count = len(mentions)
    if count < 2 or len(gaps[0]) < count:
        return []
    said = [entry for entry in gaps[0] if entry[2] in _CONTENT]
    if not count <= len(said) <= count + 1 or any(m.slot for m in mentions):
        return []
    if any(entry[2] in _CONTENT for gap in gaps[1:] for entry in gap):
        return []
    of_all = [said[at] for at in (0, -1) if said[at].kind in _NAMES][: len(said) - count]
    listed = [entry for entry in said if entry not in of_all]
    if len(listed) != count or not _is_list(listed, said[-1], mentions[0], bool(of_all)):
        return []
    is_approximate = any(entry[2] == "approx" for entry in gaps[0])
    words = [tuple(_Word(0.1, e.kind, e.value, False) for e in (one, *of_all)) for one in listed]
    return [_said_by(some, ())[1]._replace(is_approximate=is_approximate) for some in words]


def _is_list(listed: list[Entry], last: Entry, figure: Mention, has_name: bool) -> bool:
    """Whether dimensions, or names of what is no "a x b", follow one another before a figure."""
    if any(b.first - a.last > _LIST_STEP for a, b in pairwise(listed)):
        return False
    if all(entry.kind == "dim" for entry in listed):
        return last.colon or figure.first - last.last <= 1
    named = all(entry.kind == "dim" or entry.kind in _NAMES for entry in listed)
    return named and last.colon and figure.group < 0 and not has_name


_LIST_STEP = 2  # tokens between what a list names


# -- cutting


class _State(NamedTuple):
    """The cheapest way to one cut: its cost, and its labels as a chain backwards."""

    cost: float
    label: Label | None
    before: _State | None


def _cheapest(mentions: list[Mention], gaps: list[list[Entry]], goods: str) -> list[Label]:
    """Dynamic programme over the cut in each gap.

    What a figure reaches if a gap is cut is the nearer part of what it reaches if it is not, so a
    label goes by how many words it reaches; it has a price only where there is a choice.
    """
    states: dict[int, _State] = {0: _State(0.0, None, None)}
    last = len(mentions) - 1
    for n, mention in enumerate(mentions):
        gap = gaps[n + 1]
        before, after = _reach_back(gaps[n], mention[2]), _reach_on(gap, mention[3])
        cuts = _cuts(gap, mention[3]) if gap and n < last else [len(gap)]
        if len(states) == len(cuts) == 1:
            ((start, state),) = states.items()
            label = _only_label(before.after_cut(start), after.words, mention, goods)
            states = {cuts[0]: new_named(_State, (state[0], label, state))}
        else:
            states = _best(states, cuts, before, after, mention, goods)
    (state,) = states.values()  # the last gap is not cut
    return _unwind(state)


def _only_label(before: _Words, after: _Words, mention: Mention, goods: str) -> Label:
    """The label of a figure that all words on both sides belong to."""
    if not after:
        return _said_by(before, ())[1] if before else NOTHING_SAID
    label = _said_by(before, after)[1]
    is_far = after[0][0] > _TAIL_REACH
    if is_far and label.part and _is_impossible(label, mention, goods):
        return _said_by(before, ())[1]  # "38 mm, curl sides"
    return label


def _best(
    states: dict[int, _State],
    cuts: list[int],
    before: _Reach,
    after: _Reach,
    mention: Mention,
    goods: str,
) -> dict[int, _State]:
    """The cheapest way to each cut behind a figure."""
    best: dict[int, _State] = {}
    known: dict[tuple[int, int], tuple[float, Label]] = {}
    ends = [(cut, after.before_cut(cut)) for cut in cuts]
    for start, state in states.items():
        back = before.after_cut(start)
        for cut, on in ends:
            priced = known.get((len(back), len(on)))
            if priced is None:
                cost, label = _said_by(back, on)
                priced = cost + _price_of_label(label, mention, goods), label
                known[len(back), len(on)] = priced
            cost = state[0] + priced[0]
            if cut not in best or cost < best[cut][0] - 1e-9:
                best[cut] = new_named(_State, (cost, priced[1], state))
    return best


def _unwind(state: _State) -> list[Label]:
    labels: list[Label] = []
    while state.label is not None and state.before is not None:
        labels.append(state.label)
        state = state.before
    return labels[::-1]


def _cuts(entries: list[Entry], end: int) -> list[int]:
    """Where a gap can be cut: before each cue, and at its end.

    A dimension right at a figure's end, with a comma or the like behind it, is that figure's
    ("46 mm high, 14 between").
    """
    cuts = [n for n, entry in enumerate(entries) if entry.kind != "step"]
    if len(entries) > 1 and entries[0].kind == "dim" and entries[0].first == end:
        bound = not entries[0].colon and entries[1].kind == "step"
        cuts = cuts[bound:]
    return [*cuts, len(entries)] if len(cuts) <= 8 else [*cuts[:4], *cuts[-4:], len(entries)]


class _Word(NamedTuple):
    """A word that a figure reaches, and at what cost."""

    cost: float
    kind: str
    value: str
    colon: bool


_Words = tuple[_Word, ...]


class _Reach(NamedTuple):
    """The words that a figure reaches on one side, the nearest first, and their places there."""

    words: _Words
    places: tuple[int, ...]

    def after_cut(self, start: int) -> _Words:
        """The words before a figure that are left of a gap that is cut."""
        words, places = self
        count = len(places)
        if not count or places[-1] >= start:
            return words
        while count and places[count - 1] < start:
            count -= 1
        return words[:count]

    def before_cut(self, cut: int) -> _Words:
        """The words after a figure that are left of a gap that is cut."""
        words, places = self
        count = len(places)
        if not count or places[-1] < cut:
            return words
        while count and places[count - 1] >= cut:
            count -= 1
        return words[:count]


class _Choice(NamedTuple):
    """The words that make a label, and all those it was chosen from."""

    name: _Word | None
    dim: _Word | None
    state: _Word | None
    names: list[_Word]
    dims: list[_Word]
    states: list[_Word]
    others: list[_Word]


@lru_cache(maxsize=_MOST_KNOWN)
def _said_by(before: _Words, after: _Words) -> tuple[float, Label]:
    """What it costs to reach the words on both sides, and the label that they give."""
    if not before and not after:
        return 0.0, NOTHING_SAID
    choice = _choose(before, after)
    return _price_of_words(choice, before, after), _label_of(choice, before, after)


def _choose(before: _Words, after: _Words) -> _Choice:
    """The nearest name, dimension and state of the words on both sides."""
    names: list[_Word] = []
    dims: list[_Word] = []
    states: list[_Word] = []
    others: list[_Word] = []
    for word in (*before, *after):
        if word.kind in _NAMES:
            names.append(word)
        elif word.kind == "dim":
            dims.append(word)
        elif word.kind == "state":
            states.append(word)
        else:
            others.append(word)
    name = _nearest_name(names) if names else None
    is_far = name is not None and name.cost > _TAIL_REACH and _has_dim(before, after)
    if is_far and any(word is name for word in after):
        name = None
    dim, state = _nearest(dims) if dims else None, _nearest(states) if states else None
    return _Choice(name, dim, state, names, dims, states, others)


def _price_of_words(choice: _Choice, before: _Words, after: _Words) -> float:
    """What it costs to reach the words of a label, and to leave others without a figure."""
    name, dim, state, names, dims, states, others = choice
    cost = 0.0
    if others:
        far = [w.cost >= _NEAR_BEFORE for w in before if w.kind == "approx"]
        far += [w.cost >= _NEAR_AFTER for w in after if w.kind == "approx"]
        cost = 0.1 * sum(far)
    for word in after:
        if word.colon and word.kind in _CONTENT:
            cost += 2.0
    if name is not None:
        cost += name.cost
    if dim is not None:
        cost += 0.5 * dim.cost
    if state is not None:
        cost += 0.5 * state.cost
    if len(names) > (name is not None):
        extra = {word.value for word in names if word is not name}
        cost += _WASTED * len(extra - {name.value if name else "", "detail"})
    if len(dims) > 1 or len(states) > 1:
        cost += _CROWDED * (_surplus(dims) + _surplus(states))
    return cost


def _nearest(words: list[_Word]) -> _Word:
    return min(words, key=_by_cost)


def _nearest_name(names: list[_Word]) -> _Word:
    return min(names, key=_cost_of_name)


def _price_of_label(label: Label, mention: Mention, goods: str) -> float:
    """What a label costs that says too little, or what is hard to believe."""
    cost = 0.0
    if mention.slot:
        cost = 0.3 if label.part else 0.0  # it needs no words, so others get them
    elif label.is_empty and mention.place == 0:
        cost = _UNLABELLED if mention.unit else _UNLABELLED_BARE
    elif not (label.part or label.owner):
        cost = 0.3
    # a figure without a part may still take one over from its neighbours
    return cost + _doubt(label, mention, goods) if label.part else cost


_by_cost = attrgetter("cost")


def _cost_of_name(word: _Word) -> float:
    """Its cost; "one arm is 2 mm longer" is no size of an arm."""
    is_damage = word.value == "damage" and word.cost < _DAMAGE_REACH
    return word.cost - (_DAMAGE_REACH if is_damage else 0.0)


def _surplus(words: list[_Word]) -> int:
    """How many different meanings there are beyond one."""
    return max(0, len({word.value for word in words}) - 1)


def _has_dim(before: _Words, after: _Words) -> bool:
    return any(word.kind in ("dim", "state") and word.cost < 1.0 for word in (*before, *after))


def _reach_back(gap: list[Entry], first: int) -> _Reach:
    """What it costs to reach each cue before a figure, the nearest first."""
    if not gap:
        return _NO_REACH
    words: list[_Word] = []
    places: list[int] = []
    steps = 0.0
    for place in range(len(gap) - 1, -1, -1):
        _, last, kind, value, colon = gap[place]
        if kind == "step":
            steps += _STEPS[value][0] if value in _STEPS else 0.5
            continue
        cost = steps + 0.1 * (first - last if first > last else 0)
        if cost > _REACH:
            break
        words.append(new_named(_Word, (cost, kind, value, colon)))
        places.append(place)
    return new_named(_Reach, (tuple(words), tuple(places)))


def _reach_on(gap: list[Entry], end: int) -> _Reach:
    """What it costs to reach each cue after a figure, the nearest first."""
    if not gap:
        return _NO_REACH
    words: list[_Word] = []
    places: list[int] = []
    steps = 0.0
    for place, (first, _, kind, value, colon) in enumerate(gap):
        if kind == "step":
            steps += _STEPS[value][1] if value in _STEPS else 0.5
            continue
        cost = steps + 0.1 * (first - end if first > end else 0) + 0.05
        if cost > _REACH:
            break
        words.append(new_named(_Word, (cost, kind, value, colon)))
        places.append(place)
    return new_named(_Reach, (tuple(words), tuple(places)))


_NO_REACH = _Reach((), ())


def _label_of(choice: _Choice, before: _Words, after: _Words) -> Label:
    """The label of a name, a dimension and a state, and of the words beside them."""
    name, dim, state, _, _, _, others = choice
    part = owner = basis = ""
    reach = 9.0
    dimension = condition = ""
    if dim is not None:
        reach, dimension = dim.cost, dim.value
    if state is not None:
        reach, condition = min(reach, state.cost), state.value
    if name is not None:
        reach = min(reach, name.cost)
        if name.kind == "part":
            part = name.value
        elif name.kind == "object":
            owner = name.value
        else:
            pieces = [*name.value.split(":"), "", ""]
            part, dimension = pieces[0], pieces[1] or dimension
            if part == "none":
                part, owner = "", "nothing"
            basis = pieces[2]
    if condition == "to_bend":
        basis = condition
    label = Label(part, dimension, condition, owner, reach=reach, basis=basis)
    return _with_others(label, others, before, after) if others else label


def _with_others(label: Label, others: list[_Word], before: _Words, after: _Words) -> Label:
    """Add what words that name nothing say: the unit, "about", how it was measured."""
    kinds = {word.kind for word in others}
    if kinds <= _SILENT:
        return label
    unit, basis, item, is_worn = None, label.basis, 0, False
    if "unit" in kinds:
        unit = next((w.value for w in others if w.kind == "unit" and w.cost < 2), None)
    if "basis" in kinds and not basis:
        basis = next(w.value for w in others if w.kind == "basis")
    if "item_number" in kinds:
        item = next(int(w.value) for w in others if w.kind == "item_number")
    if "wears" in kinds:
        is_worn = any(w.kind == "wears" and w.cost < 1.5 for w in before)
    is_approximate = "approx" in kinds and _is_approximate(before, after)
    part, dim, state, owner, _, _, reach, *_ = label
    return Label(part, dim, state, owner, unit, is_approximate, reach, is_worn, basis, item)


_SILENT = frozenset({"size"})  # of the words beside names, those that add nothing to a label


def _is_approximate(before: _Words, after: _Words) -> bool:
    """ "about 13 cm", "13 cm or so": close by, with no comma between."""
    return any(w.kind == "approx" and w.cost < _NEAR_BEFORE for w in before) or any(
        w.kind == "approx" and w.cost < _NEAR_AFTER for w in after
    )


def _is_impossible(label: Label, mention: Mention, goods: str) -> bool:
    return _doubt(label, mention, goods) >= _IMPOSSIBLE


def _doubt(label: Label, mention: Mention, goods: str) -> float:
    """How hard it is to believe that this quantity has this length."""
    unit = mention.unit
    units = (unit,) if unit else (label.unit or "mm", "cm", "in")
    is_second = mention.place == 1 and goods == "spectacles" and label.part == "lens"
    dim = label.dim or ("height" if is_second else "")  # "49 by 33 lens"
    least = _IMPOSSIBLE
    for unit in units:
        mm = mention.mm(unit)
        quantity = name_quantity(goods, label.part, dim, label.state, mm)
        if quantity is None or not is_possible(quantity, goods, mm):
            continue
        if goods == "spectacles" and not has_range(quantity, goods):
            least = min(least, _UNUSUAL)  # a height of an arm, a size of a screw
        elif is_usual(quantity, goods, mm):
            return 0.0
        else:
            least = min(least, _RARE)
    return least
