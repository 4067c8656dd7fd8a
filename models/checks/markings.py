"""Dates of marks: standards, countries, patents, codes against the claimed era and the sheet.

A hard row of the mark table may raise a conflict, a soft row only adds a clue. Marks on case, box,
lens, sticker or another item say nothing of the frame. The innocent readings are always given,
those that the listing supports first.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from extractors.folding import plain
from extractors.records import Era, Marking, Span
from models.checks.case import Case
from models.dating import Bounds, MarkDate, Verdict, date_marks, hold_against
from models.passages import Clause, clauses
from models.point_values import Scene, is_doubted, sign, speaks_of_others
from models.point_words import facet
from models.records import Finding, Result, Strength
from models.sheet_records import Years
from models.wording import words_of

CHECK = "markings"
CODES = (
    (CHECK, "agrees", "soft"),
    (CHECK, "conflicts", "hard"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "undecided", "hard"),
    (CHECK, "undecided", "soft"),
    (CHECK, "undecided", "clue"),
)

APPROXIMATE_YEARS = 5  # "about 1985" reaches from 1980 to 1990 (own choice)
_INNOCENT = (
    ("lens", "later lenses carry later marks"),
    ("sticker", "an importer's sticker may be younger than the frame"),
    ("old_stock", "old stock may have been marked when it was sold"),
    ("reissue", "it may be a later reissue"),
    ("replaced", "the marked part may be a later one"),
)


@dataclass(frozen=True, slots=True)
class SeenMark:
    """A dated mark the listing says is there, and what it is on."""

    date: MarkDate
    span: Span
    off_frame: bool
    on_lens: bool
    doubted: bool


def check_mark_dates(case: Case) -> tuple[Finding, ...]:
    """One finding for all dated marks: the heaviest, with the others named in it."""
    seen = tuple(_once(seen_marks(case)))
    findings = [f for mark in seen for f in _judge(case, mark)]
    if not findings:
        return _sheet_marks(case, seen)
    order = {"conflicts": 0, "undecided": 1, "agrees": 2}
    firm = {"hard": 0, "soft": 1, "clue": 2}
    findings.sort(key=lambda f: (order[f.result], firm[f.strength]))
    others = [f for f in findings[1:] if f.result == "conflicts"]
    first = findings[0]
    if first.result == "conflicts" and others:
        more = ", ".join(dict.fromkeys(f"“{f.stated}”" for f in others if f.stated != first.stated))
        text = f"{first.why}; so do {more}" if more else first.why
        first = replace(
            first, why=text, quoted=first.quoted + tuple(q for f in others for q in f.quoted)
        )
    if first.result == "conflicts":
        return (first,)
    return _sheet_marks(case, seen) or (first,)


def _once(seen: Iterator[SeenMark]) -> Iterator[SeenMark]:
    """Repeats are one mark; one on the frame stands before one on the case."""
    kept: dict[str, SeenMark] = {}
    for mark in seen:
        first = kept.get(mark.date.row)
        if first is None or (first.off_frame and not mark.off_frame):
            kept[mark.date.row] = mark
    yield from kept.values()


def seen_marks(case: Case) -> Iterator[SeenMark]:
    """Dated marks among what is said to be written, and in sentences that speak of marks."""
    for marking in case.evidence.markings:
        if marking.claimed == "absent" or any(case.is_of_another(s) for s in marking.quoted):
            continue
        for date in date_marks(marking.text):
            yield _of_marking(case, marking, date)
    yield from _in_sentences(case)


def _of_marking(case: Case, marking: Marking, date: MarkDate) -> SeenMark:
    span = marking.quoted[0] if marking.quoted else Span("text", None, 0, 0, marking.text)
    _, clause = _surroundings(case, span)
    off = marking.object not in ("item", "lens", "", "unspecified") or _is_off_frame(clause)
    lens = marking.object == "lens" or words_of("on_lens").search(clause) is not None
    if place := case.place_of(span):
        off = off or _follows(place[0], place[1][0], clause, "off_frame")
        lens = lens or _follows(place[0], place[1][0], clause, "on_lens")
    doubted = marking.claimed == "unsure"
    return SeenMark(date, span, off, lens and not off, doubted)


def _surroundings(case: Case, span: Span) -> tuple[str, str]:
    """The sentence and the clause a span stands in, folded."""
    for scene in case.told:
        start = span.start - scene.passage.shift
        if (scene.passage.part, scene.passage.key) != (span.part, span.key):
            continue
        if scene.start <= start < scene.end:
            for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
                if clause.start <= start < clause.end:
                    return scene.folded, scene.passage.folded[clause.start : clause.end]
            return scene.folded, scene.folded
    return "", ""


def _in_sentences(case: Case) -> Iterator[SeenMark]:
    """Marks that the extractor did not list, in clauses that speak of something written."""
    for scene in case.told:
        for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
            original = scene.passage.text[clause.start : clause.end]
            folded = scene.passage.folded[clause.start : clause.end]
            written = any(p.search(folded) for p in facet("method").values.values())
            dates = date_marks(original, running_text=True, written=written)
            if not dates or speaks_of_others(scene, (clause.start, clause.end)):
                continue
            in_title = scene.passage.part == "text" and scene.start < scene.passage.title_end
            if not words_of("on_piece").search(scene.folded) and not (
                in_title and dates[0].row == "ce"
            ):
                continue
            for date in dates:
                start = clause.start + date.start
                claimed = sign(scene, (clause.start, clause.end), start, clause.start + date.end)
                if claimed == "absent":
                    continue
                span = scene.passage.span(start, clause.start + date.end)
                off = _is_off_frame(folded) or _follows(scene, clause.start, folded, "off_frame")
                lens = words_of("on_lens").search(folded) is not None
                lens = lens or _follows(scene, clause.start, folded, "on_lens")
                doubted = claimed == "unsure" or is_doubted(scene, (clause.start, clause.end))
                yield SeenMark(date, span, off, lens and not off, doubted)


def _follows(scene: Scene, start: int, clause: str, word_class: str) -> bool:
    """ "case: later, marked CE": the clause before is of the case and this one names no part."""
    before = [c for c in clauses(scene.passage.folded, (scene.start, scene.end)) if c.end <= start]
    if not before or any(start <= s < start + len(clause) for _, s, _ in scene.parts):
        return False
    return words_of(word_class).search(scene.passage.folded, *_bounds(before[-1])) is not None


def _bounds(clause: Clause) -> tuple[int, int]:
    return clause.start, clause.end


def _is_off_frame(clause: str) -> bool:
    return words_of("off_frame").search(clause) is not None


# --- judging ---------------------------------------------------------------------------------


def claimed_years(case: Case) -> tuple[Era, ...]:
    """The eras the listing claims; a year within a mark ("EN 1836") is none."""
    eras = (e for e in case.evidence.eras if not any(_in_mark(case, s) for s in e.quoted))
    return tuple(e for e in eras if not is_doubted_era(case, e) and not _is_of_a_thing(case, e))


def _is_of_a_thing(case: Case, era: Era) -> bool:
    """The year of a receipt, box or tag is not the frame's."""
    places = [case.place_of(span) for span in era.quoted]
    told = [p for p in places if p is not None]
    return bool(told) and all(_dates_a_thing(scene, clause) for scene, clause in told)


_LOOSE = frozenset({"lens", "pad", "screw", "tip", "case"})
_SHORT = 4  # words of a clause that only adds to the one before


def _dates_a_thing(scene: Scene, clause: tuple[int, int]) -> bool:
    """A year in a clause about the case, or about lenses, pads, screws, or right behind one."""
    folded = scene.passage.folded[clause[0] : clause[1]]
    inside = [(name, start) for name, start, _ in scene.parts if clause[0] <= start < clause[1]]
    if any(name == "front" for name, _ in inside):
        return False
    if _is_off_frame(folded):
        return True
    if inside:
        opening = scene.passage.folded[clause[0] : inside[0][1]]
        return (
            inside[0][0] in _LOOSE
            and len(re.findall(r"\w+", opening)) <= 2
            and words_of("dates_it").search(folded) is not None
        )
    is_short = len(re.findall(r"\w+", folded)) <= _SHORT
    return is_short and _follows(scene, clause[0], folded, "off_frame")


def is_doubted_era(case: Case, era: Era) -> bool:
    """Whether the seller only guesses at the era ("possibly Victorian", "1960s?")."""
    return bool(era.quoted) and all(case.is_doubted(span) for span in era.quoted)


def _in_mark(case: Case, span: Span) -> bool:
    for passage in case.found:
        if (passage.part, passage.key) == (span.part, span.key):
            start = span.start - passage.shift
            around = passage.text[max(0, start - 12) : start + 12]
            return re.search(r"\b(?:EN|ISO|AS|BS|DIN|Z)\W?\W?\d{3,5}", around) is not None
    return False


def sheet_years(case: Case) -> Years:
    """The years of the sheet, or of the edition where it has its own."""
    if case.sheet is None:
        return Years()
    if case.edition and case.edition.years:
        return case.edition.years
    return case.sheet.years


def _judge(case: Case, mark: SeenMark) -> Iterator[Finding]:
    eras = claimed_years(case)
    verdicts = [
        (
            hold_against(
                mark.date, e.from_year, e.to_year, APPROXIMATE_YEARS if e.approximate else 0
            ),
            e,
        )
        for e in eras
    ]
    against = [v for v in verdicts if v[0] != "agrees"]
    if eras and len(against) == len(verdicts):
        verdict, era = against[0]
        yield _finding(
            case, mark, verdict, era_text(era.from_year, era.to_year, era.approximate), era.quoted
        )
        return
    years = sheet_years(case)
    if years.first is None and years.last is None:
        return
    verdict = hold_against(mark.date, years.first, years.last)
    if verdict != "agrees":
        assert case.sheet is not None
        made = f"{case.sheet.name} as made {era_text(years.first, years.last, False)}"
        if _belongs(case, mark):
            return
        yield _finding(case, mark, verdict, made, ())


def _belongs(case: Case, mark: SeenMark) -> bool:
    """The sheet itself says that this mark is on the model."""
    assert case.sheet is not None
    said = plain(mark.date.text)
    return any(said in plain(b) or plain(b) in said for b in case.sheet.marks_belong)


def era_text(first: int | None, last: int | None, approximate: bool) -> str:
    """Years as a dealer says them: "the 1950s", "about 1960", "1958 to 1964"."""
    about = "about " if approximate else ""
    if first is None:
        return f"{about}before {last + 1}" if last is not None else "unknown"
    if last is None:
        return f"{about}{first} or later"
    if first == last:
        return f"{about}{first}"
    if first % 10 == 0 and last == first + 9:
        return f"{about}the {first}s"
    return f"{about}{first} to {last}"


def _finding(
    case: Case, mark: SeenMark, verdict: Verdict, claimed: str, era_quoted: tuple[Span, ...]
) -> Finding:
    date = mark.date
    bound = _bound_text(date.years, verdict)
    base = f"“{' '.join(mark.span.text.split())}” ({date.label}) {bound}, against {claimed}"
    supported, explanations = _explain(case, mark)
    result: Result = "conflicts" if verdict == "hard" else "undecided"
    strength: Strength = verdict if verdict != "agrees" else "soft"
    if mark.off_frame:
        result, why = "undecided", f"{base}, but it is not on the frame itself"
        strength = "clue"
    elif result == "conflicts" and mark.on_lens:
        result, why = "undecided", f"{base}, but it is on the lens, which may be a later one"
    elif result == "conflicts" and mark.doubted:
        result, why = "undecided", f"{base}, but the seller is not sure of the mark"
    elif result == "conflicts" and supported:
        result, why = "undecided", f"{base}, but {supported}"
    else:
        why = base
    return Finding(
        CHECK, "mark_date", result, strength, why, stated=date.text, expected=claimed,
        quoted=(mark.span, *era_quoted), cause=None, source=date.source, explanations=explanations,
    )  # fmt: skip


def _bound_text(years: Bounds, verdict: Verdict) -> str:
    if years.earliest is not None and verdict == "hard":
        late = f" and not after {years.latest}" if years.latest is not None else ""
        return f"is not found before {years.earliest}{late}"
    if years.usual_from is not None and years.usual_to is not None:
        return f"is usual from {years.usual_from} to {years.usual_to}"
    if years.usual_from is not None:
        return f"is usual from {years.usual_from} on"
    if years.usual_to is not None or years.latest is not None:
        return f"is usual up to {years.usual_to or years.latest}"
    return f"is not found before {years.earliest}"


def _explain(case: Case, mark: SeenMark) -> tuple[str | None, tuple[str, ...]]:
    """The innocent reading that the listing supports, and all of them, supported ones first."""
    _, clause = _surroundings(case, mark.span)
    supports = {
        "sticker": words_of("sticker").search(clause) is not None,
        "old_stock": case.says("old_stock"),
        "reissue": case.says("reissue") and not _denies_reissue(case),
        "replaced": bool(words_of("replaced").search(clause))
        and not re.search(r"\bnever|not\b", clause),
        "lens": mark.on_lens,
    }
    texts = dict(_INNOCENT)
    supported = [texts[key] for key, value in supports.items() if value]
    rest = [text for key, text in _INNOCENT if not supports[key]]
    return (supported[0] if supported else None), (*supported, *rest)


def _denies_reissue(case: Case) -> bool:
    pattern = re.compile(
        r"\b(?:not?|never|isn'?t|kein\w*|pas|non)\s+(?:an?\s+|the\s+|of\s+|\w+\s+)?"
        r"re-?(?:issue|edition)\w*"
    )
    return any(pattern.search(p.folded) for p in case.found)


def _sheet_marks(case: Case, seen: tuple[SeenMark, ...]) -> tuple[Finding, ...]:
    """Marks that belong to the model or cannot: the sheet's own list."""
    if case.sheet is None:
        return ()
    for never in case.sheet.marks_never:
        for span, off, unsure in _places_of(case, never):
            if not off:
                return (_mark_finding(case, never, span, unsure, belongs=False),)
    for belong in case.sheet.marks_belong:
        for span, off, unsure in _places_of(case, belong):
            if not off and not unsure:
                return (_mark_finding(case, belong, span, unsure, belongs=True),)
    return ()


def _mark_finding(case: Case, mark: str, span: Span, unsure: bool, belongs: bool) -> Finding:
    assert case.sheet is not None
    texts = {"old_stock": case.says("old_stock"), "reissue": case.says("reissue")}
    reasons = [text for key, text in _INNOCENT if texts.get(key)]
    reasons += ["the seller is not sure of the mark"] if unsure else []
    result: Result = "agrees" if belongs else "undecided" if reasons else "conflicts"
    name = case.sheet.name
    why = f"“{span.text}” is a mark that belongs on {name}"
    if not belongs:
        why = f"“{span.text}” stands on it; the sheet says that {name} never carries it"
        why += f", but {reasons[0]}" if reasons else ""
    return Finding(
        CHECK, "mark_date", result, "soft", why, stated=mark,
        expected=mark if belongs else f"never {mark}", quoted=(span,),
        source=case.sheet.source or None,
        explanations=() if belongs else tuple(text for _, text in _INNOCENT),
    )  # fmt: skip


def _places_of(case: Case, text: str) -> Iterator[tuple[Span, bool, bool]]:
    """Where a mark of the sheet's list is said to be: (words, off the frame or lens, unsure)."""
    wanted = re.sub(r"\W+", "", plain(text))
    for marking in case.evidence.markings:
        if marking.claimed == "absent" or not marking.quoted:
            continue
        if case.is_of_another(marking.quoted[0]):
            continue
        said = re.sub(r"\W+", "", plain(marking.text))
        if said == wanted or (len(wanted) > 3 and wanted in said):
            _, clause = _surroundings(case, marking.quoted[0])
            off = marking.object not in ("item", "", "unspecified") or _is_off_frame(clause)
            off = off or words_of("on_lens").search(clause) is not None
            if place := case.place_of(marking.quoted[0]):
                off = off or _follows(place[0], place[1][0], clause, "off_frame")
                off = off or _follows(place[0], place[1][0], clause, "on_lens")
            yield marking.quoted[0], off, marking.claimed == "unsure"
