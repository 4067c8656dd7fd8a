"""The listing against itself: sizes that cannot all be true, statements that exclude each other.

No sheet is needed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from extractors.records import Era, Measurement, Span
from models.boxing import diagonal_bounds, least_front_width
from models.checks.case import Case
from models.checks.eras import TWO_ERAS, apart, told_together
from models.checks.markings import claimed_years, era_text, sheet_years
from models.checks.measurements import size_text, stated_sizes
from models.exclusions import Pair, lens_pair, modern, pairs
from models.passages import clause_at
from models.point_values import Scene, Statement, is_doubted, speaks_of_others
from models.records import Finding, Strength
from models.wording import words_of

CHECK = "itself"
LENS_WORDING = "lens_wording"  # the point of words on lenses that are younger than the piece
CODES = (
    (CHECK, "conflicts", "hard"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "undecided", "soft"),
    (CHECK, "undecided", "clue"),
    (CHECK, "agrees", "soft"),
)

# what two readings of one size by the same seller may differ beyond rounding (own choice)
_TWICE_SLACK = {"temple_length": 3.0, "frame_width": 4.0}
_TWICE_DEFAULT = 1.5


def check_front(case: Case) -> tuple[Finding, ...]:
    """Full front width must exceed two lenses and the bridge (F26), beyond all rounding."""
    sizes = stated_sizes(case)
    front, lens, bridge = (_single(sizes.get(q)) for q in ("frame_width", "lens_width", "bridge"))
    if front is None or lens is None or bridge is None or front.basis == "hinge_to_hinge":
        return ()
    if case.says("curved_front"):
        return ()
    least = least_front_width(
        lens.low_mm - lens.half_width_mm, bridge.low_mm - bridge.half_width_mm
    )
    most = front.high_mm + front.half_width_mm
    slack = sum(3.0 for m in (front, lens, bridge) if m.approximate) + (
        0 if front.basis == "overall" else 1.0
    )
    if most + slack >= least or not _is_plausible_front(front, lens, bridge):
        return ()
    why = (
        f"a front {size_text(front.low_mm, front.high_mm)} wide cannot hold two lenses of "
        f"{size_text(lens.low_mm, lens.high_mm)} and a bridge of "
        f"{size_text(bridge.low_mm, bridge.high_mm)}"
    )
    return (
        Finding(
            CHECK, "front_against_lenses", "conflicts",
            "hard" if front.basis == "overall" else "soft", why,
            stated=size_text(front.low_mm, front.high_mm), expected=f"more than {least:.0f} mm",
            quoted=(*front.quoted, *lens.quoted, *bridge.quoted),
            source="boxing system, geometry (ISO 8624)",
            explanations=("the width may be taken between the hinges", "a slip of the ruler"),
        ),
    )  # fmt: skip


def _single(stated: tuple[Measurement, ...] | None) -> Measurement | None:
    """The only value of a size; None where there is none or several that differ."""
    if not stated:
        return None
    low, high = min(m.low_mm for m in stated), max(m.high_mm for m in stated)
    return stated[0] if high - low <= 2 else None


def _is_plausible_front(front: Measurement, lens: Measurement, bridge: Measurement) -> bool:
    """Within what retail and clinic guides call usual, widely taken (F15, F16)."""
    return 90 <= front.low_mm <= 180 and 30 <= lens.low_mm <= 75 and 8 <= bridge.low_mm <= 35


def check_diagonal(case: Case) -> tuple[Finding, ...]:
    """A lens diagonal lies between the longer side and the box's diagonal (F23)."""
    sizes = stated_sizes(case)
    names = ("lens_width", "lens_height", "lens_diagonal")
    a, b, ed = (_single(sizes.get(q)) for q in names)
    if a is None or b is None or ed is None:
        return ()
    rounding = a.half_width_mm + b.half_width_mm + ed.half_width_mm
    slack = rounding + 1.0 + sum(2.0 for m in (a, b, ed) if m.approximate)
    low, high = max(a.low_mm, b.low_mm), diagonal_bounds(a.high_mm, b.high_mm)[1]
    if low - slack <= ed.high_mm and ed.low_mm <= high + slack:
        return ()
    why = (
        f"a lens {size_text(a.low_mm, a.high_mm)} by {size_text(b.low_mm, b.high_mm)} "
        f"cannot measure {size_text(ed.low_mm, ed.high_mm)} across the corners"
    )
    return (
        Finding(
            CHECK, "lens_diagonal", "conflicts", "soft", why,
            stated=size_text(ed.low_mm, ed.high_mm),
            expected=f"{low:.0f} to {high:.0f} mm", quoted=(*ed.quoted, *a.quoted, *b.quoted),
            source="geometry of the boxed lens", explanations=("a slip of the ruler or the pen",),
        ),
    )  # fmt: skip


def check_twice_stated(case: Case) -> tuple[Finding, ...]:
    """Two statements of one size that exclude each other."""
    return tuple(f for q, stated in stated_sizes(case).items() if (f := _differ(case, q, stated)))


def _differ(case: Case, quantity: str, stated: tuple[Measurement, ...]) -> Finding | None:
    if quantity == "unspecified" or len(stated) < 2:
        return None
    stated = tuple(m for m in stated if not _is_bare_in_title(case, m))
    if len(stated) < 2:
        return None
    low = min(stated, key=lambda m: m.high_mm)
    high = max(stated, key=lambda m: m.low_mm)
    slack = _TWICE_SLACK.get(quantity, _TWICE_DEFAULT) + low.half_width_mm + high.half_width_mm
    slack += sum(3.0 for m in (low, high) if m.approximate)
    if high.low_mm - low.high_mm <= slack or _measured_otherwise(quantity, low, high):
        return None
    if _in_one_sentence(case, low, high) or case.says("taken_back"):
        return None  # a list of figures or a corrected slip, not two statements
    name = quantity.replace("_", " ")
    one, other = (size_text(m.low_mm, m.high_mm) for m in (low, high))
    why = f"the listing gives the {name} as {one} and as {other}"
    return Finding(
        CHECK, quantity, "conflicts", "soft", why, stated=f"{one} and {other}", expected="one size",
        quoted=(*low.quoted, *high.quoted),
        explanations=("a slip of the pen", "text kept from another listing"),
    )  # fmt: skip


_SAYS_SIZE = re.compile(r"mm|cm|inch|\"|lens|glas|bridge|temple|\d\s?[□x/-]\s?\d")


def _is_bare_in_title(case: Case, measurement: Measurement) -> bool:
    """A number in the title with no unit, part or notation may be the model's ("Osterwold 55")."""
    places = [case.place_of(span) for span in measurement.quoted[:1]]
    return any(
        place is not None
        and place[0].passage.part == "text"
        and place[0].start < place[0].passage.title_end
        and not _SAYS_SIZE.search(place[0].folded)
        for place in places
    )


def _in_one_sentence(case: Case, low: Measurement, high: Measurement) -> bool:
    found = [case.place_of(m.quoted[0]) for m in (low, high) if m.quoted]
    scenes = [place[0] for place in found if place is not None]
    return len(scenes) == 2 and scenes[0] is scenes[1]


def _measured_otherwise(quantity: str, low: Measurement, high: Measurement) -> bool:
    """Two bases (to the bend, hinge to hinge, printed) make two sizes of one thing."""
    if quantity in ("temple_length", "frame_width") and low.basis != high.basis:
        return True
    # an arm given to the bend and in total, without saying so
    return quantity == "temple_length" and 22 <= high.low_mm - low.high_mm <= 62


def check_counts(case: Case) -> tuple[Finding, ...]:
    """Two counts of one thing ("7 barrel" in the title, "five barrels" below)."""
    statements = [
        s for s in case.read("hinge_barrels") if s.facet == "count" and s.claimed == "present"
    ]
    values = {s.value for s in statements}
    if len(values) != 2 or any(s.replaced for s in statements):
        return ()
    one, other = _first_of(statements, values)
    why = f"the listing speaks of {one.value} and of {other.value} hinge barrels"
    return (
        Finding(
            CHECK, "hinge_barrels", "conflicts", "soft", why,
            stated=f"{one.value} and {other.value}", expected="one count",
            quoted=(one.span, other.span),
            explanations=("a slip of the pen", "text kept from another listing"),
        ),
    )  # fmt: skip


def _first_of(statements: list[Statement], values: set[str]) -> tuple[Statement, Statement]:
    one, other = sorted(
        values, key=lambda v: next(i for i, s in enumerate(statements) if s.value == v)
    )
    return (
        next(s for s in statements if s.value == one),
        next(s for s in statements if s.value == other),
    )


def check_two_eras(case: Case) -> tuple[Finding, ...]:
    """Two times of making that exclude each other: one in the title, another in the text.

    Several decades in one sentence are a range or a list of search words, no two statements.
    """
    eras = claimed_years(case)
    for one, other in combinations(eras, 2):
        if not apart(one, other) or _are_of_a_list(case, one, other, eras):
            continue
        if case.says("reissue") or case.says("old_stock"):
            return ()  # the design's time and the piece's, or its making and its sale
        both = [era_text(e.from_year, e.to_year, e.approximate) for e in (one, other)]
        return (
            Finding(
                CHECK, "era", "conflicts", "soft",
                f"the listing dates the piece to {both[0]} and to {both[1]}",
                stated=" and ".join(both), expected="one time of making",
                quoted=(*one.quoted[:1], *other.quoted[:1]), cause=TWO_ERAS,
                explanations=("text kept from another listing", "a guess corrected in one place"),
            ),
        )  # fmt: skip
    return ()


def _are_of_a_list(case: Case, one: Era, other: Era, eras: Sequence[Era]) -> bool:
    """Whether one sentence names both, or names the one beside a third that meets the other."""
    return any(
        told_together(case, a, e) and (e is b or not apart(e, b))
        for a, b in ((one, other), (other, one))
        for e in eras
        if e is not a
    )


def check_exclusions(case: Case) -> tuple[Finding, ...]:
    """Statements that do not go together, by the pairs of models/data/exclusions.toml."""
    found = []
    for pair in pairs():
        one = _first_said(case, pair.one, pair.unless)
        other = _other_said(case, pair) if one else None
        if one is not None and other is not None:
            found.append(_excluded(pair.point, pair.why, "soft", one, other))
    return (*found, *_modern_lenses(case))


def _modern_lenses(case: Case) -> Iterator[Finding]:
    """Wording of later decades on the lenses of an old piece, unless they are said to be later."""
    rule, lenses = modern(), lens_pair()
    seen = _first_said(case, rule.words, rule.unless)
    original = _first_said(case, lenses.one, lenses.unless)
    if seen is None or not _is_old(case, rule.last_year):
        return
    if original is not None:
        why = "the lenses are said to be the original ones and carry the words of a later time"
        yield _excluded(LENS_WORDING, why, "soft", original, seen)
    elif not (case.has_other_lenses or _other_said(case, lenses)):
        why = "the lenses carry the words of a later time and are not said to be later ones"
        open_one = _excluded(LENS_WORDING, why, "clue", seen, None)
        yield replace(open_one, result="undecided")


def _is_old(case: Case, year: int) -> bool:
    """Whether every time claimed, or the sheet where none is, ends by that year."""
    ends = [e.to_year for e in claimed_years(case)] or [sheet_years(case).last]
    return all(end is not None and end <= year for end in ends)


def _other_said(case: Case, pair: Pair) -> Span | None:
    return _first_condition(case, pair) or _first_said(case, pair.other, doubted=True)


def _first_said(
    case: Case,
    words: re.Pattern[str],
    unless: re.Pattern[str] | None = None,
    doubted: bool = False,
) -> Span | None:
    """Where the words stand first, said of this piece; firmly, unless `doubted` will do."""
    for scene in case.told:
        for match in words.finditer(scene.passage.folded, scene.start, scene.end):
            if _is_said(scene, match, unless, doubted):
                return scene.passage.span(match.start(), match.end())
    return None


def _is_said(
    scene: Scene, match: re.Match[str], unless: re.Pattern[str] | None, doubted: bool
) -> bool:
    folded = scene.passage.folded
    sentence = (scene.start, scene.end)
    clause = clause_at(folded, sentence, match.start()) or sentence
    if words_of("negation").search(folded, max(clause[0], match.start() - _NEAR), match.start()):
        return False
    around = folded[scene.start : match.start()] + "|" + folded[match.end() : scene.end]
    if unless is not None and unless.search(around):
        return False
    if not doubted and is_doubted(scene, clause):
        return False
    return not speaks_of_others(scene, clause, match.start())


_NEAR = 24  # characters before a word in which a negation is its own


def _first_condition(case: Case, pair: Pair) -> Span | None:
    for state in case.evidence.conditions:
        told = state.kind in pair.conditions and state.claimed == "present" and state.quoted
        if told and state.part not in pair.conditions_not_of:
            return state.quoted[0]
    return None


def _excluded(point: str, why: str, strength: Strength, one: Span, other: Span | None) -> Finding:
    spans = (one,) if other is None else (one, other)
    return Finding(
        CHECK, point, "conflicts", strength, why,
        stated=" and ".join(f"“{' '.join(span.text.split())}”" for span in spans),
        expected="one of the two" if other else None, quoted=spans,
        explanations=("text kept from another listing", "a change that is told in one place only"),
    )  # fmt: skip


def check_itself(case: Case) -> tuple[Finding, ...]:
    """All checks of the listing against itself."""
    checks = (
        check_front,
        check_diagonal,
        check_twice_stated,
        check_counts,
        check_two_eras,
        check_exclusions,
    )
    return tuple(f for check in checks for f in check(case))
