"""Construction claims: hinges, screws, rivets, core wire, pads, lenses, fillings, movements ..."""

from __future__ import annotations

from itertools import zip_longest

from extractors.lexicon import numeral, small_words
from extractors.reading import Hit, Reading
from extractors.records import Claimed, Feature
from extractors.scope import claim_of, clause_at
from extractors.size_cues import guess_goods

_LENSES = small_words("lens")
_OUT_OF = small_words("out_of")
_BUT = small_words("but")
_LACKING = small_words("lacking")
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


def _value(reading: Reading, hit: Hit) -> str | None:
    """Give the normal form: the number said where the list says #, else the list's value."""
    if hit.value != "#":
        return hit.value or None
    first = hit.first
    if reading.words[first - 1 : first] == ("/",) and first > 1:
        first -= 2  # "4/3 barrel": four and three
    numbers = [numeral(word) for word in reading.words[first : hit.last]]
    told = [number for number in numbers if number is not None]
    if first < hit.first and len(told) > 1:
        return str(told[0] + told[1])
    return str(told[0]) if told else None


def _is_rating(reading: Reading, hit: Hit) -> bool:
    """Tell whether the number only rates ("hinges 5/10", "hinges: 8 of 10")."""
    words = reading.words[hit.last : hit.last + 3]
    return hit.value == "#" and words[:1] != () and words[0] in _OUT_OF and "10" in words


def _is_replaced(reading: Reading, hit: Hit, following: Hit | None) -> bool:
    """Tell whether this is the X of "not X but Y"."""
    if following is None or following.name != hit.name or following.first - hit.last > 4:
        return False
    between = reading.words[hit.last : following.first]
    is_turned = any(word in _BUT for word in between)
    return is_turned and claim_of(reading, hit.first, hit.last, reach=_REACH) == "absent"


def _is_contrast(reading: Reading, hit: Hit, earlier: list[Hit]) -> bool:
    """Tell whether this is the Y of "X, not Y" or "X instead of Y"."""
    same = [other for other in earlier if other.name == hit.name and other.last <= hit.first]
    if not same or hit.first - same[-1].last > 5:
        return False
    return any(
        same[-1].last <= other.first and other.last <= hit.first and hit.first - other.last <= 2
        for other in reading.found("words.instead")
    )


def _join(hits: list[Hit]) -> list[Hit]:
    """Make one hit of overlapping hits of a kind; the first value named counts."""
    joined: list[Hit] = []
    for hit in hits:
        twin = next(
            (
                n
                for n, o in list(enumerate(joined))[-6:]
                if o.name == hit.name and o.end > hit.start
            ),
            None,
        )
        if twin is None:
            joined.append(hit)
        elif hit.end > joined[twin].end and not joined[twin].value:
            joined[twin] = joined[twin]._replace(value=hit.value, last=hit.last, end=hit.end)
    return joined


def _kind(reading: Reading, hit: Hit) -> str:
    """Name the kind; mineral glass of a watch is its crystal unless lenses are named."""
    kind = hit.name.removeprefix("construction.")
    if kind != "lens_material" or not reading.found("words.watch"):
        return kind
    is_lens = any(word in _LENSES for word in reading.words[hit.first : hit.last])
    return kind if is_lens else "crystal"


def _claim_of(reading: Reading, hit: Hit) -> Claimed:
    """Say how a hit is claimed; what is called missing is absent, what is asked is answered."""
    last_word = reading.words[hit.last - 1]
    if last_word in _LACKING and hit.last - hit.first > 1:
        return "absent"
    last = hit.last - (last_word == "?")
    claimed = claim_of(reading, hit.first, last, reach=_REACH)
    return "absent" if claimed == "present" and _is_lost(reading, hit) else claimed


def _is_lost(reading: Reading, hit: Hit) -> bool:
    """Tell whether the clause goes on to say that the part has come off."""
    hits = reading.found("words.lost")
    if not hits:
        return False
    _, end = clause_at(reading, hit.first, hit.last)
    return any(hit.last <= lost.first < min(end, hit.last + _REACH) for lost in hits)


def _wears_no_clasp(reading: Reading) -> bool:
    """Tell whether goods are sold that have no clasp of their own."""
    title_end = reading.plain.find("\n")
    title_end = title_end if title_end >= 0 else len(reading.plain)
    return guess_goods(reading.plain, title_end) == "spectacles" and any(
        word in _LENSES for word in reading.words
    )


def find_features(reading: Reading) -> tuple[Feature, ...]:
    """Find every construction claim; each mention once, in the order of the text."""
    named = (hit for kind in KINDS for hit in reading.found(f"construction.{kind}"))
    found: list[Feature] = []
    kept: list[Hit] = []
    joined = _join(sorted(named, key=lambda hit: (hit.start, -hit.end)))
    for hit, following in zip_longest(joined, joined[1:]):
        if _is_contrast(reading, hit, kept) or _is_replaced(reading, hit, following):
            continue
        if _is_rating(reading, hit):
            continue
        if hit.name == "construction.clasp" and _wears_no_clasp(reading):
            continue  # a clip-on lens, a case with a clasp
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
