"""Which reference a listing claims to be: title first, then specifics, then description.

A name counts when it is claimed: "like a ...", "not a ...", "fits ..." do not. Typing slips,
joined or split words and roman or arabic numerals are read through; what stays open between
several references is said with the candidates, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from rapidfuzz.distance import OSA

from extractors.folding import plain
from extractors.records import Evidence, Listing, Span
from models.passages import Passage, passages
from models.records import Candidate
from models.sheet_records import EditionSheet, ReferenceSheet
from models.sheets import Sheets
from models.wording import begins_with, ends_with, words_of


@dataclass(frozen=True, slots=True)
class Resolution:
    """The reference a listing claims (a sheet's id), or None with the candidates and the reason.

    `named` is the name as the seller gives it; where no sheet fits, it is the name that lacks one.
    `lot` holds the ids of all references where several pieces are on offer, the first named first;
    `reference` is then the first of them.
    """

    reference: str | None = None
    edition: str | None = None
    candidates: tuple[Candidate, ...] = ()
    why: str = ""
    quoted: tuple[Span, ...] = ()
    named: str | None = None
    lot: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Mention:
    """Where a passage names a reference."""

    sheet: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class _Name:
    sheet: str
    tokens: tuple[str, ...]
    compact: str
    full: bool  # holds the maker's name, or is an alias as the sheet gives it
    initials: frozenset[str]  # one of which a word must begin with for the name to stand there


@dataclass(frozen=True, slots=True)
class _Hit:
    sheet: str
    start: int
    end: int
    distance: int
    full: bool
    length: int
    claimed: bool
    hedged: bool
    torn: bool


_NUMERALS = "i,ii,iii,iv,v,vi,vii,viii,ix,x,xi,xii,xiii,xiv,xv,xvi,xvii,xviii,xix,xx"
_WORDS = "one,two,three,four,five,six,seven,eight,nine,ten,eleven,twelve"
_ROMAN = {word: str(value) for value, word in enumerate(_WORDS.split(","), 1)}
_ROMAN |= {roman: str(value) for value, roman in enumerate(_NUMERALS.split(","), 1)}
_TOKEN = re.compile(r"[a-z]+(?:'[a-z]+)?|\d+")
# words that belong to no name, so that "Quistell mod. 4107" is Quistell 4107
_COMMON = frozenset(
    {"the", "a", "an", "of", "and", "de", "la", "le", "in", "on", "by", "for", "mod", "model"}
    | {"modell", "modele", "modello", "modelo", "no", "nr", "num", "number", "ref", "style"}
    | {"frame", "frames", "glasses", "sunglasses", "eyeglasses", "spectacles"}
    | {"brille", "lunettes", "occhiali", "gafas"}
)


def resolve(listing: Listing, evidence: Evidence, sheets: Sheets) -> Resolution:
    """Name the reference the listing claims, or the candidates; `evidence` names the edition."""
    found = passages(listing)
    if case := case_alone(found[0]):
        return Resolution(None, why="a case or a box is offered, not the frame", quoted=(case,))
    names = _names(sheets)
    lot = _lot(found, sheets, names)
    if len(lot) > 1:
        return _of_several(lot, sheets)
    for zone in _zones(found):
        hits = _hits(zone, names, _makers_named(found, sheets))
        claimed = [hit for _, hit in hits if hit.claimed]
        if claimed and not _is_of_another_trade(claimed, found, sheets):
            return _decide(hits, found, sheets, evidence, zone)
    return _unresolved(found, sheets)


def case_alone(passage: Passage) -> Span | None:
    """The words by which a case, a box or a leaflet is offered without the frame."""
    titled = words_of("case_word").search(passage.folded, 0, passage.title_end) is not None
    if words_of("with_case").search(passage.folded, 0, passage.title_end):
        titled = False
    only = words_of("case_only").search(passage.folded)
    if only and not titled and only.start() > passage.title_end:
        only = None  # "only the case is worn": the title is of a frame
    found = only or (words_of("no_frame").search(passage.folded) if titled else None)
    return passage.span(*found.span()) if found else None


def _lot(
    found: tuple[Passage, ...], sheets: Sheets, names: tuple[_Name, ...]
) -> tuple[tuple[Passage, _Hit], ...]:
    """The references of several pieces on offer, each where it is first claimed.

    Either the title joins them with "and", or it speaks of several pieces and the listing names
    them. Names joined by "or" leave open which one it is.
    """
    makers = _makers_named(found, sheets)
    zones = _zones(found)
    title = [(p, h) for p, h in _hits(zones[0], names, makers) if h.claimed and not h.hedged]
    several = words_of("lot").search(found[0].folded, 0, found[0].title_end) is not None
    if not several and not _is_joined(title):
        return ()
    claimed = title
    if several:
        claimed = [*title, *((p, h) for p, h in _hits(zones[2], names, makers) if h.claimed)]
    if _is_either_or(claimed):
        return ()
    first: dict[str, tuple[Passage, _Hit]] = {}
    for passage, hit in sorted(claimed, key=lambda pair: pair[1].start):
        first.setdefault(hit.sheet, (passage, hit))
    return tuple(first.values())


def _is_joined(claimed: list[tuple[Passage, _Hit]]) -> bool:
    ordered = sorted(claimed, key=lambda pair: pair[1].start)
    return any(
        first.sheet != second.sheet
        and re.search(r"\b(?:and|und|et|e|ed|y)\b|[&+]", passage.folded[first.end : second.start])
        for (passage, first), (_, second) in pairwise(ordered)
    )


def _of_several(lot: tuple[tuple[Passage, _Hit], ...], sheets: Sheets) -> Resolution:
    spans = tuple(passage.span(hit.start, hit.end) for passage, hit in lot)
    ids = tuple(hit.sheet for _, hit in lot)
    names = [sheet.name for sheet_id in ids if (sheet := sheets.get(sheet_id))]
    why = f"it offers {' and '.join(names)}"
    others = tuple(
        Candidate(sheet_id, f"offered too: “{span.text.strip()}”")
        for sheet_id, span in zip(ids[1:], spans[1:], strict=True)
    )
    return Resolution(ids[0], None, others, why, spans, names[0], ids)


def mentions(passage: Passage, ids: Sequence[str], sheets: Sheets) -> tuple[Mention, ...]:
    """Where a passage names one of these references, by its model or a maker only one is of."""
    among = [sheet for sheet in sheets.sheets if sheet.id in ids]
    makers = [_maker_tokens(sheet.maker) for sheet in among]
    by_maker = tuple(
        _named(sheet.id, (maker,), True)
        for sheet, maker in zip(among, makers, strict=True)
        if maker and makers.count(maker) == 1
    )
    names = (*(n for n in _names(sheets) if n.sheet in ids), *by_maker)
    start = -passage.shift if passage.part == "specific" else 0
    hits = _hits([(passage, start, len(passage.folded))], names, frozenset(ids))
    return tuple(Mention(hit.sheet, hit.start, hit.end) for _, hit in hits)


def mentioned(listing: Listing, sheets: Sheets) -> tuple[Mention, ...]:
    """Every reference that the description names, claimed or not."""
    found = passages(listing)
    hits = _hits(_zones(found)[2], _names(sheets), _makers_named(found, sheets))
    return tuple(Mention(h.sheet, h.start, h.end) for _, h in hits)


def name_tokens(name: str) -> tuple[str, ...]:
    """The words of a name that tell it from others, folded: without "the", "model", "frame"."""
    return tuple(t for t in _TOKEN.findall(plain(name)) if t not in _COMMON)


def is_own_name(text: str, sheet: ReferenceSheet) -> bool:
    """Whether words name this sheet: its model, or its maker with no other number behind."""
    own = {t for n in (sheet.name, *sheet.aliases) for t in _tokens(n)}
    said = _tokens(text)
    if any(t.isdigit() and t not in own for t in said):
        return False
    return any(min((_slips(t, o) for o in own), default=9) <= _allowed(t) for t in said)


def edition_named(sheet: ReferenceSheet, listing: Listing, evidence: Evidence) -> str | None:
    """The edition of a reference that a listing names."""
    return _edition(sheet, passages(listing), evidence)


def _is_of_another_trade(claimed: list[_Hit], found: tuple[Passage, ...], sheets: Sheets) -> bool:
    """A bare name ("Kestrel") on a toy or an aeroplane names no frame."""
    if any(hit.full for hit in claimed) or _makers_named(found, sheets):
        return False
    if not any(words_of("other_trade").search(p.folded) for p in found):
        return False
    return not any(words_of("spectacles").search(p.folded) for p in found)


_READ = 30_000  # characters of a description in which a name is looked for
_Zone = Sequence[tuple[Passage, int, int]]


def _zones(found: tuple[Passage, ...]) -> list[_Zone]:
    text = found[0]
    named = re.compile(
        r"model|style|type|ref|brand|marke|marque|marca|maker|name|modell|hersteller|title"
    )
    specifics = [p for p in found if p.part == "specific" and named.search(plain_label(p))]
    answers = [(p, 0, len(p.folded)) for p in found if p.part == "answer"]
    joined = _joined(specifics)
    return [
        [(text, 0, text.title_end)],
        [(p, -p.shift, len(p.folded)) for p in specifics] + joined,
        [(text, text.title_end + 1, min(len(text.folded), _READ))],
        answers,
    ]


def _joined(specifics: list[Passage]) -> list[tuple[Passage, int, int]]:
    """Brand and model stand in two labels: read them as one name too."""
    brand = [
        p
        for p in specifics
        if re.search("brand|mark|marque|marca|maker|hersteller", plain_label(p))
    ]
    model = [p for p in specifics if re.search("model|style|type|ref|name", plain_label(p))]
    if not brand or not model or brand[0] is model[0]:
        return []
    head = brand[0].folded[-brand[0].shift :] + " "
    tail = model[0].folded[-model[0].shift :]
    both = Passage("specific", model[0].key, head + tail, head + tail, -len(head))
    return [(both, 0, len(both.folded))]


def plain_label(passage: Passage) -> str:
    """The folded label of a specific."""
    return passage.folded[: -passage.shift]


@lru_cache(maxsize=8)
def _names(sheets: Sheets) -> tuple[_Name, ...]:
    found: dict[tuple[str, str], _Name] = {}
    for sheet in sheets.sheets:
        maker = _tokens(sheet.maker)
        for text in (sheet.name, *sheet.aliases, *_short_names(sheet)):
            tokens = _tokens(text)
            tokens = tuple(t for t in tokens if t not in _COMMON) or tokens
            full = bool(maker) and tokens[: len(maker)] == maker
            if tokens and tokens != maker:
                name = _named(sheet.id, tokens, full)
                found.setdefault((sheet.id, " ".join(tokens)), name)
    return tuple(found.values())


def _named(sheet_id: str, tokens: tuple[str, ...], full: bool) -> _Name:
    return _Name(sheet_id, tokens, "".join(tokens), full, frozenset(t[0] for t in tokens))


def _short_names(sheet: ReferenceSheet) -> tuple[str, ...]:
    """The model's name without its maker; and the maker's put before every alias."""
    pattern = re.compile(rf"^\s*{re.escape(sheet.maker)}\s+", re.I)
    short = pattern.sub("", sheet.name)
    bare = [a for a in sheet.aliases if sheet.maker and not pattern.match(a)]
    return (short, *(f"{sheet.maker} {alias}" for alias in bare))


def _tokens(text: str) -> tuple[str, ...]:
    return tuple(_ROMAN.get(t, t) for t in _TOKEN.findall(plain(text)))


@dataclass(frozen=True, slots=True)
class _Word:
    text: str
    raw: str
    start: int
    end: int


@lru_cache(maxsize=64)
def _words(folded: str, start: int, end: int) -> list[_Word]:
    return [
        _Word(_ROMAN.get(m.group(), m.group()), m.group(), m.start(), m.end())
        for m in _TOKEN.finditer(folded, start, end)
    ]


def _hits(
    zone: _Zone, names: tuple[_Name, ...], maker_named: frozenset[str]
) -> list[tuple[Passage, _Hit]]:
    """Every reference named in a zone; shorter names inside a longer one are dropped."""
    found: list[tuple[Passage, _Hit]] = []
    for passage, start, end in zone:
        words = _words(passage.folded, start, end)
        hits = [h for name in names if (h := _find_all(name, words, passage, maker_named))]
        flat = _without_torn([hit for group in hits for hit in group])
        found += [(passage, hit) for hit in flat if not _is_inside(hit, flat)]
    return found


def _without_torn(hits: list[_Hit]) -> list[_Hit]:
    """A name with other words between gives way where those words are another reference."""
    whole = [h for h in hits if not h.torn]
    return [
        h
        for h in hits
        if not h.torn
        or not any(o.sheet != h.sheet and o.start < h.end and h.start < o.end for o in whole)
    ]


def _is_inside(hit: _Hit, others: list[_Hit]) -> bool:
    """Another name explains the same words better: more of them, or fewer slips."""
    for other in others:
        if other is hit or other.end <= hit.start or hit.end <= other.start:
            continue
        mine, theirs = hit.length - 2 * hit.distance, other.length - 2 * other.distance
        if theirs > mine or (
            theirs == mine and other.sheet == hit.sheet and other.start < hit.start
        ):
            return True
    return False


def _find_all(
    name: _Name, words: list[_Word], passage: Passage, maker_named: frozenset[str]
) -> list[_Hit]:
    found = []
    for at, word in enumerate(words):
        if word.text[0] not in name.initials and word.raw[0] not in name.initials:
            continue
        hit = _match_at(name, words, at)
        if hit is None:
            continue
        last, distance, torn = hit
        start, end = words[at].start, words[last].end
        if not name.full and not _may_stand_alone(name, distance, passage, start, maker_named):
            continue
        before, after = _around(passage, start, end)
        claimed = not _is_compared(before, after)
        hedged = bool(words_of("doubt").search(before)) or after.lstrip().startswith("?")
        found.append(
            _Hit(
                name.sheet,
                start,
                end,
                distance,
                name.full,
                len(name.compact),
                claimed,
                hedged,
                torn,
            )
        )
    return found


def _is_compared(before: str, after: str) -> bool:
    """Whether the piece is only compared: "like a ...", "not a ...", "fits ...", "... style"."""
    return bool(
        ends_with("compared_before").search(before) or begins_with("compared_after").match(after)
    )


def _around(passage: Passage, start: int, end: int) -> tuple[str, str]:
    """The rest of the clause before and after, at most 60 characters each way."""
    before = passage.folded[max(0, start - 60) : start]
    after = passage.folded[end : end + 60]
    if passage.part == "text" and start > passage.title_end:
        before = before[max(0, passage.title_end + 1 - max(0, start - 60)) :]
    before = re.split(r"[.!?;\n|](?:\s|$)|\n", before)[-1]
    return before, re.split(r"[.!?;\n|](?:\s|$)|\n", after)[0] if not after.startswith(
        "?"
    ) else after


def _may_stand_alone(
    name: _Name, distance: int, passage: Passage, start: int, maker_named: frozenset[str]
) -> bool:
    """A model without its maker: with the maker elsewhere, or plain in title or label."""
    if name.sheet in maker_named:
        return distance == 0 or len(name.compact) >= 5
    in_front = passage.part == "specific" or start < passage.title_end
    if (
        in_front
        and passage.text[start].islower()
        and not passage.text[: passage.title_end].islower()
    ):
        return False  # "an old lantern" names no Lantern
    return distance == 0 and in_front and not (name.compact.isdigit() and len(name.compact) < 4)


def _match_at(name: _Name, words: list[_Word], at: int) -> tuple[int, int, bool] | None:
    """(last word, slips, torn) if the name stands at this word, joined, split or torn apart."""
    best: tuple[int, int] | None = None
    joined = ""
    raw_joined = ""
    for last in range(at, min(len(words), at + len(name.tokens) + 2)):
        joined += words[last].text
        raw_joined += words[last].raw
        if len(joined) > len(name.compact) + 3:
            break
        distance = min(_slips(joined, name.compact), _slips(raw_joined, name.compact))
        if distance <= _allowed(name.compact) and (best is None or distance < best[1]):
            best = (last, distance)
    if best:
        return (*best, False)
    return _match_apart(name, words, at)


def _match_apart(name: _Name, words: list[_Word], at: int) -> tuple[int, int, bool] | None:
    """All words of the name in any order, up to two others between: "Orlenza vintage Merrin"."""
    if len(name.tokens) < 2:
        return None
    window = words[at : at + len(name.tokens) + 2]
    left = list(name.tokens)
    last, total = at, 0
    for offset, word in enumerate(window):
        token = min(left, key=lambda t: _slips(word.text, t), default="")
        distance = _slips(word.text, token) if token else 9
        if token and offset == 0 and token.isdigit() and name.tokens[0] != token:
            return None  # "two Tavoy frames" are no Tavoy II
        if token and distance <= _allowed(token):
            left.remove(token)
            last, total = at + offset, total + distance
        elif offset == 0:
            return None
    return None if left else (last, total, last - at >= len(name.tokens))


def _slips(text: str, name: str) -> int:
    """Typing slips between two words; digits admit none, the first letter must stand."""
    if text == name:
        return 0
    if not text or text[0] != name[0] or abs(len(text) - len(name)) > 3:
        return 9
    if _digits(text) != _digits(name):
        return 9
    return int(OSA.distance(text, name, score_cutoff=3))


@lru_cache(maxsize=4096)
def _digits(text: str) -> str:
    return "".join(c for c in text if c.isdigit())


@lru_cache(maxsize=4096)
def _allowed(name: str) -> int:
    letters = sum(c.isalpha() for c in name)
    return 0 if letters < 5 else 1 if letters < 9 else 2


@lru_cache(maxsize=64)
def _maker_tokens(maker: str) -> str:
    return "".join(_tokens(maker))


def _makers_named(
    found: tuple[Passage, ...], sheets: Sheets, is_claimed: bool = False
) -> frozenset[str]:
    """Ids of the sheets whose maker is named anywhere; `is_claimed`: not only in comparison."""
    makers = {_maker_tokens(sheet.maker) for sheet in sheets.sheets if sheet.maker}
    named = {maker for maker in makers if any(_names_maker(p, maker, is_claimed) for p in found)}
    return frozenset(s.id for s in sheets.sheets if _maker_tokens(s.maker) in named)


def _names_maker(passage: Passage, maker: str, is_claimed: bool) -> bool:
    words = _words(passage.folded, 0, min(len(passage.folded), _READ))
    for at, word in enumerate(words):
        if not word.text or word.text[0] != maker[0]:
            continue
        pair = word.text + (words[at + 1].text if at + 1 < len(words) else "")
        if min(_slips(word.text, maker), _slips(pair, maker)) <= _allowed(maker) and not (
            is_claimed and _is_compared(*_around(passage, word.start, word.end))
        ):
            return True
    return False


def _decide(
    hits: list[tuple[Passage, _Hit]], found: tuple[Passage, ...], sheets: Sheets,
    evidence: Evidence, zone: _Zone,
) -> Resolution:  # fmt: skip
    claimed = [(p, h) for p, h in hits if h.claimed]
    ids = list(dict.fromkeys(h.sheet for _, h in claimed))
    if len(ids) > 1 and not _is_either_or(claimed):
        ids = _settle(ids, claimed, found, sheets)
    if len(ids) > 1:
        return _open(ids, claimed, sheets)
    chosen = _more_exact(ids[0], found, sheets)
    passage, hit = next((p, h) for p, h in claimed if h.sheet == ids[0])
    sheet = sheets.get(chosen)
    assert sheet is not None
    quoted = (passage.span(hit.start, hit.end),)
    why = f"the {_place(passage, hit)} names it: “{quoted[0].text.strip()}”"
    why += ", with doubt" if hit.hedged else ""
    return Resolution(
        chosen, _edition(sheet, found, evidence), _others(sheet, hits), why, quoted, sheet.name
    )


def _place(passage: Passage, hit: _Hit) -> str:
    if passage.part == "text":
        return "title" if hit.start < passage.title_end else "description"
    return f"detail “{passage.key}”" if passage.part == "specific" else "seller's answer"


def _is_either_or(claimed: list[tuple[Passage, _Hit]]) -> bool:
    """Two names joined by "or": the seller leaves it open."""
    for (passage, first), (other, second) in pairwise(
        sorted(claimed, key=lambda hit: hit[1].start)
    ):
        between = passage.folded[first.end : second.start]
        if passage is other and re.fullmatch(
            r"\W*(?:or|oder|ou|o|/)\W*(?:an? |the )?(?:\w+ )?", between
        ):
            return True
    return False


def _settle(
    ids: list[str], claimed: list[tuple[Passage, _Hit]], found: tuple[Passage, ...], sheets: Sheets
) -> list[str]:
    """Several names in one place: the fewest slips, then the surest, then what the rest says."""
    least = min(h.distance for _, h in claimed)
    left = list(dict.fromkeys(h.sheet for _, h in claimed if h.distance == least and not h.hedged))
    ids = left or ids
    if len(ids) == 1:
        return ids
    names = tuple(n for n in _names(sheets) if n.sheet in ids)
    makers = _makers_named(found, sheets)
    for zone in _zones(found)[1:]:
        elsewhere = {h.sheet for _, h in _hits(zone, names, makers) if h.claimed}
        if len(elsewhere) == 1:
            return list(elsewhere)
    return ids


def _more_exact(chosen: str, found: tuple[Passage, ...], sheets: Sheets) -> str:
    """The label's name is exacter where it holds the title's ("Tavoy", "Tavoy Petite")."""
    bases = [set(n.tokens) for n in _names(sheets) if n.sheet == chosen]
    longer = tuple(
        n
        for n in _names(sheets)
        if n.sheet != chosen and any(base < set(n.tokens) for base in bases)
    )
    if not longer:
        return chosen
    makers = _makers_named(found, sheets)
    named = {h.sheet for _, h in _hits(_zones(found)[1], longer, makers) if h.claimed}
    return next(iter(named)) if len(named) == 1 else chosen


def _open(ids: Iterable[str], claimed: list[tuple[Passage, _Hit]], sheets: Sheets) -> Resolution:
    candidates, quoted = [], []
    for sheet_id in ids:
        passage, hit = next((p, h) for p, h in claimed if h.sheet == sheet_id)
        span = passage.span(hit.start, hit.end)
        quoted.append(span)
        candidates.append(Candidate(sheet_id, f"named as “{span.text.strip()}”"))
    names = " and ".join(s.name for i in ids if (s := sheets.get(i)))
    return Resolution(
        None, None, tuple(candidates), f"it names {names}; which one is not clear", tuple(quoted)
    )


def _others(sheet: ReferenceSheet, hits: list[tuple[Passage, _Hit]]) -> tuple[Candidate, ...]:
    other = {h.sheet: p.span(h.start, h.end).text for p, h in hits if h.sheet != sheet.id}
    return tuple(Candidate(i, f"mentioned as “{text}”") for i, text in other.items())


def _unresolved(found: tuple[Passage, ...], sheets: Sheets) -> Resolution:
    makers = _makers_named(found, sheets)
    names = _names(sheets)
    hits = [(p, h) for zone in _zones(found) for p, h in _hits(zone, names, makers)]
    compared = {h.sheet: p.span(h.start, h.end) for p, h in hits}
    named = _name_without_sheet(found, [h for p, h in hits if p is found[0]], sheets)
    if compared and named:
        why = "it names another piece; a reference is named only in comparison"
        return Resolution(None, None, (), why, tuple(compared.values()), named)
    candidates = tuple(
        Candidate(i, f"named only in comparison: “{span.text.strip()}”")
        for i, span in compared.items()
    )
    if candidates:
        why = "a reference is named, but not claimed for this piece"
        return Resolution(None, None, candidates, why, tuple(compared.values()))
    claimed = _makers_named(found, sheets, is_claimed=True)
    same_maker = [s for s in sheets.sheets if s.id in claimed]
    candidates = tuple(Candidate(s.id, "the maker is named, the model is not") for s in same_maker)
    if candidates:
        return Resolution(
            None, None, candidates, "the maker is named, but no model with a sheet", (), named
        )
    return Resolution(None, None, (), "no name with a reference sheet is claimed", (), named)


_RUN = re.compile(
    r"(?<![\w'’-])[A-ZÀ-Þ][\w'’-]+(?:\s+(?:[A-ZÀ-Þ][\w'’-]*|(?:[Nn]o\.?\s*)?\d{2,5}))*"
)
_YEAR = re.compile(r"(?:1[89]|20)\d\d'?s?")


def _name_without_sheet(
    found: tuple[Passage, ...], compared: Sequence[_Hit], sheets: Sheets
) -> str | None:
    """The name that may want a sheet: capitalised words of the title, else the stated brand.

    Words that name nothing ("Vintage", "Pair", "Tortoise") and what the piece is only compared
    with are left out.
    """
    title = list(found[0].text[: found[0].title_end])
    for hit in compared:
        title[hit.start : hit.end] = "." * (min(hit.end, len(title)) - hit.start)
    for run in _RUN.finditer("".join(title)):
        before, after = _around(found[0], run.start(), run.end())
        words = _without_bare(run.group().split())
        if words and not _is_compared(before, after) and not _is_maker(words, sheets):
            return " ".join(words)
    return _brand(found, sheets)


def _without_bare(words: list[str]) -> list[str]:
    while words and (_is_bare(words[0]) or words[0].isdigit()):
        words = words[1:]
    while words and (_is_bare(words[-1]) or _YEAR.fullmatch(words[-1])):
        words = words[:-1]
    return words


def _is_bare(word: str) -> bool:
    parts = re.split(r"['’-]", plain(word))
    return all(not part or words_of("no_name").fullmatch(part) for part in parts)


def _brand(found: tuple[Passage, ...], sheets: Sheets) -> str | None:
    """The brand that a specific states, if no sheet is of that maker."""
    for passage in found:
        if passage.part == "specific" and _BRAND.search(plain_label(passage)):
            value = passage.text[-passage.shift :].strip()
            words = _without_bare(value.split())
            if words and len(value) <= 40 and not _is_maker(words, sheets):
                return " ".join(words)
    return None


def _is_maker(words: list[str], sheets: Sheets) -> bool:
    """Whether the words are just the name of a maker that has sheets."""
    name = "".join(_tokens(" ".join(words)))
    return any(name == _maker_tokens(sheet.maker) for sheet in sheets.sheets)


_BRAND = re.compile(r"brand|marke|marque|marca|maker|hersteller|fabricant")


def _edition(sheet: ReferenceSheet, found: tuple[Passage, ...], evidence: Evidence) -> str | None:
    """The edition the listing names; one known only by its own point is left to the checks.

    One that is denied ("no reissue", "not the 2010 edition") is claimed by no other mention.
    """
    for edition in sheet.editions:
        told = list(_edition_mentions(edition, found, evidence))
        if True in told and False not in told:
            return edition.name
    return None


def editions_denied(sheet: ReferenceSheet, listing: Listing, evidence: Evidence) -> frozenset[str]:
    """Editions that the listing says the piece is not of."""
    found = passages(listing)
    return frozenset(
        e.name for e in sheet.editions if False in list(_edition_mentions(e, found, evidence))
    )


def _edition_mentions(
    edition: EditionSheet, found: tuple[Passage, ...], evidence: Evidence
) -> Iterator[bool]:
    """For every mention of an edition, whether the piece is said to be of it."""
    for passage in found:
        for start, end in _edition_places(passage, edition):
            yield _is_claimed_edition(passage, start, end)
    names = [w for n in (edition.name, *edition.aliases) if (w := _edition_words(n))]
    for named in evidence.editions:
        if not any(name in named.name.casefold() for name in names):
            continue
        places = [(p, s) for s in named.quoted for p in found if (p.part, p.key) == (s.part, s.key)]
        yield all(
            _is_claimed_edition(p, s.start - p.shift, s.start - p.shift + len(s.text))
            for p, s in places
        )


def _is_claimed_edition(passage: Passage, start: int, end: int) -> bool:
    """Not asked after, denied, compared with, nor set against this piece."""
    before, after = _around(passage, start, end)
    if after.lstrip().startswith("?") or _NOT_IT.match(after):
        return False  # "Riviera? No, ..."; "the Riviera it is not"
    clause = re.split(r"[,;:]", before)[-1]
    last = " ".join(clause.split()[-6:])
    if _is_compared(before, after) or words_of("negation").search(last):
        return False
    if words_of("if_clause").search(clause):
        return False
    if words_of("before_edition").search(last):
        return False
    rest = passage.folded[end : end + 100]
    is_subject = begins_with("of_the_other").match(rest) is not None
    return not (is_subject and words_of("named_again").search(rest))


_NOT_IT = re.compile(
    r"\W*(?:edition\W+)?"
    r"(?:it is not|it isn't|this is not|ist (?:es|sie) nicht|ce n'est pas|non e|no es)\b"
)


def _edition_words(name: str) -> str:
    return re.sub(r"\b(the|edition|version)\b", " ", name.casefold()).strip()


def _edition_places(passage: Passage, edition: EditionSheet) -> Iterator[tuple[int, int]]:
    for name in (edition.name, *edition.aliases):
        tokens = _TOKEN.findall(" ".join(_tokens_raw(_edition_words(name))))
        if tokens:
            pattern = r"\b" + r"[\s\W]{0,3}".join(map(re.escape, tokens)) + r"\b"
            for match in re.finditer(pattern, passage.folded):
                yield match.span()


def _tokens_raw(text: str) -> list[str]:
    return _TOKEN.findall(plain(text))
