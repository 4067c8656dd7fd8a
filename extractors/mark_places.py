"""Where a mark sits: reading place phrases ("the inner left temple", "innen am Bügel")."""

from __future__ import annotations

from extractors.lexicon import small_words
from extractors.reading import Reading

_JOINTS = small_words("place_joint")
_ARTICLES = frozenset(("dem", "der", "den", "el", "la", "los", "las"))
LEFT_RIGHT = small_words("left_right")
_ENDS = frozenset(".,;:!?\n()") | small_words("joins") | small_words("turn")
_GOES_ON = small_words("copula") | small_words("indefinite") | small_words("goes_on")
_REACH = 9  # words between a mark and the place named behind it
_LONGEST = 12  # words of a place phrase; bounds the work on endless runs of "a", "in" or "left"
_FARTHEST = 60  # words between a place named before and its mark

Range = tuple[int, int]


class Places:
    """The place phrases of one text."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.place, self.adjective, self.article, self.prep = (
            reading.reach(f"markings.{name}") for name in ("place", "adj", "article", "prep")
        )
        self._free_figures(frozenset(reading.figures()))

    def _free_figures(self, figures: frozenset[int]) -> None:
        """Take figures out of places: a cue with "one" stands for any number."""
        for table in (self.place, self.adjective, self.article):
            for number in table.keys() & figures:
                if table[number] == number + 1:
                    del table[number]
        before = {number - 1 for number in figures}
        for number in self.place.keys() & before:  # "left one" is a place, "left 48" is none
            if self.place[number] == number + 2:
                del self.place[number]

    def at(self, number: int, high: int) -> Range | None:
        """Read a place phrase (article, adjectives, noun) that begins at word `number`."""
        begin, end = number, None
        high = min(high, number + _LONGEST)
        place, adjective, article = self.place, self.adjective, self.article
        while number < high:
            last = noun = place.get(number, 0)
            if number in adjective:
                last = max(last, adjective[number])
            if end is None:
                if number in article:
                    last = max(last, article[number])
                if not last:
                    return None
                end = last if noun and noun >= last else None
            elif last:
                if self._is_shouted(number, begin):
                    break  # "inner temple FRAME FRANCE": the capitals are the mark
                end = last
            elif self._joins(number, high):
                last = number + 1
            else:
                break
            number = last
        return (begin, end) if end is not None else None

    def _is_shouted(self, number: int, begin: int) -> bool:
        """Tell whether a word stands in capitals where its place phrase does not."""
        text, starts, ends = self.reading.text, self.reading.starts, self.reading.ends
        raw = text[starts[number] : ends[number]]
        return len(raw) > 1 and raw.isupper() and not text[starts[begin] : ends[begin]].isupper()

    def _joins(self, number: int, high: int) -> bool:
        """Tell whether "of the" and a further place noun follow ("corner of the lens")."""
        if self.reading.words[number] not in _JOINTS:
            return False
        following = number + 1
        while following < high and following in self.article:
            following = self.article[following]
        is_and = self.reading.words[number] in ("and", "und", "et", "e", "y")
        return not is_and and (following in self.place or following in self.adjective)

    def with_preposition(self, number: int, high: int) -> Range | None:
        """Read "on the bridge", "innen am Bügel" that begins at word `number`."""
        prep = self.prep.get(number)
        if prep is None:
            return None
        high = min(high, number + _LONGEST)
        after = prep
        while after in self.prep and after < high and after not in self.place:
            after = self.prep[after]
        found = self.at(after, high)
        if found is None and number not in self.place:
            is_place = any(self.place.get(n) == after for n in range(number, after))
            if is_place and after <= high:
                return number, after  # "à l'intérieur"
            return self._side_alone(number, after, high)
        if found is None:
            return self.at(number, high)
        has_article = found[0] in self.article or self.reading.words[number] == "on"
        if has_article:
            return found
        if after - number > 1 and self.reading.words[after - 1] in _ARTICLES:
            return after - 1, found[1]  # "dem Frontring" of "auf dem Frontring"
        return number, found[1]

    def _side_alone(self, number: int, after: int, high: int) -> Range | None:
        """Read "im rechten", "on the left", "en la izquierda": the noun was said before."""
        last = after
        while last < high and (last in self.article or self.reading.words[last] in LEFT_RIGHT):
            last = self.article[last] if last in self.article else last + 1
        while last > after and self.reading.words[last - 1] not in LEFT_RIGHT:
            last -= 1  # the article of what follows: "sur l'autre un numéro"
        if last == after:
            return None
        is_end = last >= high or self.reading.words[last] in _ENDS or self._is_capitals(last)
        word = self.reading.words[last] if last < high else ""
        is_end = is_end or word in _GOES_ON or word[:1].isdigit()
        if not is_end:
            return None
        begin = last - 1
        while begin - 1 > number and self.reading.words[begin - 1] in LEFT_RIGHT:
            begin -= 1
        return (begin - 1 if begin - 1 > number else begin), last

    def _is_capitals(self, number: int) -> bool:
        raw = self.reading.text[self.reading.starts[number] : self.reading.ends[number]]
        return len(raw) > 1 and raw.isupper()

    def after(self, number: int, high: int, reach: int = _REACH) -> Range | None:
        """Find the first place behind a word, within the sentence."""
        for begin in range(number, min(high, number + reach)):
            found = self.with_preposition(begin, high) if begin in self.prep else None
            if found is None and begin in self.place:
                found = self.at(begin, high)
            if found:
                return found
        return None

    def before(self, number: int, low: int) -> Range | None:
        """Find the last place before a word, within the sentence."""
        for begin in range(number - 1, max(low, number - _FARTHEST) - 1, -1):
            hit = self.place.get(begin)
            if hit and hit <= number:
                start = self._start_of(begin, low)
                found = self.at(start, number)
                if found is None or found[1] < hit:  # "derrière la charnière": two places
                    start, found = begin, self.at(begin, number)
                first, last = found or (begin, hit)
                return self._with_words_before(self._over_article(first, low), low), last
        return None

    def _over_article(self, number: int, low: int) -> int:
        """Take the article and adjectives right before a place to it."""
        while number > low and number - 1 in self.adjective:
            number -= 1
        if number > low and number - 1 in self.article and number not in self.article:
            number -= 1
        return number

    def _with_words_before(self, number: int, low: int) -> int:
        """Take "innen am" and "under" to a place without an article; "on" adds nothing."""
        if number in self.article:
            return number
        for first in range(max(low, number - 3), number):
            if self.prep.get(first) == number and self.reading.words[first] != "on":
                return self._with_words_before(first, low)
            if self.place.get(first) == number:
                return first
        return number

    def _start_of(self, number: int, low: int) -> int:
        """Go back over adjectives, articles and nouns that belong to a place noun."""
        start = number
        low = max(low, number - _LONGEST)
        while start > low:
            previous = start - 1
            if previous in self.place or previous in self.adjective or previous in self.article:
                start = previous
            elif (
                previous - 1 >= low
                and self.reading.words[previous] in _JOINTS
                and (previous - 1 in self.place or previous - 1 in self.adjective)
            ):
                start = previous - 1
            else:
                break
        return start
