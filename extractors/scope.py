"""How far a negation or a doubt reaches: present, absent or unsure for a stretch of words."""

from __future__ import annotations

import re
from bisect import bisect_left
from itertools import compress, count

from extractors.lexicon import small_words
from extractors.reading import Hit, Reading
from extractors.records import Claimed

_CLAUSE = frozenset(",;:.!?\n|()•·…-")
_TURNS = small_words("turn")
_BREAKS = _CLAUSE | _TURNS
_NUMBERED = small_words("numbered")
SUFFIXES = small_words("lacking")
_JOINTS = small_words("list_joint")  # "scratches and no cracks": the "no" is not of the former
LONGEST = 40  # words of a clause to either side: text without any stop is cut there
DOUBT = 8  # words a doubt reaches to either side
REACH = 5  # words a negation reaches forward
_ANSWERS = small_words("denial")
_BEFORE_ANSWER = small_words("before_answer")  # "A:", a line end, "it" of "it does"
_STOPPED = frozenset(".!;:\n")
_PICTURE = re.compile("[\u2601-\U0010ffff]")  # dingbats and emoji
ASKED = 7  # words between what is asked for and its "?"


def has_picture(text: str) -> bool:
    """Tell whether an emoji stands in a text: it ends a thought as a stop does."""
    return not text.isascii() and _PICTURE.search(text) is not None


def clause_at(reading: Reading, first: int, last: int) -> tuple[int, int]:
    """Give the word range of the clause around words [first, last)."""
    begin, end = reading.sentences[reading.sentence_of[first]]
    if begin < first - LONGEST:
        begin = first - LONGEST
    if end > last + LONGEST:
        end = last + LONGEST
    breaks = reading.memory.get("breaks")
    if breaks is None:
        breaks = _breaks(reading)
    before, behind = bisect_left(breaks, first), bisect_left(breaks, last)
    if before and breaks[before - 1] >= begin:
        begin = breaks[before - 1] + 1
    if behind < len(breaks) and breaks[behind] < end:
        end = breaks[behind]
    return begin, end if end > last else last


def _breaks(reading: Reading) -> list[int]:
    """Give the numbers of the words that end a clause."""
    found = list(compress(count(), map(_BREAKS.__contains__, reading.words)))
    reading.memory["breaks"] = found
    return found


def _negations(reading: Reading) -> tuple[Hit, ...]:
    """Give the negations of a text; not "no" for number, nor the "not" of "not legible"."""
    if "negations" not in reading.memory:
        names = ("words.unsure", "words.illegible", "words.ignorance")
        doubts = [hit for name in names for hit in reading.found(name)]
        wide = [hit for hit in doubts if hit.last - hit.first > 1]
        reading.memory["negations"] = tuple(
            hit
            for hit in reading.found("words.not")
            if not _is_number_sign(reading, hit.first)
            and not any(doubt.first <= hit.first < doubt.last for doubt in wide)
        )
    found: tuple[Hit, ...] = reading.memory["negations"]
    return found


def is_negated(
    reading: Reading, first: int, last: int, reach: int = REACH, inside: bool = True
) -> bool:
    """Tell whether a negation governs words [first, last); `inside`: or is one of them."""
    return _is_denied(reading, first, last, reach, inside) or answer_of(reading, last) == "absent"


def _is_denied(reading: Reading, first: int, last: int, reach: int, inside: bool) -> bool:
    """Tell the same, what is answered aside."""
    hits = reading.memory.get("negations")
    if hits is None:
        hits = _negations(reading)
    firsts = reading.memory.get("first negations")
    if firsts is None:
        firsts = reading.memory["first negations"] = [hit.first for hit in hits]
    low = bisect_left(firsts, first - reach - _WORDS)
    if low == len(hits) or hits[low].first >= last + _LAST_REACH:
        near = []
    else:
        near = [hit for hit in hits[low:] if hit.first < last + _LAST_REACH]
    if near and _governs(reading, near, first, last, reach, inside):
        return True
    if last < len(reading.words) and reading.words[last] in SUFFIXES:
        return True
    return _is_denied_behind(reading, first, last)


def _is_denied_behind(reading: Reading, first: int, last: int) -> bool:
    """Tell whether the clause ends by denying what it began with: "von Nieten keine Spur"."""
    hits = reading.found("words.denied")
    if not hits:
        return False
    _, end = clause_at(reading, first, last)
    return any(
        last <= hit.first < min(end + 1, last + _LAST_REACH)
        and (hit.value != "end" or hit.last >= end)
        for hit in hits
    )


def _governs(
    reading: Reading, near: list[Hit], first: int, last: int, reach: int, inside: bool
) -> bool:
    begin, end = clause_at(reading, first, last)
    return any(
        (
            begin <= hit.first
            and hit.last <= first
            and first - hit.last <= reach
            and not _begins_anew(reading, hit.last, first)
        )
        or (inside and first < hit.last <= last)
        or (
            last <= hit.first < min(end, last + _far_behind(reading, hit, end))
            and _JOINTS.isdisjoint(reading.words[last : hit.first])
            and points_back(reading, hit)
            and not _is_contrast(reading, hit)
        )
        for hit in near
    )


def _begins_anew(reading: Reading, number: int, first: int) -> bool:
    """Tell whether a new statement begins between a negation and words: "no box the bridge says".

    In a text without stops: an article that neither the negation nor a preposition leads to, or
    one right behind the negation whose noun has a verb ("nirgends die Gläser sind aus Glas").
    """
    words = reading.words
    if words[number - 1] not in _AHEAD:
        is_led = number < first + 2 and words[number] in _DEFINITE
        return is_led and not _COPULA.isdisjoint(words[number + 2 : number + 4])
    return any(
        words[n] in _DEFINITE and words[n - 1] not in _PREPOSITIONS and words[n - 1] not in _HAS
        for n in range(number + 1, first)
    )


_DEFINITE = small_words("definite")
_PREPOSITIONS, _HAS = small_words("preposition"), small_words("has")
_COPULA = frozenset(("is", "are", "ist", "sind", "est", "sont", "e", "sono", "es", "son"))


def points_back(reading: Reading, negation: Hit) -> bool:
    """Tell whether a negation can deny what stands before it: "rivets no pads" has rivets."""
    words, number = reading.words, negation.last
    word = words[number - 1]
    if word == "pas" and words[number : number + 1] in (("de",), ("d",)):
        return False
    if word not in _AHEAD or (word == "no" and reading.languages[number - 1] in ("es", "it")):
        return True
    return number >= len(words) or words[number][0] in _CLAUSE or words[number] in _THERE


def _far_behind(reading: Reading, negation: Hit, end: int) -> int:
    """Give how far back a negation reaches: German puts it last ("ein CE gibt es dort nicht")."""
    is_last = negation.last >= end and reading.words[negation.first] == "nicht"
    return _LAST_REACH if is_last else 3


_AHEAD = small_words("negates_ahead")
_MATERIALS, _STATES = small_words("material"), small_words("of_state")
_THERE = small_words("there")
_LAST_REACH = 8
_WORDS = 6  # of a long denial: "nothing in the way of"


def _is_contrast(reading: Reading, negation: Hit) -> bool:
    """Tell whether another choice follows "not" ("7-barrel hinge not 5", "plastic not glass")."""
    words = reading.words
    if negation.last >= len(words):
        return False
    following = words[negation.last]
    if following in _STATES or words[negation.first - 1] in _STATES:
        return True  # "lever filler not working"
    is_trait = any(trait[0] == negation.last for trait in reading.cues.get("parts.trait", ()))
    return following[0].isdigit() or following in _MATERIALS or is_trait


def negations_before(
    reading: Reading, number: int, reach: int, spent: frozenset[int] = frozenset()
) -> bool:
    """Tell whether a negation ends at most `reach` words before a word, in its clause.

    `spent` are words that deny something else; "nothing" denies what stands before it only.
    """
    near = [
        hit
        for hit in reading.found("words.not")
        if number - reach <= hit.last <= number
        and hit.first not in spent
        and reading.words[hit.last - 1] not in _COMPLETE
        and "/" not in reading.words[hit.last : number]
    ]
    if not near:
        return False
    begin, _ = clause_at(reading, number, number + 1)
    return any(begin <= hit.first and not _is_number_sign(reading, hit.first) for hit in near)


_COMPLETE = small_words("complete_denial")


def _is_number_sign(reading: Reading, number: int) -> bool:
    """Tell whether "no" is short for number ("serial no. 12")."""
    words = reading.words
    if words[number] != "no" or number + 1 >= len(words):
        return False
    following = words[number + 1]
    if following == "." and number + 2 < len(words):
        following = words[number + 2]
    return following[0].isdigit() or (number > 0 and words[number - 1] in _NUMBERED)


def answer_of(reading: Reading, last: int) -> Claimed | None:
    """Say how the answer claims what is asked before word `last`; None if nothing answers.

    "Rivets? none", "Wire core: no", "Âme métallique ? Aucune idée", "lenses? A: Yes".
    """
    words = reading.words
    is_colon = last < len(words) and words[last] in ANSWERING
    if not (is_colon or _is_asking(reading)):
        return None
    if answer_at(reading, last) in _ANSWERS and not _is_ignorant_at(reading, last):
        return "absent"
    asked = answer_number(reading, last)
    if asked is None:
        return None
    end = min(clause_at(reading, asked, asked + 1)[1], asked + _LONGEST_ANSWER)
    for name, claimed in _ANSWERED:
        hits = reading.found(name)
        if any(asked <= hit.first < end for hit in hits):
            return claimed
    return "present" if reading.words[asked] in _YES else None


def _is_asking(reading: Reading) -> bool:
    """Tell whether the text has a question mark."""
    found: bool | None = reading.memory.get("asking")
    if found is None:
        found = reading.memory["asking"] = "?" in reading.words
    return found


def _is_ignorant_at(reading: Reading, last: int) -> bool:
    """Tell whether the answer behind word `last` is that the seller does not know: "no idea"."""
    hits = reading.found("words.ignorance")
    return bool(hits) and any(last < hit.first <= last + ASKED + 3 for hit in hits)


_YES = small_words("yes")
ANSWERING = frozenset((":", "-", "="))
_LONGEST_ANSWER = 8  # words of an answer that are looked at
_ANSWERED: tuple[tuple[str, Claimed], ...] = (
    ("words.ignorance", "unsure"),
    ("words.unsure", "unsure"),
    ("words.denied", "absent"),
    ("markings.notfound", "absent"),
    ("words.not", "absent"),
)


def answer_at(reading: Reading, last: int) -> str:
    """Give the word that answers what ends before word `last`, or "" ("lenses? A: No")."""
    words = reading.words
    if last < len(words) and words[last] in ANSWERING:
        return words[last + 1] if last + 1 < len(words) else ""
    number = answer_number(reading, last)
    return words[number] if number is not None else ""


def answer_number(reading: Reading, last: int) -> int | None:
    """Give the number of the word that answers: behind "?", over "A:" and a place.

    None when what ends before word `last` is not asked; ASKED words may stand before the "?".
    """
    if not _is_asking(reading):
        return None
    words = reading.words
    near = words[last : last + ASKED]
    if "?" not in near:
        return None
    asked = near.index("?")
    if not _STOPPED.isdisjoint(near[:asked]):
        return None
    number = last + asked + 1
    while number < len(words) and words[number] in _BEFORE_ANSWER:
        number += 1
    return number if number < len(words) else None


def is_illegible(reading: Reading, first: int, last: int) -> bool:
    """Tell whether the next clause of the sentence says that words [first, last) are unclear."""
    high = reading.sentence_at(first)[1]
    near = [hit for hit in reading.found("words.illegible") if last <= hit.first < high]
    if not near:
        return False
    _, end = clause_at(reading, first, last)
    if any(hit.last <= end for hit in near):
        return True  # "imprint on the barrel is gone"
    for _ in range(_CLAUSES):
        if end >= high:
            return False
        begin_next, end_next = clause_at(reading, min(end + 1, high - 1), min(end + 2, high))
        if any(begin_next <= h.first < end_next for h in reading.found("markings.noun")):
            return False
        if not _REST.isdisjoint(reading.words[begin_next:end_next]):
            return False  # "RJT, the rest illegible"
        if any(max(end, begin_next) <= hit.first and hit.last <= end_next for hit in near):
            return True
        end = max(end_next, end + 1)
    return False


_REST = small_words("rest")
_CLAUSES = 2  # clauses behind a mark in which it may be called unclear


def is_doubted(reading: Reading, first: int, last: int) -> bool:
    """Tell whether words [first, last) are in doubt: a word of it in their clause, or told."""
    if _is_only_told(reading, first, last):
        return True
    hits = reading.found("words.unsure")
    if not hits:
        return False
    low, high = first - DOUBT, last + DOUBT
    near = [hit for hit in hits if low <= hit.first and hit.last <= high]
    if not near:
        return False
    begin, end = clause_at(reading, first, last)
    return any(
        begin <= hit.first and hit.last <= end and not _is_of_verb(reading, hit, last)
        for hit in near
    )


def _is_of_verb(reading: Reading, hit: Hit, last: int) -> bool:
    """Tell whether the doubt is of a further verb: "hinges are riveted and may be replaced"."""
    words = reading.words
    is_joined = hit.first > last and words[hit.first - 1] in _ANDS
    return is_joined and words[hit.first] in _MODALS


_ANDS = frozenset(("and", "und", "et", "e", "ed", "y"))
_MODALS = small_words("may")


def _is_only_told(reading: Reading, first: int, last: int) -> bool:
    """Tell whether the seller does not know of words [first, last), or has been told."""
    ranges = _told(reading)
    return bool(ranges) and any(begin <= first and last <= end for begin, end in ranges)


def _told(reading: Reading) -> list[tuple[int, int]]:
    """Give the words of which the seller does not know, or has been told."""
    ranges: list[tuple[int, int]] | None = reading.memory.get("told")
    if ranges is None:
        ranges = [_unknown(reading, hit) for hit in reading.found("words.ignorance")]
        ranges += [_reported(reading, hit) for hit in reading.found("words.reported")]
        reading.memory["told"] = ranges
    return ranges


def _unknown(reading: Reading, hit: Hit) -> tuple[int, int]:
    """Give the words of which a hit says that the seller does not know.

    Its clause; what it asks behind it ("no idea whether ..."); before it the question that
    whether opens, else the clause before if the hit's own speaks of nothing else.
    """
    words = reading.words
    low, high = reading.sentence_at(hit.first)
    if hit.value == "all":  # "I may be wrong"
        return max(low, hit.first - LONGEST), min(high, hit.last + LONGEST)
    begin, end = clause_at(reading, hit.first, hit.last)
    begin, end = max(begin, hit.first - DOUBT), min(end, hit.last + DOUBT)
    behind = hit.last + (hit.last < high and words[hit.last] == ",")
    if behind < high and words[behind] in _ASKING:
        return hit.first, _turn_behind(reading, behind, high)
    opened = [
        number
        for number in range(max(low, hit.first - LONGEST), hit.first)
        if words[number] in _WHETHER and (words[number], reading.languages[number]) not in _SELVES
    ]
    if opened:
        return opened[0], end
    is_alone = hit.first - begin <= _SELF and end - hit.last <= 1
    if is_alone and begin > low + 1 and words[begin - 1] in _SOFT:
        begin, _ = clause_at(reading, begin - 2, begin - 1)
    return begin, end


def _reported(reading: Reading, hit: Hit) -> tuple[int, int]:
    """Give the words that are another's: behind the hit, or before it where it ends a sentence."""
    low, high = reading.sentence_at(hit.first)
    end = _turn_behind(reading, hit.last, high)
    if high - hit.last > 1 and reading.words[hit.last : hit.last + 1] != (",",):
        return hit.first, end
    begin, _ = clause_at(reading, hit.first, hit.last)
    if hit.first - begin < 2 and begin > low + 1:
        begin, _ = clause_at(reading, begin - 2, begin - 1)
    return begin, end


def _turn_behind(reading: Reading, number: int, high: int) -> int:
    """Give the word of a sentence at which it turns to something else: "but", ";"."""
    while number < high and reading.words[number] not in _TURNING:
        number += 1
    return number


_WHETHER, _ASKING = small_words("whether"), small_words("asking")
_SELVES = frozenset((("si", "it"), ("se", "es")))  # "itself" there, "whether" elsewhere
_SOFT = frozenset(",-(")
_TURNING = _TURNS | {";"}
_SELF = 4  # words of a clause that speak of the seller only: "da bin ich überfragt"


def _is_plain(reading: Reading, first: int, last: int, reach: int) -> bool:
    """Tell whether nothing near words [first, last) denies, doubts, asks or reports; as of most."""
    known: tuple[list[int], list[int], list[tuple[int, int]]] | None
    known = reading.memory.get("turned")
    if known is None:
        known = reading.memory["turned"] = _turned(reading)
    near, far, told = known
    at = bisect_left(near, first - max(reach + _WORDS, DOUBT))
    if at < len(near) and near[at] < last + _LAST_REACH:
        return False
    words = reading.words
    if last < len(words) and (words[last] in SUFFIXES or words[last] in ANSWERING):
        return False
    if (far and far[-1] >= last) or (_is_asking(reading) and "?" in words[last : last + ASKED]):
        return False
    return not told or not any(begin <= first and last <= end for begin, end in told)


def _turned(reading: Reading) -> tuple[list[int], list[int], list[tuple[int, int]]]:
    """Give where a denial or a doubt of what is near begins, one of what is far, what is told."""
    names = ("words.unsure", "words.denied")
    near = [hit.first for name in names for hit in reading.found(name)]
    near += [hit.first for hit in _negations(reading)]
    far = [hit.first for hit in reading.found("words.illegible")]
    return sorted(near), far, _told(reading)


def claim_of(
    reading: Reading, first: int, last: int, inside: bool = True, reach: int = REACH
) -> Claimed:
    """Say how words [first, last) are claimed: present, absent or unsure.

    `inside` False: a negation among them ("not original") is part of what is claimed.
    """
    if _is_plain(reading, first, last, reach):
        return "present"
    answer = answer_of(reading, last)
    if answer == "present":
        return answer
    if answer == "unsure" or is_doubted(reading, first, last):
        return "unsure"
    if is_illegible(reading, first, last):
        return "unsure"
    if answer == "absent" or _is_denied(reading, first, last, reach, inside):
        return "absent"
    return "present"
