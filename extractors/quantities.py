"""Number forms and units of length: what a seller writes as a figure, turned into millimetres.

Knows digits, fractions, words and unit names in five languages (data/units.csv and
data/number_words.csv); what a length is a length of is left to measurements.py.
All of it is linear in the text: the token pattern has no nested repeats.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache, lru_cache
from importlib import resources
from itertools import accumulate
from typing import Generic, NamedTuple, TypeVar

from rapidfuzz import process
from rapidfuzz.distance import OSA

from extractors.records import new_named

Meaning = TypeVar("Meaning")

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "ft": 304.8,  # international foot, 12 inches
    "in": 25.4,  # international inch, exact since 1959 (yard and pound agreement; F36, F37)
    "ligne": 2.2558,  # Paris line, for watch movements (watch glossaries; F43)
}
DENOMINATORS = ("2", "3", "4", "8", "16", "32", "64")  # others are marks: 1/20 12K, 1/10 GF

_VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅛": (1, 8),
    "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5), "⅘": (4, 5),
    "⅙": (1, 6), "⅚": (5, 6),
}  # fmt: skip
_ACCENTED = {
    code: unicodedata.normalize("NFD", chr(code))[0]
    for code in range(0xC0, 0x250)
    if len(unicodedata.normalize("NFD", chr(code))) > 1
}  # sellers leave accents out as often as not
_SAME_LENGTH = {
    **_ACCENTED,
    **dict.fromkeys(map(ord, "“”„‟＂〃"), '"'),
    ord("«"): "(",  # never inches: the French write them with a space
    ord("»"): ")",
    **dict.fromkeys(map(ord, "‘’‚‛´`ʹʼˈ′‵＇"), "'"),
    **dict.fromkeys(map(ord, "‶〞ˮ"), "″"),
    **dict.fromkeys(map(ord, "‐‑‒–—―−﹣－⁃"), "-"),
    **dict.fromkeys(map(ord, "⁄∕／÷"), "/"),
    **dict.fromkeys(map(ord, "×✕✖⨯╳хХ"), "x"),
    **dict.fromkeys(map(ord, "▢◻☐⬜⊡▫◽❏❑◽⎕□▯▭◻⬚🔲"), "□"),
    **dict.fromkeys(map(ord, "|¦｜│"), "|"),
    **dict.fromkeys(map(ord, "\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009"
                             "\u200a\u202f\u205f\u3000\t"), " "),
    **dict.fromkeys(map(ord, "．。"), "."),
    **dict.fromkeys(map(ord, "，‚"), ","),
    **dict.fromkeys(map(ord, "：∶"), ":"),
    **dict.fromkeys(map(ord, "≈∼～≃≅"), "~"),
    **dict.fromkeys(map(ord, "⌀Øø∅"), "ø"),
    **{ord("０") + digit: str(digit) for digit in range(10)},
    **{0x0660 + digit: str(digit) for digit in range(10)},
    **{ord("ａ") + n: chr(ord("a") + n) for n in range(26)},
}  # fmt: skip

_VULGAR_CLASS = "[" + "".join(_VULGAR) + "]"
# only proper fractions, so that the size 52/16 stays two figures
_ASCII_FRACTION = (
    r"(?:1\ ?/\ ?2|[12]\ ?/\ ?3|[1-3]\ ?/\ ?4|[1-7]\ ?/\ ?8|(?:1[0-5]|[1-9])\ ?/\ ?16"
    r"|(?:3[01]|[12]?\d)\ ?/\ ?32|[1-6]?\d\ ?/\ ?64)(?!\d|[/.,]\d)"
)
_JOINT = r"(?:\ ?-\ ?|\ |\ and\ |\ ?&\ ?|\ ?\+\ ?)"
# words first: most of a text is words, and no other kind but the glued unit starts with a letter;
# plain words and whole numbers before letters have a quick alternative each that takes the same
_TOKEN = re.compile(
    rf"""
    (?:
      [mc]m(?=x\ ?\d)
    | [a-z][a-zA-Z]{{0,39}}+(?![^\x00-\x7f])
    | [,:;()!?](?!\d)
    | (?=[\d{_VULGAR_CLASS[1:]})(?:
        (?<!\d)\d{{1,6}}+(?=\ ?[b-z])
      | (?<![\d/.,])\d{{1,3}}(?:{_JOINT}?{_VULGAR_CLASS}|(?:{_JOINT}|\.){_ASCII_FRACTION})
      | {_VULGAR_CLASS}|(?<![\d/.,]){_ASCII_FRACTION}
      | (?<![\d.,])\d{{1,6}}[.,]\d{{1,4}}(?![.,]?\d)
      | \d+)
    | [^\W\d_]{{1,40}}
    | (?<![\w.,])[.,]\d{{1,3}}(?![\d.,])
    | \.{{2,}}|'+|\[\ ?\]|\+\ ?/\ ?-|\+-|//+|[^\w\s]|_
    )\s*
    """,
    re.VERBOSE,
)
_FRACTION_PARTS = re.compile(r"(\d{1,2})\ ?/\ ?(\d{1,2})$")


WORD, NUMBER, JUNK, MARK = "wnjm"  # kinds of tokens
STOP, END = "se"  # marks too: one that can end a sentence, the one that ends a piece of text
PIECE_END = "\0"  # what that is in a text
NUMBERS, ENDS = re.compile(NUMBER), re.compile(END)  # for Tokens.places


class Tokens:
    """A plain text in pieces, side by side: their texts, where they start, a letter each its kind.

    Lists and one string instead of an object a token: a text has hundreds of them.
    """

    __slots__ = ("kinds", "starts", "texts")

    def __init__(self, texts: list[str], starts: list[int], kinds: str) -> None:
        self.texts, self.starts, self.kinds = texts, starts, kinds

    def __len__(self) -> int:
        return len(self.texts)

    def end(self, at: int) -> int:
        """The character behind a token."""
        return self.starts[at] + len(self.texts[at])

    def places(self, kinds: re.Pattern[str]) -> list[int]:
        """Where the tokens of some kinds stand."""
        return [match.start() for match in kinds.finditer(self.kinds)]


class Number(NamedTuple):
    """A figure as written: its value and the step its writer counted in, both in its own unit."""

    value: float
    step: float
    is_fraction: bool = False


class Amount(NamedTuple):
    """A figure with the unit written beside it (None: a bare figure).

    Characters start..end are the figure, start..stop the figure with its unit; `first` and `last`
    are the token indexes it covers (last exclusive).
    """

    start: int
    end: int
    stop: int
    number: Number
    unit: str | None
    first: int
    last: int


def plain(text: str) -> str:
    """Give every dash, prime, quote, slash, space and digit its plain form; lengths stay equal.

    >>> plain("5′ – ５")
    "5' - 5"
    """
    if text.isascii():
        return text.replace("\t", " ").replace("`", "'")
    return _SIGN.sub(_plain_sign, text)


_SIGN = re.compile(r"[^\x00-\x7f]|[\t`|]")


def _plain_sign(match: re.Match[str]) -> str:
    return _SAME_LENGTH.get(ord(match.group()), match.group())


def tokenise(text: str) -> Tokens:
    """Cut plain lower-case text into tokens; nothing reads on over a PIECE_END."""
    if text[:1].isspace():
        return _tokenise(text.lstrip(), len(text) - len(text.lstrip()))
    return _tokenise(text, 0)


def _tokenise(text: str, start: int) -> Tokens:
    cut = _TOKEN.findall(text)  # each with the spaces behind it, so that their lengths add up
    texts = list(map(str.rstrip, cut))
    kinds = "".join(map(KINDS.__getitem__, texts))
    return Tokens(texts, list(accumulate(map(len, cut), initial=start)), kinds)


class _Kinds(dict[str, str]):
    """The kind of each token, worked out the first time it is met."""

    def __missing__(self, text: str) -> str:
        if len(self) >= _MOST_FORMS:
            self.clear()
        kind = self[text] = _kind_of(text)
        return kind


KINDS = _Kinds()
_MOST_FORMS = 20_000
_STOPS = frozenset((".", "//", *"!?;•…●▪►◆■★✔✓➤→¡¿▶◦‣○"))


def _kind_of(text: str) -> str:
    if _FIGURE.match(text):
        return JUNK if len(text) > _MOST_DIGITS and text.isdecimal() else NUMBER
    if text[0].isalnum():
        return WORD
    if text == PIECE_END:
        return END
    return STOP if text in _STOPS or text.startswith("..") else MARK


_FIGURE = re.compile(rf"[.,]?\d|{_VULGAR_CLASS}")


_MOST_DIGITS = 6  # of a figure


@lru_cache(maxsize=4096)
def read_number(text: str, unit: str | None = None) -> Number | None:
    """Read one figure in digits; None when it is none.

    Three digits after a separator are thousands in millimetres only: sellers write 5.125 inches.

    >>> read_number("2 3/8")
    Number(value=2.375, step=0.125, is_fraction=True)
    >>> read_number("13,8")
    Number(value=13.8, step=0.1, is_fraction=False)
    """
    if text.isdecimal() and text.isascii() and len(text) <= _MOST_DIGITS:
        return Number(float(text), 1.0)
    text = plain(text.strip())
    fraction = _read_fraction(text)
    if fraction is not None:
        return fraction
    match = re.fullmatch(r"(\d{0,6})(?:[.,](\d{1,4}))?", text)
    if not match or not text.strip(".,"):
        return None
    whole, decimals = match.group(1) or "0", match.group(2) or ""
    if unit == "mm" and len(decimals) == 3 and 1 <= int(whole) <= 9:
        return Number(float(whole + decimals), 1.0)
    return Number(float(f"{whole}.{decimals or 0}"), 10.0 ** -len(decimals))


def _read_fraction(text: str) -> Number | None:
    """Read "3/8", "2 3/8", "2⅜"; None when the text ends in no fraction."""
    if text[-1:] in _VULGAR:
        top, bottom = _VULGAR[text[-1]]
        rest = text[:-1]
    else:
        match = _FRACTION_PARTS.search(text)
        if not match or match.group(2) not in DENOMINATORS:
            return None
        top, bottom = int(match.group(1)), int(match.group(2))
        rest = text[: match.start()]
        if top >= bottom:
            return None
    whole = re.match(r"\d*", rest.strip())
    assert whole is not None
    return Number(int(whole.group() or 0) + top / bottom, 1 / bottom, is_fraction=True)


def half_width_mm(number: str | Number, unit: str) -> float:
    """Half the step a figure was rounded to, in mm: its reader's error (measurement practice; F40).

    Raises ValueError when the text is no figure.

    >>> half_width_mm("5 3/8", "in"), half_width_mm("13.8", "cm"), half_width_mm("14", "cm")
    (1.5875, 0.5, 5.0)
    """
    read = number if isinstance(number, Number) else read_number(number, unit)
    if read is None:
        raise ValueError(f"no figure: {number!r}")
    return _half_step_mm(read.step, unit)


@lru_cache(maxsize=256)
def _half_step_mm(step: float, unit: str) -> float:
    return round(step * MM_PER_UNIT[unit] / 2, 6)


def to_mm(value: float, unit: str) -> float:
    """Millimetres of a value in a unit of MM_PER_UNIT, rounded to a ten-thousandth.

    >>> to_mm(5.5, "in")
    139.7
    """
    mm = value * MM_PER_UNIT[unit]
    return mm if mm.is_integer() else round(mm, 4)  # rounding takes longer than all the rest


def read_rows(name: str) -> Iterator[dict[str, str]]:
    """The rows of one data file of this package, without its comment lines."""
    text = (resources.files("extractors") / "data" / name).read_text(encoding="utf-8")
    lines = (line for line in text.splitlines() if line.strip() and not line.startswith("#"))
    return csv.DictReader(lines)


class PhraseTable(Generic[Meaning]):
    """Phrases of one or more tokens, found longest first at a place in a token list."""

    def __init__(self, rows: Iterable[tuple[str, Meaning]]) -> None:
        table: dict[str, list[tuple[tuple[str, ...], list[Meaning]]]] = {}
        for phrase, meaning in rows:
            words = tuple(tokenise(plain(phrase.lower())).texts)
            for known, meanings in table.setdefault(words[0], []):
                if known == words:
                    meanings.append(meaning)
                    break
            else:
                table[words[0]].append((words, [meaning]))
        for entries in table.values():
            entries.sort(key=lambda entry: -len(entry[0]))
        self._table = table
        self.first_words = frozenset(table)

    def __contains__(self, word: str) -> bool:
        """Whether some phrase is this one word."""
        return any(len(words) == 1 for words, _ in self._table.get(word, ()))

    def words(self) -> frozenset[str]:
        """Every phrase that is one word."""
        return frozenset(word for word in self._table if word in self)

    def match(self, texts: Sequence[str], at: int) -> tuple[int, list[Meaning]] | None:
        """The longest phrase that starts at a token: how many tokens, and what it means."""
        phrases = self._table.get(texts[at])
        if phrases is None:
            return None
        following = texts[at + 1] if at + 1 < len(texts) else ""
        for words, meanings in phrases:
            if len(words) == 1:
                return 1, meanings
            if words[1] != following or at + len(words) > len(texts):
                continue
            if all(texts[at + n] == words[n] for n in range(2, len(words))):
                return len(words), meanings
        return None

    def alone(self, word: str) -> list[Meaning] | None:
        """What a word means that is a phrase and starts no longer one; None if it is no such."""
        phrases = self._table.get(word, [])
        return phrases[0][1] if len(phrases) == 1 and len(phrases[0][0]) == 1 else None

    def starts_of(self, holds: Callable[[Meaning], bool]) -> frozenset[str]:
        """The first words of the phrases with a meaning that holds."""
        return frozenset(
            first
            for first, phrases in self._table.items()
            if any(holds(meaning) for _, meanings in phrases for meaning in meanings)
        )


class _Word(NamedTuple):
    kind: str  # number, fraction, and, article
    number: Number


class _UnitWord(NamedTuple):
    unit: str
    careful: bool  # also an ordinary word: "in"
    language: str


@cache
def _number_words() -> PhraseTable[_Word]:
    return PhraseTable(
        (
            row["phrase"],
            _Word(row["kind"], Number(float(row["value"]), float(row["step"]), row["step"] != "1")),
        )
        for row in read_rows("number_words.csv")
    )


@cache
def _unit_words() -> PhraseTable[_UnitWord]:
    return PhraseTable(
        (row["phrase"], _UnitWord(row["unit"], row["careful"] == "yes", row["language"]))
        for row in read_rows("units.csv")
    )


@cache
def number_starts() -> frozenset[str]:
    """The words that a number in words can start with."""
    return _number_words().first_words


@cache
def unit_starts() -> frozenset[str]:
    """The words and marks that the name of a unit can start with."""
    return _unit_words().first_words


@cache
def _unit_slips() -> list[str]:
    """In a fixed order: of two names as near the first is meant."""
    return sorted(word for word in _unit_words().words() if len(word) >= 4)


@lru_cache(maxsize=4096)
def _near_unit(word: str) -> str | None:
    """The unit name that a slip of the pen is one letter away from ("milimeters", "inchs")."""
    if len(word) < 5:
        return None
    found = process.extractOne(
        word, _unit_slips(), scorer=OSA.distance, score_cutoff=1 if len(word) < 9 else 2
    )
    return str(found[0]) if found else None


@cache
def _number_openers() -> frozenset[str]:
    """The words that a number in words opens with; "and" and "of" only go on with one."""
    return _number_words().starts_of(lambda word: word.kind in ("number", "fraction", "one"))


@cache
def _sure_units() -> dict[str, str]:
    """The unit of each word that is nothing but this unit, whatever stands around it."""
    table = _unit_words()
    named = {word: table.alone(word) for word in table.words() - number_starts() - {'"'}}
    return {
        word: meant[0].unit
        for word, meant in named.items()
        if meant and meant[0].unit != "none" and not all(one.careful for one in meant)
    }


class _Following(dict[str, str | None]):
    """The unit that a word names for sure, None if it names none, _UNSURE if that must be seen."""

    def __missing__(self, word: str) -> str | None:
        if len(self) >= _MOST_FORMS:
            self.clear()
        unit = self[word] = _sure_units().get(word) or _may_name(word)
        return unit


_UNSURE = "?"
_FOLLOWING = _Following()


def _may_name(word: str) -> str | None:
    """Whether a word may belong to the figure before it: a unit, a fraction in words, a slip."""
    belongs = word in number_starts() or word in unit_starts()
    return _UNSURE if belongs or _near_unit(word) is not None else None


def read_unit(tokens: Tokens, at: int) -> tuple[int, str, bool] | None:
    """The unit named at a token: how many tokens it takes, its key, and whether it needs care."""
    texts = tokens.texts
    if at >= len(texts):
        return None
    found = _unit_words().match(texts, at)
    if found:
        word = found[1][0]
        careful = all(word.careful for word in found[1])
        return None if word.unit == "none" else (found[0], word.unit, careful)
    if tokens.kinds[at] == WORD:
        near = _near_unit(texts[at])
        if near:
            single = _unit_words().match([near], 0)
            if single is not None and single[1][0].unit != "none":
                return 1, single[1][0].unit, False
    return None


def find_amounts(
    tokens: Tokens, accepts: Callable[[Tokens, int, Amount], bool] = lambda *_: True
) -> list[Amount]:
    """Every figure among the tokens, in order, with the unit written beside it.

    Number words count only where a unit follows. `accepts(tokens, at, amount)` judges a unit that
    is also an ordinary word ("in") or a closing quote, `at` being the unit's first token.
    """
    texts, kinds = tokens.texts, tokens.kinds
    places = tokens.places(NUMBERS)
    openers = _number_openers()
    if not openers.isdisjoint(texts):
        places = sorted(places + [at for at, text in enumerate(texts) if text in openers])
    amounts = []
    beyond = 0  # the token after the last figure
    for at in places:
        if at < beyond:
            continue
        amount = _plain_amount(tokens, at) if kinds[at] == NUMBER else None
        if amount is None:
            amount = _amount_at(tokens, at, accepts)
        if amount is not None:
            amounts.append(amount)
            beyond = amount.last
    return amounts


def _plain_amount(tokens: Tokens, at: int) -> Amount | None:
    """The amount of digits with a sure unit or none behind; None where `_amount_at` must look.

    Most figures are like this; the amount is the one that `_amount_at` gives.
    """
    texts, starts = tokens.texts, tokens.starts
    text, start = texts[at], starts[at]
    number = read_number(text)
    if number is None:
        return None
    after, end = at + 1, start + len(text)
    following = texts[after] if after < len(texts) else ""
    unit = _FOLLOWING[following]
    if unit is None:
        if following == "-" and tokens.kinds[after + 1 : after + 2] == WORD:
            return None
        return new_named(Amount, (start, end, end, number, None, at, after))
    last = after + 1
    if unit is _UNSURE or starts[after] - end > _WIDEST_GAP or number[1] < _FINE:
        return None
    if last < len(texts) and (tokens.kinds[last] == NUMBER or texts[last] in number_starts()):
        return None
    return new_named(Amount, (start, end, starts[after] + len(following), number, unit, at, last))


_WIDEST_GAP = 2  # characters between a figure and its unit
_FINE = 0.01  # a figure with more decimals may be one with a mark for thousands


def _amount_at(
    tokens: Tokens, at: int, accepts: Callable[[Tokens, int, Amount], bool]
) -> Amount | None:
    if tokens.kinds[at] == NUMBER:
        number, after = read_number(tokens.texts[at]), at + 1
        if number is None:
            return None
    else:
        worded = _words_at(tokens, at)
        if worded is None:
            return None
        number, after = worded
    number, after = _and_a_half(tokens, number, after)
    return _with_unit(tokens, at, after, number, accepts)


def _words_at(tokens: Tokens, at: int) -> tuple[Number, int] | None:
    """A number written in words at a token, and the token after it; "an" is one before inches."""
    found = _number_words().match(tokens.texts, at)
    one = next((word for word in found[1] if word.kind == "one"), None) if found else None
    if one is not None and found is not None:
        unit = read_unit(tokens, at + found[0])
        is_one = unit is not None and unit[1] in ("in", "ft") and not unit[2]
        return (one.number, at + found[0]) if is_one else None
    if found is None or found[1][0].kind not in ("number", "fraction"):
        return None
    return found[1][0].number, at + found[0]


def _and_a_half(tokens: Tokens, number: Number, at: int) -> tuple[Number, int]:
    """Add "and a half" to a whole number standing before it."""
    texts = tokens.texts
    if at >= len(texts) or number.is_fraction or texts[at] not in number_starts():
        return number, at
    words = _number_words()
    joiner = words.match(texts, at)
    if joiner is None or joiner[1][0].kind != "and" or at + joiner[0] >= len(texts):
        return number, at
    at_fraction = at + joiner[0]
    if tokens.kinds[at_fraction] == NUMBER:
        fraction, length = read_number(texts[at_fraction]), 1
    else:
        found = words.match(texts, at_fraction)
        length = found[0] if found else 0
        fraction = found[1][0].number if found and found[1][0].kind == "fraction" else None
    if fraction is None or not fraction.is_fraction or fraction.value >= 1:
        return number, at
    return Number(number.value + fraction.value, fraction.step, True), at_fraction + length


def _with_unit(
    tokens: Tokens,
    first: int,
    after: int,
    number: Number,
    accepts: Callable[[Tokens, int, Amount], bool],
) -> Amount | None:
    """The amount with the unit that follows; small words without one are no amount."""
    texts = tokens.texts
    start, end = tokens.starts[first], tokens.end(after - 1)
    amount = Amount(start, end, end, number, None, first, after)
    at = _skip_small(tokens, after, number)
    close = at < len(texts) and tokens.starts[at] - end <= (12 if at > after else _WIDEST_GAP)
    unit = read_unit(tokens, at) if close else None
    if unit:
        length, key, careful = unit
        if not (careful or texts[at] == '"') or accepts(tokens, at, amount):
            last = at + length
            number = _reread(tokens, first, number, key)
            number, beyond = _and_a_half(tokens, number, last)
            if beyond == last and key == "in":
                number, beyond = _fraction_after(tokens, number, last)
            stop = tokens.end(beyond - 1)
            if beyond > last:
                end = stop
            return Amount(start, end, stop, number, key, first, beyond)
    is_plain = tokens.kinds[first] == NUMBER or _MANY <= number.value <= 170
    return amount if is_plain else None


_MANY = 12  # a number word from here on may be a size without a unit ("bridge nineteen")


def _fraction_after(tokens: Tokens, number: Number, at: int) -> tuple[Number, int]:
    """Add a fraction that stands after the unit ("5 pouces 1/2")."""
    if at >= len(tokens) or tokens.kinds[at] != NUMBER or number.is_fraction or number.step < 1:
        return number, at
    fraction = _read_fraction(tokens.texts[at])
    if fraction is None or fraction.value >= 1:
        return number, at
    return Number(number.value + fraction.value, fraction.step, True), at + 1


def _skip_small(tokens: Tokens, at: int, number: Number) -> int:
    """Step over "of an" in "three quarters of an inch" and the hyphen of "35-mm"."""
    if at >= len(tokens):
        return at
    if number.is_fraction:
        found = _number_words().match(tokens.texts, at)
        if found and found[1][0].kind == "article":
            return at + found[0]
    if tokens.texts[at] == "-" and tokens.kinds[at + 1 : at + 2] == WORD:
        return at + 1
    return at


def _reread(tokens: Tokens, at: int, number: Number, unit: str) -> Number:
    """Read digits again now that the unit is known: thousands marks differ."""
    if tokens.kinds[at] != NUMBER or number.is_fraction:
        return number
    return read_number(tokens.texts[at], unit) or number
