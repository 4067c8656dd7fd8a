"""Country: "made in ..." against the country of the sheet."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from functools import cache
from importlib import resources

from extractors.folding import plain
from extractors.records import Span
from models.checks.case import Case
from models.checks.points import edition_fits
from models.passages import clauses
from models.point_values import Scene, sign, speaks_of_others
from models.records import Finding, Result
from models.wording import words_of

CHECK = "country"
CODES = (
    (CHECK, "agrees", "soft"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "undecided", "soft"),
)


@cache
def _groups() -> dict[str, str]:
    """Name -> country: names of one place, or one within the other (models/data/countries.csv).

    A seller's "Germany" stands for West Germany.
    """
    with resources.files("models").joinpath("data/countries.csv").open(encoding="utf-8") as file:
        return {row["name"]: row["country"] for row in csv.DictReader(file)}


@cache
def _made_in() -> re.Pattern[str]:
    made = words_of("made_in").pattern
    return re.compile(
        rf"{made}\s*:?\s*(?<=[\s:])(?:(?:the|der|den|la|le|el|il)\s+)?(?P<country>{_names()})(?![a-z])"
    )


@cache
def _made() -> re.Pattern[str]:
    """ "in Frankreich hergestellt": the country before the verb."""
    made = "hergestellt|gefertigt|produziert|gebaut|gemacht"
    return re.compile(rf"(?<!\w)in (?:der )?(?P<country>{_names()}) (?:{made})(?!\w)")


@cache
def _names() -> str:
    return "|".join(sorted(map(re.escape, _groups()), key=len, reverse=True))


_LABEL = re.compile(r"country|made in|manufacture|land|pays|paese|pais|origin|herkunft")


@cache
def country_names() -> tuple[str, ...]:
    """Every name of a country that is known, folded."""
    return tuple(_groups())


def group_of(name: str) -> str | None:
    """The country a name stands for, or None for one that is not listed."""
    return _groups().get(plain(name).strip())


def check_country(case: Case) -> tuple[Finding, ...]:
    """One finding where the listing says in which country the frame was made."""
    if case.sheet is None or not case.sheet.country:
        return ()
    wanted = {group_of(c) for c in case.sheet.country}
    marks = (re.sub(r"(?i)^made in ", "", m) for m in case.sheet.marks_belong)
    wanted |= {group_of(m) for m in marks}
    if not wanted - {None}:
        return ()
    told = list(_told(case))
    if not told:
        return ()
    agreeing = [t for t in told if group_of(t[0]) in wanted]
    name, span, unsure, firm = (agreeing or told)[0]
    expected = " or ".join(case.sheet.country)
    result: Result = "agrees" if agreeing else "conflicts" if firm and not unsure else "undecided"
    if result == "conflicts" and (case.says("reissue") or _of_edition(case, name)):
        result = "undecided"
    said = f"country: the seller writes “{span.text}”"
    why = {
        "agrees": f"{said}, as the sheet has it ({expected})",
        "conflicts": f"{said}; the sheet has {expected}",
        "undecided": f"{said}; the sheet has {expected}, but it is not said to be marked so",
    }[result]
    others = ("the lens, the case or a later licensed maker may be meant",)
    return (
        Finding(
            CHECK, "country", result, "soft", why, stated=name, expected=expected, quoted=(span,),
            source=case.sheet.source or None,
            explanations=others if result == "conflicts" else (),
        ),
    )  # fmt: skip


def _of_edition(case: Case, country: str) -> bool:
    """Some edition is known by this country: the plain sheet's does not bind it."""
    assert case.sheet is not None
    fits = [e for e in case.sheet.editions if edition_fits(case, e.name)]
    known = [c for e in fits for c in e.known_by if c.subject == "country"]
    return any(group_of(value) == group_of(country) for c in known for value in c.values)


def _told(case: Case) -> Iterator[tuple[str, Span, bool, bool]]:
    """(country, words, unsure, firm): firm where it is written on the frame or said outright."""
    for marking in case.evidence.markings:
        bare = re.sub(r"(?i)^made in (?:the )?", "", marking.text.strip())
        on_item = marking.object in ("item", "", "unspecified") and marking.quoted
        if on_item and (
            _is_on_lenses(case, marking.quoted[0]) or _is_off_frame(case, marking.quoted[0])
        ):
            continue
        if on_item and group_of(bare) and marking.claimed != "absent":
            yield bare, marking.quoted[0], marking.claimed == "unsure", True
    for scene in case.told:
        if scene.passage.part == "specific":
            yield from _in_label(scene)
            continue
        for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
            yield from _in_clause(scene, (clause.start, clause.end))


def _said_of(scene: Scene, start: int) -> int:
    """Where the thing is named that a clause is of: in it, or before "it says ...", "(made in ...".

    "A later case (marked CE, made in China)" is said of the case.
    """
    folded = scene.passage.folded
    bracket = folded.rfind("(", scene.start, start)
    if bracket > folded.rfind(")", scene.start, start):
        start = bracket
    elif not words_of("refers_back").match(folded[start:].lstrip()):
        return start
    before = [c.start for c in clauses(folded, (scene.start, scene.end)) if c.start < start]
    return before[-1] if before else start


def _is_on_lenses(case: Case, span: Span) -> bool:
    """ "the lenses say Made in Germany": the clause is of the lenses, and of no other part."""
    place = case.place_of(span)
    if place is None:
        return False
    scene, (start, end) = place
    return {name for name, at, _ in scene.parts if start <= at < end} == {"lens"}


def _is_off_frame(case: Case, span: Span) -> bool:
    """ "Case not original, it says Made in Taiwan"."""
    place = case.place_of(span)
    if place is None:
        return False
    scene, (start, end) = place
    text = scene.passage.folded[_said_of(scene, start) : end]
    return words_of("off_frame").search(text) is not None


def _in_label(scene: Scene) -> Iterator[tuple[str, Span, bool, bool]]:
    value_at = -scene.passage.shift
    bare = re.compile(rf"\b({_names()})(?![a-z])")
    match = bare.search(scene.passage.folded, value_at)
    if match and _LABEL.search(scene.passage.folded[:value_at]):
        yield match.group(1), scene.passage.span(match.start(), match.end()), False, False


def _in_clause(scene: Scene, bounds: tuple[int, int]) -> Iterator[tuple[str, Span, bool, bool]]:
    folded = scene.passage.folded
    for match in (*_made_in().finditer(folded, *bounds), *_made().finditer(folded, *bounds)):
        text = folded[_said_of(scene, bounds[0]) : bounds[1]]
        if speaks_of_others(scene, bounds) or words_of("off_frame").search(text):
            continue
        if words_of("on_lens").search(text):
            continue
        claimed = sign(scene, bounds, match.start(), match.end())
        if claimed != "absent":
            span = scene.passage.span(match.start(), match.end())
            yield match["country"], span, claimed == "unsure", True
