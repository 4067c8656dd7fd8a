"""Figures joined to what they state together: ranges, tolerances, products, boxed sizes.

Text is cut into segments (sentences and list entries); each holds its cues and its mentions of
sizes, still without names.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from extractors.lexicon import abbreviations
from extractors.quantities import (
    MM_PER_UNIT,
    Amount,
    Number,
    Token,
    figure_places,
    find_amounts,
    tokenise,
)
from extractors.size_cues import Found, Lexicon

# ranges of printed spectacle sizes do not overlap, so any order can be read (F15 to F19, widened)
_SLOTS = {"lens_width": (34, 68), "bridge": (8, 28), "temple_length": (95, 165)}
_USUAL_SIZE = (42, 60)
_TRIPLE = {"frame_width": (105, 165), "frame_height": (25, 70), "temple_length": (110, 165)}
_TRIPLE_JOINTS = (["/"], ["x"], ["-"], [","], ["-", "-"])
_SLOWEST = 32  # f-number; what is larger before a slash is none
_FOCAL = (8, 1200)  # mm
_BOX_MARKS = frozenset({"□", "[]", "[ ]"})
_BOX_JOINTS = frozenset(
    {"/", "-", "x", "|", "\\", ":", "·", "//", "*", "~", "+", ".", "_", "•", "▪"}
)
_BOX_LOOSE = frozenset({",", "(", ")", "", "and", "mm", "square", "sq", "box", "carre", "cuadrado",
                        "quadrato", "quadrat", "kastchen", "by"})  # fmt: skip
_BREAKS = frozenset("!?;•…●▪►◆■★✔✓➤→¡¿▶◦‣○")
_MOST_FIGURES = 250  # in one piece; more is a list of numbers, not of sizes
_MOST_TOLERANCE = 6.0  # mm
_MOST_RANGE = 1.6  # the far end of a range is at most this many times the near one
_MOST_ZOOM = 15.0  # but a zoom lens goes far


class Mention(NamedTuple):
    """One stated size: low..high in `unit` (None: no unit said), at text[start:end].

    `group` numbers the product it belongs to (-1: none) and `place` its place there; `slot` is its
    quantity where the notation itself tells ("52□18").
    """

    start: int
    end: int
    first: int
    last: int
    low: float
    high: float
    number: Number
    unit: str | None
    approximate: bool = False
    group: int = -1
    place: int = 0
    slot: str = ""
    is_tolerance: bool = False

    def mm(self, unit: str) -> float:
        """The middle of the size in millimetres, read in a unit."""
        return (self.low + self.high) / 2 * MM_PER_UNIT[unit]


@dataclass(slots=True)
class Segment:
    """A sentence or list entry: its tokens lo..hi of the line, its cues and mentions in order."""

    tokens: list[Token]
    lo: int
    hi: int
    cues: list[Found]
    mentions: list[Mention]
    starts_line: bool
    ends_line: bool
    unit: str | None = None  # a unit that stands apart from any figure
    _by_end: dict[int, Found] = field(default_factory=dict)
    _products: dict[int, list[Mention]] = field(default_factory=dict)

    def product_of(self, mention: Mention) -> list[Mention]:
        """All figures of the "a x b" that one belongs to."""
        if not self._products:
            for other in self.mentions:
                self._products.setdefault(other.group, []).append(other)
        return self._products[mention.group]

    def cue_before(self, at: int) -> Found | None:
        """The cue that ends right before a token."""
        if not self._by_end:
            self._by_end.update((cue.last, cue) for cue in self.cues)
        return self._by_end.get(at)


def read_segments(
    text: str, words: Lexicon, goods: str, whole: tuple[bool, bool] = (True, True)
) -> Iterator[Segment]:
    """Cut one plain lower-case line, or a piece of it, into segments.

    `whole` says whether the piece starts and ends with its line.
    """
    tokens = tokenise(text)
    cues = _real_letters(tokens, _find_cues(tokens, words))
    amounts = _find_amounts(tokens, cues, words)
    if len(amounts) > _MOST_FIGURES:
        return
    cues = _without_amounts(cues, amounts)
    bounds = _bounds(tokens, cues, amounts)
    at_cue = at_amount = 0
    for lo, hi in bounds:
        mine, at_cue = _take(cues, at_cue, hi)
        figures, at_amount = _take(amounts, at_amount, hi)
        mentions = _join(tokens, figures, mine, goods, lo, hi)
        starts, ends = lo == 0 and whole[0], hi == len(tokens) and whole[1]
        yield Segment(tokens, lo, hi, mine, mentions, starts, ends)


def _take(items: list, at: int, hi: int) -> tuple[list, int]:  # type: ignore[type-arg]
    """The items from `at` on that end by token `hi`, and where the next ones start."""
    stop = at
    while stop < len(items) and items[stop].last <= hi:
        stop += 1
    return items[at:stop], stop


def _find_cues(tokens: list[Token], words: Lexicon) -> list[Found]:
    """The cues of a line; a letter that stands apart from any figure is none."""
    return [cue for cue in words.find_all(tokens) if not _is_bare_letter(tokens, cue)]


def _real_letters(tokens: list[Token], cues: list[Found]) -> list[Found]:
    """Take letters ("A 52 B 38") for box sizes only in company, and not after a part's name."""
    lettered = [cue for cue in cues if "letter" in cue.senses.kinds]
    if not lettered:
        return cues
    named = {cue.last for cue in cues if cue.has("part", "object")}
    texts = {tokens[cue.first].text for cue in lettered}
    alone = len(texts) < 2 or not texts & {"a", "dbl"}
    return [
        cue._replace(senses=cue.senses.without("letter"))
        if cue.has("letter") and (alone or cue.first in named)
        else cue
        for cue in cues
    ]


def _is_bare_letter(tokens: list[Token], found: Found) -> bool:
    """Whether a single letter stands apart from any figure ("a lens"), so that it is no cue."""
    token = tokens[found.first]
    if len(token[3]) > 1 or found.last - found.first > 1 or not token.text.isalpha():
        return False
    if not found.has("letter", "dim"):
        return False
    before = tokens[found.first - 1] if found.first else None
    after = tokens[found.last] if found.last < len(tokens) else None
    if after is not None and after.text in ":=.)" and found.last + 1 < len(tokens):
        after = tokens[found.last + 1]
    near = (before is not None and before.text in ("(", "mm", "cm")) or (
        before is not None and before.kind == "number"
    )
    if not near and before is not None and before.kind == "word" and len(before.text) > 1:
        near = after is None or after.text in ("|", "(", ":", "=", ",")
    return not near and not (after is not None and after.kind == "number")


def _find_amounts(tokens: list[Token], cues: list[Found], words: Lexicon) -> list[Amount]:
    """The figures outside cues such as "pair 2", with careful units judged."""
    places = figure_places(tokens)
    if not places:
        return []
    closing = _closing_quotes(tokens)
    parts = {cue.first for cue in cues if cue.has("part", "object")}
    counting = {
        cue.first
        for cue in cues
        if "not_after" in cue.senses.kinds
        and not cue.has("dim", "letter", "by", "state")
        and not (tokens[cue.first].text in _PER and cue.last in parts)
    }
    inside = {
        at
        for cue in cues
        if cue.last - cue.first > 1
        for at in range(cue.first, cue.last)
        if tokens[at].kind == "number"
    }

    def accepts(_: Sequence[Token], at: int, amount: Amount) -> bool:
        if tokens[at].text == '"':
            return at not in closing
        return _is_inch_word(tokens, at, amount, words)

    return [
        amount
        for amount in find_amounts(tokens, accepts, places)
        if amount.first not in inside
        and (not _is_code(tokens, amount) or _is_thread(tokens, amount, cues))
        and not (amount.unit is None and _is_counted(tokens, amount, counting))
    ]


_EACH = frozenset({"each", "jeweils", "chacune", "chacun", "ciascuna", "ciascuno"})
_FEW = 12  # what is more of "140 each" is a size
_PER = frozenset({"per", "pro", "par", "por"})  # "60 x 56 per lens"


def _is_code(tokens: list[Token], amount: Amount) -> bool:
    """Whether a figure is glued to letters before it ("uv400", "m42", "f2.8", "x3")."""
    if not amount.first:
        return False
    before = tokens[amount.first - 1]
    if before.end != amount.start or before.kind != "word":
        return before.end == amount.start and before.text in ("£", "$", "€", "#")
    return before.text not in _GLUED_LABELS


def _is_thread(tokens: list[Token], amount: Amount, cues: list[Found]) -> bool:
    """Whether a figure is that of a filter thread: "Filtergewinde E49", "filter M52"."""
    if tokens[amount.first - 1].text not in _THREADS:
        return False
    stop = amount.first - 1
    if stop and tokens[stop - 1].text in (":", "="):
        stop -= 1
    return any(cue.last == stop and cue.of("part") == "filter" for cue in cues)


_THREADS = frozenset({"e", "m", "s"})
_GLUED_LABELS = frozenset({"l", "w", "h", "b", "d", "t", "x", "ca", "c", "ø", "a"})


def _is_counted(tokens: list[Token], amount: Amount, counting: set[int]) -> bool:
    """Whether a bare figure counts or weighs something ("18 ct", "2-Euro coin", "60s")."""
    at = amount.last
    if at < len(tokens) and tokens[at].text == "-":
        at += 1
    if at in counting:
        return tokens[at].text not in _EACH or amount.number.value < _FEW
    if at >= len(tokens) or tokens[at].start != amount.end:
        return False
    if tokens[at].text == "er" and amount.number.value % 10:
        return False  # "36er Gehäuse"; "50er" are years
    return tokens[at].kind != "mark" and tokens[at].text not in _GLUED_AFTER


_GLUED_AFTER = frozenset({"w", "h", "l", "b", "d", "x", "ish", "ca"})


def _is_inch_word(tokens: list[Token], at: int, amount: Amount, words: Lexicon) -> bool:
    """Whether "in" after a figure is the unit: what follows decides, then the figure's form."""
    after = at + (2 if at + 1 < len(tokens) and tokens[at + 1].text == "." else 1)
    dotted = after == at + 2
    written_small = amount.number.step < 1
    glued = tokens[at].start == amount.end
    if after >= len(tokens) or tokens[after].kind == "mark":
        return True
    if tokens[after].text in _after_inch():
        return True
    if tokens[after].kind == "number":
        return written_small or glued or dotted
    cue = words.find(tokens, after)
    if cue is not None and cue.has("dim", "part", "whole", "state", "by", "and", "approx"):
        return not (cue.has("with") and not written_small)
    return (written_small or glued or dotted) and tokens[after].text not in _NOUN_STARTS


_NOUN_STARTS = frozenset(
    {"the", "a", "an", "my", "your", "this", "that", "very", "good", "great", "total"}
)


def _after_inch() -> frozenset[str]:
    return frozenset({"x", "by", "wide", "tall", "high", "long", "deep", "across", "thick"})


def _closing_quotes(tokens: list[Token]) -> set[int]:
    """Indexes of double quotes that close one opened before, and so are no inch marks."""
    closing: set[int] = set()
    is_open = False
    for at in [n for n, token in enumerate(tokens) if token[3] == '"']:
        token = tokens[at]
        gap_before = at == 0 or tokens[at - 1].end < token.start or tokens[at - 1].text in "(:-["
        gap_after = at + 1 < len(tokens) and tokens[at + 1].start == token.end
        if is_open:
            closing.add(at)
            is_open = False
        elif gap_before and gap_after:
            is_open = True
    return closing


def _without_amounts(cues: list[Found], amounts: list[Amount]) -> list[Found]:
    if not amounts:
        return cues
    covered = {at for *_, first, last in amounts for at in range(first, last)}
    return [
        cue
        for cue in cues
        if cue.first not in covered
        and (cue.last - cue.first == 1 or covered.isdisjoint(range(cue.first, cue.last)))
    ]


def _bounds(tokens: list[Token], cues: list[Found], amounts: list[Amount]) -> list[tuple[int, int]]:
    """Where segments start and end, as token indexes."""
    marks = [
        at
        for at, (kind, _, _, text) in enumerate(tokens)
        if kind == "mark" and (text == "." or text in _BREAKS or _can_break(text))
    ]
    if not marks:
        return [(0, len(tokens))] if tokens else []
    spans = [(item.first, item.last) for item in cues]
    spans += [(item.first, item.last) for item in amounts]
    inside = {at for first, last in spans for at in range(first, last)}
    short_cues = {
        cue.last for cue in cues if cue.last - cue.first == 1 and len(tokens[cue.first].text) <= 3
    }
    unit_ends = {amount.last for amount in amounts if amount.unit}
    short_units = {
        amount.last
        for amount in amounts
        if amount.unit == "in" and tokens[amount.last - 1].text == "in"
    }  # the stop of "5 1/2 in. temples" ends no sentence
    figures = {amount.first for amount in amounts}
    going_on = {
        cue.first
        for cue in cues
        if (cue.has("dim", "by") or cue.first - 1 in short_units)
        and (not cue.has("part") or cue.first - 1 in short_units)
        and cue.last not in figures
        and not (cue.last < len(tokens) and tokens[cue.last].text in ":=")
    }
    bounds = []
    lo = 0
    for at in sorted({*marks, *_questions(tokens)}):
        if at in inside:
            continue
        if tokens[at].kind == "word":  # the "Q" of the next question
            if at > lo:
                bounds.append((lo, at))
            lo = at
            continue
        if _is_break(tokens, at, short_cues) and not (at in unit_ends and at + 1 in going_on):
            if at > lo:
                bounds.append((lo, at))
            lo = at + 1
    if lo < len(tokens):
        bounds.append((lo, len(tokens)))
    return bounds


def _questions(tokens: list[Token]) -> list[int]:
    """Where "Q:" opens a question in a line of questions and answers."""
    if not any(token.text == "?" for token in tokens):
        return []
    return [
        at
        for at, token in enumerate(tokens[:-1])
        if token.text in _ASKS and at and tokens[at + 1].text == ":"
    ]


_ASKS = frozenset({"q", "f", "d", "p", "question", "frage", "domanda", "pregunta"})


def _can_break(text: str) -> bool:
    return text == "//" or text.startswith("..")


def _is_break(tokens: list[Token], at: int, short_cues: set[int]) -> bool:
    if at + 1 == len(tokens) or at == 0:
        return True
    if tokens[at].text in _BULLETS:
        return not (tokens[at - 1].kind == tokens[at + 1].kind == "number")
    if tokens[at].text != ".":
        return True
    if at in short_cues and tokens[at + 1].kind == "number":
        return False
    if tokens[at + 1].kind == "number" and _is_abbreviated(tokens, at):
        return False
    if tokens[at - 1].text in abbreviations() and tokens[at - 1].end == tokens[at].start:
        return False
    return not (len(tokens[at - 1].text) == 1 and tokens[at - 1].kind == "word")


_BULLETS = frozenset("•▪")
_ABBREVIATED = frozenset(
    {"long", "larg", "haut", "prof", "epai", "diam", "lungh", "largh", "brei", "hohe", "leng",
     "widt", "lang", "anch", "circ", "diag", "temp", "brid", "lens", "pat", "puen", "bran"}
)  # fmt: skip


def _is_abbreviated(tokens: list[Token], at: int) -> bool:
    """Whether a stop follows a label cut short: "Long. 7,4 cm", not "130 mm long. 20 mm"."""
    label = tokens[at - 1]
    if label.text not in _ABBREVIATED or label.end != tokens[at].start:
        return False
    return at < 2 or tokens[at - 2].kind == "mark"


def _join(
    tokens: list[Token], amounts: list[Amount], cues: list[Found], goods: str, lo: int, hi: int
) -> list[Mention]:
    """Mentions of one segment: boxed sizes first, then ranges, tolerances and products."""
    if not amounts:
        return []
    joiner = _Joiner(tokens, amounts, cues, goods, lo, hi)
    return joiner.join()


# what a cue must mean for a single figure to be more than a size
_OF_SINGLES = frozenset({"plusminus", "format", "nearest", "precise", "size"})


class _Joiner:
    """Joins the figures of one segment, left to right; state is only where it stands."""

    def __init__(
        self,
        tokens: list[Token],
        amounts: list[Amount],
        cues: list[Found],
        goods: str,
        lo: int,
        hi: int,
    ) -> None:
        self.tokens, self.amounts, self.goods = tokens, amounts, goods
        self.lo, self.hi = lo, hi
        self.cue_at = {cue.first: cue for cue in cues}
        self.cue_end = {cue.last: cue for cue in cues}
        self.kinds = frozenset().union(*[cue.senses.kinds for cue in cues])  # most are not there
        self.groups = 0

    def join(self) -> list[Mention]:
        mentions: list[Mention] = []
        at = 0
        while at < len(self.amounts):
            made, at = (
                self._boxed(at)
                or self._triple(at)
                or self._aperture(at)
                or self._range(at)
                or self._single(at)
            )
            mentions.extend(made)
        return self._products(_nearest_steps(mentions))

    # -- what stands between two figures

    def _between(self, a: int, b: int) -> list[Token]:
        return self.tokens[self.amounts[a].last : self.amounts[b].first]

    def _joint_cue(self, a: int, b: int, *kinds: str) -> bool:
        """Whether exactly one cue of a kind stands between two figures, brackets aside."""
        at, stop = self.amounts[a].last, self.amounts[b].first
        while at < stop and self.tokens[at].text in "(,":
            at += 1
        while at < stop - 1 and self._is_article(stop - 1):
            stop -= 1
        cue = self.cue_at.get(at)
        return cue is not None and cue.last == stop and cue.has(*kinds)

    def _before(self, at: int, *kinds: str) -> bool:
        """Whether a cue of a kind ends right before a figure."""
        stop = self.amounts[at].first
        while stop > self.lo and self.tokens[stop - 1].text in (":", "(", "=", "'", '"', "-"):
            stop -= 1
        if stop > self.lo and self._is_article(stop - 1):
            stop -= 1
        cue = self.cue_end.get(stop)
        return cue is not None and cue.has(*kinds)

    def _is_article(self, at: int) -> bool:
        cue = self.cue_at.get(at)
        return cue is not None and cue.has("article") and cue.last == at + 1

    # -- boxed sizes

    def _boxed(self, at: int) -> tuple[list[Mention], int] | None:
        if self.goods != "spectacles" or not _can_box(self.amounts[at]):
            return None
        chain = [at]
        joints: list[str] = []
        while len(chain) < 5 and chain[-1] + 1 < len(self.amounts):
            nxt = chain[-1] + 1
            joint = self._joint(chain[-1], nxt)
            if joint is None or not _can_box(self.amounts[nxt]):
                break
            chain.append(nxt)
            joints.append(joint)
        for length in range(min(4, len(chain)), 1, -1):
            slots = _slots([self.amounts[n].number.value for n in chain[:length]])
            if slots and self._is_boxed(chain, joints, length):
                made = [self._slot(n, s) for n, s in zip(chain, slots, strict=False)]
                arm = self._arm_after(at + length - 1) if "temple_length" not in slots else None
                return ([*made, arm], at + length + 1) if arm else (made, at + length)
        return None

    def _arm_after(self, last: int) -> Mention | None:
        """The arm that follows in another unit: "48/20 5 3/4", "48/20 14 cm"."""
        if last + 1 >= len(self.amounts):
            return None
        amount = self.amounts[last + 1]
        unit = amount.unit or ("in" if amount.number.is_fraction else None)
        texts = [token.text for token in self._between(last, last + 1)]
        low, high = _SLOTS["temple_length"]
        if unit in (None, "mm") or texts not in ([], ["/"], ["-"], ["x"]):
            return None
        if not low <= amount.number.value * MM_PER_UNIT[unit] <= high:
            return None
        return _mention(amount)._replace(unit=unit, slot="temple_length")

    def _joint(self, a: int, b: int) -> str | None:
        """How two figures of a boxed size are joined: "box", "firm", "loose", or None."""
        texts = [token.text for token in self._between(a, b)]
        if len(texts) > 3:
            return None
        if any(text in _BOX_MARKS or text.startswith("[") for text in texts) or texts == ["[", "]"]:
            return "box"
        if texts and all(text in _BOX_JOINTS for text in texts):
            return "firm"
        if all(text in _BOX_LOOSE or text in _BOX_JOINTS for text in texts):
            if any(text in ("square", "sq", "box", "quadrat", "kastchen") for text in texts):
                return "box"
            return "loose"
        return None

    def _is_boxed(self, chain: list[int], joints: list[str], length: int) -> bool:
        used = joints[: length - 1]
        if length < len(chain) and joints[length - 1] == "box" and length > 2:
            return False  # the last figure opens the next boxed size
        if "box" in used:
            return True
        if self._before(chain[0], "not", "object") and not self._before(chain[0], "size"):
            return False
        if length < len(chain) and joints[length - 1] == "firm":
            return False
        if length >= 3:
            return all(joint == "firm" for joint in used) or self._stands_alone(chain[0])
        if used == ["firm"]:
            return not self._is_lens_product(chain)
        return self._before(chain[0], "size", "basis") and self._stands_alone(chain[0])

    def _stands_alone(self, at: int) -> bool:
        """Whether no figure runs into this one from the left (a telephone number)."""
        first = self.amounts[at].first
        if first == self.lo:
            return True
        before = self.tokens[first - 1]
        return before.kind not in ("junk",) and not (
            before.kind == "number" and len(before.text) != 4
        )

    def _is_lens_product(self, chain: list[int]) -> bool:
        """Whether "50 x 28" is width and height of a lens, not lens and bridge."""
        if [token.text for token in self._between(chain[0], chain[1])] != ["x"]:
            return False
        first, second = (self.amounts[at].number.value for at in chain[:2])
        stop = self.amounts[chain[0]].first
        if stop > self.lo and self.tokens[stop - 1].text == ",":
            stop -= 1
        cue = self.cue_end.get(stop)
        named = self._before(chain[0], "part") or (cue is not None and cue.has("part"))
        return second > 24 or (named and second >= 22) or (named and first < 42)

    def _slot(self, at: int, slot: str) -> Mention:
        amount = self.amounts[at]
        return _mention(amount)._replace(unit="mm", slot=slot)

    def _triple(self, at: int) -> tuple[list[Mention], int] | None:
        """Width, height and arm of a frame in one unit: "13.5/4.5/14 cm"."""
        if self.goods != "spectacles" or at + 2 >= len(self.amounts):
            return None
        three = self.amounts[at : at + 3]
        joints = [[t.text for t in self._between(n, n + 1)] for n in (at, at + 1)]
        unit = three[2].unit
        if unit not in ("cm", "mm") or joints[0] != joints[1] or joints[0] not in _TRIPLE_JOINTS:
            return None
        if any(amount.unit not in (None, unit) for amount in three):
            return None
        sizes = [amount.number.value * MM_PER_UNIT[unit] for amount in three]
        if not all(
            low <= mm <= high for mm, (low, high) in zip(sizes, _TRIPLE.values(), strict=True)
        ):
            return None
        made = [
            _mention(amount)._replace(unit=unit, slot=slot)
            for amount, slot in zip(three, _TRIPLE, strict=True)
        ]
        return made, at + 3

    def _aperture(self, at: int) -> tuple[list[Mention], int] | None:
        """The focal length of "2.8/50": the aperture before it is no size."""
        if self.goods != "lens" or at + 1 >= len(self.amounts):
            return None
        first, second = self.amounts[at], self.amounts[at + 1]
        if [t.text for t in self._between(at, at + 1)] != ["/"] or first.unit:
            return None
        low, high = _FOCAL
        is_aperture = first.number.value <= _SLOWEST and second.unit in (None, "mm")
        if is_aperture and second.number.step == 1 and low <= second.number.value <= high:
            return [_mention(second)._replace(unit="mm", slot="focal_length")], at + 2
        is_after = second.number.value <= _SLOWEST and not second.unit and second.number.step < 1
        if is_after and first.number.step == 1 and low <= first.number.value <= high:
            return [_mention(first)._replace(unit="mm", slot="focal_length")], at + 2
        return None

    # -- ranges and tolerances

    def _range(self, at: int) -> tuple[list[Mention], int] | None:
        if at + 1 >= len(self.amounts):
            return None
        a, b = self.amounts[at], self.amounts[at + 1]
        unit = a.unit or b.unit
        if b.unit and a.unit and a.unit != b.unit:
            return None
        joined = _mention(a)._replace(unit=unit, end=b.stop, last=b.last)
        if self._joint_cue(at, at + 1, "plusminus") and b.number.value <= a.number.value * 0.2:
            low, high = a.number.value - b.number.value, a.number.value + b.number.value
            return [joined._replace(low=low, high=high, is_tolerance=True)], at + 2
        most = _MOST_ZOOM if self.goods == "lens" else _MOST_RANGE
        rising = a.number.value < b.number.value <= a.number.value * most
        if not rising or self._is_tolerance_note(at + 1):
            return None
        is_range = (
            self._joint_cue(at, at + 1, "range")
            or (self._before(at, "between") and self._joint_cue(at, at + 1, "and"))
            or self._is_slash_range(at)
        )
        if not is_range or (at + 2 < len(self.amounts) and self._is_dash_chain(at)):
            return None
        step = max(a.number.step, b.number.step) if b.number.is_fraction else b.number.step
        number = Number(a.number.value, step, b.number.is_fraction)
        return [joined._replace(high=b.number.value, number=number)], at + 2

    def _is_slash_range(self, at: int) -> bool:
        """Whether two neighbouring whole numbers share a unit: "48/49 mm"."""
        a, b = self.amounts[at], self.amounts[at + 1]
        joint = [token.text for token in self._between(at, at + 1)]
        whole = a.number.step == b.number.step == 1
        return (
            joint == ["/"]
            and a.unit is None
            and b.unit is not None
            and whole
            and (b.number.value - a.number.value <= 2)
        )

    def _is_dash_chain(self, at: int) -> bool:
        """Whether the same dash goes on to a third figure, so that it is no range."""
        after = [token.text for token in self._between(at + 1, at + 2)]
        return after == ["-"] and [t.text for t in self._between(at, at + 1)] == ["-"]

    def _single(self, at: int) -> tuple[list[Mention], int]:
        amount = self.amounts[at]
        if self.kinds.isdisjoint(_OF_SINGLES):
            return [_mention(amount)], at + 1
        after = self.cue_at.get(amount.last)
        if self._is_tolerance_note(at) or (after is not None and after.has("format")):
            return [], at + 1
        if self._is_step(at):
            return [_mention(amount)._replace(slot="step")], at + 1
        if self._is_size_number(at):
            return [_mention(amount)._replace(unit="mm", slot="lens_width")], at + 1
        return [_mention(amount)], at + 1

    def _is_tolerance_note(self, at: int) -> bool:
        """Whether a figure only says how far off others may be ("2 mm tolerance", "± 1 mm")."""
        amount = self.amounts[at]
        if amount.number.value * MM_PER_UNIT[amount.unit or "mm"] > _MOST_TOLERANCE:
            return False
        after = self.cue_at.get(amount.last)
        return self._before(at, "plusminus") or (after is not None and after.has("plusminus"))

    def _is_size_number(self, at: int) -> bool:
        """Whether a bare figure is the one number of a frame size ("size 52")."""
        low, high = _USUAL_SIZE
        number = self.amounts[at].number
        after = self.cue_at.get(self.amounts[at].last)
        if after is not None and after.has("by"):  # "measure 50 x 44 mm"
            return False
        return (
            self.goods == "spectacles"
            and self.amounts[at].unit is None
            and number.step == 1
            and low <= number.value <= high
            and self._before(at, "size")
            and not self._before(at, "not", "wears")
        )

    def _is_step(self, at: int) -> bool:
        """Whether a figure only says how finely was measured ("to the nearest 1/8 in")."""
        after = self.cue_at.get(self.amounts[at].last)
        is_by = at > 0 and self._joint_cue(at - 1, at, "by")  # "5,5 auf 3 cm"
        return (self._before(at, "nearest") and not is_by) or (
            after is not None and after.of("precise") is not None
        )

    # -- products

    def _products(self, mentions: list[Mention]) -> list[Mention]:
        """Number the members of "a x b" and give them the unit that one of them has."""
        made: list[Mention] = []
        group: list[Mention] = []
        for mention in mentions:
            if group and self._is_product(group[-1], mention):
                group.append(mention)
                continue
            made.extend(self._grouped(group))
            group = [mention]
        return made + self._grouped(group)

    def _is_product(self, a: Mention, b: Mention) -> bool:
        if "by" not in self.kinds or a.slot or b.slot or b.first - a.last > 8:
            return False
        at, has_by = a.last, False
        next_cue = self.cue_at.get(b.last)
        has_own = next_cue is not None and next_cue.has("part")
        while at < b.first:
            cue = self.cue_at.get(at)
            text = self.tokens[at].text
            if cue is not None and cue.has("by") and not has_by:
                has_by, at = True, cue.last
            elif cue is not None and cue.has("part") and not has_by and not has_own:
                at = cue.last  # "5 cm lens x 4 cm"
            elif cue is not None and cue.has("dim", "letter", "approx"):
                at = cue.last
            elif text in ("(", ")", ".", "ca", ":", "[", "]"):
                at += 1
            else:
                return False
        return has_by

    def _grouped(self, group: list[Mention]) -> list[Mention]:
        if len(group) < 2:
            return group
        self.groups += 1
        units = [mention.unit for mention in group]
        return [
            mention._replace(
                unit=mention.unit
                or next((u for u in units[n:] if u), None)
                or next((u for u in reversed(units[:n]) if u), None),
                group=self.groups,
                place=n,
            )
            for n, mention in enumerate(group)
        ]


def _mention(amount: Amount) -> Mention:
    start, _, stop, number, unit, first, last = amount
    value = number.value
    said = start, stop, first, last, value, value, number, unit, False, -1, 0, "", False
    return tuple.__new__(Mention, said)  # in half the time


def _nearest_steps(mentions: list[Mention]) -> list[Mention]:
    """Take out the figures that are steps, and round the others to them."""
    steps = [m for m in mentions if m.slot == "step"]
    if not steps:
        return mentions
    step = steps[0]
    number = step.number
    kept = [m for m in mentions if m.slot != "step"]
    return [
        m._replace(number=Number(m.low, number.value if number.value else 1.0, number.is_fraction))
        if m.unit == step.unit
        else m
        for m in kept
    ]


def _can_box(amount: Amount) -> bool:
    value = amount.number.value
    return amount.unit in (None, "mm") and not amount.number.is_fraction and 8 <= value <= 165


def _slots(values: list[float]) -> list[str] | None:
    """Which of 2 to 4 figures is lens, bridge and temple, or None; a fourth is the lens height."""
    slots = [
        next((name for name, (low, high) in _SLOTS.items() if low <= value <= high), "?")
        for value in values
    ]
    if len(values) == 4:
        slots = _with_height(values, slots)
    if "?" in slots or len(set(slots)) != len(slots) or not {"lens_width", "bridge"} <= set(slots):
        return None
    return slots


def _with_height(values: list[float], slots: list[str]) -> list[str]:
    """Read the smaller of two lens-like figures (or one of 28 to 34) as the lens height."""
    lens = [n for n, slot in enumerate(slots) if slot in ("lens_width", "?") and values[n] > 24]
    if len(lens) == 2:
        small = min(lens, key=lambda n: values[n])
        slots[small] = "lens_height"
        slots[max(lens, key=lambda n: values[n])] = "lens_width"
    return slots
