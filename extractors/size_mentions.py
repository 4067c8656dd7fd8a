"""Figures joined to what they state together: ranges, tolerances, products, boxed sizes.

Text is cut into segments (sentences and list entries); each holds its cues and its mentions of
sizes, still without names.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from extractors.lexicon import abbreviations, common_words
from extractors.quantities import (
    END,
    ENDS,
    JUNK,
    MARK,
    MM_PER_UNIT,
    NUMBER,
    PIECE_END,
    STOP,
    WORD,
    Amount,
    Number,
    Tokens,
    find_amounts,
    tokenise,
)
from extractors.records import new_named
from extractors.size_cues import (
    DIM,
    KIND,
    LETTER,
    OBJECT,
    PART,
    Found,
    Lexicon,
    flags,
    is_size_word,
)

# ranges of printed spectacle sizes do not overlap, so any order can be read (F15 to F19, widened)
_SLOTS = {"lens_width": (34, 68), "bridge": (8, 28), "temple_length": (95, 165)}
_USUAL_SIZE = (42, 60)
_TRIPLE = {"frame_width": (105, 165), "frame_height": (25, 70), "temple_length": (110, 165)}
_TRIPLE_JOINTS = (["/"], ["x"], ["-"], [","], ["-", "-"])
_LONGEST_JOINT = 3  # tokens between the figures of a boxed size
_SLOWEST = 32  # f-number; what is larger before a slash is none
_FOCAL = (8, 1200)  # mm
_BOX_MARKS = frozenset({"□", "[]", "[ ]"})
_BOX_JOINTS = frozenset(
    {"/", "-", "x", "|", "\\", ":", "·", "//", "*", "~", "+", ".", "_", "•", "▪"}
)
_BOX_LOOSE = frozenset({",", "(", ")", "", "and", "mm", "square", "sq", "box", "carre", "cuadrado",
                        "quadrato", "quadrat", "kastchen", "by"})  # fmt: skip
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
    """A sentence or list entry: its tokens lo..hi of those read, its cues and mentions in order.

    `piece` is the number of the piece it stands in; `cue_at` are the cues by their first token.
    """

    piece: int
    tokens: Tokens
    lo: int
    hi: int
    cues: list[Found]
    cue_at: dict[int, Found]
    starts_line: bool
    ends_line: bool
    mentions: list[Mention]
    unit: str | None = None  # a unit that stands apart from any figure
    _by_end: dict[int, Found] | None = None
    _products: dict[int, list[Mention]] | None = None

    def product_of(self, mention: Mention) -> list[Mention]:
        """All figures of the "a x b" that one belongs to."""
        if self._products is None:
            self._products = {}
            for other in self.mentions:
                self._products.setdefault(other.group, []).append(other)
        return self._products[mention.group]

    def cue_before(self, at: int) -> Found | None:
        """The cue that ends right before a token."""
        if self._by_end is None:
            self._by_end = {cue[1]: cue for cue in self.cues}
        return self._by_end.get(at)


def read_segments(
    pieces: Sequence[str], whole: Sequence[tuple[bool, bool]], words: Lexicon, goods: str
) -> list[Segment]:
    """Cut pieces of plain lower-case lines into segments.

    `whole` says whether a piece starts and ends with its line. All are read at once, for each
    call costs; none knows of the others.
    """
    tokens = tokenise(PIECE_END.join(pieces))
    ends = tokens.places(ENDS)
    cues = _real_letters(tokens, ends, words.find_all(tokens))
    amounts = _find_amounts(tokens, cues, words)
    crowded = _crowded(ends, amounts) if len(amounts) > _MOST_FIGURES else ()
    cues = _without_amounts(cues, amounts)
    ends.append(len(tokens))
    segments = []
    piece = begin = 0
    for lo, hi, mine, figures in _stretches(tokens, cues, amounts):
        while ends[piece] < lo:
            begin = ends[piece] + 1
            piece += 1
        if piece in crowded:
            continue
        starts, stops = lo == begin and whole[piece][0], hi == ends[piece] and whole[piece][1]
        cue_at = {cue[0]: cue for cue in mine}
        segment = Segment(piece, tokens, lo, hi, mine, cue_at, starts, stops, [])
        if figures:
            segment.mentions = _join(segment, figures, goods)
        segments.append(segment)
    return segments


def _crowded(ends: list[int], amounts: list[Amount]) -> set[int]:
    """The pieces that hold lists of numbers, not of sizes."""
    counts = Counter(bisect_left(ends, amount.first) for amount in amounts)
    return {piece for piece, count in counts.items() if count > _MOST_FIGURES}


def _real_letters(tokens: Tokens, ends: list[int], cues: list[Found]) -> list[Found]:
    """Take letters ("A 52 B 38") for box sizes only in company, and not after a part's name."""
    lettered = [cue for cue in cues if cue[2] & LETTER]
    if not lettered:
        return cues
    named = {cue.last for cue in cues if cue.kinds & (PART | OBJECT)}
    company: dict[int, set[str]] = {}  # the letters of each piece
    for cue in lettered:
        company.setdefault(bisect_left(ends, cue.first), set()).add(tokens.texts[cue.first])
    together = {n for n, texts in company.items() if len(texts) > 1 and texts & {"a", "dbl"}}
    return [
        cue.without("letter")
        if cue.kinds & LETTER
        and (cue.first in named or bisect_left(ends, cue.first) not in together)
        else cue
        for cue in cues
    ]


def _find_amounts(tokens: Tokens, cues: list[Found], words: Lexicon) -> list[Amount]:
    """The figures outside cues such as "pair 2", with careful units judged."""
    closing: set[int] | None = None

    def accepts(_: Tokens, at: int, amount: Amount) -> bool:
        nonlocal closing
        if tokens.texts[at] != '"':
            return _is_inch_word(tokens, at, amount, words)
        if closing is None:
            closing = _closing_quotes(tokens)
        return at not in closing

    amounts = find_amounts(tokens, accepts)
    if not amounts:
        return amounts
    inside = {
        at
        for first, last, _, _ in cues
        if last > first + 1 and NUMBER in tokens.kinds[first:last]
        for at in range(first, last)
        if tokens.kinds[at] == NUMBER
    }
    counting, dated = _counting(tokens, cues), _dated(tokens, amounts)
    return [
        amount
        for amount in amounts
        if (not inside or amount[5] not in inside)
        and (not _is_code(tokens, amount) or _is_thread(tokens, amount, cues))
        and (amount[4] is not None or not _is_counted(tokens, amount, counting))
        and (not dated or amount[5] not in dated)
    ]


def _counting(tokens: Tokens, cues: list[Found]) -> set[int]:
    """Where words stand that make the figure before them a count or a weight."""
    counting = {first for first, _, kinds, _ in cues if kinds & _NOT_AFTER and not kinds & _SIZED}
    if any(tokens.texts[first] in _PER for first in counting):
        parts = {first for first, _, kinds, _ in cues if kinds & (PART | OBJECT)}
        per = {cue.first for cue in cues if tokens.texts[cue.first] in _PER and cue.last in parts}
        return counting - per
    return counting


def _dated(tokens: Tokens, amounts: list[Amount]) -> set[int]:
    """Where the figures of dates stand: "12.05.48", "3/6/1912"."""
    dated: set[int] = set()
    for three in zip(amounts, amounts[1:], amounts[2:], strict=False):
        a, b, c = three
        if b[5] != a[6] + 1:
            continue
        joints = tokens.texts[a.last : b.first], tokens.texts[b.last : c.first]
        if joints[0] == joints[1] and joints[0] in _DATE_JOINTS and _is_date(tokens, three):
            dated |= {a.first, b.first, c.first}
    return dated


def _is_date(tokens: Tokens, three: tuple[Amount, ...]) -> bool:
    """Whether three figures without units can be day, month and year, in any order in use."""
    texts = [tokens.texts[amount.first] for amount in three]
    if any(amount.unit for amount in three) or not all(map(str.isdecimal, texts)):
        return False
    year, *rest = texts[::-1] if len(texts[0]) < 4 else texts
    less, more = sorted(map(int, rest))
    return len(year) in (2, 4) and 1 <= less <= _MONTHS and more <= _DAYS and len(max(rest)) <= 2


_DATE_JOINTS = (["."], ["/"], ["-"])
_MONTHS, _DAYS = 12, 31
_NOT_AFTER = KIND["not_after"]
_SIZED = flags("dim", "letter", "by", "state")
_EACH = frozenset({"each", "jeweils", "chacune", "chacun", "ciascuna", "ciascuno"})
_FEW = 12  # what is more of "140 each" is a size
_PER = frozenset({"per", "pro", "par", "por"})  # "60 x 56 per lens"


def _is_code(tokens: Tokens, amount: Amount) -> bool:
    """Whether a figure is glued to letters before it ("uv400", "m42", "f2.8", "x3")."""
    before = amount[5] - 1
    text = tokens.texts[before]
    if before < 0 or tokens.starts[before] + len(text) != amount[0]:
        return False
    if text == "-":
        return amount.unit is None and _is_code_word(tokens, before)
    if tokens.kinds[before] != WORD:
        return text in ("£", "$", "€", "#", "_", "@")
    return text not in _GLUED_LABELS


def _is_code_word(tokens: Tokens, dash: int) -> bool:
    """Whether a few letters that say nothing of sizes stand before a dash: "CR-39"."""
    before = tokens.texts[dash - 1] if dash else ""
    is_glued = dash > 0 and tokens.end(dash - 1) == tokens.starts[dash]
    is_short = before.isalpha() and _SHORTEST_CODE <= len(before) <= _LONGEST_CODE
    return is_glued and is_short and not (is_size_word(before) or before in common_words())


_SHORTEST_CODE, _LONGEST_CODE = 2, 4  # letters


def _is_thread(tokens: Tokens, amount: Amount, cues: list[Found]) -> bool:
    """Whether a figure is that of a filter thread: "Filtergewinde E49", "filter M52"."""
    if tokens.texts[amount.first - 1] not in _THREADS:
        return False
    stop = amount.first - 1
    if stop and tokens.texts[stop - 1] in (":", "="):
        stop -= 1
    return any(cue.last == stop and cue.of("part") == "filter" for cue in cues)


_THREADS = frozenset({"e", "m", "s"})
_GLUED_LABELS = frozenset({"l", "w", "h", "b", "d", "t", "x", "ca", "c", "ø", "a", "dbl", "ed"})


def _is_counted(tokens: Tokens, amount: Amount, counting: set[int]) -> bool:
    """Whether a bare figure counts or weighs something ("18 ct", "2-Euro coin", "60s")."""
    at, texts = amount.last, tokens.texts
    if at >= len(texts):
        return False
    if texts[at] == "-":
        at += 1
    value = amount[3][0]
    if at < len(texts) and texts[at] == "er" and value > _FEW and value % 10:
        return False  # "Filter 52er"; "50er" are years
    if at in counting:
        return texts[at] not in _EACH or value < _FEW
    if at >= len(texts):
        return False
    if texts[at] == "h" and _is_hour(tokens, at):
        return True
    if tokens.starts[at] != amount.end:
        return False
    return tokens.kinds[at] not in _MARKS and texts[at] not in _GLUED_AFTER


def _is_hour(tokens: Tokens, at: int) -> bool:
    """Whether the "h" behind a figure has another beside it: "10h à 19h"."""
    near = range(max(1, at - _NEAR), min(len(tokens), at + _NEAR + 1))
    texts, kinds = tokens.texts, tokens.kinds
    return any(texts[n] == "h" and n != at and kinds[n - 1] == NUMBER for n in near)


_NEAR = 4  # tokens
_MARKS = MARK + STOP + END
_GLUED_AFTER = frozenset({"w", "h", "l", "b", "d", "x", "ish", "ca"})


def _is_inch_word(tokens: Tokens, at: int, amount: Amount, words: Lexicon) -> bool:
    """Whether "in" after a figure is the unit: what follows decides, then the figure's form."""
    texts, kinds = tokens.texts, tokens.kinds
    after = at + (2 if at + 1 < len(texts) and texts[at + 1] == "." else 1)
    dotted = after == at + 2
    before = texts[amount.first - 1] if amount.first else ""
    if before == "+" or (before == "-" and amount.number.step == _OF_DIOPTRES):
        return False  # "+2.00 in both"
    written_small = amount.number.step < 1
    glued = tokens.starts[at] == amount.end
    if after >= len(texts) or kinds[after] in _MARKS or texts[after] in _AFTER_INCH:
        return True
    if kinds[after] == NUMBER:
        return written_small or glued or dotted
    cue = words.find(tokens, after)
    if cue is not None and cue.kinds & _BEHIND_INCH:
        return not (cue.kinds & _WITH and not written_small)
    return (written_small or glued or dotted) and texts[after] not in _NOUN_STARTS


_OF_DIOPTRES = 0.01  # lengths in inches are written so with a dash before only by chance
_BEHIND_INCH = flags("dim", "part", "whole", "state", "by", "and", "approx")
_WITH = KIND["with"]
_NOUN_STARTS = frozenset(
    {"the", "a", "an", "my", "your", "this", "that", "very", "good", "great", "total", "both"}
)


_AFTER_INCH = frozenset({"x", "by", "wide", "tall", "high", "long", "deep", "across", "thick"})


def _closing_quotes(tokens: Tokens) -> set[int]:
    """Indexes of double quotes that close one opened before, and so are no inch marks."""
    closing: set[int] = set()
    is_open = False
    texts, kinds, starts = tokens.texts, tokens.kinds, tokens.starts
    for at in [n for n, text in enumerate(texts) if text == '"' or text == PIECE_END]:
        if kinds[at] == END:
            is_open = False
            continue
        start = starts[at]
        gap_before = (
            at == 0 or kinds[at - 1] == END or tokens.end(at - 1) < start or texts[at - 1] in "(:-["
        )
        gap_after = at + 1 < len(texts) and kinds[at + 1] != END and starts[at + 1] == start + 1
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
        if cue[0] not in covered
        and (cue[1] == cue[0] + 1 or covered.isdisjoint(range(cue[0], cue[1])))
    ]


_Stretch = tuple[int, int, list[Found], list[Amount]]  # tokens lo..hi, cues and figures there


def _stretches(tokens: Tokens, cues: list[Found], amounts: list[Amount]) -> list[_Stretch]:
    """What stands between the marks that end a segment."""
    cue_starts, figure_starts = [cue[0] for cue in cues], [amount[5] for amount in amounts]
    stretches: list[_Stretch] = []
    lo = at_cue = at_figure = 0
    for at in _marks(tokens):
        next_cue, next_figure = bisect_right(cue_starts, at), bisect_right(figure_starts, at)
        if tokens.kinds[at : at + 1] not in _ALWAYS_ENDS:
            said = (
                cues[next_cue - 1] if next_cue else None,
                cues[next_cue] if next_cue < len(cues) else None,
                amounts[next_figure - 1] if next_figure else None,
                figure_starts[next_figure] if next_figure < len(amounts) else -1,
            )
            if not _is_break(tokens, at, new_named(_Beside, said)):
                continue
        if at > lo:
            mine, figures = cues[at_cue:next_cue], amounts[at_figure:next_figure]
            stretches.append((lo, at, mine, figures))
        at_cue, at_figure = next_cue, next_figure
        lo = at if tokens.kinds[at : at + 1] == WORD else at + 1
    return stretches


def _marks(tokens: Tokens) -> list[int]:
    """Where a segment may end; last of all behind the last token."""
    marks = tokens.places(_MAY_END)
    if "?" in tokens.texts:
        marks = sorted({*marks, *_questions(tokens)})
    return [*marks, len(tokens)]


_MAY_END = re.compile(f"[{STOP}{END}]")
_ALWAYS_ENDS = (END, "")


class _Beside(NamedTuple):
    """What stands next to a mark, or over it: cues and figures, and where the next figure is."""

    cue_before: Found | None
    cue_after: Found | None
    figure_before: Amount | None
    next_figure: int


def _questions(tokens: Tokens) -> list[int]:
    """Where "Q:" opens a question in a line of questions and answers."""
    texts, kinds = tokens.texts, tokens.kinds
    opened = [
        at
        for at, text in enumerate(texts[:-1])
        if text in _ASKS and at and kinds[at - 1] != END and texts[at + 1] == ":"
    ]
    pieces = [(kinds.rfind(END, 0, at) + 1, kinds.find(END, at)) for at in opened]
    return [
        at
        for at, (start, end) in zip(opened, pieces, strict=True)
        if "?" in texts[start : end if end >= 0 else len(texts)]
    ]


_ASKS = frozenset({"q", "f", "d", "p", "question", "frage", "domanda", "pregunta"})


def _is_break(tokens: Tokens, at: int, beside: _Beside) -> bool:
    """Whether a mark ends a segment, or a word opens the next question."""
    texts, kinds = tokens.texts, tokens.kinds
    cue, _, figure, _ = beside
    if (cue is not None and cue[1] > at) or (figure is not None and figure[6] > at):
        return False  # it is part of a phrase or figure
    if kinds[at] == WORD:
        return True
    if figure is not None and figure[6] == at and _goes_on(tokens, at, figure, beside):
        return False
    if at + 1 == len(texts) or at == 0 or kinds[at + 1] == END or kinds[at - 1] == END:
        return True
    if texts[at] in _BULLETS:
        return not (kinds[at - 1] == kinds[at + 1] == NUMBER)
    if texts[at] != ".":
        return True
    before = texts[at - 1]
    if kinds[at + 1] == NUMBER:
        is_short = cue is not None and cue[1] == at == cue[0] + 1 and len(before) <= 3
        if is_short or _is_abbreviated(tokens, at):
            return False
    if before in abbreviations() and tokens.end(at - 1) == tokens.starts[at]:
        return False
    return not (len(before) == 1 and kinds[at - 1] == WORD)


def _goes_on(tokens: Tokens, at: int, figure: Amount, beside: _Beside) -> bool:
    """Whether a stop only follows a unit: "5 1/2 in. temples", "52 mm. wide"."""
    cue, texts = beside.cue_after, tokens.texts
    if not figure.unit or cue is None or cue.first != at + 1 or cue.last == beside.next_figure:
        return False
    if texts[cue.last : cue.last + 1] in ([":"], ["="]):
        return False
    is_short = figure.unit == "in" and texts[at - 1] == "in"
    if is_short or cue.kinds & PART or not cue.kinds & (DIM | _BY):
        return is_short
    between = tokens.kinds[cue.last : max(beside.next_figure, cue.last)]
    return not between or between.strip(WORD) != ""  # "10 cm. Diamètre hors couronne 34 mm"


_BY = KIND["by"]
_BULLETS = frozenset("•▪")
_ABBREVIATED = frozenset(
    {"long", "larg", "haut", "prof", "epai", "diam", "lungh", "largh", "brei", "hohe", "leng",
     "widt", "lang", "anch", "circ", "diag", "temp", "brid", "lens", "pat", "puen", "bran"}
)  # fmt: skip


def _is_abbreviated(tokens: Tokens, at: int) -> bool:
    """Whether a stop follows a label cut short: "Long. 7,4 cm", not "130 mm long. 20 mm"."""
    if tokens.texts[at - 1] not in _ABBREVIATED or tokens.end(at - 1) != tokens.starts[at]:
        return False
    return at < 2 or tokens.kinds[at - 2] in _MARKS


def _join(segment: Segment, amounts: list[Amount], goods: str) -> list[Mention]:
    """Mentions of one segment: boxed sizes first, then ranges, tolerances and products."""
    kinds = 0
    for cue in segment.cues:
        kinds |= cue[2]
    if len(amounts) == 1 and not kinds & _OF_SINGLES:
        return [_mention(amounts[0])]
    return _Joiner(segment, amounts, goods, kinds).join()


# what a cue must mean for figures to be more than sizes that stand apart
_OF_STEPS = flags("nearest", "precise")
_OF_SINGLES = _OF_STEPS | flags("plusminus", "format", "size")
_OF_RANGES = flags("plusminus", "range", "between")
_PLUSMINUS, _RANGE, _BETWEEN, _AND = (
    KIND[kind] for kind in ("plusminus", "range", "between", "and")
)
_ARTICLE, _FORMAT, _NEAREST, _SIZE, _BASIS, _NOT, _WEARS = (
    KIND[kind] for kind in ("article", "format", "nearest", "size", "basis", "not", "wears")
)
_OF_FIGURE = flags("dim", "letter", "approx")


class _Joiner:
    """Joins the figures of one segment, left to right; state is only where it stands."""

    def __init__(self, segment: Segment, amounts: list[Amount], goods: str, kinds: int) -> None:
        self.tokens, self.amounts, self.goods = segment.tokens, amounts, goods
        self.texts, self.lo = segment.tokens.texts, segment.lo
        self.cue_at, self.cue_before = segment.cue_at, segment.cue_before
        self.kinds = kinds  # of all cues: most are not there, so most need not be looked for
        self.groups = 0

    def join(self) -> list[Mention]:
        mentions: list[Mention] = []
        at = 0
        while at < len(self.amounts):
            made, at = self._joined(at) or self._single(at)
            mentions.extend(made)
        if self.kinds & _OF_STEPS:
            mentions = _nearest_steps(mentions)
        return self._products(mentions) if self.kinds & _BY else mentions

    def _joined(self, at: int) -> tuple[list[Mention], int] | None:
        """What a figure and those behind it state together, if they do."""
        if at + 1 == len(self.amounts):
            return None
        gap = self.amounts[at + 1].first - self.amounts[at].last
        if gap <= _LONGEST_JOINT:
            made = self._boxed(at) or self._triple(at) or self._aperture(at)
            if made:
                return made
        return self._range(at) if gap == 1 or self.kinds & _OF_RANGES else None

    # -- what stands between two figures

    def _between(self, a: int, b: int) -> list[str]:
        return self.texts[self.amounts[a].last : self.amounts[b].first]

    def _joint_cue(self, a: int, b: int, kinds: int) -> bool:
        """Whether exactly one cue of some kinds stands between two figures, brackets aside."""
        if not self.kinds & kinds:
            return False
        at, stop = self.amounts[a].last, self.amounts[b].first
        while at < stop and self.texts[at] in "(,":
            at += 1
        while at < stop - 1 and self._is_article(stop - 1):
            stop -= 1
        cue = self.cue_at.get(at)
        return cue is not None and cue.last == stop and bool(cue.kinds & kinds)

    def _before(self, at: int, kinds: int) -> bool:
        """Whether a cue of some kinds ends right before a figure."""
        if not self.kinds & kinds:
            return False
        stop = self.amounts[at].first
        while stop > self.lo and self.texts[stop - 1] in (":", "(", "=", "'", '"', "-"):
            stop -= 1
        if stop > self.lo and self._is_article(stop - 1):
            stop -= 1
        cue = self.cue_before(stop)
        return cue is not None and bool(cue.kinds & kinds)

    def _is_article(self, at: int) -> bool:
        cue = self.cue_at.get(at)
        return cue is not None and bool(cue.kinds & _ARTICLE) and cue.last == at + 1

    # -- boxed sizes

    def _boxed(self, at: int) -> tuple[list[Mention], int] | None:
        if self.goods != "spectacles" or not _can_box(self.amounts[at]):
            return None
        chain = [at]
        joints: list[str] = []
        while len(chain) < 5 and chain[-1] + 1 < len(self.amounts):
            nxt = chain[-1] + 1
            joint = _joint(tuple(self._between(chain[-1], nxt)))
            if joint is None or not _can_box(self.amounts[nxt]):
                break
            chain.append(nxt)
            joints.append(joint)
        for length in range(min(4, len(chain)), 1, -1):
            slots = _slots([self.amounts[n].number.value for n in chain[:length]])
            if slots and self._is_boxed(chain, joints, length):
                named = zip(chain, slots, strict=False)
                made = [_mention(self.amounts[n], slot, "mm") for n, slot in named]
                arm = self._arm_after(at + length - 1) if "temple_length" not in slots else None
                return ([*made, arm], at + length + 1) if arm else (made, at + length)
        return None

    def _arm_after(self, last: int) -> Mention | None:
        """The arm that follows in another unit: "48/20 5 3/4", "48/20 14 cm"."""
        if last + 1 >= len(self.amounts):
            return None
        amount = self.amounts[last + 1]
        unit = amount.unit or ("in" if amount.number.is_fraction else None)
        texts = self._between(last, last + 1)
        low, high = _SLOTS["temple_length"]
        if unit in (None, "mm") or texts not in ([], ["/"], ["-"], ["x"]):
            return None
        if not low <= amount.number.value * MM_PER_UNIT[unit] <= high:
            return None
        return _mention(amount, "temple_length", unit)

    def _is_boxed(self, chain: list[int], joints: list[str], length: int) -> bool:
        used = joints[: length - 1]
        if length < len(chain) and joints[length - 1] == "box" and length > 2:
            return False  # the last figure opens the next boxed size
        if "box" in used:
            return True
        if self._before(chain[0], _NOT | OBJECT) and not self._before(chain[0], _SIZE):
            return False
        if length < len(chain) and joints[length - 1] == "firm":
            return False
        if length >= 3:
            return all(joint == "firm" for joint in used) or self._stands_alone(chain[0])
        if used == ["firm"]:
            return not self._is_lens_product(chain)
        return self._before(chain[0], _SIZE | _BASIS) and self._stands_alone(chain[0])

    def _stands_alone(self, at: int) -> bool:
        """Whether no figure runs into this one from the left (a telephone number)."""
        before = self.amounts[at].first - 1
        if before < self.lo:
            return True
        kind = self.tokens.kinds[before]
        return kind != JUNK and not (kind == NUMBER and len(self.texts[before]) != 4)

    def _is_lens_product(self, chain: list[int]) -> bool:
        """Whether "50 x 28" is width and height of a lens, not lens and bridge."""
        if self._between(chain[0], chain[1]) != ["x"]:
            return False
        first, second = (self.amounts[at].number.value for at in chain[:2])
        stop = self.amounts[chain[0]].first
        if stop > self.lo and self.texts[stop - 1] == ",":
            stop -= 1
        cue = self.cue_before(stop)
        named = self._before(chain[0], PART) or (cue is not None and bool(cue.kinds & PART))
        return second > 24 or (named and second >= 22) or (named and first < 42)

    def _triple(self, at: int) -> tuple[list[Mention], int] | None:
        """Width, height and arm of a frame in one unit: "13.5/4.5/14 cm"."""
        if self.goods != "spectacles" or at + 2 >= len(self.amounts):
            return None
        three = self.amounts[at : at + 3]
        joints = [self._between(n, n + 1) for n in (at, at + 1)]
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
        made = [_mention(amount, slot, unit) for amount, slot in zip(three, _TRIPLE, strict=True)]
        return made, at + 3

    def _aperture(self, at: int) -> tuple[list[Mention], int] | None:
        """The focal length of "2.8/50": the aperture before it is no size."""
        if self.goods != "lens" or at + 1 >= len(self.amounts):
            return None
        first, second = self.amounts[at], self.amounts[at + 1]
        if self._between(at, at + 1) != ["/"] or first.unit:
            return None
        low, high = _FOCAL
        is_aperture = first.number.value <= _SLOWEST and second.unit in (None, "mm")
        if is_aperture and second.number.step == 1 and low <= second.number.value <= high:
            return [_mention(second, "focal_length", "mm")], at + 2
        is_after = second.number.value <= _SLOWEST and not second.unit and second.number.step < 1
        if is_after and first.number.step == 1 and low <= first.number.value <= high:
            return [_mention(first, "focal_length", "mm")], at + 2
        return None

    # -- ranges and tolerances

    def _range(self, at: int) -> tuple[list[Mention], int] | None:
        if at + 1 >= len(self.amounts):
            return None
        a, b = self.amounts[at], self.amounts[at + 1]
        unit = a.unit or b.unit
        if b.unit and a.unit and a.unit != b.unit:
            return None
        if self._joint_cue(at, at + 1, _PLUSMINUS) and b.number.value <= a.number.value * 0.2:
            low, high = a.number.value - b.number.value, a.number.value + b.number.value
            joined = Mention(a.start, b.stop, a.first, b.last, low, high, a.number, unit)
            return [joined._replace(is_tolerance=True)], at + 2
        most = _MOST_ZOOM if self.goods == "lens" else _MOST_RANGE
        rising = a.number.value < b.number.value <= a.number.value * most
        if not rising or self._is_tolerance_note(at + 1):
            return None
        is_range = (
            self._joint_cue(at, at + 1, _RANGE)
            or (self._before(at, _BETWEEN) and self._joint_cue(at, at + 1, _AND))
            or self._is_slash_range(at)
        )
        if not is_range or (at + 2 < len(self.amounts) and self._is_dash_chain(at)):
            return None
        step = max(a.number.step, b.number.step) if b.number.is_fraction else b.number.step
        number = Number(a.number.value, step, b.number.is_fraction)
        low, high = a.number.value, b.number.value
        return [Mention(a.start, b.stop, a.first, b.last, low, high, number, unit)], at + 2

    def _is_slash_range(self, at: int) -> bool:
        """Whether two neighbouring whole numbers share a unit: "48/49 mm"."""
        a, b = self.amounts[at], self.amounts[at + 1]
        joint = self._between(at, at + 1)
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
        return self._between(at + 1, at + 2) == self._between(at, at + 1) == ["-"]

    def _single(self, at: int) -> tuple[list[Mention], int]:
        amount = self.amounts[at]
        if not self.kinds & _OF_SINGLES:
            return [_mention(amount)], at + 1
        after = self.cue_at.get(amount.last)
        if self._is_tolerance_note(at) or (after is not None and bool(after.kinds & _FORMAT)):
            return [], at + 1
        if self._is_step(at):
            return [_mention(amount, "step")], at + 1
        if self._is_size_number(at):
            return [_mention(amount, "lens_width", "mm")], at + 1
        return [_mention(amount)], at + 1

    def _is_tolerance_note(self, at: int) -> bool:
        """Whether a figure only says how far off others may be ("2 mm tolerance", "± 1 mm")."""
        amount = self.amounts[at]
        if amount.number.value * MM_PER_UNIT[amount.unit or "mm"] > _MOST_TOLERANCE:
            return False
        after = self.cue_at.get(amount.last)
        return self._before(at, _PLUSMINUS) or (
            after is not None and bool(after.kinds & _PLUSMINUS)
        )

    def _is_size_number(self, at: int) -> bool:
        """Whether a bare figure is the one number of a frame size ("size 52")."""
        low, high = _USUAL_SIZE
        number = self.amounts[at].number
        after = self.cue_at.get(self.amounts[at].last)
        if after is not None and after.kinds & _BY:  # "measure 50 x 44 mm"
            return False
        return (
            self.goods == "spectacles"
            and self.amounts[at].unit is None
            and number.step == 1
            and low <= number.value <= high
            and self._before(at, _SIZE)
            and not self._before(at, _NOT | _WEARS)
        )

    def _is_step(self, at: int) -> bool:
        """Whether a figure only says how finely was measured ("to the nearest 1/8 in")."""
        after = self.cue_at.get(self.amounts[at].last)
        is_by = at > 0 and self._joint_cue(at - 1, at, _BY)  # "5,5 auf 3 cm"
        return (self._before(at, _NEAREST) and not is_by) or (
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
        if a.slot or b.slot or b.first - a.last > 8:
            return False
        at, has_by = a.last, False
        next_cue = self.cue_at.get(b.last)
        has_own = next_cue is not None and bool(next_cue.kinds & PART)
        while at < b.first:
            cue = self.cue_at.get(at)
            kinds = cue.kinds if cue is not None else 0
            if cue is not None and kinds & _BY and not has_by:
                has_by, at = True, cue.last
            elif cue is not None and kinds & PART and not has_by and not has_own:
                at = cue.last  # "5 cm lens x 4 cm"
            elif cue is not None and kinds & _OF_FIGURE:
                at = cue.last
            elif self.texts[at] in ("(", ")", ".", "ca", ":", "[", "]"):
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


def _mention(amount: Amount, slot: str = "", slot_unit: str | None = None) -> Mention:
    start, _, stop, number, unit, first, last = amount
    value, unit = number[0], slot_unit or unit
    said = start, stop, first, last, value, value, number, unit, False, -1, 0, slot, False
    return new_named(Mention, said)


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


@lru_cache(maxsize=1024)
def _joint(texts: tuple[str, ...]) -> str | None:
    """How what stands between joins two figures of a boxed size: "box", "firm", "loose", None."""
    if len(texts) > _LONGEST_JOINT:
        return None
    if any(text in _BOX_MARKS or text.startswith("[") for text in texts) or texts == ("[", "]"):
        return "box"
    if texts and all(text in _BOX_JOINTS for text in texts):
        return "firm"
    if all(text in _BOX_LOOSE or text in _BOX_JOINTS for text in texts):
        if any(text in ("square", "sq", "box", "quadrat", "kastchen") for text in texts):
            return "box"
        return "loose"
    return None


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
