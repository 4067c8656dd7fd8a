"""General absence and what is there after all: "unmarked", "nothing but 925"."""

from __future__ import annotations

from extractors.lexicon import small_words
from extractors.mark_building import add, add_general
from extractors.mark_places import LEFT_RIGHT
from extractors.mark_sentence import Sentence
from extractors.mark_text import GOODS, NEAR, Literal
from extractors.mark_verbs import from_verb
from extractors.reading import Hit
from extractors.scope import clause_at, is_negated

_FAR = 8  # words between "neither" and "anything"
_BUT = frozenset(("but", "als", "que", "che", "sino"))  # "nothing but", "nichts als"
_THAN = frozenset(("als", "que", "che"))  # lead to an exception only
_NOWHERE = frozenset(("nessuna", "ninguna", "aucune"))  # "niente da nessuna parte"
_BESIDE = frozenset(("beside", "contrast"))  # counts with a place only
_NOT_WRITTEN = small_words("not_written")


_SIZES = frozenset(("size", "grose", "taille", "misura", "talla", "medida", "calibre"))
_BEFORE = 12  # words between "apart from" and what is not there


def names_more(sentence: Sentence, hit: Hit) -> bool:
    """Tell whether "sans marque" goes on to a noun of its own ("sans marque de fabricant")."""
    return any(
        n in sentence.at["noun"] and sentence.at["noun"][n].last > hit.last
        for n in range(hit.first, hit.last)
    )


def _literal_behind(sentence: Sentence, number: int) -> bool:
    number = sentence.text.skip_leads(number, sentence.high)
    return number < sentence.high and sentence.is_firm(number)


def from_general(sentence: Sentence, hit: Hit) -> None:
    """Read "unsigned", "blank apart from a star"; "not stamped 925" is left to the verb."""
    if _literal_behind(sentence, hit.last):
        verb = next((n for n in range(hit.first, hit.last) if n in sentence.at["verb"]), None)
        if verb is not None:
            from_verb(sentence, sentence.at["verb"][verb])
        return
    if hit.value == "contrast" and not sentence.marks:
        return  # "the pendant is plain" tells of marks beside one that has some
    if hit.value in _BESIDE and sentence.place_beside(hit.first, hit.last) is None:
        return
    if hit.value == "hallmark":
        start = next(n for n in range(hit.first, hit.last) if "hallmark" in sentence.words[n])
        shift = sentence.words[start].index("hallmark")
        begin = sentence.reading.starts[start] + shift
        add(sentence, Literal(hit.first, hit.last, begin, begin + 8), claimed="absent")
    else:
        add_general(sentence, hit.first, hit.last)
    if not from_exception(sentence, hit.last):
        exception_before(sentence, hit.first)


def from_exception(sentence: Sentence, number: int, is_sure: bool = False) -> bool:
    """Read what is there after all: "nothing but 925"; `is_sure`: whatever "but" leads to."""
    for behind in range(number, min(sentence.high, number + 7)):
        is_but = sentence.words[behind] in _BUT and sentence.words[behind - 1] != ","
        if behind in sentence.text.but or (is_but and behind > number - 1):
            after = sentence.text.but.get(behind, behind + 1)
            is_told = is_sure or behind in sentence.text.but or sentence.words[behind] in _THAN
            if _add_exception(sentence, after, sentence.high, is_told):
                return True
    return False


def exception_before(sentence: Sentence, number: int) -> bool:
    """Read what is there after all, said first: "apart from 50-20 on the bridge no marks"."""
    low = max(sentence.low, number - _BEFORE)
    leads = [sentence.text.but[n] for n in range(low, number) if n in sentence.text.but]
    return bool(leads) and _add_exception(sentence, leads[0], number, True)


def _add_exception(sentence: Sentence, number: int, high: int, is_sure: bool) -> bool:
    """Note the mark behind "except" as there; behind "but" what is surely one."""
    start = sentence.over_articles(sentence.text.skip_leads(number, high))
    if start < high and sentence.words[start] in _SIZES:
        while start < high - 1 and not sentence.words[start][0].isdigit():
            start += 1  # "apart from the size, which is 46-20"
    literal = sentence.named_at(start) if start < high else None
    if literal is None and start < high and (is_sure or sentence.is_firm(start)):
        literal = sentence.text.literal(start, high)
    if literal is None or sentence.is_used(start):
        return False
    is_doubted = any(n in sentence.at["unsure"] for n in range(number, literal.first))
    add(sentence, literal, claimed="unsure" if is_doubted else "present")
    return True


def from_nothing(sentence: Sentence, hit: Hit) -> None:
    """Read "nothing on the rear", "steht nichts", "nothing but 925"."""
    behind = sentence.words[hit.last : min(hit.last + 2, sentence.high)]
    is_but = hit.last in sentence.text.but
    if behind[:1] and behind[0] in _NOT_WRITTEN and _NOWHERE.isdisjoint(behind) and not is_but:
        return  # "nothing to do with", "nothing wrong"
    if any(h.first <= hit.first < h.last for h in sentence.reading.found("words.unsure")):
        return  # "je garantis rien"
    say = sentence.at["say"].get(hit.last)
    if say and not say.value and _literal_behind(sentence, say.last):
        return  # "nothing says FRANCE"
    if hit.value == "any" and not is_negated(sentence.reading, hit.first, hit.last, _FAR):
        return  # "neither arm carries anything"
    if sentence.marks and sentence.words[hit.first - 1] == "plus":
        return  # "on croit lire ORLE puis plus rien"
    begin, end = clause_at(sentence.reading, hit.first, hit.last)
    writes = any(
        n in sentence.at["verb"] or n in sentence.at["noun"] or _says(sentence, n)
        for n in range(begin, end)
    )
    if not writes and not sentence.places.with_preposition(hit.last, sentence.high):
        is_other = hit.first > sentence.low and sentence.words[hit.first - 1] in LEFT_RIGHT
        is_bare = _is_bare_place(sentence, hit) or _is_on_goods(sentence, begin, hit)
        if not (is_other and sentence.marks) and not is_bare:
            return
    if from_exception(sentence, hit.last, is_sure=True) or exception_before(sentence, hit.first):
        sentence.spent.update(range(hit.first, hit.last))
    else:
        add_general(sentence, hit.first, hit.last)


def _is_on_goods(sentence: Sentence, begin: int, hit: Hit) -> bool:
    """Tell whether "on the glasses" makes up what stands before: "en las gafas nada"."""
    number = hit.first - 1
    while number > begin and sentence.words[number] in ("is", "ist"):
        number -= 1
    if sentence.words[number] not in GOODS:
        return False
    return any(
        sentence.places.prep.get(first) in (number, number - 1) for first in range(begin, number)
    )


def _is_bare_place(sentence: Sentence, hit: Hit) -> bool:
    """Tell whether a place makes up what stands before: "right arm: nothing"."""
    number = hit.first
    if number > sentence.low and sentence.words[number - 1] in (":", "="):
        number -= 1
    if hit.last < sentence.clause_end(hit):
        return False
    if sentence.words[number - 1] in LEFT_RIGHT and number - 2 in sentence.places.prep:
        return True
    place = sentence.places.before(number, sentence.low)
    if place is not None and place[1] == number:
        return True
    near = range(max(sentence.low, number - NEAR), number)
    places = (sentence.places.with_preposition(first, sentence.high) for first in near)
    return any(place is not None and place[1] == number for place in places)


def _says(sentence: Sentence, number: int) -> bool:
    """Tell whether a word of saying begins here; "has" says nothing without a place."""
    hit = sentence.at["say"].get(number)
    if hit is None:
        return False
    return hit.value != "has" or sentence.places.before(hit.first, sentence.low) is not None
