"""Which group a listing belongs to, why in one sentence, and the order of all listings.

The rule for `look` reads only what speaks for a listing: how much of the sheet is stated and how
many points agree. Nothing a seller could leave out is able to keep a listing out of `look`, so
leaving something out can never let one in. This has a price: a listing of which half the sheet
agrees stays in `look` even with a conflict, for if the conflict kept it out, leaving out the one
wrong sentence would let it in. What speaks against a listing works through its risk instead: it is
named in the reason, sends what lacks support to `leave`, and takes the place in the order away: a
listing worth a look with something against it stands among those worth a question, by its risk, and
one at which nothing would pay stands among those to leave.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from models.decide import DEFAULT_COSTS, Costs, leave_from
from models.records import Assessment, Finding, NextStep, Step

GROUPS: tuple[NextStep, ...] = ("look", "ask", "cannot_say", "no_sheet", "leave")
NAMES_SHOWN = 3
CAUTIONS = {
    "photos": "others show its pictures too",
    "description": "others use its words too",
    "price": "the price is low",
}


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Where the groups begin; all common practice, no source."""

    look_completeness: float = 0.5  # share of the sheet's points that is stated or shown
    look_agreeing: float = 0.5  # share of the sheet's points that agrees
    look_points: int = 3  # and at least so many points that agree
    say_completeness: float = 0.25  # less than this stated: nothing can be said
    say_points: int = 2  # fewer points stated: nothing can be said


DEFAULT_THRESHOLDS = Thresholds()


@dataclass(frozen=True, slots=True)
class Standing:
    """The sheet's points by what the listing says of them, and whether others show its photos.

    A point may be both agreeing and conflicting (stated twice): it then counts as agreeing for
    the group and is named as conflicting in the reason, so that dropping the worse of the two
    statements gains nothing. A check that leaves such a point undecided says so (`also_agrees`).
    """

    points: tuple[str, ...]
    agreeing: tuple[str, ...]
    conflicting: tuple[str, ...]
    undecided: tuple[str, ...]
    elsewhere: tuple[str, ...]  # conflicts that are none of the sheet's points
    cautions: tuple[str, ...]  # the same, where no more than a clue
    borrowed: bool

    @property
    def stated(self) -> tuple[str, ...]:
        """Points of which the listing says anything that can be held against the sheet."""
        return tuple(dict.fromkeys((*self.agreeing, *self.conflicting, *self.undecided)))

    @property
    def unstated(self) -> tuple[str, ...]:
        return tuple(point for point in self.points if point not in self.stated)


def stand(findings: Sequence[Finding], points: Sequence[str], borrowed: bool) -> Standing:
    """Sort the sheet's points by result; findings on anything else are kept apart."""

    def points_of(result: str) -> tuple[str, ...]:
        names = [f.point for f in findings if f.result == result and f.point in points]
        return tuple(dict.fromkeys(names))

    both_ways = tuple(f.point for f in findings if f.also_agrees and f.point in points)

    others = [f for f in findings if f.result == "conflicts" and f.point not in points]
    return Standing(
        points=tuple(points),
        agreeing=tuple(dict.fromkeys((*points_of("agrees"), *both_ways))),
        conflicting=tuple(dict.fromkeys((*points_of("conflicts"), *both_ways))),
        undecided=points_of("undecided"),
        elsewhere=tuple(dict.fromkeys(f.point for f in others if f.strength != "clue")),
        cautions=tuple(dict.fromkeys(f.point for f in others if f.strength == "clue")),
        borrowed=borrowed,
    )


def choose_group(
    standing: Standing,
    completeness: float | None,
    known: bool,
    ambiguous: bool,
    risk: float,
    costs: Costs = DEFAULT_COSTS,
    thresholds: Thresholds = DEFAULT_THRESHOLDS,
    over: bool = False,
) -> NextStep:
    """Name the group. `known`: a sheet was found; `ambiguous`: several might be meant.

    What is `over` (ended or sold) leaves nothing to do, whatever it says.
    """
    if over:
        return "leave"
    if not known and not ambiguous:
        return "no_sheet"
    stated = completeness or 0.0
    if known and not standing.borrowed and _is_supported(standing, stated, thresholds):
        return "look"
    if risk >= leave_from(costs):
        return "leave"
    little = stated < thresholds.say_completeness or len(standing.stated) < thresholds.say_points
    if ambiguous or little:
        return "cannot_say"
    return "ask"


def _is_supported(standing: Standing, stated: float, thresholds: Thresholds) -> bool:
    agreeing = len(standing.agreeing)
    return (
        stated >= thresholds.look_completeness
        and agreeing >= thresholds.look_points
        and agreeing >= thresholds.look_agreeing * len(standing.points)
    )


def choose_place(
    group: NextStep, findings: Sequence[Finding], told: float, heavy: bool
) -> NextStep | None:
    """The group among which a listing stands in the order, where that is not its own.

    `told` is what it adds to the starting log-odds in all; `heavy` as in `give_reason`.
    """
    if group != "look":
        return None
    if heavy:
        return "leave"
    in_conflict = any(
        (f.result == "conflicts" or f.also_agrees) and f.strength != "clue" for f in findings
    )
    return "ask" if in_conflict or told > 0 else None


def give_reason(
    group: NextStep,
    standing: Standing,
    steps: Sequence[Step],
    heavy: bool = False,
    maybe: Sequence[str] = (),
) -> str:
    """Say in one sentence why the listing stands in its group.

    `steps` are those that tell of the listing, not the start or what is taken back of others.
    `heavy`: its risk is one at which nothing would pay, were it not so well documented.
    `maybe`: why each reference that it might be is one, where it is not known which.
    """
    agrees = f"{len(standing.agreeing)} of {len(standing.points)} points agree with the sheet"
    against = name_several((*standing.conflicting, *standing.elsewhere))
    if group == "look":
        if against and heavy:
            return f"{agrees}, but much speaks against it: look at {against} first, if at all."
        if against:
            return f"{agrees}; look first at {against}, in conflict."
        return f"{agrees} and nothing conflicts{_name_cautions(standing)}."
    if group == "leave":
        return f"Speaks against it: {_heaviest(steps)}."
    if group == "no_sheet":
        worst = _heaviest(steps)
        return f"No sheet for what it claims to be{f'; {worst}' if worst else ''}."
    if group == "cannot_say":
        return _why_nothing_said(standing, against, maybe)
    if standing.borrowed:
        return "Another seller shows the same picture: ask for a fresh one of this piece."
    if against:
        return f"{agrees}, in conflict: {against}; ask before looking."
    asked = name_several(standing.unstated)
    return f"{agrees}, nothing conflicts{_name_cautions(standing)}; still to ask: {asked}."


def _name_cautions(standing: Standing) -> str:
    told = [words for point, words in CAUTIONS.items() if point in standing.cautions]
    return f", though {' and '.join(told)}" if told else ""


def _why_nothing_said(standing: Standing, against: str, maybe: Sequence[str]) -> str:
    if not standing.points:
        return f"{_why_unknown(maybe)}, so nothing can be held against a sheet yet."
    said = _few_stated(len(standing.stated), len(standing.points))
    if against:
        return f"{said}, in conflict: {against}."
    if not standing.unstated:
        return "All that the sheet asks for is stated, but the sheet asks for too little to tell."
    return f"{said}; {name_several(standing.unstated)} would settle it."


def _why_unknown(maybe: Sequence[str]) -> str:
    """Why it is not known which reference it is: the one reason of all, or that there are several.

    >>> _why_unknown(["the maker is named, the model is not"] * 2)
    'The maker is named, the model is not'
    """
    alike = len(set(maybe)) == 1 and (len(maybe) == 1 or "“" not in maybe[0])
    if alike:
        return f"{maybe[0][:1].upper()}{maybe[0][1:]}"
    return "It might be one of several references"


def _few_stated(stated: int, points: int) -> str:
    if not stated:
        return f"None of {points} points is stated"
    return f"Only {stated} of {points} points {'is' if stated == 1 else 'are'} stated"


# what several steps may say alike, each of its own point; the longer before what it ends with
_ENDINGS = (
    " not worded or placed as on the sheet, which is not sure of it",
    " not as on the sheet, which is not sure of it",
    " not worded or placed as on the sheet",
    " not as on the sheet",
)


def _heaviest(steps: Sequence[Step]) -> str:
    """The heaviest steps that speak against it; those with one ending in one clause."""
    against = sorted((s for s in steps if s.log_odds > 0), key=lambda s: -s.log_odds)
    names = dict.fromkeys(step.name for step in against[:NAMES_SHOWN])
    clauses: dict[str, list[str]] = {}
    for said in names:
        ending = next((e for e in _ENDINGS if said.endswith(e)), "")
        clauses.setdefault(ending or said, []).append(said.removesuffix(ending) if ending else "")
    return "; ".join(_clause(points, ending) for ending, points in clauses.items())


def _clause(points: Sequence[str], ending: str) -> str:
    """Points with what is said of all of them.

    >>> _clause(["bridge", "core wire"], " not as on the sheet, which is not sure of it")
    'bridge and core wire not as on the sheet, which is not sure of them'
    """
    if len(points) > 1 and ending.endswith(" of it"):
        ending = ending.removesuffix("it") + "them"
    return name_several(points) + ending


def name_several(points: Sequence[str]) -> str:
    """Name points in plain words, the first few of them.

    >>> name_several(("lens_width", "bridge"))
    'lens width and bridge'
    """
    names = [point.replace("_", " ") for point in dict.fromkeys(points)]
    more = len(names) - NAMES_SHOWN
    if more > 0:
        return ", ".join(names[:NAMES_SHOWN]) + f" and {more} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def rank(assessments: Iterable[Assessment], first: Sequence[str] = ()) -> tuple[Assessment, ...]:
    """Put all listings in order: by group, then the lower risk first, then the better documented.

    What stands among another group (see `choose_place`) is put in order with that one. Those that
    are over come last of all.

    `first` names listings (ids) that come first of all, in the order given: those on which a
    limited number of close looks is best spent. Listings that nothing tells apart are ordered by
    id, so that the order never depends on files.
    """
    places = {name: place for place, name in enumerate(first)}
    return tuple(sorted(assessments, key=lambda one: _place(one, places)))


def place_among(one: Assessment, others: Iterable[Assessment]) -> int:
    """The number at which an assessment would stand among others (1 is the first)."""
    own = _place(one, {})
    return 1 + sum(_place(other, {}) < own for other in others if other.id != one.id)


def _place(
    assessment: Assessment, places: Mapping[str, int]
) -> tuple[int, bool, int, float, float, str]:
    group = assessment.stands_with or assessment.next_step
    return (
        0 if assessment.id in places else GROUPS.index(group),
        assessment.over is not None,
        places.get(assessment.id, len(places)),
        round(assessment.risk, 9),
        -(assessment.completeness or 0.0),
        assessment.id,
    )
