"""Construction points: what the seller says of hinge, rivets, pads ... against the sheet.

"usually" gives a clue, never a conflict; a part said to be replaced is innocent; a condition or
an edition that the listing leaves open leaves the point undecided. Silence is never a conflict.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib import resources

from extractors.records import Claimed, Feature, Span
from models.checks.case import Case, Holding, rules_for, words_for
from models.point_values import Statement, is_on_packaging, is_replaced, sign
from models.point_words import PointWords, facet, first_number, kinds_within, number_of
from models.records import Finding, Result, Strength
from models.sheet_records import INSCRIPTIONS, Condition, Rule, Years

CHECK = "points"
CODES = tuple(
    (CHECK, result, strength)
    for result, strengths in (
        ("agrees", ("hard", "soft", "clue")),
        ("conflicts", ("hard", "soft")),
        ("undecided", ("hard", "soft", "clue")),
        ("not_stated", ("hard", "soft", "clue")),
    )
    for strength in strengths
)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the statements say to one rule; `why` completes "the seller writes X; ..."."""

    result: Result
    statement: Statement | None = None
    why: str = ""
    also_agrees: bool = False  # said both ways


def check_points(case: Case) -> tuple[Finding, ...]:
    """One finding per construction point of the sheet."""
    if case.sheet is None:
        return ()
    rules = [*case.sheet.rules, *(case.edition.rules if case.edition else ())]
    points = dict.fromkeys(r.point for r in rules if r.inscription is None or _has_form(r))
    return tuple(f for point in points if (f := check_point(case, point)))


def _has_form(rule: Rule) -> bool:
    """An inscription or badge that has values of its own beside its text ("cut out")."""
    if rule.point != "badge" and rule.inscription and rule.point in INSCRIPTIONS:
        return False
    words = [v for v in (*rule.values, *rule.never) if v not in ("present", "any", "none")]
    return bool(words) or rule.point == "badge"


def check_point(case: Case, point: str) -> Finding | None:
    """Judge one point; None where no rule of the sheet can hold for this listing."""
    holding = rules_for(case, point)
    if not holding.sure and not holding.maybe:
        return None
    words, statements = words_for(case.sheet, point), case.read(point)
    statements = (*statements, *_from_features(case, words, statements))
    verdict, rule = _verdict(holding, statements, words)
    verdict = _with_edition(case, verdict, holding, statements, words)
    if verdict.result == "conflicts":
        verdict = _innocent(case, verdict, rule, words)
    return finding_of(CHECK, rule, verdict)


def _verdict(
    holding: Holding, statements: tuple[Statement, ...], words: PointWords
) -> tuple[Verdict, Rule]:
    """Rules that surely hold decide; among those that may hold, only all together conflict."""
    if holding.sure:
        judged = [(judge(rule, statements, words), rule) for rule in holding.sure]
        return max(judged, key=lambda pair: _WEIGHT[pair[0].result])
    judged = [(judge(rule, statements, words), rule) for rule in holding.maybe]
    results = {verdict.result for verdict, _ in judged}
    if results == {"conflicts"} and len(judged) > 1:
        return judged[0]
    stated = next((p for p in judged if p[0].result in ("agrees", "conflicts", "undecided")), None)
    if stated is None:
        return judged[0]
    if len(judged) == 1 and stated[0].result == "agrees":
        return stated  # the value is right if the rule holds, and no rule speaks against it
    condition = _say_condition(stated[1])
    return Verdict(
        "undecided", stated[0].statement, f"it depends on {condition}, which is not said"
    ), stated[1]


_LOOSE_PARTS = frozenset({"pad", "screw", "tip", "lens"})
_WEIGHT = {"conflicts": 4, "undecided": 3, "agrees": 2, "not_stated": 1, "no_reference": 0}


def _say_condition(rule: Rule) -> str:
    return " and ".join(
        f"whether the {c.subject.replace('_', ' ')} is {' or '.join(c.values)}" for c in rule.when
    )


def _with_edition(
    case: Case,
    verdict: Verdict,
    holding: Holding,
    statements: tuple[Statement, ...],
    words: PointWords,
) -> Verdict:
    """A value that conflicts with the plain model but belongs to an edition stays open."""
    if verdict.result != "conflicts":
        return verdict
    for name, rule in holding.editions:
        if judge(rule, statements, words).result == "agrees" and edition_fits(case, name):
            why = f"it would be right on the {name} edition, which the listing does not name"
            return Verdict("undecided", verdict.statement, why)
    return verdict


def edition_fits(case: Case, name: str) -> bool:
    """Whether nothing the listing says excludes an edition: its points, its years."""
    assert case.sheet is not None
    edition = next(e for e in case.sheet.editions if e.name == name)
    for rule in edition.rules:
        if rule.inscription is None or _has_form(rule):
            told = case.read(rule.point)
            if judge(rule, told, words_for(case.sheet, rule.point)).result == "conflicts":
                return False
    return not _is_out_of_years(case, edition.years)


_YEARS_OUT = 3  # years beside an edition's own that a seller's guess may be out (own choice)


def _is_out_of_years(case: Case, years: Years | None) -> bool:
    eras = [e for e in case.evidence.eras if not e.approximate]
    if years is None or not eras:
        return False
    return all(
        (
            years.last is not None
            and e.from_year is not None
            and e.from_year > years.last + _YEARS_OUT
        )
        or (
            years.first is not None
            and e.to_year is not None
            and e.to_year < years.first - _YEARS_OUT
        )
        for e in eras
    )


def _innocent(case: Case, verdict: Verdict, rule: Rule, words: PointWords) -> Verdict:
    """A part said to be a later one is no conflict; nor is a value the sheet only guesses."""
    statement = verdict.statement
    if statement is None:
        return verdict
    if statement.replaced or words.topic in case.replaced:
        return Verdict("undecided", statement, "the seller says that this part is a later one")
    if words.topic == "lens" and case.has_other_lenses:
        return Verdict("undecided", statement, "the seller says that the lenses are later ones")
    if statement.worn and rule.harmless:
        return Verdict("undecided", statement, f"wear may explain it ({rule.harmless[0]})")
    if rule.sure == "guess":
        return Verdict("undecided", statement, "the sheet itself is not sure of this point")
    return verdict


def judge(rule: Rule, statements: Iterable[Statement], words: PointWords) -> Verdict:
    """Hold every statement against one rule; mixed statements stay undecided."""
    votes = [v for s in statements if (v := _vote(rule, s, words))]
    conflicts = [v for v in votes if v.result == "conflicts"]
    agrees = [v for v in votes if v.result == "agrees"]
    if rule.force == "usually" and conflicts and not agrees:
        return Verdict(
            "undecided", conflicts[0].statement, "it is usually otherwise, with exceptions"
        )
    if conflicts and agrees:
        plain = [v for v in conflicts if v.statement and not v.statement.replaced]
        if not plain:
            return agrees[0]
        return Verdict(
            "undecided", plain[0].statement, "the listing says both the one and the other", True
        )
    for group in (conflicts, agrees, votes):
        if group:
            return group[0]
    return Verdict("not_stated")


def _vote(rule: Rule, statement: Statement, words: PointWords) -> Verdict | None:
    """What one statement says to one rule, or None where it says nothing to it."""
    result = _result(rule, statement, words)
    if result is None:
        return None
    if statement.claimed == "unsure":
        return Verdict("undecided", statement, "the seller is not sure")
    if statement.claimed == "absent" and statement.lost:
        return Verdict("undecided", statement, "it is said to be missing, so it was there")
    why = "sellers call the one by the other's name" if result == "undecided" else ""
    return Verdict(result, statement, why)


def _result(rule: Rule, statement: Statement, words: PointWords) -> Result | None:
    if statement.facet == "presence":
        return _presence_result(rule, statement, words)
    if statement.facet in ("count", "number"):
        return _number_result(rule, statement)
    mine = next((f for f in words.facets if f.name == statement.facet), None)
    if mine is None:
        return None
    allowed = {c for v in (*rule.values, *rule.usual) if (c := mine.canonical(v))}
    never = {c for v in rule.never if (c := mine.canonical(v))}
    if "any" in rule.never:
        return "conflicts" if statement.claimed != "absent" else None
    if statement.claimed == "absent":
        denied = statement.value in allowed and len(allowed) == 1
        return "conflicts" if denied else "agrees" if statement.value in never else None
    if statement.value in allowed:
        return "agrees"
    if statement.value in never:
        return "conflicts"
    if not allowed:
        return None
    if (kind := kinds_within(mine.name).get(statement.value)) is not None:
        return "undecided" if allowed & kind or not allowed <= _known(mine.name) else "conflicts"
    if any(statement.value in kinds_within(mine.name).get(value, ()) for value in allowed):
        return "agrees"
    if statement.value in words.named and allowed <= words.named:
        return "conflicts"  # the sheet itself tells the one from the other
    near = any(is_near(statement.facet, statement.value, value) for value in allowed)
    return "undecided" if near else "conflicts"


def _known(facet_name: str) -> frozenset[str]:
    """The general values of a facet, without those of a sheet's own."""
    return frozenset(facet(facet_name).values) if not facet_name.startswith("own:") else frozenset()


def _presence_result(rule: Rule, statement: Statement, words: PointWords) -> Result | None:
    if "any" in rule.never:
        return "agrees" if statement.claimed == "absent" else "conflicts"
    wanted = bool(rule.values) or rule.low is not None
    if not wanted or "none" in rule.values:
        return None
    if statement.claimed == "absent":
        if "hidden" in rule.values:
            return "agrees"  # "no wire to be seen"
        if words.topic in _LOOSE_PARTS:
            return None  # "no nose pads": the part is missing, which is condition
        # what has no rivets has no colour of rivets either: one cause, told at the first point
        return None if words.facets and words.facets[0].name == "colour" else "conflicts"
    said = "present" in rule.values or (
        words.presence is not None and words.presence in rule.values
    )
    return "agrees" if said else None


def _number_result(rule: Rule, statement: Statement) -> Result | None:
    if statement.number is None:
        return None
    never = [n for v in rule.never if (n := first_number(v)) is not None]
    allowed = _all_numbers(rule)
    if statement.claimed == "absent":
        same = statement.number in allowed
        return "conflicts" if same else "agrees" if statement.number in never else None
    if statement.facet == "count" and allowed:
        return "agrees" if statement.number in allowed else "conflicts"
    if rule.low is not None and rule.high is not None:
        if any(abs(statement.number - n) <= rule.tolerance for n in allowed):
            return "agrees"
        if (
            rule.low - rule.tolerance <= statement.number <= rule.high + rule.tolerance
            and len(allowed) < 2
        ):
            return "agrees"
        gap = (
            min(abs(statement.number - n) for n in (*allowed, rule.low, rule.high)) - rule.tolerance
        )
        # an angle read off a photo or by eye is a few degrees out; a count is not
        return "undecided" if statement.facet == "number" and gap <= 3 else "conflicts"
    return "conflicts" if statement.number in never else None


def _all_numbers(rule: Rule) -> tuple[float, ...]:
    return tuple(n for v in (*rule.values, *rule.usual) if (n := first_number(v)) is not None)


@cache
def _near_groups() -> dict[str, list[list[str]]]:
    text = resources.files("models").joinpath("data/point_words.toml").read_text(encoding="utf-8")
    groups: dict[str, list[list[str]]] = tomllib.loads(text).get("near", {})
    return groups


def is_near(facet: str, one: str, other: str) -> bool:
    """Two values that honest sellers call by each other's name ("square", "rectangular")."""
    return any(one in group and other in group for group in _near_groups().get(facet, []))


def _from_features(
    case: Case, words: PointWords, statements: tuple[Statement, ...]
) -> Iterator[Statement]:
    """Construction claims the extractor found, where the sentence reader found no value."""
    stated = {s.facet for s in statements}
    kinds = {
        "hinge": "hinge",
        "rivet": "rivets",
        "screw": "screws",
        "core": "core_wire",
        "pad": "nose_pads",
    }
    kinds["lens"] = "lens_material"
    for feature in case.evidence.features:
        if feature.kind != kinds.get(words.topic) or not feature.value or not feature.quoted:
            continue
        if case.is_of_another(feature.quoted[0]):
            continue
        if _is_a_mark_out_of_ten(case, feature) or _counts_another_part(case, words, feature):
            continue
        if _is_beside_the_frame(case, feature):
            continue
        claimed, replaced = _signed(case, feature)
        number = number_of(feature.value)
        if number is not None and words.count is not None and "count" not in stated:
            yield Statement(
                words.point,
                "count",
                f"{number:g}",
                claimed,
                feature.quoted[0],
                replaced,
                number=number,
            )
        for one in words.facets:
            if one.name not in stated and (value := one.canonical(feature.value)):
                yield Statement(words.point, one.name, value, claimed, feature.quoted[0], replaced)


def _is_beside_the_frame(case: Case, feature: Feature) -> bool:
    """ "extra pads in a bag"; and "one barrel is broken" counts none."""
    place = case.place_of(feature.quoted[0])
    if place is None:
        return False
    end = feature.quoted[0].end - place[0].passage.shift
    return is_on_packaging(place[0], end) or feature.value == "1"


def _counts_another_part(case: Case, words: PointWords, feature: Feature) -> bool:
    """ "hinge with two" is no count where "studs" stands behind."""
    place = case.place_of(feature.quoted[0])
    if place is None or number_of(feature.value or "") is None:
        return False
    scene, end = place[0], feature.quoted[0].end - place[0].passage.shift
    return any(name != words.topic and 0 <= start - end <= 1 for name, start, _ in scene.parts)


def _is_a_mark_out_of_ten(case: Case, feature: Feature) -> bool:
    """ "hinges: 8 of 10" grades them; "4/3 barrel" is no hinge of three."""
    place = case.place_of(feature.quoted[0])
    if place is None:
        return False
    scene, span = place[0], feature.quoted[0]
    before = scene.passage.folded[: span.start - scene.passage.shift]
    after = scene.passage.folded[span.end - scene.passage.shift : scene.end]
    graded = re.match(r"\s*(?:of|out of|/|von|sur|su|de)\s*10", after)
    return graded is not None or re.search(r"\d\s*/\s*$", before) is not None


def _signed(case: Case, feature: Feature) -> tuple[Claimed, bool]:
    """Whether the sentence denies, doubts or asks what the extractor found, or tells a change."""
    place = case.place_of(feature.quoted[0])
    if place is None or feature.claimed != "present":
        return feature.claimed, False
    scene, clause = place
    start = feature.quoted[0].start - scene.passage.shift
    claimed = sign(scene, clause, start, start + len(feature.quoted[0].text))
    return claimed, is_replaced(scene, clause)


# --- words -----------------------------------------------------------------------------------


def strength_of(rule: Rule) -> Strength:
    """hard where the sheet is firm and certain, clue where it says "usually"."""
    if rule.force == "usually" or rule.sure == "guess":
        return "clue"
    return "hard" if rule.sure == "certain" else "soft"


def expected_text(rule: Rule) -> str:
    """The sheet's value as a dealer would say it."""
    parts = []
    if rule.values and rule.values != ("present",):
        word = "usually " if rule.force == "usually" else ""
        unit = f" {rule.unit}" if rule.unit and rule.unit not in " ".join(rule.values) else ""
        parts.append(f"{word}{' or '.join(rule.values)}{unit}")
    elif rule.values:
        parts.append("present")
    never = [v for v in rule.never if v != "any"]
    if "any" in rule.never:
        parts.append("none of any kind")
    elif never:
        parts.append(f"never {' or '.join(never)}")
    if rule.when:
        parts.append("when " + " and ".join(say_condition(c) for c in rule.when))
    return ", ".join(parts)


def say_condition(condition: Condition) -> str:
    """ "the rivet colour is not gold or silver"."""
    word = "not " if condition.negated else ""
    return f"the {condition.subject.replace('_', ' ')} is {word}{' or '.join(condition.values)}"


def finding_of(
    check: str, rule: Rule, verdict: Verdict, explanations: tuple[str, ...] = ()
) -> Finding:
    """Put a verdict into words."""
    statement = verdict.statement
    expected, name = expected_text(rule), rule.point.replace("_", " ")
    quoted: tuple[Span, ...] = (statement.span,) if statement else ()
    said = f"the seller writes “{_quote(statement)}”" if statement else ""
    sentence = {
        "agrees": f"{name}: {said}, as the sheet has it ({expected})",
        "conflicts": f"{name}: {said}; the sheet has {expected}",
        "undecided": f"{name}: {said}; the sheet has {expected}, but {verdict.why}",
        "not_stated": f"{name}: not stated; the sheet has {expected}",
        "no_reference": "",
    }[verdict.result]
    if verdict.result == "conflicts":
        explanations = explanations or _explanations(rule)
    return Finding(
        check, rule.point, verdict.result, strength_of(rule), sentence,
        stated=_stated(statement), expected=expected, quoted=quoted, source=rule.source or None,
        explanations=explanations if verdict.result == "conflicts" else (),
        also_agrees=verdict.also_agrees,
    )  # fmt: skip


def _quote(statement: Statement | None) -> str:
    return " ".join(statement.span.text.split()) if statement else ""


def _stated(statement: Statement | None) -> str | None:
    if statement is None:
        return None
    value = "" if statement.facet == "presence" else statement.value
    word = {"present": "", "absent": "not ", "unsure": "perhaps "}[statement.claimed]
    if statement.facet == "presence":
        return {"present": "present", "absent": "none", "unsure": "perhaps present"}[
            statement.claimed
        ]
    return f"{word}{value}"


def _explanations(rule: Rule) -> tuple[str, ...]:
    changed = {"screw_slot": "a screw changed later", "nose_pads": "pads changed later",
               "lens_material": "later lenses", "temple_tip": "temples changed later"}  # fmt: skip
    found = [changed[rule.point]] if rule.point in changed else []
    return (
        *found,
        "a slip of the seller's eye or pen",
        "an edition or batch the sheet does not know",
    )
