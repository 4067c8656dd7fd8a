"""Whether a mark is said to be there: present, absent or unsure."""

from __future__ import annotations

from bisect import bisect_right

from extractors.lexicon import small_words
from extractors.mark_sentence import Sentence
from extractors.mark_text import YES
from extractors.records import Claimed
from extractors.scope import (
    ANSWERING,
    ASKED,
    SUFFIXES,
    answer_at,
    answer_number,
    clause_at,
    is_doubted,
    is_illegible,
    is_negated,
    negations_before,
)

_SHORT = 4
_BELIED = small_words("belied_on")  # "but there isn't one"
_THAN = small_words("than")
INDEFINITE_OR_THE = small_words("indefinite") | small_words("definite")
_SOUGHT = 8  # words behind a mark in which it may be said not to be found
_TURNS = small_words("turn")
_NEAR = 6  # words between "no aparece" and what does not
_LEADING = small_words("joins") | {"but", "aber", "mais", "ma", "pero"}
_SOMETHING = small_words("something")
_ANSWER_HEAD = frozenset(("\n", "a", ":"))


def claim(sentence: Sentence, first: int, last: int) -> Claimed:
    """Say how the mark of words [first, last) is claimed."""
    if _is_settled(sentence, first, last) or _is_excepted(sentence, first):
        return "present"
    told = _is_told_in_row(sentence, last)
    if told:
        return told
    if is_negated(sentence.reading, first, last, 7) and not _is_set_against(sentence, first, last):
        return "absent"
    if _is_doubted(sentence, first, last):
        return "unsure"
    if (
        _is_not_found(sentence, last)
        or _is_missed(sentence, first)
        or _is_belied(sentence, last)
        or _is_not_answered(sentence, last)
    ):
        return "absent"
    if is_illegible(sentence.reading, first, last) and not (
        _is_of_next(sentence, last)
        or _is_of_joined(sentence, first, last, "words.illegible")
        or _is_of_later(sentence, last)
    ):
        return "unsure"
    return "present"


def _is_excepted(sentence: Sentence, first: int) -> bool:
    """Tell whether "no other mark than" leads to a mark."""
    number = first - 1
    while number > sentence.low and sentence.words[number] in INDEFINITE_OR_THE:
        number -= 1
    if sentence.words[number] not in _THAN or number <= sentence.low:
        return False
    near = range(max(sentence.low, number - 2), number)
    return any(n in sentence.at["noun"] for n in near)


def _is_told_in_row(sentence: Sentence, last: int) -> Claimed | None:
    """Read the answer of a table row: "Signature: not there", "Stamp: illegible"."""
    if last + 1 >= sentence.high or sentence.words[last] not in ANSWERING:
        return None
    for name, claimed in _ROW_ANSWERS:
        if any(hit.first == last + 1 for hit in sentence.reading.found(name)):
            return claimed
    return None


_ROW_ANSWERS: tuple[tuple[str, Claimed], ...] = (
    ("words.illegible", "unsure"),
    ("words.unsure", "unsure"),
    ("words.denied", "absent"),
    ("markings.notfound", "absent"),
)


def _is_settled(sentence: Sentence, first: int, last: int) -> bool:
    """Tell whether nothing near a mark can deny it or doubt it, which is asked at once."""
    unsettled, words = sentence.text.unsettled, sentence.words
    low, high = sentence.reading.sentence_at(first)
    near = bisect_right(unsettled, low)
    if near < len(unsettled) and unsettled[near] <= max(high, last + _SOUGHT) + _LONGEST:
        return False
    if "?" in words[last : last + ASKED]:
        return False
    return last >= len(words) or not (words[last] in ANSWERING or words[last] in SUFFIXES)


def _is_set_against(sentence: Sentence, first: int, last: int) -> bool:
    """Tell whether only what a mark is not is denied: "it says X, not Y"."""
    number = last + (last < sentence.high and sentence.words[last] == ",")
    hits = [hit for hit in sentence.reading.found("words.not") if hit.first == number]
    if not hits or not _is_mark_at(sentence, hits[0].last):
        return False
    return not is_negated(sentence.reading, first, number, 7, inside=False) or (
        not negations_before(sentence.reading, first, 7)
    )


_LONGEST = 10  # words of a denial or doubt


def _is_of_next(sentence: Sentence, last: int) -> bool:
    """Tell whether the doubt is of a later mark: "X on the arm, on the bridge perhaps Y"."""
    _, end = clause_at(sentence.reading, last - 1, last)
    if end >= sentence.high or sentence.words[end] not in ",;":
        return False
    if any(number in sentence.at["sign"] for number in range(end + 1, min(end + 6, sentence.high))):
        return True
    place = sentence.places.after(end + 1, sentence.high, 1)
    if place is None:
        return False
    number = sentence.behind_place(place)
    return number < sentence.high and sentence.is_firm(number)


def _is_of_later(sentence: Sentence, last: int) -> bool:
    """Tell whether another mark stands before "illegible": "X, perhaps a 84, not legible"."""
    hits = [h for h in sentence.reading.found("words.illegible") if last <= h.first < sentence.high]
    _, end = clause_at(sentence.reading, last - 1, last)
    if not hits or end >= hits[0].first:
        return False
    return any(sentence.is_firm(n) and not sentence.is_used(n) for n in range(end, hits[0].first))


def _is_not_found(sentence: Sentence, last: int) -> bool:
    """Tell whether the seller looked in vain: "a stamp? could not find one"."""
    for number in range(last, min(last + _SOUGHT, len(sentence.words))):
        if number in sentence.at["notfound"]:
            return True
        if sentence.words[number] in ".\n" or number in sentence.at["noun"]:
            return False
    return False


def _is_missed(sentence: Sentence, first: int) -> bool:
    """Tell whether words that it was not found lead to a mark: "no aparece el marcado CE"."""
    begin, _ = clause_at(sentence.reading, first, first + 1)
    for number in range(max(begin, first - _NEAR), first):
        hit = sentence.at["notfound"].get(number)
        if hit and hit.last <= first and _LEADING.isdisjoint(sentence.words[hit.last : first]):
            return True
    return False


def _is_not_answered(sentence: Sentence, last: int) -> bool:
    """Tell whether the answer is that it was not found: "A: I looked and there isn't"."""
    asked = answer_number(sentence.reading, last)
    if asked is None:
        return False
    while asked < len(sentence.words) - 1 and sentence.words[asked] in _ANSWER_HEAD:
        asked += 1
    high = sentence.reading.sentence_at(asked)[1]
    return any(number in sentence.at["notfound"] for number in range(asked, high))


def _is_belied(sentence: Sentence, last: int) -> bool:
    """Tell whether "but doesn't" follows: "ought to say 14K but doesn't"."""
    place = sentence.places.with_preposition(last, sentence.high) if last < sentence.high else None
    last = place[1] if place else last
    words, behind = sentence.words, last + 1
    if last < sentence.high and words[last] == ",":
        behind += 1
    if behind >= sentence.high or words[behind - 1] not in _TURNS:
        return False
    for hit in sentence.reading.found("words.not"):
        if behind <= hit.first < behind + 4 and hit.last < sentence.high:
            end = clause_at(sentence.reading, behind, behind + 1)[1]
            if hit.first >= end or hit.first in sentence.at["unsure"]:
                return False
            rest = words[hit.last : end]
            return len(rest) <= 1 or (len(rest) < _SHORT and _BELIED.issuperset(rest))
    return False


def _is_doubted(sentence: Sentence, first: int, last: int) -> bool:
    """Tell whether a mark is in doubt; in "X on the cup and could be Y" only Y is."""
    if not is_doubted(sentence.reading, first, last):
        return False
    return not _is_of_joined(sentence, first, last, "words.unsure")


def _is_of_joined(sentence: Sentence, first: int, last: int, name: str) -> bool:
    """Tell whether all doubts in the clause of a mark are of the one joined to it."""
    begin, end = clause_at(sentence.reading, first, last)
    doubts = [h for h in sentence.reading.found(name) if begin <= h.first < end]
    if not doubts or doubts[0].first < last:
        return False
    number, behind = doubts[0].first, max(hit.last for hit in doubts)
    if any(_is_named_behind(sentence, n) for n in range(last, number)):
        return True  # "18 k y marca del joyero ilegible"
    while number > last and sentence.words[number - 1] in _SOMETHING:
        number -= 1
    is_joined = number > last and number - 1 in sentence.text.more
    return is_joined and behind < sentence.high and _is_mark_at(sentence, behind)


def _is_named_behind(sentence: Sentence, number: int) -> bool:
    """Tell whether "and" leads to a noun of marks at a word, or to a drawn mark."""
    following = sentence.text.more.get(number)
    if following is None:
        return False
    following = sentence.over_articles(following)
    return following in sentence.at["noun"] or following in sentence.at["sign"]


def _is_mark_at(sentence: Sentence, number: int) -> bool:
    """Tell whether another mark begins at a word, an article aside."""
    if sentence.is_firm(number):
        return True
    number = sentence.over_articles(number)
    return number < sentence.high and (
        sentence.is_firm(number) or sentence.named_at(number) is not None
    )


def is_questioned(sentence: Sentence, number: int) -> bool:
    """Tell whether a question mark or "or" with another reading stands behind a literal."""
    words = sentence.words
    if number >= len(words):
        return False
    if words[number] == "?":
        return answer_at(sentence.reading, number) not in YES
    if words[number] == "(" and number + 1 < sentence.high:
        number += 1  # "B (or an 8)"
    if words[number] not in ("or", "oder", "ou", "o"):
        return False
    following = sentence.over_articles(number + 1)
    if words[sentence.high - 1] == "?" and following < sentence.high:
        return sentence.is_in_capitals(following) or sentence.is_firm(following)
    is_other = following < sentence.high and (
        any(character.isdigit() for character in words[following])
        or following in sentence.text.forms
        or following in sentence.text.quoted
        or (len(sentence.words[following]) == 1 and sentence.text.raw(following).isupper())
    )
    other = sentence.text.literal(following, sentence.high) if is_other else None
    if other:
        sentence.spent.update(range(other.first, other.last))
    return is_other
