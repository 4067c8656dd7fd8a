"""Construction claims: hinges, screws, rivets, core wire, pads, lenses, fillings, movements ..."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import zip_longest
from operator import itemgetter

from extractors.lexicon import numeral, read_rows, small_words
from extractors.reading import Hit, Met, Reading
from extractors.records import Claimed, Feature
from extractors.scope import claim_of, clause_at, is_negated
from extractors.size_cues import guess_goods

_LENSES = small_words("lens")
_OUT_OF = small_words("out_of")
_BUT = small_words("but")
_LACKING = small_words("lacking")
_GONE = "gone"  # value of a part that was there once
_REACH = 3  # words between "no" and what is not there; text may have no stops at all
KINDS = (
    "hinge",
    "screws",
    "rivets",
    "core_wire",
    "nose_pads",
    "lens_material",
    "temple_style",
    "filling_system",
    "movement",
    "crystal",
    "aperture_blades",
    "clasp",
)
_CUES = tuple(f"construction.{kind}" for kind in KINDS)


def _value(reading: Reading, hit: Hit) -> str | None:
    """Give the normal form: the number said where the list says #, else the list's value."""
    if hit.value != "#":
        return None if hit.value in ("", _GONE) else hit.value
    right = _put_right(reading, hit)
    if right is not None:
        return str(right)
    first = hit.first
    if reading.words[first - 1 : first] == ("/",) and first > 1:
        first -= 2  # "4/3 barrel": four and three
    numbers = [numeral(word) for word in reading.words[first : hit.last]]
    told = [number for number in numbers if number is not None]
    if first < hit.first and len(told) > 1:
        return str(told[0] + told[1])
    return str(told[0]) if told else None


def _put_right(reading: Reading, hit: Hit) -> int | None:
    """Give the number that is right after all: "not five barrels but seven"."""
    behind = reading.words[hit.last : hit.last + 3]
    if hit.value != "#" or _BUT.isdisjoint(behind[:2]):
        return None
    return next((n for n in map(numeral, behind[1:]) if n is not None), None)


def _is_rating(reading: Reading, hit: Hit) -> bool:
    """Tell whether the number only rates ("hinges 5/10", "hinges: 8 of 10")."""
    words = reading.words[hit.last : hit.last + 3]
    return words[:1] != () and words[0] in _OUT_OF and "10" in words


def _is_replaced(reading: Reading, hit: Hit, following: Hit) -> bool:
    """Tell whether this is the X of "not X but Y", the one that follows being of its kind."""
    if following.first - hit.last > 4:
        return False
    between = reading.words[hit.last : following.first]
    is_turned = any(word in _BUT for word in between)
    return is_turned and claim_of(reading, hit.first, hit.last, reach=_REACH) == "absent"


def _is_contrast(turns: Sequence[Hit], hit: Hit, earlier: list[Hit]) -> bool:
    """Tell whether this is the Y of "X, not Y" or "X instead of Y"."""
    first = hit.first
    turns = [turn for turn in turns if first - 2 <= turn.last <= first]
    if not turns:
        return False
    same = [other for other in earlier if other.name == hit.name and other.last <= first]
    if not same or first - same[-1].last > 5:
        return False
    return any(same[-1].last <= turn.first for turn in turns)


def _before_contrast(reading: Reading, hit: Hit) -> Hit:
    """Give the first half of "screws are slotted and not Phillips", if that is a cue as well."""
    if hit.last - hit.first <= _REACH:
        return hit
    inner = [n.first for n in reading.found("words.not") if hit.first < n.first < hit.last]
    if not inner:
        return hit
    halves = [
        (last, value)
        for first, last, value in reading.cues.get(hit.name, ())
        if first == hit.first and last <= inner[0]
    ]
    if not halves:
        return hit
    last, value = max(halves)
    return hit._replace(value=value, last=last, end=reading.ends[last - 1])


def _join(hits: list[Hit]) -> list[Hit]:
    """Make one hit of overlapping hits of a kind; the first value named counts."""
    joined: list[Hit] = []
    latest: dict[str, int] = {}
    for hit in hits:
        twin = latest.get(hit.name)
        if twin is None or joined[twin].end <= hit.start:
            latest[hit.name] = len(joined)
            joined.append(hit)
        elif hit.end > joined[twin].end and not joined[twin].value:
            joined[twin] = joined[twin]._replace(value=hit.value, last=hit.last, end=hit.end)
    return joined


def _kind(reading: Reading, hit: Hit) -> str:
    """Name the kind; mineral glass of a watch is its crystal unless lenses are named."""
    if hit.name != "construction.lens_material":
        return hit.name[len("construction.") :]
    if not reading.found("words.watch") and _goods(reading) != "watch":
        return "lens_material"
    is_lens = any(word in _LENSES for word in reading.words[hit.first : hit.last])
    return "lens_material" if is_lens else "crystal"


def _claim_of(reading: Reading, hit: Hit) -> Claimed:
    """Say how a hit is claimed; if one of several is missing, the others are there."""
    claimed = _told_of(reading, hit)
    if claimed == "absent" and _is_one_lost(reading, hit):
        return "present"
    return "unsure" if claimed == "present" and _is_doubted_behind(reading, hit) else claimed


def _is_one_lost(reading: Reading, hit: Hit) -> bool:
    """Tell whether one rivet, screw or pad is missing: "eine Niete fehlt rechts"."""
    if hit.name not in _SEVERAL:
        return False
    words = reading.words
    counted = words[max(0, hit.first - 1) : hit.first + 1]
    if _INDEFINITE.isdisjoint(counted) and 1 not in map(numeral, counted):
        return False
    begin, end = clause_at(reading, hit.first, hit.last)
    near = words[max(begin, hit.first - _LOSS) : min(end, hit.last + _LOSS)]
    return not _LOST_ONE.isdisjoint(near)


_SEVERAL = frozenset(("construction.rivets", "construction.screws", "construction.nose_pads"))
_INDEFINITE, _LOST_ONE, _LOSS = small_words("indefinite"), small_words("lost_one"), 4


def _is_doubted_behind(reading: Reading, hit: Hit) -> bool:
    """Tell whether the next clause says no more than a doubt: "glass lenses, I think"."""
    number = hit.last
    if reading.words[number : number + 1] != (",",) or "words.unsure" not in reading.cues:
        return False
    doubts = [n for n in reading.found("words.unsure") if n.first == number + 1]
    return any(n.last == clause_at(reading, n.first, n.first + 1)[1] for n in doubts)


def _told_of(reading: Reading, hit: Hit) -> Claimed:
    """Say how a hit is told of; what is called missing is absent, what is asked is answered."""
    last_word = reading.words[hit.last - 1]
    if hit.value == _GONE:
        return "absent"
    if last_word in _LACKING and hit.last - hit.first > 1:
        return "absent"
    last = hit.last - (last_word == "?")
    claimed = claim_of(reading, hit.first, last, reach=_REACH)
    if claimed == "absent" and _put_right(reading, hit) is not None:
        return "present"
    return "absent" if claimed == "present" and _is_lost(reading, hit) else claimed


def _is_lost(reading: Reading, hit: Hit) -> bool:
    """Tell whether the clause goes on to say that the part has come off."""
    if "words.lost" not in reading.cues:
        return False
    hits = reading.found("words.lost")
    _, end = clause_at(reading, hit.first, hit.last)
    return any(hit.last <= lost.first < min(end, hit.last + _REACH) for lost in hits)


def _goods(reading: Reading) -> str:
    """Name the goods that the text sells."""
    found: str | None = reading.memory.get("goods")
    if found is None:
        title_end = reading.plain.find("\n")
        title_end = title_end if title_end >= 0 else len(reading.plain)
        found = reading.memory["goods"] = guess_goods(reading.plain, title_end)
    return found


# --- a part and its trait, wherever they stand in a clause -----------------------------------


@cache
def _frames(goods: str) -> Mapping[str, Mapping[str, tuple[tuple[str, str], ...]]]:
    """Give, by trait and part, what they tell of some goods: kinds, each with its value."""
    found: dict[str, dict[str, tuple[tuple[str, str], ...]]] = {}
    for row in read_rows("construction_frames"):
        if row["goods"] in ("", goods):
            of_trait = found.setdefault(row["trait"], {})
            told = row["kind"], row["value"]
            of_trait[row["part"]] = (*of_trait.get(row["part"], ()), told)
    return found


def _composed(reading: Reading, named: list[Hit]) -> Iterator[Hit]:
    """Find what a part and a trait tell together: "the lenses, says he, are real glass".

    Not where a cue of the same kind already takes one of the words.
    """
    parts = reading.cues.get("parts.part")
    if not parts:
        return
    if "pad" in map(_NAME, parts):
        yield from _denied(reading, parts, named)
    every = reading.cues.get("parts.trait")
    if not every:
        return
    told = _frames(_goods(reading))
    parts = [*dict(zip(map(_FIRST_WORD, parts), parts, strict=True)).values()]  # the longest
    longest = dict(map(_RANGE, every))  # of a word: it was met last
    for trait in every:
        if trait[2] not in told or longest[trait[0]] != trait[1]:
            continue
        frames = told[trait[2]]
        part = _bearer(reading, trait, parts, frames)
        for kind, value in frames.get(part[2], ()) if part else ():
            assert part is not None
            first, last = min(part[0], trait[0]), max(part[1], trait[1])
            name = f"construction.{kind}"
            if any(n.name == name and n.first < last and first < n.last for n in named):
                continue
            if trait[2] == "wire" and not _is_linked(reading, first, last):
                continue
            yield Hit(name, value, first, last, reading.starts[first], reading.ends[last - 1])


_FIRST_WORD, _RANGE, _NAME = itemgetter(0), itemgetter(0, 1), itemgetter(2)


def _denied(reading: Reading, parts: list[Met], named: list[Hit]) -> Iterator[Hit]:
    """Find pads that are said not to be there: "nothing by way of pads"."""
    for first, last, _ in [part for part in parts if part[2] == "pad"]:
        if not is_negated(reading, first, last, 0, inside=False):
            continue
        if not any(n.first < last and first < n.last for n in named):
            start, end = reading.starts[first], reading.ends[last - 1]
            yield Hit("construction.nose_pads", "", first, last, start, end)


def _bearer(
    reading: Reading, trait: Met, parts: list[Met], frames: Mapping[str, object]
) -> Met | None:
    """Give the part that has a trait: the nearest of its clause that no other part is before.

    English and German put the trait first ("glass lenses"), the others the part.
    """
    begin, end, _ = trait
    before: Met | None = None
    behind: Met | None = None
    middle = bisect_left(parts, (begin,))
    for part in parts[max(0, middle - _BACK) : middle][::-1]:
        last = part[1]
        if last <= begin and (part[2] in _HOLDING or part[2] in frames):
            is_far = begin - last > _BACK
            before = part if not is_far and _is_near(reading, last, begin) else None
            break
    for part in parts[middle : middle + _BACK]:
        first = part[0]
        if first >= end and (part[2] in _HOLDING or part[2] in frames):
            is_far = first - end > _AHEAD
            behind = part if not is_far and _is_near(reading, end, first) else None
            break
    if not before or not behind:
        return before or behind
    is_first = reading.languages[begin] in _TRAIT_FIRST
    return behind if behind[0] == end and is_first else before


def _is_near(reading: Reading, first: int, last: int) -> bool:
    """Tell whether words [first, last) keep a part and its trait together."""
    if first == last:
        return True
    between = reading.words[first:last]
    number = len(between)
    while number and between[number - 1] in _OF:
        number -= 1
    if 1 < number < len(between) and between[number - 1] == ",":
        between = between[: number - 1]  # "the lenses are old, of glass"
    return _PARTING.isdisjoint(between) or (len(between) == 1 and between[0] in _COLONS)


def _is_linked(reading: Reading, first: int, last: int) -> bool:
    """Tell whether something says that a wire is in the arm: "metal arms" have none inside."""
    begin, end = clause_at(reading, first, last)
    return any(begin <= hit.first < end for hit in reading.found("parts.link"))


_HOLDING = frozenset(("other", "lens", "arm", "hinge", "screw", "rivet", "pad"))
_OF = small_words("made_of")
_BACK, _AHEAD = 9, 4  # words between a part and its trait behind it, before it
_PARTING = frozenset(",;:.!?\n|()•·…") | small_words("turn")
_COLONS = frozenset((":", "=", "-", ",", "?"))
_TRAIT_FIRST = ("en", "de", "")


def _is_of_other_goods(reading: Reading, hit: Hit, hits: list[Hit]) -> bool:
    """Tell whether the goods sold cannot have what a cue names, or a hinge has the leaves."""
    if hit.name == "construction.clasp":  # a clip-on lens, a case with a clasp
        return _goods(reading) == "spectacles" and not _LENSES.isdisjoint(reading.words)
    if hit.name == "construction.filling_system":
        return _goods(reading) == "jewellery"
    if hit.name == "construction.movement":
        return _goods(reading) == "jewellery" and not reading.found("words.watch")
    is_leaf = not _LEAVES.isdisjoint(reading.words[hit.first : hit.last])
    return (is_leaf and _goods(reading) == "spectacles") or any(
        other.name == "construction.hinge" and other.first < hit.last and hit.first < other.last
        for other in hits
    )


_GATED = frozenset(
    f"construction.{kind}" for kind in ("filling_system", "movement", "aperture_blades", "clasp")
)
_LEAVES = frozenset(("leaf", "leaves", "leaved"))


def find_features(reading: Reading) -> tuple[Feature, ...]:
    """Find every construction claim; each mention once, in the order of the text."""
    named = [
        _before_contrast(reading, hit)
        for name in _CUES
        if name in reading.cues
        for hit in reading.found(name)
    ]
    named += [*_composed(reading, named)]
    found: list[Feature] = []
    kept: list[Hit] = []
    joined = _join(sorted(named, key=lambda hit: (hit.start, -hit.end)))
    turns = reading.found("words.instead") if joined else ()
    for hit, following in zip_longest(joined, joined[1:]):
        if turns and _is_contrast(turns, hit, kept):
            continue
        if following and following.name == hit.name and _is_replaced(reading, hit, following):
            continue
        if hit.value == "#" and _is_rating(reading, hit):
            continue
        if hit.name in _GATED and _is_of_other_goods(reading, hit, joined):
            continue  # a hinge of five leaves, a pump clasp
        kept.append(hit)
        found.append(
            Feature(
                _kind(reading, hit),
                reading.text[hit.start : hit.end],
                _claim_of(reading, hit),
                _value(reading, hit),
                (reading.span(hit.start, hit.end),),
            )
        )
    return tuple(found)
