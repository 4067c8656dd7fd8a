"""What a listing says of another model: "the Tavoy has round rivets", "a Tarnock 77 with ...".

The words are blanked from the other's name to where this piece is named again, or to the sentence's
end. Other names are those of other sheets, what tells a sibling's name from this one's ("the
Grande"), editions that are not claimed, and names no sheet has.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from extractors.folding import plain
from extractors.records import Listing
from models.passages import CONTRAST, Passage, passages, sentences
from models.point_words import is_plain_word
from models.resolve import Mention, Resolution, is_own_name, mentioned, name_tokens
from models.sheet_records import ReferenceSheet
from models.sheets import Sheets
from models.wording import alternatives, words_of


@dataclass(frozen=True, slots=True)
class Named:
    """Where the text names other models, and where this one."""

    others: tuple[tuple[int, int], ...]
    own: tuple[int, ...]


def without_others(listing: Listing, named: Named) -> Listing:
    """The listing without what it says of other models; offsets stay as they are."""
    text = passages(listing)[0]
    kept = text.text
    for start, end in _stretches(text, named):
        kept = _blank(kept, start, end)
    at = len(listing.title)
    if kept == text.text:
        return listing
    return replace(listing, title=kept[:at], description=kept[at + 1 :])


def names_in(listing: Listing, resolution: Resolution, sheets: Sheets) -> Named:
    """Other models and this one, wherever the description names them."""
    sheet, passage = sheets.get(resolution.reference), passages(listing)[0]
    if sheet is None:
        return Named((), ())
    found = mentioned(listing, sheets)
    own = [m.start for m in found if m.sheet == sheet.id]
    others = [(m.start, m.end) for m in found if m.sheet != sheet.id]
    mine, theirs = _short_names(sheet, sheets)
    own += [m.start("name") for m in mine.finditer(passage.folded)] if mine else []
    others += [m.span("name") for m in theirs.finditer(passage.folded)] if theirs else []
    editions = _other_editions(sheet, resolution.edition)
    others += [m.span("name") for m in editions.finditer(passage.folded)] if editions else []
    others += _unknown(passage, sheet, found)
    return Named(tuple(sorted(set(others))), tuple(sorted(set(own))))


def _stretches(passage: Passage, named: Named) -> Iterator[tuple[int, int]]:
    for first, last in sentences(passage.folded, passage.text):
        for start, end in named.others:
            if first <= start < last and start > passage.title_end:
                until = _said_until(passage.folded, end, last, named)
                if until is not None:
                    yield start, until


def _said_until(folded: str, end: int, last: int, named: Named) -> int | None:
    """Where what is said of the other ends; None where nothing is."""
    if bracket := _BRACKET.match(folded, end, last):
        return bracket.end()
    if not (_predicate().match(folded, end, last) or _SIZED.match(folded, end, last)):
        return None
    stops = [p.search(folded, end, last) for p in (words_of("named_again"), CONTRAST)]
    found = [m.start() for m in stops if m]
    found += [start for start in named.own if end < start < last]
    return min(found, default=last)


_BRACKET = re.compile(r"\s?\([^()\n]{3,80}\)")  # "the Tavoy (58 x 47, three barrels)"
_SIZED = re.compile(r"\s?:?\s?\d\d(?:[.,]\d)?\s?(?:mm\b|[x×]\s?\d\d)")  # "Tavoy 63 mm"


@lru_cache(maxsize=1)
def _predicate() -> re.Pattern[str]:
    """ "has", ", which", "with"; a few words of its time or place may stand before."""
    return re.compile(
        r"[\"')]*(?:\s(?:from|of|in|on|beside|before|after|aus|von|neben|du|des|dans|dei|del|della|"
        rf"nel|de los)\s[\w' ]{{2,25}}?)?(?:{alternatives('of_the_other')})"
    )


def _blank(text: str, start: int, end: int) -> str:
    """Blank a stretch; what ends a sentence stays, so that the next one stays apart."""
    blank = "".join(c if c in "\n.!?;" else " " for c in text[start:end])
    return text[:start] + blank + text[end:]


# --- names -----------------------------------------------------------------------------------

_ARTICLE = (
    r"(?<!\w)(?:the|an?|die|der|das|dem|den|la|le|les|il|lo|el|los|las|une?|una|eine[rn]?|du|des|del|dello|della|vom|zum|im|al|au)\s+"
    r"(?:(?:model+[eo]?|version[e]?|variante|ausfuhrung|modell|misura|taglia|full[- ]size)\s+)?"
)


@lru_cache(maxsize=256)
def _short_names(
    sheet: ReferenceSheet, sheets: Sheets
) -> tuple[re.Pattern[str] | None, re.Pattern[str] | None]:
    """What tells this name from its siblings' and theirs from it: "the Mini", "the Grande"."""
    mine = _all_tokens(sheet)
    siblings = [s for s in sheets.sheets if s.id != sheet.id and _is_sibling(sheet, s)]
    theirs = set().union(*(_all_tokens(s) for s in siblings)) if siblings else set()
    return _after_article(mine - theirs), _after_article(theirs - mine)


def _is_sibling(one: ReferenceSheet, other: ReferenceSheet) -> bool:
    looks = {look.reference for look in one.look_alikes}
    same_maker = bool(one.maker) and one.maker == other.maker
    return other.id in looks or same_maker


def _all_tokens(sheet: ReferenceSheet) -> set[str]:
    names = (sheet.name, *sheet.aliases)
    return {t for n in names for t in name_tokens(n) if len(t) > (1 if t.isdigit() else 3)}


def _after_article(tokens: set[str]) -> re.Pattern[str] | None:
    names = "|".join(sorted(map(re.escape, tokens), key=len, reverse=True))
    return re.compile(rf"{_ARTICLE}(?P<name>{names})(?!\w)") if names else None


def _other_editions(sheet: ReferenceSheet, claimed: str | None) -> re.Pattern[str] | None:
    names = {plain(n) for e in sheet.editions if e.name != claimed for n in (e.name, *e.aliases)}
    joined = "|".join(sorted(map(re.escape, names), key=len, reverse=True))
    if not joined:
        return None
    return re.compile(rf"{_ARTICLE}(?P<name>(?:{joined})(?: edition)?)(?!\w)")


_UNKNOWN = re.compile(
    r"(?<!\w)(?P<article>[Tt]he|[Aa]n?|[Mm]y|[Dd]ie|[Dd]er|[Dd]as|[Dd]em|[Ee]iner?|[Ll][ae]s?|[Uu]ne?|"
    r"[Uu]na|[Ii]l|[Ee]l)\s+(?P<name>[A-ZÀ-Þ][\w'’-]+(?:\s+[A-ZÀ-Þ][\w'’-]+)?(?P<number>\s+\d{2,4})?)"
    r"(?!\w)"
)
_NOUNS_IN_CAPITALS = frozenset({"die", "der", "das", "dem", "eine", "einer"})


def _unknown(
    passage: Passage, sheet: ReferenceSheet, known: tuple[Mention, ...]
) -> Iterator[tuple[int, int]]:
    """Capitalised names that no sheet has; in German only with a number behind ("Tarnock 77")."""
    for match in _UNKNOWN.finditer(passage.text, passage.title_end):
        start, end = match.span("name")
        if any(m.start < end and start < m.end and m.sheet == sheet.id for m in known):
            continue
        if match["article"].lower() in _NOUNS_IN_CAPITALS and not match["number"]:
            continue
        words = plain(match["name"]).split()
        if any(is_plain_word(w) or words_of("no_name").fullmatch(w) for w in words):
            continue
        if not is_own_name(match["name"], sheet):
            yield start, end
