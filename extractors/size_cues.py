"""The words sellers use about sizes, looked up token by token, and what kind of goods they sell.

All words are rows of data/size_cues.csv and data/size_goods.csv; a new word or language is a row.
Words with one slip of the pen ("brdige") and German compounds ("Bügellänge") are read too.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import NamedTuple

from rapidfuzz.distance import OSA

from extractors import folding
from extractors.quantities import (
    END,
    KINDS,
    NUMBER,
    PIECE_END,
    WORD,
    Tokens,
    plain,
    read_rows,
    tokenise,
)
from extractors.records import new_named

GOODS = ("spectacles", "watch", "pen", "lens", "jewellery")
_NAMES_OF_KINDS = (
    *("part", "object", "whole", "letter", "dim", "state", "approx", "wears", "basis"),
    *("item_number", "size", "none", "not_object", "and", "with", "from", "range", "between", "by"),
    *("owner_link", "mine", "tool", "all", "pronoun", "not", "not_after", "plusminus", "nearest"),
    *("article", "format", "precise", "filler", "this_one"),
    *("unit", "step"),  # of words between figures only: a unit, a separator
)
KIND = {name: 1 << n for n, name in enumerate(_NAMES_OF_KINDS)}  # kinds of meaning as bits


def flags(*names: str) -> int:
    """Some kinds of meaning as one set of bits."""
    return sum(KIND[name] for name in names)


PART, OBJECT, WHOLE, LETTER, DIM, STATE = (KIND[name] for name in _NAMES_OF_KINDS[:6])
# these say how words hang together, so they hold in their own language only
_GRAMMAR = flags(
    *("and", "by", "with", "from", "range", "between", "owner_link", "mine", "tool", "wears"),
    *("item_number", "letter", "none", "all", "pronoun", "this_one"),
)
_SHORTEST_GUESS = 5  # letters of a word that may be misspelt or compound
_MOST_WORDS = 20_000  # remembered by a lexicon
LONGEST_HEAD = 4000  # characters that decide what goods are sold


class Cue(NamedTuple):
    """What a word or phrase says about a size."""

    kind: str
    value: str


class Senses:
    """All that a phrase can mean; made once a phrase, so that looking at it is quick."""

    __slots__ = ("cues", "entries", "kinds", "tells_whose")

    def __init__(self, cues: tuple[Cue, ...]) -> None:
        self.cues = cues
        self.kinds = flags(*{cue.kind for cue in cues})
        self.entries = _as_entries({cue.kind: cue.value for cue in cues})
        # a wrist or ruler may be the seller's; that goes by the word before it
        self.tells_whose = bool(self.entries) and self.entries[0][1] in ("wrist", "ruler")

    def without(self, kind: str) -> Senses:
        """The same with one kind of meaning taken out."""
        return _senses(tuple(cue for cue in self.cues if cue.kind != kind))


def _as_entries(kinds: dict[str, str]) -> tuple[tuple[str, str], ...]:
    """What a phrase adds to a label: one name at most, then its other meanings."""
    if "none" in kinds:
        return ()
    entries = []
    if "whole" in kinds:
        entries.append(("whole", kinds["whole"]))
    elif "part" in kinds:
        entries.append(("part", kinds["part"]))
    elif "object" in kinds and "not_object" not in kinds:
        entries.append(("object", kinds["object"]))
    for kind in ("dim", "state", "letter", "approx", "wears", "basis", "item_number", "size"):
        doubled = (kind == "dim" and "whole" in kinds) or (
            kind == "letter" and "dim" in kinds and "part" in kinds
        )
        if kind in kinds and not doubled:
            entries.append((kind, kinds[kind]))
    if not entries:
        entries += [("step", kind) for kind in ("and", "with") if kind in kinds][:1]
    return tuple(entries)


@cache
def _senses(cues: tuple[Cue, ...]) -> Senses:
    """The senses of some cues; many phrases share theirs."""
    return Senses(cues)


class Found(NamedTuple):
    """A phrase in the text: tokens first..last (exclusive), all it can mean, the kinds of that."""

    first: int
    last: int
    kinds: int
    senses: Senses

    def of(self, kind: str) -> str | None:
        """The value of its meaning of one kind, or None."""
        if not self.kinds & KIND[kind]:
            return None
        return next(cue.value for cue in self.senses.cues if cue.kind == kind)

    def without(self, kind: str) -> Found:
        """The same with one kind of meaning taken out."""
        senses = self.senses.without(kind)
        return Found(self.first, self.last, senses.kinds, senses)


class _Meaning(NamedTuple):
    """What a row says of its phrase, and where that holds."""

    language: str
    cue: Cue
    goods: tuple[str, ...]
    is_content: bool  # it holds in other languages too, where these have no such word


class _Row(NamedTuple):
    words: tuple[str, ...]
    meaning: _Meaning


@cache
def _rows() -> tuple[_Row, ...]:
    return tuple(
        _Row(words, _Meaning(language, cue, goods, _is_content(words, cue.kind)))
        for row in read_rows("size_cues.csv")
        for cue, goods in ((Cue(row["kind"], row["value"]), tuple(row["goods"].split())),)
        for language in (row["language"],)
        for words in _spellings(row["phrase"], language)
    )


def _is_content(words: tuple[str, ...], kind: str) -> bool:
    """Whether a phrase says enough, and is long enough, to be what it is in any language."""
    if KIND[kind] & _GRAMMAR:
        return False
    return len(words) > 1 or len(words[0]) >= (3 if kind == "part" else 4)


def _spellings(phrase: str, language: str) -> set[tuple[str, ...]]:
    """The phrase as tokens; German also with its umlauts written out."""
    forms = {phrase.lower()}
    if language == "de":
        written = phrase.lower()
        for umlaut, letters in (("ä", "ae"), ("ö", "oe"), ("ü", "ue"), ("ß", "ss")):
            written = written.replace(umlaut, letters)
        forms |= {written, phrase.lower().replace("ß", "ss")}
    return {tuple(tokenise(plain(form)).texts) for form in forms}


class _Group(NamedTuple):
    """All that is said of one phrase; many phrases have the same meanings."""

    words: list[str]
    meanings: tuple[_Meaning, ...]


@cache
def _meant(meanings: tuple[_Meaning, ...], language: str, goods: str) -> Senses | None:
    """What holds of some meanings: own language first, content words of others if it has none."""
    mine = [one for one in meanings if not one[2] or goods in one[2]]
    cues = [one[1] for one in mine if one[0] == language]
    if cues:
        cues = [one[1] for one in mine if one[0] == language or one[0] == "any"]
    else:
        cues = [one[1] for one in mine if one[3] or one[0] == "any"]
    return _senses(tuple(dict.fromkeys(cues))) if cues else None


class _Opened(NamedTuple):
    """The phrases that one word opens, in all languages: it alone, and by second word."""

    alone: _Group
    longer: dict[str, list[_Group]]  # longest first


@cache
def _opened() -> dict[str, _Opened]:
    """All phrases by their first word."""
    meanings: dict[tuple[str, ...], list[_Meaning]] = {}
    for row in sorted(_rows(), key=lambda row: -len(row.words)):
        meanings.setdefault(row.words, []).append(row.meaning)
    opened: dict[str, _Opened] = {}
    for words, meant in meanings.items():
        longer = opened.setdefault(words[0], _Opened(_Group([words[0]], ()), {})).longer
        group = _Group(list(words), tuple(meant))
        if len(words) == 1:
            opened[words[0]] = _Opened(group, longer)
        else:
            longer.setdefault(words[1], []).append(group)
    return opened


def is_size_word(word: str) -> bool:
    """Whether some cue of any language begins with a word."""
    return word in _opened()


class _Phrases(NamedTuple):
    """The phrases that start with one word."""

    alone: Senses | None
    longer: dict[str, list[_Group]]  # of all languages, by second word
    is_letter: bool  # a letter that may be a label or nothing


class Lexicon(dict[str, _Phrases | None]):
    """The cues that hold for one language and one kind of goods, by first word.

    Each phrase is worked out the first time it is met; None where no cue starts with a word.
    """

    def __init__(self, language: str, goods: str) -> None:
        self.language, self.goods = language, goods
        self._opened = _opened()
        self._longer: dict[tuple[str, str], list[tuple[list[str], Senses]]] = {}

    def __missing__(self, word: str) -> _Phrases | None:
        if len(self) >= _MOST_WORDS:
            self.clear()
        phrases = self[word] = self._starting(word)
        return phrases

    def _starting(self, word: str) -> _Phrases | None:
        """Every phrase that starts with a word; long words may also be misspelt or compound."""
        opened = self._opened.get(word)
        alone = self._senses_of(opened[0]) if opened is not None else None
        if alone is None and len(word) >= _SHORTEST_GUESS and KINDS[word] == WORD:
            alone = self._guess(word)
        if opened is None:
            return _Phrases(alone, _NO_GROUPS, False) if alone is not None else None
        is_letter = len(word) == 1 and word.isalpha() and alone is not None
        return _Phrases(
            alone, opened[1], is_letter and bool(alone and alone.kinds & (LETTER | DIM))
        )

    def _senses_of(self, group: _Group) -> Senses | None:
        """What a phrase means here."""
        return _meant(group[1], self.language, self.goods)

    def find_all(self, tokens: Tokens) -> list[Found]:
        """The cues of a text from left to right, the longest at each place.

        A letter that stands apart from any figure is none.
        """
        texts = tokens.texts
        following = [*texts[1:], ""]
        found: list[Found] = []
        beyond = 0
        for at, phrases in enumerate(map(self.__getitem__, texts)):
            if phrases is None or at < beyond:
                continue
            alone, longer, is_letter = phrases
            cue = self._longer_at(texts, at, longer) if following[at] in longer else None
            if cue is None:
                if alone is None or (is_letter and _is_bare_letter(tokens, at)):
                    continue
                cue = new_named(Found, (at, at + 1, alone.kinds, alone))
            beyond = cue[1]
            found.append(cue)
        return found

    def find(self, tokens: Tokens, at: int) -> Found | None:
        """The longest cue that starts at a token, or None."""
        phrases = self[tokens.texts[at]]
        if phrases is None:
            return None
        alone, longer, _ = phrases
        if at + 1 < len(tokens) and tokens.texts[at + 1] in longer:
            cue = self._longer_at(tokens.texts, at, longer)
            if cue is not None:
                return cue
        return Found(at, at + 1, alone.kinds, alone) if alone is not None else None

    def _longer_at(
        self, texts: list[str], at: int, longer: dict[str, list[_Group]]
    ) -> Found | None:
        """The longest of the phrases of several words that stands at a token."""
        for words, senses in self._going_on(texts[at], texts[at + 1], longer):
            if texts[at : at + len(words)] == words:
                return new_named(Found, (at, at + len(words), senses.kinds, senses))
        return None

    def _going_on(
        self, first: str, second: str, longer: dict[str, list[_Group]]
    ) -> list[tuple[list[str], Senses]]:
        """The phrases that start with two words, longest first."""
        known = self._longer.get((first, second))
        if known is None:
            read = [(group.words, self._senses_of(group)) for group in longer[second]]
            known = [(words, senses) for words, senses in read if senses is not None]
            self._longer[first, second] = known
        return known

    def _guess(self, word: str) -> Senses | None:
        """The meaning of a misspelt or compound word."""
        cues = self._slip(word) or self._compound(word)
        return _senses(cues) if cues else None

    def _slip(self, word: str) -> tuple[Cue, ...]:
        for meant in _slips_of(word):
            senses = self._senses_of(self._opened[meant].alone)
            if senses is not None and senses.kinds & (PART | OBJECT | DIM):
                return senses.cues
        return ()

    def _compound(self, word: str) -> tuple[Cue, ...]:
        """Read "bugellange" as Bügel + Länge, "lederetui" as an Etui."""
        for cut in _cuts_of(word):
            tail = self._german(word[cut:], "part", "object", "dim")
            if not tail:
                continue
            if any(cue.kind == "dim" for cue in tail):
                head = self._stem(word[:cut])
                return head + tail if head else ()
            if self.language == "de" or self._stem(word[:cut]):
                return tail  # "tapering" in English is no Ring
        return ()

    def _stem(self, word: str) -> tuple[Cue, ...]:
        """The part or thing that the front of a compound names."""
        for stem in (word, word.rstrip("s"), word.removesuffix("en"), word.removesuffix("n")):
            cues = self._german(stem, "part", "object", "state")
            if cues:
                return cues
        for cut in range(2, len(word) - 3):
            cues = self._german(word[cut:], "part", "object")
            if cues:
                return cues
        return ()

    def _german(self, word: str, *kinds: str) -> tuple[Cue, ...]:
        """What a German word alone means, if it is one of a few kinds."""
        meanings = _german_words().get(word, ())
        mine = (one.cue for one in meanings if not one.goods or self.goods in one.goods)
        return tuple(cue for cue in mine if cue.kind in kinds)


@cache
def _german_words() -> dict[str, list[_Meaning]]:
    """The German words of three letters or more that mean something alone, for any goods."""
    words: dict[str, list[_Meaning]] = {}
    for (word, *rest), meaning in _rows():
        if meaning.language == "de" and not rest and len(word) >= 3:
            words.setdefault(word, []).append(meaning)
    return words


@lru_cache(maxsize=_MOST_WORDS)
def _cuts_of(word: str) -> tuple[int, ...]:
    """Where a word may be cut in two of which the second is German."""
    words = _german_words()
    return tuple([cut for cut in range(3, len(word) - 3) if word[cut:] in words])


_NO_GROUPS: dict[str, list[_Group]] = {}


def _is_bare_letter(tokens: Tokens, at: int) -> bool:
    """Whether a single letter stands apart from any figure ("a lens"), so that it is no cue."""
    texts, kinds = tokens.texts, tokens.kinds
    after = at + 1
    if after + 1 < len(texts) and texts[after] in ":=.)" and kinds[after + 1] != END:
        after += 1
    if _is_beside_other(texts, at):
        return False
    if texts[at] == "w" and texts[after : after + 1] == ["/"]:
        return True  # "46 cm w/ bolt ring"
    if kinds[after : after + 1] == NUMBER:
        return False
    if not at:
        return True
    if texts[at - 1] in ("(", "mm", "cm") or kinds[at - 1] == NUMBER:
        return False
    if kinds[at - 1] != WORD or len(texts[at - 1]) == 1:
        return True
    return after < len(texts) and texts[after] not in ("|", "(", ":", "=", ",", PIECE_END)


def _is_beside_other(texts: list[str], at: int) -> bool:
    """Whether a letter for a dimension stands in a list of such: "W / H", "L x B x H"."""
    following, before = texts[at + 1 : at + 3], texts[max(0, at - 2) : at][::-1]
    return texts[at] in _SIDES and any(
        len(two) == 2 and two[0] in ("/", "x") and two[1] in _SIDES for two in (following, before)
    )


_SIDES = frozenset("whbldtø")  # letters for dimensions


@lru_cache(maxsize=_MOST_WORDS)
def _slips_of(word: str) -> tuple[str, ...]:
    """The words with a meaning that a word without one may be a slip of the pen for."""
    keys = (word, *_shortened(word))
    known = _slip_keys()
    if known.keys().isdisjoint(keys) or word in _real_words():
        return ()
    near = dict.fromkeys([meant for key in keys for meant in known.get(key, ())])
    near.pop(word, None)
    return tuple([meant for meant in near if meant[0] == word[0] and _is_slip(word, meant)])


@cache
def _slip_keys() -> dict[str, tuple[str, ...]]:
    """Each long cue word under itself and under its forms with one letter left out."""
    keys: dict[str, dict[str, None]] = {}
    for (word, *rest), meaning in _rows():
        if not rest and len(word) >= 5 and meaning.cue.kind in ("part", "object", "dim"):
            for key in (word, *_shortened(word)):
                keys.setdefault(key, {})[word] = None
    return {key: tuple(words) for key, words in keys.items()}


def _shortened(word: str) -> list[str]:
    return [word[:n] + word[n + 1 :] for n in range(1, len(word))]


def _is_slip(word: str, meant: str) -> bool:
    """One swap of neighbours, or one letter lost or doubled inside a longer word."""
    if OSA.distance(word, meant, score_cutoff=1) > 1:
        return False
    if len(word) == len(meant):
        return sorted(word) == sorted(meant)
    return min(len(word), len(meant)) >= 5 and word[-1] == meant[-1]


@cache
def _real_words() -> frozenset[str]:
    return frozenset(plain(row["word"].lower()) for row in read_rows("size_real_words.csv"))


@cache
def lexicon(language: str, goods: str) -> Lexicon:
    """The lexicon for a language and a kind of goods, built once."""
    return Lexicon(language, goods)


class _Goods(NamedTuple):
    goods: str
    weight: float
    rest: tuple[str, ...]  # the further words of the phrase


@cache
def _goods_words() -> dict[str, tuple[_Goods, ...]]:
    """The words for goods by their first word, as a text and as a Reading writes them."""
    table: dict[str, list[_Goods]] = {}
    for row in read_rows("size_goods.csv"):
        written = plain(row["phrase"].lower())
        for form in dict.fromkeys((written, folding.plain(written))):
            first, *rest = _WORD.findall(form)
            goods = _Goods(row["goods"], float(row["weight"]), tuple(rest))
            table.setdefault(first, []).append(goods)
    return {word: tuple(sorted(rows, key=lambda r: -len(r.rest))) for word, rows in table.items()}


# a printed size, "48□22" or "48-22-140", is found on nothing but spectacles
_BOXED = re.compile(
    r"[3-6]\d(?<!\d\d\d)\ ?"
    r"(?:(?:□|\[\ ?\])\ ?(?:1\d|2[0-8])(?!\d)"
    r"|[-/x]\ ?(?:1\d|2[0-8])\ ?[-/x\ ]\ ?1[1-6]\d(?!\d))"
)
_BOXED_WEIGHT = 4.0
_WORD = re.compile(r"[^\W_]+")
_PLAIN_WORD = re.compile(r"[a-zA-Z0-9]+")  # the same in ASCII, and much the quicker


def guess_goods(text: str, title_end: int) -> str:
    """Which of GOODS a plain text sells, by its words; those of the title count double."""
    find = _PLAIN_WORD.findall if text.isascii() else _WORD.findall
    title = find(text, 0, min(title_end, LONGEST_HEAD))
    return goods_of_words(title, find(text, title_end, LONGEST_HEAD), text)


def goods_of_words(title: Sequence[str], others: Sequence[str], text: str) -> str:
    """Which of GOODS is sold in a plain text, given its words; signs between them do not count.

    What stands behind the first LONGEST_HEAD characters is not looked at.
    """
    scores = dict.fromkeys(GOODS, 0.0)
    _score([_head_of(word) for word in title], 2.0, scores)
    _score(others, 1.0, scores)
    if _BOXED.search(text, 0, LONGEST_HEAD):
        scores["spectacles"] += _BOXED_WEIGHT
    return max(GOODS, key=scores.__getitem__)


@lru_cache(maxsize=_MOST_WORDS)
def _head_of(word: str) -> str:
    """The German word for goods that a longer one ends with: "damenarmbanduhr" is an armbanduhr."""
    if len(word) < _SHORTEST_COMPOUND or word in _goods_words():
        return word
    tails = (word[cut:] for cut in range(_SHORTEST_STEM, len(word) - _SHORTEST_HEAD + 1))
    return next((tail for tail in tails if tail in _german_heads()), word)


_SHORTEST_COMPOUND, _SHORTEST_STEM, _SHORTEST_HEAD = 8, 3, 5  # letters


@cache
def _german_heads() -> frozenset[str]:
    rows = (row for row in read_rows("size_goods.csv") if row["language"] == "de")
    forms = (folding.plain(plain(row["phrase"].lower())) for row in rows)
    return frozenset(form for form in forms if len(form) >= _SHORTEST_HEAD and form.isalpha())


def _score(words: Sequence[str], share: float, scores: dict[str, float]) -> None:
    """Add the weights of the words; a word counts less each time it comes again."""
    table = _goods_words()
    counts: dict[str, int] = {}
    for at in [at for at, word in enumerate(words) if word in table]:
        word = words[at]
        seen = counts[word] = counts.get(word, -1) + 1
        for goods, weight, rest in table[word]:
            if not rest or _goes_on_with(words, at + 1, rest):
                scores[goods] += weight * share / (1 + 2 * seen)


def _goes_on_with(words: Sequence[str], at: int, rest: tuple[str, ...]) -> bool:
    """Whether some words stand from a place on, with any signs between them."""
    for word in rest:
        while at < len(words) and not words[at][0].isalnum():
            at += 1
        if at == len(words) or words[at] != word:
            return False
        at += 1
    return True


def words_of(kind: str) -> frozenset[str]:
    """Every single word of one kind, in all languages."""
    return frozenset(_words_by_kind().get(kind, ()))


@cache
def _words_by_kind() -> dict[str, set[str]]:
    words: dict[str, set[str]] = {}
    for (word, *rest), meaning in _rows():
        if not rest:
            words.setdefault(meaning.cue.kind, set()).add(word)
    return words


class Name(NamedTuple):
    """One row of data/size_names.csv."""

    goods: str
    part: str
    dim: str
    state: str
    low: float
    high: float
    quantity: str


@cache
def _names() -> tuple[Name, ...]:
    return tuple(
        Name(
            row["goods"],
            row["part"],
            row["dim"],
            row["state"],
            float(row["low"] or 0),
            float(row["high"] or "inf"),
            row["quantity"],
        )
        for row in read_rows("size_names.csv")
    )


@cache
def _names_of(goods: str, part: str) -> tuple[Name, ...]:
    return tuple(n for n in _names() if n.goods in (goods, "*") and n.part in ("*", part or "-"))


@cache
def _names_for(goods: str, part: str, dim: str, state: str) -> tuple[tuple[float, float, str], ...]:
    """The least and greatest size of each name that these words can have."""
    dims, states = ("*", dim or "-"), ("*", state or "-")
    names = [n for n in _names_of(goods, part) if n.dim in dims and n.state in states]
    return tuple([(name.low, name.high, name.quantity) for name in names])


def name_quantity(goods: str, part: str, dim: str, state: str, mm: float) -> str | None:
    """What a size is called, from the part, dimension and state said of it ("" for unsaid)."""
    for low, high, quantity in _names_for(goods, part, dim, state):
        if low <= mm <= high:
            return quantity
    return None


@cache
def _ranges() -> dict[tuple[str, str], tuple[float, float, float, float]]:
    return {
        (row["quantity"], row["goods"]): (
            float(row["low"]),
            float(row["high"]),
            float(row["usual_low"]),
            float(row["usual_high"]),
        )
        for row in read_rows("size_ranges.csv")
    }


def is_possible(quantity: str, goods: str, mm: float) -> bool:
    """Whether a quantity can have this length; what has no row in size_ranges.csv can."""
    low, high, _, _ = _ranges().get((quantity, goods), (0.3, 3000.0, 0.0, 0.0))
    return low <= mm <= high


def is_usual(quantity: str, goods: str, mm: float) -> bool:
    """Whether a quantity usually has this length."""
    _, _, low, high = _ranges().get((quantity, goods), (0.0, 0.0, 0.5, 2000.0))
    return low <= mm <= high


def has_range(quantity: str, goods: str) -> bool:
    """Whether size_ranges.csv bounds this quantity for these goods."""
    return (quantity, goods) in _ranges()
