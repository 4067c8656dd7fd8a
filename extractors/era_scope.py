"""Tell whether the years of a text are those of the piece or of something else.

A year belongs to what stands next to it: a doing ("bought in 1985"), a paper ("receipt of 1991"),
a name or number ("model 1976"), a copied piece ("reissue of the 1958 one"), a style ("very
sixties"). The words of each kind are rows of the list eras.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable

from extractors.era_leads import cue_before, ends_at, is_link, leads_to
from extractors.era_years import Claim
from extractors.folding import plain
from extractors.lexicon import read_rows, small_words
from extractors.reading import Hit, Reading
from extractors.scope import (
    ANSWERING,
    ASKED,
    LONGEST,
    answer_at,
    answer_of,
    clause_at,
    negations_before,
)

_NEAR = 14  # words before a year in which a purchase or a receipt claims it
_WORDS = 8  # of the longest cue
_RECENT = 2000  # goods of the seller's own time are rarely sold as old ones
_LONG = 30  # years from which "1930 to 1965" is a life or a career, not a time of making
_ASIDE = 4  # words between "the original" and its year
_FROM = small_words("of") | {"from", "aus"}
_MYSELF = small_words("myself")
_NO = small_words("denial")
_OF = small_words("of")
_PATTERNS = small_words("copied_thing")
_YEARS = frozenset(("jahre", "jahren"))
_REST = _FROM | small_words("era_dated")  # ", dated 1958" goes on from the clause before
_THINGS = small_words("era_thing")
_PEOPLE = small_words("era_person")
_GOODS = _THINGS.union(plain(row["phrase"]) for row in read_rows("size_goods"))
_WEARABLES = _GOODS - _THINGS
_SAID_OF_PIECE = _GOODS | _PEOPLE | small_words("opinion")  # a year behind it is the piece's
_OTHERS = _PEOPLE - small_words("myself") - small_words("of_person") - {"me", "mir", "mich", "uns"}
_MONTHS = small_words("month")
_SINCE = small_words("era_since")
_THE = small_words("definite") | small_words("indefinite")
_NO_DOING = small_words("era_adjective")
_STOPS = frozenset(".,;:()|•·\n!?-/")


def _clause(reading: Reading, claim: Claim) -> tuple[int, int]:
    """Give the word range of the clause around the years."""
    known: dict[int, tuple[int, int]] = reading.memory.setdefault("clauses of eras", {})
    if claim.first not in known:
        known[claim.first] = _whole_clause(reading, claim)
    return known[claim.first]


def _whole_clause(reading: Reading, claim: Claim) -> tuple[int, int]:
    """Give the clause around the years; the full stop of "ca." or "H." does not end it."""
    begin, end = clause_at(reading, claim.first, claim.last)
    low, high = reading.sentence_at(claim.first)
    while begin - 1 > low and reading.words[begin - 1] == ".":
        begin, _ = clause_at(reading, begin - 2, begin - 1)
    while end + 1 < high and reading.words[end] == ".":
        _, end = clause_at(reading, end + 1, end + 2)
    return begin, end


def is_of_else(reading: Reading, claim: Claim) -> bool:
    """Tell whether the words around make the years something else than those of the piece."""
    asked: list[tuple[_Question, ...]] | None = reading.memory.get("questions of eras")
    if asked is None:
        met = reading.cues
        beside = [tells for needed, tells in _ASKED_BESIDE if needed in met]
        asked = [(*beside, *_ASKED_OF_MORE), (*beside, *_ASKED_OF_YEAR)]
        reading.memory["questions of eras"] = asked
    return any(tells(reading, claim) for tells in asked[claim.from_year == claim.to_year])


def _is_led_to(reading: Reading, claim: Claim) -> bool:
    """Tell whether a word right before the years claims them ("model 1976", "look of the 60s")."""
    leads = leads_to(reading, claim.first)
    block = leads.get("blocks_before")
    if block is None or "makes" in leads:
        return False
    if reading.words[block.first] == "so" and claim.from_year == claim.to_year:
        return False  # "serial 48123, so 1953"
    if _is_answer(reading, block.first) or _is_thing(reading, claim, block):
        return False
    if block.first > 1 and _is_by_serial(reading, block):
        return False
    if reading.words[block.first] not in _SINCE:
        return True
    is_onward = claim.last in reading.table("eras.onward_behind")
    return not (is_onward or claim.from_year < claim.to_year or _is_made_just(reading, block))


def _is_by_serial(reading: Reading, block: Hit) -> bool:
    """Tell whether a number dates the piece: "nach der Seriennummer 1967"."""
    words, number = reading.words, block.first - 1
    if _TELLERS.isdisjoint(words[block.first : block.last]):
        return False
    number -= words[number] in _THE
    return number >= 0 and words[number] in _BY_NUMBER


_BY_NUMBER = frozenset(("laut", "nach", "according", "per", "selon", "secondo", "segun"))


def is_named(reading: Reading, claim: Claim) -> bool:
    """Tell whether a year is said to be a name or number ("the 1960 is the model number")."""
    if claim.from_year < claim.to_year:
        return False
    block = leads_to(reading, claim.first).get("blocks_before")
    if block and not _NAME_NOUNS.isdisjoint(reading.words[block.first : block.last]):
        return True
    last, _ = reading.table("eras.blocks_after").get(claim.last, (0, ""))
    return bool(last) and not _NAME_NOUNS.isdisjoint(reading.words[claim.last : last + 1])


_NAME_NOUNS = small_words("era_name_noun")


def is_alone(reading: Reading, claim: Claim) -> bool:
    """Tell whether one year stands without a word of time or making that leads to it."""
    return claim.from_year == claim.to_year and not _is_led(reading, claim)


def _is_made_just(reading: Reading, block: Hit) -> bool:
    """Tell whether a verb of making stands right before "since" ("prodotta dal 1966")."""
    make = ends_at(reading, "makes", block.first)
    return bool(make and make.value == "verb")


def _is_numbered(reading: Reading, claim: Claim) -> bool:
    """Tell whether a slash and a word stand before the years ("by X / 1671")."""
    if claim.first < 2 or reading.words[claim.first - 1] != "/" or claim.is_word:
        return False
    return not reading.words[claim.first - 2][:2].isdigit()


def _is_led_from(reading: Reading, claim: Claim) -> bool:
    """Tell whether a word right behind the years claims them ("1950s style", "1964 catalogue")."""
    table = reading.table("eras.blocks_after")
    number = claim.last
    if number < len(reading.words) and reading.words[number] in _YEARS:
        number += 1  # "50er-Jahre-Stil"
    met = table.get(number)
    if met is None and reading.words[number : number + 1] == (",",):
        met = table.get(number + 1)  # "Monture 1990, c'est le nom du modèle"
        return met is not None and met[1] == "name"
    if met is None:
        return False
    return not _is_thing(reading, claim, Hit("", met[1], claim.last, met[0], 0, 0))


def _is_of_paper(reading: Reading, claim: Claim) -> bool:
    """Tell whether a paper follows the years, a word between ("1970 sales invoice")."""
    if claim.last + 1 >= len(reading.words) or not reading.words[claim.last].isalpha():
        return False
    if reading.languages[claim.first] not in ("en", "") or claim.from_year < claim.to_year:
        return False
    table = reading.table("eras.blocks_near")
    return any(table.get(claim.last + n, (0, ""))[1] in ("paper", "other") for n in (0, 1))


def _is_thing(reading: Reading, claim: Claim, block: Hit) -> bool:
    """Tell whether a decade is that of an article or model: "1990s model", no model's name."""
    is_decade = claim.to_year > claim.from_year
    return is_decade and reading.words[block.first] in _THINGS and block.last - block.first == 1


def _is_answer(reading: Reading, number: int) -> bool:
    """Tell whether "No" answers a question rather than standing for number."""
    return number > 0 and reading.words[number] == "no" and reading.words[number - 1] == "?"


def _is_copied(reading: Reading, claim: Claim) -> bool:
    """Tell whether the year is the one that a reissue copies ("2015 reissue of the 1958 one")."""
    make = cue_before(reading, "makes", claim.first)
    if make and make.value == "verb":
        return False
    if _has_original(reading, claim):
        return True
    low, high = reading.sentence_at(claim.first)
    low, high = max(low, claim.first - LONGEST), min(high, claim.last + LONGEST)
    reissues = [hit for hit in reading.found("authenticity.reissue") if low <= hit.first < high]
    if not reissues:
        return False
    following = reading.words[claim.last] if claim.last < len(reading.words) else ""
    if following in _OF:
        return False  # "reissue of 2016 of the 1962 frame": the first is the reissue's own
    if following in _PATTERNS or _has_another(reading, claim, reissues, low, high):
        return True
    if claim.from_year == claim.to_year and claim.from_year >= _RECENT:
        return False  # "ristampa del 2010"
    is_led = any(hit.last == claim.first for hit in reading.found("eras.copied"))
    return is_led and any(hit.first < claim.first for hit in reissues)


def _has_original(reading: Reading, claim: Claim) -> bool:
    """Tell whether "the original" or "the design" right before the years is what they date."""
    begin, _ = _clause(reading, claim)
    begin = max(begin, claim.first - _ASIDE)
    behind = [h.last for h in reading.found("authenticity.reissue") if h.last <= claim.first]
    begin = max(begin, *behind) if behind else begin
    return any(
        begin <= hit.first and hit.last <= claim.first for hit in reading.found("eras.original")
    )


def _has_another(
    reading: Reading, claim: Claim, reissues: Iterable[Hit], low: int, high: int
) -> bool:
    """Tell whether another year stands at the word reissue: that one is the reissue's own."""
    years = [n for n in reading.figures() if low <= n < high and _is_year(reading.words[n])]
    if claim.first in years and len(years) == 1:
        return False
    own = [n for n in years for hit in reissues if _are_beside(reading, n, hit)]
    own = [max(own, key=reading.words.__getitem__)] if own else []  # "a 1958 one reissued in 2015"
    return bool(own) and not any(claim.first <= n < claim.last for n in own)


def _is_year(word: str) -> bool:
    return len(word) == 4 and word.isdigit() and word[:2] in ("19", "20")


def _are_beside(reading: Reading, number: int, hit: Hit) -> bool:
    """Tell whether only small words stand between a year and a word: "reissued in 2015"."""
    if number < hit.first:
        return hit.first - number < 3
    between = reading.words[hit.last : number]
    return len(between) < 3 and _THE.isdisjoint(between) and "," not in between


def _is_of_copy(reading: Reading, claim: Claim) -> bool:
    """Tell whether the years are those of what is copied; "made in" says they are not."""
    if claim.from_year == claim.to_year and claim.from_year >= _RECENT:
        return False
    low, high = reading.sentence_at(claim.first)
    copies = [hit for hit in reading.found("eras.copy") if low <= hit.first < high]
    if not any(not negations_before(reading, hit.first, 3) for hit in copies):
        return False
    make = cue_before(reading, "makes", claim.first)
    return make is None or not _is_strong(make)


def _is_denied(reading: Reading, claim: Claim) -> bool:
    """Tell whether the years are denied: "not 1962", "not made in the 50s", "Mid-80s? No"."""
    if _is_answered(reading, claim) or _is_outdone(reading, claim):
        return True
    number = claim.first
    low = reading.sentence_at(number)[0]
    ends = _ends_of_denials(reading)
    behind = bisect_right(ends, number)
    if not behind or ends[behind - 1] < low:
        return False
    for _ in range(8):
        if number in ends:
            return not _is_bound(reading, number)
        make = ends_at(reading, "makes", number)
        if make and make.first >= low:
            number = make.first
        elif number > low and _is_linking(reading, number - 1):
            number -= 1
        else:
            return False
    return False


def _is_answered(reading: Reading, claim: Claim) -> bool:
    """Tell whether years are asked for and then denied or left open."""
    behind = reading.words[claim.last : claim.last + ASKED]
    if "?" not in behind and ANSWERING.isdisjoint(behind[:1]):
        return False
    is_denied = answer_at(reading, claim.last) in _NO
    return is_denied or answer_of(reading, claim.last) == "unsure"


def _ends_of_denials(reading: Reading) -> list[int]:
    """Give the words before which a negation ends, in order."""
    found: list[int] | None = reading.memory.get("ends of denials")
    if found is None:
        found = sorted({hit.last for hit in reading.found("words.not")})
        reading.memory["ends of denials"] = found
    return found


def _is_outdone(reading: Reading, claim: Claim) -> bool:
    """Tell whether another year is rather the right one ("1890s rather than 1900")."""
    number = claim.first
    low = reading.sentence_at(number)[0]
    if _THAN.isdisjoint(reading.words[low:number]):
        return False
    while number > low and _is_linking(reading, number - 1):
        number -= 1
    if number - 1 <= low or reading.words[number - 1] not in _THAN:
        return False
    before = reading.words[max(low, number - 8) : number - 1]
    return not _RATHER.isdisjoint(before) and any(map(_is_dating, before))


def _is_linking(reading: Reading, number: int) -> bool:
    word = reading.words[number]
    return word in _BESIDE_NOT or is_link(reading, number) or word in _GOODS


def _is_dating(word: str) -> bool:
    return word[0].isdigit() or word.endswith(("ies", "ziger", "zigern"))


_BESIDE_NOT = _FROM | _THE | small_words("is_copula")
_THAN, _RATHER = small_words("than"), small_words("rather")


def _is_bound(reading: Reading, number: int) -> bool:
    """Tell whether a negation is part of a bound: "not before 1955"."""
    return any(
        hit.first < number <= hit.last
        for name in ("onward", "upto")
        for hit in reading.found(f"eras.{name}")
    )


def _is_own_story(reading: Reading, claim: Claim) -> bool:
    """Tell whether a late year belongs to what the seller did or met with."""
    if claim.from_year < _RECENT:
        return False
    begin, _ = _clause(reading, claim)
    if _MYSELF.isdisjoint(reading.words[begin : claim.first]):
        return False
    return not any(
        begin <= hit.first and hit.last <= claim.first and _is_strong(hit)
        for hit in reading.found("eras.makes")
    )


def _is_strong(hit: Hit) -> bool:
    """Tell whether a word surely speaks of making ("made", not "from")."""
    return hit.value == "verb" or (not hit.value and hit.end - hit.start > 4)


def _is_near_other(reading: Reading, claim: Claim) -> bool:
    """Tell whether a purchase, a paper or the like before the years claims them."""
    low, high = claim.first - _NEAR, claim.first
    met = reading.cues["eras.blocks_near"]
    met = met[bisect_left(met, (low - _WORDS,)) : bisect_left(met, (high,))]
    if not any(low <= last <= high for _, last, _ in met):
        return False
    near = [hit for hit in _doings(reading) if low <= hit.last <= high]
    if near and _is_taken_as(reading, claim):
        near = [hit for hit in near if hit.value == "part"]
    begin = _begin_of(reading, claim) if near else 0
    near = [hit for hit in near if begin <= hit.first]
    if claim.from_year < claim.to_year:
        near = [hit for hit in near if reading.words[hit.first] not in _SINCE]
    if not near:
        return False
    is_made = _is_made(reading, claim)
    return any(_has_year(reading, hit, claim, begin, is_made) for hit in near)


def _is_taken_as(reading: Reading, claim: Claim) -> bool:
    """Tell whether "as" leads to the years: "catalogued in 2006 as circa 1890"."""
    number, low = claim.first - 1, reading.sentence_at(claim.first)[0]
    if number > low and reading.words[number] == ".":
        number -= 1
    loose = ends_at(reading, "approx", number + 1)
    number = loose.first - 1 if loose else number
    return number > low and reading.words[number] in _AS


def _has_year(reading: Reading, hit: Hit, claim: Claim, begin: int, is_made: bool) -> bool:
    """Tell whether a doing or thing before the years has them, whatever is said of making.

    A part does ("battery fitted in 2020"), another object unless the piece was made before it in
    the clause ("house built 1926"), a firm if nothing is made, a doing if nothing is made behind.
    """
    if hit.value == "part":
        return True
    if hit.value in _WITNESSES and reading.words[claim.first - 1] in _TELLS:
        return False  # "the maker's book gives 1956"
    if hit.value == "paper" and _is_told_by(reading, hit, claim):
        return False
    if hit.value != "style" and _is_of_goods(reading, hit, claim):
        return False
    if hit.value in ("other", "style"):
        makings = _makings(reading)
        return not any(
            begin <= make.first and make.last <= hit.first and make.value != "date"
            for make in makings
        )
    if not hit.value and _is_attributive(reading, claim):
        return False
    is_between = any(
        hit.last <= make.first and make.last <= claim.first and _is_strong(make)
        for make in reading.found("eras.makes")
        if reading.words[make.first] not in _REST
    )
    return not is_between and not (hit.value == "thing" and is_made)


def _is_told_by(reading: Reading, paper: Hit, claim: Claim) -> bool:
    """Tell whether a paper has a year of its own before, or the years are but a bound.

    "Gutachten von 2001 sagt um 1900", "no CE mark, so before 1998".
    """
    words = reading.words
    if any(map(_is_year, words[paper.last : claim.first])):
        return True
    return not _BOUNDS.isdisjoint(leads_to(reading, claim.core))


_BOUNDS = frozenset(("before", "after", "onward", "upto"))


def _is_of_goods(reading: Reading, hit: Hit, claim: Claim) -> bool:
    """Tell whether goods stand before decades: "film star glasses from the 1950s"."""
    between = reading.words[hit.last : claim.first]
    return claim.from_year < claim.to_year and not _WEARABLES.isdisjoint(between)


def _is_attributive(reading: Reading, claim: Claim) -> bool:
    """Tell whether one year or decade is said of a noun: "sold as a locket from the forties"."""
    number, low = claim.first, reading.sentence_at(claim.first)[0]
    while number > low and reading.words[number - 1] in _NOUN_LINKS:
        number -= 1
    if claim.to_year - claim.from_year not in (0, 2, 3, 4, 9):
        return number > low and reading.words[number - 1] in _AS
    if not _GOODS.isdisjoint(reading.words[claim.last : claim.last + 2]):
        return True
    return number > low and reading.words[number - 1] in _ATTRIBUTIVE


_AS = frozenset(("as", "als", "comme", "come", "como"))
_ATTRIBUTIVE = small_words("attributive") | _AS
_NOUN_LINKS = (_THE | small_words("decade_lead")) - _ATTRIBUTIVE


def _doings(reading: Reading) -> list[Hit]:
    """Give the words of doings, papers and places that are no part of a phrase of making."""
    if "doings of eras" not in reading.memory:
        makes = _makings(reading)
        reading.memory["doings of eras"] = [
            hit
            for hit in reading.found("eras.blocks_near")
            if not any(make.first <= hit.first and hit.last <= make.last for make in makes)
            and not (hit.value in _WITNESSES and _is_witness(reading, hit))
            and not (hit.value in _LACKED and negations_before(reading, hit.first, _NEAR_NO))
        ]
    found: list[Hit] = reading.memory["doings of eras"]
    return found


def _is_witness(reading: Reading, paper: Hit) -> bool:
    """Tell whether a paper or optician only tells the year: "laut Heft 1974"."""
    words, number = reading.words, paper.first - 1
    if number > 0 and words[number] in _THE:
        number -= 1
    is_led = number >= 0 and words[number] in _SOURCES
    return is_led and words[paper.last : paper.last + 1] not in _BEHIND_PAPER


def _makings(reading: Reading) -> list[Hit]:
    """Give the verbs and phrases that say that something was made or made anew."""
    if "makings of eras" not in reading.memory:
        verbs = [hit for hit in reading.found("eras.makes") if hit.value]
        if verbs and "eras.blocks_near" in reading.cues:
            lengths = _lengths_of_others(reading)
            verbs = [hit for hit in verbs if not _is_part(hit, lengths)]
        far = reading.found("eras.makes_far")
        reading.memory["makings of eras"] = [*verbs, *far, *reading.found("authenticity.reissue")]
    found: list[Hit] = reading.memory["makings of eras"]
    return found


def _lengths_of_others(reading: Reading) -> dict[int, int]:
    """Give how long the phrase of a doing or thing is that a word is part of, if of several."""
    lengths: dict[int, int] = {}
    for other in reading.found("eras.blocks_near"):
        length = other.last - other.first
        for number in range(other.first, other.last) if length > 1 else ():
            lengths[number] = max(length, lengths.get(number, 0))
    return lengths


def _is_part(make: Hit, lengths: dict[int, int]) -> bool:
    """Tell whether a word of making is part of a longer phrase ("stage production")."""
    shortest = min(lengths.get(make.first, 0), lengths.get(make.last - 1, 0))
    return shortest > make.last - make.first


def _begin_of(reading: Reading, claim: Claim) -> int:
    """Give where the clause of the years begins; ", of 1958" goes on from the clause before."""
    begin, _ = _clause(reading, claim)
    low = reading.sentence_at(claim.first)[0]
    is_rest = begin < claim.first <= begin + 3 and _REST.issuperset(
        reading.words[begin : claim.first]
    )
    if is_rest and begin - 1 > low and reading.words[begin - 1] == ",":
        return clause_at(reading, begin - 2, begin - 1)[0]
    if begin - 2 > low and reading.words[begin - 1] == "," and _is_beside(reading, claim, begin):
        return clause_at(reading, begin - 2, begin - 1)[0]
    is_within = begin - 2 > low and reading.words[begin - 1] in _TURNS
    is_same = _IS.isdisjoint(reading.words[begin : claim.first])
    if is_within and is_same and reading.words[begin - 2] not in _STOPS:
        return clause_at(reading, begin - 2, begin - 1)[0]  # "gekauft hat er sie aber 1958"
    return begin


def _is_beside(reading: Reading, claim: Claim, begin: int) -> bool:
    """Tell whether the clause of the years, begun behind a comma, is of a thing right before it.

    "On his honeymoon, 1968", "ein Haus, das 1911 gebaut wurde", "polished, 2021".
    """
    is_late = claim.from_year == claim.to_year and claim.from_year >= _RECENT
    if begin != claim.first and reading.words[begin] not in _RELATIVE:
        return False
    values = ("other", "") if is_late and begin == claim.first else ("other",)
    return any(hit.last == begin - 1 and hit.value in values for hit in _doings(reading))


_TURNS, _IS = small_words("turn"), small_words("is_copula")
_RELATIVE = small_words("era_relative")
_OF_CASE = _FROM | _THE | small_words("era_dated") | small_words("era_later") | _IS | {","}


def _is_of_case(reading: Reading, claim: Claim) -> bool:
    """Tell whether the years are those of the case or box ("the case is later, about 1985")."""
    low = max(reading.sentence_at(claim.first)[0], claim.first - _NEAR)
    found = reading.found("eras.case")
    begun = bisect_left(found, low, key=_first_word)
    near = found[begun : bisect_left(found, claim.first, key=_first_word)]
    cases = [hit for hit in near if hit.last <= claim.first]
    return any(_has_case_years(reading, hit, claim) for hit in cases)


def _first_word(hit: Hit) -> int:
    return hit.first


def _has_case_years(reading: Reading, case: Hit, claim: Claim) -> bool:
    """Tell whether only what dates stands between a case and years, or it is said to be of them."""
    words = reading.words
    if words[case.first] in _OF_WATCH and reading.found("words.watch"):
        return False
    between = words[case.last : claim.first]
    if not between or not _GOODS.isdisjoint(between):
        return False
    begin, _ = clause_at(reading, case.first, case.last)
    is_head = _HEADS.issuperset(words[begin : case.first])
    if is_head and between[0] in _IS:
        return True
    if _OF_CASE.issuperset(between):
        return is_head or not _FROM.isdisjoint(between)
    return is_head and _CASE_SAYS.issuperset(between)  # "the box carries the date 1951"


_HEADS = (
    _THE
    | small_words("own")
    | small_words("era_case_on")
    | {"l", "original", "originale", "originales"}
)
_CASE_SAYS = _OF_CASE | small_words("era_case_says")
_OF_WATCH = small_words("era_watch_case")  # also the case of a watch


def _is_named(reading: Reading, claim: Claim) -> bool:
    """Tell whether a year ends the name of a model ("Model name: Clairval 1971")."""
    if claim.from_year < claim.to_year or _is_led(reading, claim):
        return False
    low = max(reading.sentence_at(claim.first)[0], claim.first - _NAME)
    return any(
        low <= hit.last <= claim.first
        and all(word.isalpha() or word == ":" for word in reading.words[hit.last : claim.first])
        for hit in reading.found("eras.name_label")
    )


_NAME = 4  # words between "model name" and the year that ends the name


def _is_written(reading: Reading, claim: Claim) -> bool:
    """Tell whether a year stands in what is engraved ("1912 gravé dans le couvercle")."""
    low, high = reading.sentence_at(claim.first)
    words = reading.words
    if _WRITTEN.isdisjoint(words[low:high]) or _is_led(reading, claim):
        return False
    begin, end = _clause(reading, claim)
    if begin == claim.first and not _WRITTEN.isdisjoint(words[claim.last : end]):
        return True
    before = words[max(low, claim.first - _SAID) : claim.first]
    at = max((n for n, word in enumerate(before) if word in _WRITTEN), default=-1)
    return at >= 0 and not {",", ";", "("}.intersection(before[at:])


_WRITTEN, _SAID = small_words("era_written"), 8  # words between "engraved" and its year


def _is_of_own(reading: Reading, claim: Claim) -> bool:
    """Tell whether the years are those of another thing that someone has ("my diploma of 1964")."""
    words = reading.words
    if _OWN.isdisjoint(words[reading.sentence_at(claim.first)[0] : claim.first]):
        return False
    begin = _begin_of(reading, claim)
    if _OWN.isdisjoint(words[begin : claim.first]):
        return False
    is_french = reading.languages[claim.first] == "fr"  # Italian "ma" is but
    owned = [
        n for n in range(begin, claim.first) if words[n] in _OWN and (is_french or words[n] != "ma")
    ]
    if not owned or owned[-1] + 1 >= claim.first or _is_made(reading, claim):
        return False
    between = {*words[owned[-1] + 1 : claim.first], *words[claim.last : claim.last + 2]}
    return between.isdisjoint(_SAID_OF_PIECE) and not _is_source(words[owned[-1] - 1])


def _is_source(word: str) -> bool:
    return word in _SOURCES


_WITNESSES = frozenset(("paper", "thing"))
_LACKED = frozenset(("paper", "other"))  # "no CE mark as it is of the fifties"
_NEAR_NO = 3  # words between a negation and what is lacking
_BEHIND_PAPER = frozenset((word,) for word in _FROM | {"(", ":", ","})
_OWN, _SOURCES = small_words("own"), small_words("source")


def _is_labelled(reading: Reading, claim: Claim) -> bool:
    """Tell whether the sentence is a list of owners or shows ("Exhibited: Town Hall, 1953")."""
    low = reading.sentence_at(claim.first)[0]
    return reading.words[low] in _LABELS and reading.words[low + 1 : low + 2] == (":",)


_LABELS = small_words("label")


def _is_doing(reading: Reading, claim: Claim) -> bool:
    """Tell whether the years are when something went on, and no word says that it was making.

    "In 1962" and "until 1962" stand beside a verb, unlike "of 1962": "worn in the sixties".
    """
    lead = _time_lead(reading, claim)
    if lead is None or _is_made(reading, claim, lead.first):
        return False
    low, high = reading.sentence_at(claim.first)
    rest = (*reading.words[low : lead.first], *reading.words[claim.last : high])
    return not _STOPS.issuperset(rest)  # "Age? In the 50s."


def _is_doing_about(reading: Reading, claim: Claim) -> bool:
    """Tell whether something was done about that time: "um 1990 auf einer Messe ergattert"."""
    if cue_before(reading, "approx", claim.first) is None or claim.from_year < claim.to_year:
        return False
    begin, end = _clause(reading, claim)
    doings = (hit for hit in _doings(reading) if not hit.value)
    is_done = any(begin <= hit.first and hit.last <= end for hit in doings)
    return is_done and not _is_made(reading, claim)


def _time_lead(reading: Reading, claim: Claim) -> Hit | None:
    """Find the "in" or "until" before the years, over "about" and "early"."""
    number = claim.first
    loose = cue_before(reading, "approx", number)
    lead = cue_before(reading, "at", loose.first if loose else number)
    if lead is None or lead.value != "bare":
        return lead
    return None if claim.to_year - claim.from_year == 9 else lead  # "in 1950s acetate"


def _is_made(reading: Reading, claim: Claim, lead: int | None = None) -> bool:
    """Tell whether a verb of making governs the years, no other doing standing between."""
    first = claim.first if lead is None else lead
    begin, end = _clause(reading, claim)
    low, high = reading.sentence_at(claim.first)
    begin = low if begin >= first else begin
    end = high if end <= claim.last else end
    others = [hit for hit in _doings(reading) if hit.value not in _NO_DOINGS]
    return any(
        begin <= make.first < end and not any(_is_between(other, make, claim) for other in others)
        for make in _makings(reading)
    )


_TELLS = small_words("era_tells")
_NO_DOINGS = frozenset(("thing", "other", "style"))


def _is_between(hit: Hit, make: Hit, claim: Claim) -> bool:
    if make.last <= claim.first:
        return make.last <= hit.first and hit.last <= claim.first
    return claim.last <= hit.first and hit.last <= make.first


def _is_bare_doing(reading: Reading, claim: Claim) -> bool:
    """Tell whether a year without a preposition is when something was done.

    German leaves "im Jahr" out ("1975 in die Lade gelegt"), notes do in any language ("pads
    fitted 2018"): a participle or a person in the clause tells it.
    """
    language = reading.languages[claim.first]
    if language not in ("de", "en", "") or _is_led(reading, claim):
        return False
    begin, end = _clause(reading, claim)
    before, behind = reading.words[begin : claim.first], reading.words[claim.last : end]
    return _are_of_doing(before, behind, language) and not _is_made(reading, claim)


_SAYING = small_words("era_said")


def _are_of_doing(before: tuple[str, ...], behind: tuple[str, ...], language: str) -> bool:
    """Tell whether the words of a clause around its year tell what was done."""
    if language == "de":
        if not _SAYING.isdisjoint(before):
            return False  # "er sagte immer 1962"
        doings = (*before[:1], *before[-1:], *behind)
        is_told = before and before[-1] in _WHEN
        return bool(
            is_told or _PEOPLE.intersection((*before, *behind)) or any(map(_is_participle, doings))
        )
    return bool(before) and _is_english_doing(before[-1])


def _is_led(reading: Reading, claim: Claim) -> bool:
    """Tell whether a word of time or making leads to the years."""
    return not _LEADS.isdisjoint(leads_to(reading, claim.core))


_LEADS = frozenset(("makes", "approx", "before", "after", "onward", "upto"))


def _is_participle(word: str) -> bool:
    """Tell whether a German word looks like a participle of a doing.

    >>> _is_participle("gelegt"), _is_participle("gering")
    (True, False)
    """
    return bool(_PARTICIPLE.fullmatch(word)) and word not in _NO_DOING


_PARTICIPLE = re.compile(
    r"(?:(?:ein|aus|auf|ab|an|zu|weg|mit|um|vor|nach|uber|weiter)?ge|be|ver|er|ent)"
    r"[a-z]{3,}(?:t|en)"
)


_WHEN = small_words("when")


def _is_english_doing(word: str) -> bool:
    return len(word) > 4 and word.endswith("ed") and word not in _NO_DOING


def _is_day(reading: Reading, claim: Claim) -> bool:
    """Tell whether a month, a season or a feast leads to the year and no word of making."""
    number = claim.first - 1
    if number > 0 and reading.words[number] in _OF:
        number -= 1
    if number < 0 or reading.words[number] not in _MONTHS:
        return False
    return not _is_made(reading, claim)


def _is_read(reading: Reading, claim: Claim) -> bool:
    """Tell whether a year is what is to be read on something ("the charm says 1977")."""
    if claim.first < 1 or reading.words[claim.first - 1] not in _READ:
        return False
    near = reading.words[max(0, claim.first - 4) : claim.first - 1]
    return _TELLERS.isdisjoint(near)  # not "grandad says 1972"


_READ = small_words("era_read")
_TELLERS = _PEOPLE | small_words("era_serial")


def _is_quoted(reading: Reading, claim: Claim) -> bool:
    """Tell whether a year stands in quotation marks: then it is read on the piece or a name."""
    text, place = reading.text, claim.start
    if text[place - 1 : place] not in _SINGLE_QUOTES:
        is_open = _OPENING.search(text, max(0, place - _MOST_QUOTED), place)
        if not (is_open and _CLOSING.search(text, claim.end, claim.end + _MOST_QUOTED)):
            return False
    if _is_led(reading, claim):
        return False
    begin, end = text.rfind("\n", 0, claim.start) + 1, text.find("\n", claim.end)
    begin, end = (
        max(begin, claim.start - _FAR),
        min(end if end >= 0 else len(text), claim.end + _FAR),
    )
    quotes = (match.span() for match in _QUOTED.finditer(text, begin, end))
    return any(low <= claim.start and claim.end <= high for low, high in quotes)


_FAR = 400  # characters of a line looked at to either side
_OPENING, _CLOSING = re.compile('["«„“]'), re.compile('["»”“]')
_SINGLE_QUOTES = ("'", "‘", "‚")
_MOST_QUOTED = 82  # characters of what is quoted, with its marks
_QUOTED = re.compile(
    r"(?:(?<![\w\"'])\"(?=\S)[^\"\n]{1,80}(?<=\S)\"(?!\w)|«[^»\n]{1,80}»|[„“][^”“\n]{1,80}[”“]"
    r"|(?<!\w)['‘‚](?:1[6-9]|20)\d\d['’‘])"
)


def _is_birth(reading: Reading, claim: Claim) -> bool:
    """Tell whether a word of birth follows a person, a comma between ("my uncle, born 1926")."""
    if _BIRTHS.isdisjoint(reading.words[reading.sentence_at(claim.first)[0] : claim.first]):
        return False
    begin, _ = _clause(reading, claim)
    near = reading.words[max(begin, claim.first - 2) : claim.first]
    if not _BIRTHS.isdisjoint(near) and not _OTHERS.isdisjoint(reading.words[begin : claim.first]):
        return True  # "Opa war Jahrgang 1905"
    if begin < 2 or _BIRTHS.isdisjoint(reading.words[begin : claim.first]):
        return False
    return not _PEOPLE.isdisjoint(reading.words[max(0, begin - 3) : begin - 1])


_BIRTHS = small_words("birth")


def _is_occasion(reading: Reading, claim: Claim) -> bool:
    """Tell whether a year behind a comma is when a person did or got something.

    "Silver wedding of my aunt, 1919", unlike "my aunt's brooch, 1919".
    """
    begin, end = _clause(reading, claim)
    words = reading.words
    if begin != claim.first or end != claim.last or begin < 3 or words[begin - 1] != ",":
        return False
    low = max(reading.sentence_at(claim.first)[0], begin - LONGEST)
    before = words[low : begin - 1]
    if _OTHERS.isdisjoint(before) or not _GOODS.isdisjoint(before):
        return False
    makings = _makings(reading)
    return not any(low <= make.first < claim.first for make in makings)


def _is_of_story(reading: Reading, claim: Claim) -> bool:
    """Tell whether a bare year stands in a sentence about someone, no goods and no making in it.

    "Klassentreffen 1974, da trug er sie", unlike "Opas Uhr, 1974".
    """
    if _is_led(reading, claim):
        return False
    low, high = reading.sentence_at(claim.first)
    low, high = max(low, claim.first - LONGEST), min(high, claim.last + LONGEST)
    words = reading.words[low:high]
    if _OTHERS.isdisjoint(words) or not _GOODS.isdisjoint(words):
        return False
    return not any(low <= make.first < high for make in _makings(reading))


def _is_life(reading: Reading, claim: Claim) -> bool:
    """Tell whether years far apart, or behind a person, are a life or a career."""
    if claim.to_year - claim.from_year == 9 or _is_made(reading, claim):
        return False
    low = reading.sentence_at(claim.first)[0]
    are_years = reading.words[claim.first].isdigit() and reading.words[claim.last - 1].isdigit()
    if are_years and not _OTHERS.isdisjoint(reading.words[low : claim.first]):
        return True
    before = reading.words[max(0, claim.first - 3) : claim.first]
    is_aside = claim.first > 1 and before[-1] == "(" and not _PEOPLE.isdisjoint(before)
    is_long = claim.to_year - claim.from_year >= _LONG and claim.to_year % 10 != 9
    word = reading.words[claim.first]
    return is_aside or (is_long and len(word) > 3 and word[0].isdigit() and word[-1].isdigit())


def _is_recent_doing(reading: Reading, claim: Claim) -> bool:
    """Tell whether a late year behind some word is that of a doing ("battery 2023 new").

    In the title and behind an article or a word of making it may be the piece's own.
    """
    if claim.from_year < _RECENT or _is_led(reading, claim):
        return False
    if claim.start < reading.text.find("\n") % (len(reading.text) + 1):
        return False
    begin, _ = _clause(reading, claim)
    previous = reading.words[claim.first - 1] if claim.first > begin else "."
    if previous in _STOPS or previous in _THE or not previous.isalpha():
        return False
    if cue_before(reading, "original", claim.last):
        return False
    return not (_is_made(reading, claim) or _has_reissue(reading, claim))


def _has_reissue(reading: Reading, claim: Claim) -> bool:
    low, high = reading.sentence_at(claim.first)
    return any(low <= hit.first < high for hit in reading.found("authenticity.reissue"))


_Question = Callable[[Reading, Claim], bool]
# with the class of cues without which the answer is no; and what is asked in any text
_ASKED_BESIDE: tuple[tuple[str, _Question], ...] = (
    ("eras.blocks_before", _is_led_to),
    ("eras.blocks_after", _is_led_from),
    ("eras.blocks_near", _is_near_other),
    ("eras.case", _is_of_case),
    ("eras.blocks_near", _is_of_paper),
    ("eras.at", _is_doing),
    ("eras.approx", _is_doing_about),
    ("eras.name_label", _is_named),
    ("eras.copy", _is_of_copy),
    ("authenticity.reissue", _is_copied),
)
_ASKED = _is_numbered, _is_denied, _is_of_own, _is_labelled, _is_birth
_ASKED_OF_MORE: tuple[_Question, ...] = (*_ASKED, _is_life)
_ASKED_OF_YEAR: tuple[_Question, ...] = (
    *_ASKED,
    _is_occasion,
    _is_of_story,
    _is_own_story,
    _is_day,
    _is_read,
    _is_written,
    _is_quoted,
    _is_bare_doing,
    _is_recent_doing,
)
