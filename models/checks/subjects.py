"""Conflicts whose words may be said of another thing: those stay undecided.

What surely is of another thing is blanked before any check reads it (focus.py, others.py). This is
the net behind it: a sentence that opens with another owner, time, wish or thing, that sets its
value against this piece ("...; this one has five"), or that ends by taking it back.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from extractors.records import Span
from models.checks.case import Case, words_for
from models.passages import passages
from models.point_values import Scene
from models.point_words import NUMBER, topics
from models.records import Finding
from models.wording import alternatives, words_of

_CHECKED = frozenset({"points", "inscriptions", "measurements", "country", "eras", "markings"})
# what a case, a box or a cloth may have as well as the frame
_OF_PACKAGING = frozenset({"country", "material", "badge", "marks", "mark_date"})
_OF_TIME = frozenset({"production_years", "era"})
WHY = "the sentence may speak of another thing"


def without_doubtful(case: Case, found: Iterable[Finding]) -> list[Finding]:
    """The findings; a conflict that may be of another thing becomes undecided.

    Of a listing that contradicts itself both halves must be of this piece; else nothing is told.
    """
    kept = [f for f in found if not (f.check == "itself" and _is_half_of_another(case, f))]
    return [_opened(f) if _is_doubtful(case, f) else f for f in kept]


def _is_half_of_another(case: Case, finding: Finding) -> bool:
    return finding.result == "conflicts" and any(
        may_be_of_another(case, finding.point, span) for span in finding.quoted
    )


def _opened(finding: Finding) -> Finding:
    why = f"{finding.why}, but {WHY}"
    return replace(finding, result="undecided", why=why, explanations=(), cause=None)


def _is_doubtful(case: Case, finding: Finding) -> bool:
    if finding.result != "conflicts" or finding.check not in _CHECKED or not finding.quoted:
        return False
    return all(may_be_of_another(case, finding.point, span) for span in finding.quoted)


def may_be_of_another(case: Case, point: str, span: Span) -> bool:
    """Whether the words at `span` may be said of something other than the piece for sale."""
    place = case.place_of(span)
    if place is None or span.part != "text" or place[0].start < place[0].passage.title_end:
        return False
    scene, start = place[0], span.start - place[0].passage.shift
    end = min(scene.end, start + len(span.text))
    before = scene.passage.folded[scene.start : start]
    classes = ["another_before"]
    classes += ["another_make"] if case.edition is None else []
    classes += ["another_time"] if point in _OF_TIME else []
    after = passages(case.listing)[0].folded[end : scene.end]  # with what was blanked, too
    return (
        _opens_with_another(before, classes)
        or (point in _OF_TIME and _dates_a_thing(before, after))
        or _ends_as_another(after)
        or _is_set_against_this(case, point, scene, before, end)
        or (point in _OF_PACKAGING and _is_of_packaging(before))
    )


def _dates_a_thing(before: str, after: str) -> bool:
    """ "2010 leaflet", "magnifier, 1972": the year of a thing beside the frame."""
    behind = re.match(rf"\W{{0,2}}(?:{alternatives('dated_thing')})(?!\w)", after)
    clause = re.split(r"[.;()]", before)[-1]
    parts = (p for name, p in topics().items() if name != "case")
    thing = words_of("other_thing").search(clause)
    return behind is not None or (thing is not None and not any(p.search(clause) for p in parts))


def _opens_with_another(before: str, classes: Iterable[str]) -> bool:
    """A word for another piece whose clause reaches the value, none for this one behind it."""
    ends = [m.end() for name in classes for m in words_of(name).finditer(before)]
    return any(not _this().search(before, at) and _reaches(before[at:]) for at in ends)


def _reaches(between: str) -> bool:
    """Whether a sentence goes on from the cue to the value, not merely lists on by commas."""
    if re.match(r"\W{0,2}(?:\w+ ?){0,3}:", between):
        return True  # "wanted: round rivets, seven barrels"
    return all(_goes_on().match(piece) for piece in re.split(r"[,;(]|\s[-–—]\s", between)[1:])


@cache
def _goes_on() -> re.Pattern[str]:
    return re.compile(rf"[^,;(]*\)|\W*(?:{alternatives('goes_on')})(?!\w)")


_OWN_SUBJECT = re.compile(
    r"[,;(]\W*(?:(?!\b(?:and|that|which|it|they|these|those|but|is|are|und|die|der|das|et|qui|ce|"
    r"e|che|y|que|o)\b)\w+\W+)"
)


def _ends_as_another(after: str) -> bool:
    """Taken back behind the value, with no subject of its own: ", which is wrong"."""
    match = words_of("another_after").search(after)
    if match is None:
        return False
    between = after[: match.start()]
    return not _this().search(between) and _OWN_SUBJECT.search(between) is None


def _is_set_against_this(case: Case, point: str, scene: Scene, before: str, end: int) -> bool:
    """ "... three barrels; this one has five": the same is said of this piece right behind it."""
    if _this().search(before):
        return False
    rest = scene.passage.folded[end : scene.end] + _next_of_this(scene)
    turned = _this().search(rest)
    if turned is None or not _TURN.fullmatch(rest[: turned.start()]):
        return False
    return _says_a_value(case, point, rest[turned.end() :][:40])


# one mark between the value and this piece, a few words of the value's own before it
_TURN = re.compile(r"[^,;:.(–-]{0,40}[,;:.(–-]\W*(?:\w+ ){0,3}")


def _next_of_this(scene: Scene) -> str:
    """The next sentence where it opens with this piece."""
    following = scene.following.lstrip()
    return f". {following}" if _this().match(following) else ""


def _says_a_value(case: Case, point: str, text: str) -> bool:
    if re.search(rf"(?<!\w)(?!(?:an?|une?|una|uno|eine?|one)\b){NUMBER}(?!\w)", text):
        return True
    facets = words_for(case.sheet, point).facets
    return any(pattern.search(text) for facet in facets for pattern in facet.values.values())


def _is_of_packaging(before: str) -> bool:
    """A case or a cloth named before, and no part of the frame since."""
    named = list(words_of("off_frame").finditer(before))
    if not named:
        return False
    since = before[named[-1].end() :]
    parts = (p for name, p in topics().items() if name not in ("case", "badge", "logo", "damage"))
    return not (_this().search(since) or any(p.search(since) for p in parts))


@cache
def _this() -> re.Pattern[str]:
    """This piece named again, by any of the words for it."""
    return re.compile(
        rf"(?<!\w)(?:{alternatives('this_piece')}|{alternatives('named_again')}"
        rf"|{alternatives('the_offered')})(?!\w)"
    )
