"""What the seller says about the maker being the maker: one label a listing.

Strongest caution first: disclaimed, hedged, asserted, none. Each cue is weighed by what stands
beside it: a maker's name, a negation, a doubt, or a thing whose being "original" says nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from extractors.lexicon import small_words, vocabulary
from extractors.markings import find_markings
from extractors.reading import Hit, Reading
from extractors.records import Authenticity, AuthenticityLabel
from extractors.scope import answer_number, clause_at, negations_before

_BREAKS = frozenset("\n.!?;:()|•·…")
_LONGEST = 5  # words of a thing that being "original" says nothing of
_WARNED = 8  # words from "beware of" to the copies
_PART_BEHIND = 6  # words behind a doubt in which the part may be named
_MATERIAL_BEHIND = 5  # words behind a doubt in which gold or shell may be named
_PRECIOUS = small_words("precious")
_WHENCE = small_words("whence")  # "said to be from a doctor's house" doubts the owner
_TURNING = small_words("turn") | frozenset(",:;-")
_PART_REACH = 14  # words from a part to what is said of it, within one sentence
_IF = small_words("if")
_NO = small_words("denial")
_LABELS: tuple[AuthenticityLabel, ...] = ("disclaimed", "hedged", "asserted")
Found = tuple[AuthenticityLabel, Hit]


class _Listing:
    """One reading, asked for what stands beside a cue."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.words = reading.words

    @cached_property
    def names(self) -> frozenset[int]:
        """The words that are likely makers' names."""
        return frozenset(_names(self.reading))

    def is_marked(self, number: int) -> bool:
        """Tell whether a word is read on the piece: a doubt then is about the mark."""
        start = self.reading.starts[number]
        spans = (span for marking in find_markings(self.reading) for span in marking.quoted)
        return any(span.start <= start < span.end for span in spans)

    def found(self, name: str) -> tuple[Hit, ...]:
        """Give the cues of a class of the list."""
        return self.reading.found(f"authenticity.{name}")

    def name_behind(self, hit: Hit, reach: int) -> int | None:
        """Find a maker's name within so many words behind a cue, no stop between."""
        return self._first_name(range(hit.last, min(len(self.words), hit.last + reach)))

    def name_ahead(self, hit: Hit, reach: int) -> int | None:
        """Find a maker's name within so many words before a cue, no stop between."""
        return self._first_name(range(hit.first - 1, max(-1, hit.first - 1 - reach), -1))

    def _first_name(self, numbers: range) -> int | None:
        for number in numbers:
            if self.words[number] in _BREAKS:
                return None
            if number in self.names:
                return number
        return None

    def has(self, name: str, first: int, last: int) -> bool:
        """Tell whether a cue of a class lies within words [first, last)."""
        return any(first <= hit.first and hit.last <= last for hit in self.found(name))

    def end_at(self, name: str, number: int) -> int:
        """Give the word after a cue of a class seldom asked for that begins at a word, or 0."""
        return self.reading.end_at(f"authenticity.{name}", number)

    def has_small(self, name: str, first: int, last: int) -> bool:
        """Tell whether a cue of a class seldom asked for lies within words [first, last)."""
        numbers = range(first, min(last, len(self.words)))
        return any(0 < self.end_at(name, number) <= last for number in numbers)

    def is_of_other(self, hit: Hit) -> bool:
        """Tell whether a cue speaks of a case, a lens, a material: within two words behind."""
        end = hit.last
        while end < len(self.words) and end < hit.last + 2 and self.words[end] not in _BREAKS:
            if self.words[end] == ",":
                break
            end += 1
        end = max(end, hit.last)
        behind = any(self.end_at("other", number) for number in range(hit.last, end))
        named = any(number in self.names for number in range(hit.last, end))
        return (behind and not named) or self._follows_other(hit)

    def _follows_other(self, hit: Hit) -> bool:
        """Tell whether the thing stands right before ("verres d'origine", "etui original")."""
        before = hit.first - 1
        if before in self.names:
            return False
        near = range(max(0, hit.first - _LONGEST), hit.first)
        return any(self.end_at("other", number) == hit.first for number in near)

    def speaks_of_part(self, hit: Hit) -> bool:
        """Tell whether what is not original is a part ("lenses replaced, not the originals")."""
        if not any("origin" in word for word in self.words[hit.first : hit.last]):
            return False
        begin = max(self.reading.sentence_at(hit.first)[0], hit.first - _PART_REACH)
        ends = [part.last for part in self.found("part") if begin <= part.first < hit.first]
        if not ends or self.has("whole", ends[-1], hit.first):
            return False
        return not any(number in self.names for number in range(ends[-1], hit.first))

    def is_of_thing(self, hit: Hit) -> bool:
        """Tell whether a part or what comes with it is of another maker ("tapa de otra casa").

        That is the last noun before that is known, if it is none for the whole.
        """
        begin, _ = clause_at(self.reading, hit.first, hit.last)
        for number in range(hit.first - 1, max(begin, hit.first - _PART_REACH) - 1, -1):
            if number in self.names or self.end_at("whole", number):
                return False
            if self.end_at("part", number) or self.end_at("other", number):
                return True
        return False

    def is_warned_of(self, hit: Hit) -> bool:
        """Tell whether a copy is one that others sell ("beware of the many fakes")."""
        low = max(self.reading.sentence_at(hit.first)[0], hit.first - _WARNED)
        return any(low <= w.first and w.last <= hit.first for w in self.found("warning"))

    def is_rebutted(self, hit: Hit) -> bool:
        """Tell whether others doubt or ask, and the seller then says that the piece is genuine."""
        low, high = self.reading.sentence_at(hit.first)
        told = (r for r in self.found("reported") if low <= r.first < hit.last)
        if next(told, None) is None:
            return False
        answers = self.words[high : high + 1]
        return bool(_YES.intersection(answers)) or any(
            other.first > hit.last and not negations_before(self.reading, other.first, 3)
            for name in ("real", "true", "denial", "original")
            for other in self.found(name)
            if other.first >= high or self._is_turn_between(hit, other)
        )

    def _is_turn_between(self, hit: Hit, other: Hit) -> bool:
        """Tell whether a comma, a colon or "but" stands between two cues."""
        return not _TURNING.isdisjoint(self.words[hit.last : other.first])

    def is_of_part(self, hit: Hit) -> bool:
        """Tell whether a doubt is about a part only ("the lenses are probably not original")."""
        begin, end = self.reading.sentence_at(hit.first)
        begin, end = max(begin, hit.first - _PART_REACH), min(end, hit.last + _PART_BEHIND)
        parts = [n for n in range(begin, end) if self.end_at("part", n)]
        if not parts or any(number in self.names for number in range(begin, end)):
            return False
        return not any(self.end_at("whole", n) for n in range(begin, end) if n not in parts)

    def is_of_material(self, hit: Hit) -> bool:
        """Tell whether a doubt is whether the piece is of gold, silver or shell."""
        end = self.reach_of(hit, _MATERIAL_BEHIND)
        return not _PRECIOUS.isdisjoint(self.words[hit.last : end])

    def closes_else(self, hit: Hit) -> bool:
        """Tell whether a doubt ends a sentence on another topic ("about 1930, but no promises")."""
        if hit.last < len(self.words) and self.words[hit.last] not in _BREAKS:
            return False
        begin = self.reading.sentence_at(hit.first)[0]
        before = range(max(begin, hit.first - _PART_REACH), hit.first)
        if any(n in self.names for n in before) or self.has("real", before.start, before.stop):
            return False
        return self.is_about_else(before.start, before.stop)

    def closes_name(self, hit: Hit) -> bool:
        """Tell whether a doubt ends a sentence right behind a name ("wird NAME zugeschrieben")."""
        if hit.last < len(self.words) and self.words[hit.last] not in _BREAKS:
            return False
        number = self.name_ahead(hit, 3)
        return number is not None and not self.is_about_else(number + 1, hit.first)

    def ends_clause(self, hit: Hit) -> bool:
        """Tell whether a cue is the last thing said before a stop or a comma."""
        if hit.last >= len(self.words):
            return True
        return self.words[hit.last] in _BREAKS or self.words[hit.last] == ","

    def is_if_not(self, hit: Hit) -> bool:
        """Tell whether "if not genuine" promises something rather than denying it."""
        begin, _ = clause_at(self.reading, hit.first, hit.last)
        return any(word in _IF for word in self.words[max(begin, hit.first - 8) : hit.last])

    def is_strange_name(self, number: int) -> bool:
        """Tell whether a word has a capital and is in no list; in German that is a hint only.

        In a text without any capital every unknown word may be one.
        """
        if number >= len(self.words):
            return False
        word, raw = self.words[number], self.reading.text[self.reading.starts[number]]
        is_name = raw.isupper() or self.reading.text.islower()
        return is_name and len(word) > 3 and word.isalpha() and word not in vocabulary()

    def is_discount(self, hit: Hit) -> bool:
        """Tell whether "knock off" takes money off a price."""
        if self.words[hit.first] not in ("knock", "knocks"):
            return False
        following = self.words[hit.last] if hit.last < len(self.words) else "."
        return following[0].isdigit() or following in ("the", "a", "some", "something", "postage")

    def reach_of(self, hit: Hit, reach: int) -> int:
        """Give where a doubt ends: with its sentence, unless that ends with the doubt itself."""
        end = min(len(self.words), hit.last + reach)
        stop = next((n for n in range(hit.last, end) if self.words[n] in _BREAKS), end)
        return stop if stop > hit.last else end

    def is_about_else(self, first: int, last: int) -> bool:
        """Tell whether words [first, last) name another topic: age, size, marks, condition."""
        return any(
            self.words[number][0].isdigit() or self.end_at("topic", number)
            for number in range(first, min(last, len(self.words)))
        )


def _names(reading: Reading) -> Iterator[int]:
    """Give the words that are likely makers' names: in no list, in the title or with a capital.

    German writes every noun with a capital: there only the title tells.
    """
    words = reading.words
    strange = [
        number for number in reading.strange() if len(words[number]) > 3 and words[number].isalpha()
    ]
    title_end = reading.text.find("\n") % (len(reading.text) + 1)
    in_title = {reading.words[n] for n in strange if reading.starts[n] < title_end}
    in_title |= {word.removesuffix("s") for word in in_title} | {f"{word}s" for word in in_title}
    for number in strange:
        has_capital = reading.text[reading.starts[number]].isupper()
        if reading.words[number] in in_title or (has_capital and reading.languages[number] != "de"):
            yield number


def _disclaimed(listing: _Listing) -> Iterator[Found]:
    denials = listing.found("denial")
    for hit in listing.found("disclaimed"):
        if any(d.first <= hit.first and hit.last <= d.last for d in denials):
            continue
        if listing.is_discount(hit) or any(
            h.first <= hit.first and hit.last <= h.last for h in listing.found("hedged")
        ):
            continue
        if listing.is_warned_of(hit) or listing.is_rebutted(hit):
            continue
        if listing.is_if_not(hit) or (
            negations_before(listing.reading, hit.first, 3) and not _denies(listing, hit)
        ):
            yield "asserted", hit
        elif hit.value == "maker" and listing.is_of_thing(hit):
            continue
        elif not (listing.is_of_other(hit) or listing.speaks_of_part(hit)):
            yield "disclaimed", hit
    for hit in denials:
        yield "asserted", hit
    yield from _denied_names(listing)
    doubts = (*listing.found("hedge"), *listing.found("hedged"))
    for hit in listing.found("after"):
        if any(doubt.first < hit.first < doubt.last for doubt in doubts):
            continue
        if _is_of_maker(listing, hit) and listing.is_of_thing(hit):
            continue
        number = listing.name_behind(hit, _reach_after(listing, hit))
        is_named = number is not None or listing.is_strange_name(hit.last)
        if is_named or listing.has_small("famous", hit.last, hit.last + 4):
            yield "disclaimed", hit
    for hit in listing.found("look"):
        if any(doubt.first <= hit.first < doubt.last for doubt in doubts):
            continue
        if _disclaims(listing, hit):
            yield "disclaimed", hit


def _is_of_maker(listing: _Listing, hit: Hit) -> bool:
    """Tell whether a cue denies who made a thing ("not from"), unlike whose style it is of."""
    return hit.value == "maker" or not _NEGATIVE.isdisjoint(listing.words[hit.first : hit.last])


def _reach_after(listing: _Listing, hit: Hit) -> int:
    """Give how far behind "in the style of" the name may stand; near behind "not by"."""
    word, count = listing.words[hit.first], hit.last - hit.first
    if word == "a" and (count < 2 or listing.words[hit.first + 1] == "la"):
        return 1
    is_near = word in _NEGATIVE or (word == "d" and count == 2)
    return 2 if is_near else 5


_NEGATIVE = small_words("negates_ahead") | {"not", "nicht", "non", "pas", "never"}


def _denied_names(listing: _Listing) -> Iterator[Found]:
    """Read "these are not NAME", "sind keine NAME", "non sono NAME"."""
    words = listing.words
    for hit in listing.reading.found("words.not"):
        number = hit.last
        is_said = hit.first > 0 and words[hit.first - 1] in _COPULA
        is_said = is_said or words[hit.first] in _COPULA
        if number < len(words) and words[number] in _COPULA:
            is_said, number = True, number + 1
        while is_said and number < len(words) and words[number] in _ARTICLES:
            number += 1
        if is_said and number in listing.names and _is_told(listing, number):
            start, end = listing.reading.starts[hit.first], listing.reading.ends[number]
            yield "disclaimed", Hit(hit.name, "", hit.first, number + 1, start, end)


def _is_told(listing: _Listing, number: int) -> bool:
    """Tell whether capitals surely mark a name: not all is in capitals, or it comes again."""
    reading, word = listing.reading, listing.words[number]
    text = reading.text[reading.starts[number] : reading.ends[number]]
    return not text.isupper() or listing.words.count(word) > 1


_COPULA = small_words("is_copula")
_ARTICLES = small_words("indefinite") | small_words("definite") | {"de", "des", "von"}


def _denies(listing: _Listing, hit: Hit) -> bool:
    """Tell whether a cue holds its own negation ("pas des originales")."""
    negations = listing.reading.found("words.not")
    return any(hit.first <= other.first < hit.last for other in negations)


def _disclaims(listing: _Listing, hit: Hit) -> bool:
    """Tell whether "style" or "type" stands beside a name and is no model number."""
    following = listing.words[hit.last] if hit.last < len(listing.words) else "."
    if following[0].isdigit() or following in ("no", "nr", "great", "good", "at", "lovely", "new"):
        return False
    word = listing.words[hit.first]
    if word == "optik" and listing.reading.plain[hit.start - 1 : hit.start] != "-":
        return False  # a shop's name, unlike "Vennerby-Optik"
    if word in ("wie", "comme", "como", "alla", "like"):
        number = listing.name_behind(hit, 2)
        return number is not None and not listing.is_marked(number)
    return (
        hit.first - 1 in listing.names
        or hit.last in listing.names
        or (following in ("de", "di", "von", "a") and hit.last + 1 in listing.names)
    )


def _hedged(listing: _Listing) -> Iterator[Found]:
    sold = [
        hit
        for hit in listing.reading.found("key_phrases.returns_refused")
        if not _is_doubted_before(listing, hit)
    ]
    for hit in listing.found("hedged"):
        if any(s.first <= hit.first and hit.last <= s.last for s in sold):
            continue
        if listing.is_rebutted(hit) or listing.is_of_part(hit) or _is_denied(listing, hit):
            continue
        number = listing.name_behind(hit, 6)
        if number is not None and listing.is_marked(number):
            continue
        if listing.is_of_material(hit):
            yield "hedged", hit
            continue
        real = listing.has("real", hit.last, hit.last + 5)
        following = listing.words[hit.last] if hit.last < len(listing.words) else "."
        is_whole = following in _BREAKS or following == ","
        is_whole = is_whole and hit.last - hit.first > 3  # "I believe they're right, bought ..."
        is_else = listing.is_about_else(hit.last, listing.reach_of(hit, 6))
        is_else = is_else or following in _WHENCE or listing.closes_else(hit)
        is_named = number is not None or listing.closes_name(hit)
        is_named = is_named or _closes_doubt(listing, hit)
        if hit.value == "known":  # "described to the best of my knowledge" doubts nothing
            real = real or _is_called_real(listing, hit)
            is_whole, is_else = False, True
        if is_named or real or is_whole or not is_else:
            yield "hedged", hit
    for hit in listing.found("hedge"):
        if any(s.first <= hit.first and hit.last <= s.last for s in sold):
            continue
        if _is_no_maybe(listing, hit) or listing.is_rebutted(hit) or listing.is_of_part(hit):
            continue
        if _hedges(listing, hit) or _doubts_material(listing, hit):
            yield "hedged", hit
    for number in sorted(listing.names) if "?" in listing.reading.text else ():
        if _is_asked(listing, number):
            start, end = listing.reading.starts[number], listing.reading.ends[number]
            yield "hedged", Hit("authenticity.asked", "", number, number + 1, start, end)


def _is_called_real(listing: _Listing, hit: Hit) -> bool:
    """Tell whether "genuine" stands beside a doubt, before it or behind it."""
    return any(
        listing.has(name, max(0, hit.first - _BESIDE), hit.last + _BESIDE)
        for name in ("real", "true")
    )


_BESIDE = 4  # words


def _is_doubted_before(listing: _Listing, hit: Hit) -> bool:
    """Tell whether a doubt stands before in the sentence ("probably Rodenau, but no promises")."""
    low = listing.reading.sentence_at(hit.first)[0]
    return any(low <= doubt.first < hit.first for doubt in listing.found("hedge"))


def _doubts_material(listing: _Listing, hit: Hit) -> bool:
    """Tell whether a weak doubt of the material is owned to ("I believe it's gold, not tested")."""
    if not listing.is_of_material(hit):
        return False
    _, high = listing.reading.sentence_at(hit.first)
    return any(hit.last <= other.first < high for other in listing.found("untold"))


def _closes_doubt(listing: _Listing, hit: Hit) -> bool:
    """Tell whether a doubt ends a sentence that doubts already, and on no other topic."""
    if not _is_doubted_before(listing, hit) or listing.closes_else(hit):
        return False
    return hit.last >= len(listing.words) or listing.words[hit.last] in _BREAKS


def _is_denied(listing: _Listing, hit: Hit) -> bool:
    """Tell whether there is no such doubt ("no family story"); "not" inside it is its own."""
    before = listing.words[hit.first - 1] if hit.first else "."
    return before in _NONE and not _denies(listing, hit)


_NONE = frozenset(("no", "keine", "kein", "aucune", "aucun", "nessuna", "nessun", "ninguna"))


def _is_no_maybe(listing: _Listing, hit: Hit) -> bool:
    """Tell whether a doubt is denied: "no maybe about it", "nicht vielleicht, sondern sicher"."""
    if listing.words[hit.first] not in _MAYBE:
        return False
    return negations_before(listing.reading, hit.first, 1)


_MAYBE = small_words("maybe")


def _hedges(listing: _Listing, hit: Hit) -> bool:
    """Tell whether a weak doubt touches the maker."""
    number = listing.name_behind(hit, 6)
    if number is not None and listing.is_marked(number):
        return False
    if number is not None and not listing.is_about_else(hit.last, number):
        return not (_names_a_mark(listing, number) or _reads_a_mark(listing, hit, number))
    if any(
        listing.has(name, hit.last, hit.last + 5)
        and not listing.is_about_else(hit.last, hit.last + 3)
        for name in ("real", "original")
    ):
        return not listing.has_small("other", hit.last, hit.last + 6)
    is_last = hit.last >= len(listing.words) or listing.words[hit.last] in _BREAKS
    if not is_last:
        return False
    number = listing.name_ahead(hit, 6)
    return number is not None and not listing.is_about_else(number + 1, hit.first)


def _names_a_mark(listing: _Listing, number: int) -> bool:
    """Tell whether "stamp" or "inscription" follows a name: then the mark is in doubt."""
    following = listing.words[number + 1] if number + 1 < len(listing.words) else "."
    if following == "," or following in _BREAKS:
        return False
    return any(
        number < hit.first <= number + 2
        for name in ("markings.noun", "markings.verb")
        for hit in listing.reading.found(name)
    )


def _reads_a_mark(listing: _Listing, hit: Hit, number: int) -> bool:
    """Tell whether a mark is guessed at ("cannot make out the hallmark, might be Sheffield")."""
    low, words = listing.reading.sentence_at(hit.first)[0], listing.words
    if words.count(words[number]) > 1:
        return False
    return any(low <= noun.first < hit.first for noun in listing.reading.found("markings.noun"))


def _is_asked(listing: _Listing, number: int) -> bool:
    """Tell whether a name in the title is put in question ("Feyrand? no papers")."""
    reading = listing.reading
    end = reading.ends[number]
    title_end = reading.text.find("\n")
    title = reading.text[: max(title_end, 0)]
    if not (reading.text[reading.starts[number]].isupper() or title.islower()):
        return False
    if title_end < 0 or end > title_end:
        return reading.plain[end : end + 4].strip() == "(?)"
    return reading.plain[end : end + 3].strip().startswith(("?", "(?"))


def _answered(listing: _Listing) -> Iterator[Found]:
    """Read "real NAME? no" as the denial it is."""
    if "?" not in listing.reading.text:
        return
    for name in ("real", "true", "original"):
        for hit in listing.found(name):
            label = _answer_label(listing, hit)
            if label and not listing.is_of_other(hit):
                yield label, hit
    for number in sorted(listing.names):
        if listing.words[number + 1 : number + 2] == ("?",) and _is_unknown(listing, number):
            start, end = listing.reading.starts[number], listing.reading.ends[number]
            yield "hedged", Hit("authenticity.asked", "", number, number + 1, start, end)


def _is_unknown(listing: _Listing, number: int) -> bool:
    """Tell whether the seller answers not to know, when a name is asked ("NAME? Not sure.")."""
    asked = answer_number(listing.reading, number + 1)
    if asked is None or listing.is_marked(number):
        return False
    _, end = listing.reading.sentence_at(asked)
    return not _UNKNOWING.isdisjoint(listing.words[asked : min(end, asked + _ANSWER)])


def _answer_label(listing: _Listing, hit: Hit) -> AuthenticityLabel | None:
    """Tell what the answer to "is it real?" makes of it; None if nothing was asked or answered."""
    asked = answer_number(listing.reading, hit.last)
    if asked is None:
        return None
    words = listing.words
    end = next((n for n in range(asked, len(words)) if words[n] in _ENDS), len(words))
    answer = words[asked : min(end, asked + _ANSWER)]
    if not _UNKNOWING.isdisjoint(answer) and words[asked] not in _YES:
        return "hedged"
    if words[asked] in _NO:
        return "disclaimed"
    return "asserted" if words[asked] in _YES else None


_ENDS = frozenset(".!?;\n")
_ANSWER = 8  # words of an answer
_YES, _UNKNOWING = small_words("yes"), small_words("unknowing")


def _asserted(listing: _Listing) -> Iterator[Found]:
    reading = listing.reading
    for hit in listing.found("real"):
        if listing.is_of_other(hit):
            continue
        if hit.last < len(listing.words) and listing.words[hit.last] == "?":
            if _answer_label(listing, hit) is None:
                yield "hedged", hit
        elif listing.is_rebutted(hit):
            continue
        elif negations_before(reading, hit.first, 3) and not listing.is_if_not(hit):
            yield "hedged" if hit.value == "promise" else "disclaimed", hit
        else:
            yield "asserted", hit
    for hit in listing.found("true"):
        reach = 6 if listing.ends_clause(hit) else 2  # "these Montferval, the real ones"
        near = listing.name_behind(hit, 3) is not None or listing.name_ahead(hit, reach) is not None
        if near and not listing.is_of_other(hit) and not negations_before(reading, hit.first, 2):
            yield "asserted", hit
    for hit in listing.found("original"):
        near = listing.name_behind(hit, 2) is not None or hit.first - 1 in listing.names
        if near and not listing.is_of_other(hit) and not negations_before(reading, hit.first, 3):
            yield "asserted", hit


def find_authenticity(reading: Reading) -> Authenticity:
    """Give the one label of the listing and the words that gave it."""
    listing = _Listing(reading)
    found = [*_disclaimed(listing), *_answered(listing), *_hedged(listing), *_asserted(listing)]
    for label in _LABELS:
        places = sorted({(hit.start, hit.end) for name, hit in found if name == label})
        if places:
            return Authenticity(label, tuple(reading.span(*place) for place in places))
    return Authenticity()
