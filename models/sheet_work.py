"""Working with sheets: start one, draft one from listings, show it, try a change, see coverage.

Pure functions over values; asking, printing and writing files is the command line's business.
"""

from __future__ import annotations

import json
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

from extractors.folding import plain
from extractors.records import Evidence, Listing
from models.checks.case import make_case
from models.checks.catalogue import run_checks
from models.checks.corpus import Examined
from models.checks.inscriptions import expected_inscription
from models.checks.markings import era_text
from models.checks.measurements import size_text, stated_sizes
from models.checks.points import expected_text, say_condition
from models.counts import count_text
from models.point_words import known_points
from models.resolve import resolve
from models.sheet_records import (
    INSCRIPTIONS,
    LENGTHS,
    Dimension,
    EditionSheet,
    ReferenceSheet,
    Rule,
    Sizes,
)
from models.sheets import Sheets, linked, sheet_from_text


@dataclass(frozen=True, slots=True)
class Step:
    """One question when starting a sheet: the key its answer goes to, and an example."""

    key: str
    ask: str
    example: str
    takes: str = ""  # what an answer must hold (a regular expression); "" for any words


# asked one by one; an empty answer leaves the key out
STEPS = (
    Step("name", "Maker and model, as sellers write it?", "Orlenza Merrin"),
    Step("aliases", "Other names, with commas?", "Merrin, Orlenza No. 7"),
    Step("years", "Made from when to when?", "1958-1964"),
    Step("country", "In which country?", "England"),
    Step("source", "Where do you know all this from?", "seven pieces measured"),
    Step(
        "basis", "Are the sizes printed on the frame, or taken by ruler?", "printed", r"print|rul"
    ),
    Step(
        "sizes",
        "The sizes, lens-bridge-temple, by ruler rim width x height-bridge-temple, with commas?",
        "44-20-135, 61x51-20-142",
    ),
    Step("complete", "Are these all sizes that were made? (yes, no)", "yes", r"^(y|n|t|f)"),
    Step("hinge_barrels", "How many barrels has the hinge?", "7", r"\d"),
    Step("rivet_shape", "What shape are the rivets? (none, if it has none)", "lozenge"),
    Step("rivet_colour", "What colour are the rivets?", "silver"),
    Step("core_wire", "Is a core wire visible? (visible, none)", "visible", r"visible|none|yes|no"),
    Step("screw_slot", "Are the screws slotted or Phillips?", "slotted", r"slot|phil|cross"),
    Step("nose_pads", "Nose pads: moulded, adjustable, glued, or a colour?", "moulded"),
    Step("temple_tip", "The ends of the temples: paddle, straight, cable?", "paddle"),
    Step("inscription_left", "What is written inside the left temple?", "ORLENZA"),
    Step("inscription_right", "What is written inside the right temple?", ""),
    Step("how", "How is it made: stamped, engraved, printed?", "stamped"),
    Step("never_marks", "Marks it cannot carry, with commas?", "CE"),
)
_HEAD = ("name", "aliases", "years", "country", "source")


def sheet_from_answers(answers: Mapping[str, str]) -> str:
    """The TOML text of a sheet from the answers to STEPS; empty answers are left out."""
    given = {key: value.strip() for key, value in answers.items() if value.strip()}
    parts = [_head(given), _sizes(given), *_points(given)]
    if "never_marks" in given:
        parts.append(f"[marks]\nnever = {_list(given['never_marks'])}")
    return "\n\n".join(part for part in parts if part) + "\n"


def cannot_read(step: Step, answer: str) -> str:
    """What of an answer to a step cannot be read, in words; empty when all can."""
    answer = answer.strip()
    if not answer:
        return ""
    if step.takes and not re.search(step.takes, answer.lower()):
        return f"{answer!r} is no answer to this"
    text = sheet_from_answers({"name": "A sheet", step.key: answer})
    _, problems = sheet_from_text(text, "answer", "answer")
    return "; ".join(p.what.split(": ", 1)[-1] for p in problems)


def _head(given: Mapping[str, str]) -> str:
    rows = []
    for key in _HEAD:
        if key in given:
            value = _list(given[key]) if key == "aliases" else _quote(given[key])
            rows.append(f"{key} = {value}")
    return "\n".join(rows)


def _sizes(given: Mapping[str, str]) -> str:
    if "sizes" not in given:
        return ""
    complete = "true" if given.get("complete", "").lower().startswith(("y", "t")) else "false"
    basis = "printed" if "print" in given.get("basis", "").lower() else "ruler"
    return (
        f"[sizes]\nbasis = {_quote(basis)}\ncomplete = {complete}\n"
        f"combinations = {_list(given['sizes'])}"
    )


def _points(given: Mapping[str, str]) -> list[str]:
    made = []
    for step in STEPS:
        if step.key not in given or step.key not in known_points() + INSCRIPTIONS:
            continue
        rows = [f"[points.{step.key}]"]
        if step.key in INSCRIPTIONS:
            rows += [f"text = {_quote(given[step.key])}", "always = true"]
            rows += [f"how = {_quote(given['how'])}"] if "how" in given else []
        else:
            rows.append(f"always = {_quote(given[step.key])}")
        made.append("\n".join(rows))
    return made


def _quote(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _list(text: str) -> str:
    return (
        "[" + ", ".join(_quote(piece.strip()) for piece in text.split(",") if piece.strip()) + "]"
    )


# points a draft takes from listings: those whose values sellers state by name
DRAFTED = (
    "hinge_barrels", "rivet_shape", "rivet_colour", "core_wire", "screw_slot", "nose_pads",
    "temple_tip", "badge", "joint_cut", "lens_material",
)  # fmt: skip


# --- drafted from listings -------------------------------------------------------------------


def draft_from_listings(
    name: str, listings: Sequence[tuple[Listing, Evidence]], sheets: Sheets
) -> str:
    """A first sheet from what several listings say, every value with its count as a comment.

    Sellers copy each other and may all be wrong: the draft says so and asks to be checked.
    """
    lengths: dict[str, list[float]] = defaultdict(list)
    values: dict[str, Counter[str]] = defaultdict(Counter)
    for listing, evidence in listings:
        case = make_case(listing, evidence, resolve(listing, evidence, sheets), sheets)
        for quantity, stated in stated_sizes(case).items():
            if quantity in LENGTHS:
                lengths[quantity].append(stated[0].low_mm)
        for point in DRAFTED:
            told = [s for s in case.read(point) if s.claimed == "present"]
            values[point].update({s.value for s in told if s.facet != "presence"})
    return _draft(name, len(listings), lengths, values)


def _draft(
    name: str, number: int, lengths: Mapping[str, list[float]], values: Mapping[str, Counter[str]]
) -> str:
    counted = count_text(number, "listing")
    rows = [
        f"# Drafted from {counted}: sellers copy each other, so check every line.",
        f"name = {_quote(name)}",
        f"source = {_quote(f'drafted from {counted}, not checked')}",
        'sure = "guess"',
        "",
        "[sizes]",
        "complete = false",
        'basis = "ruler"',
    ]
    for quantity in LENGTHS:
        if found := lengths.get(quantity):
            seen = ", ".join(f"{v:g}" for v in sorted(found))
            rows.append(f"{quantity} = {median(found):g}  # stated {_times(len(found))}: {seen}")
    for point, counts in values.items():
        if counts:
            told = ", ".join(f"{value} {count}x" for value, count in counts.most_common())
            value = counts.most_common(1)[0][0]
            rows += ["", f"[points.{point}]", f"usually = {_quote(value)}  # {told}"]
    return "\n".join(rows) + "\n"


# --- shown in rows ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A statement of a sheet: the point, what the sheet has, why or from where, what to ask."""

    point: str
    told: str
    why: str = ""
    question: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True)
class SheetPart:
    """The statements of a sheet that belong together: its sizes, its points, an edition."""

    title: str
    rows: tuple[SheetRow, ...]
    edition: str = ""


def sheet_rows(sheet: ReferenceSheet) -> tuple[tuple[str, str, str], ...]:
    """(point, what the sheet has, why or source) for every statement of a sheet, in its order.

    Years, country, marks, faults and look-alikes come first.
    """
    rows = [(name, told, "") for name, told in sheet_facts(sheet)]
    for part in sheet_parts(sheet):
        of = f" ({part.edition})" if part.edition else ""
        for row in part.rows:
            is_head = row.point == part.title
            rows.append((row.point if is_head else f"{row.point}{of}", row.told, row.why))
    return tuple(rows)


def sheet_facts(sheet: ReferenceSheet) -> tuple[tuple[str, str], ...]:
    """What a sheet says of the model as a whole, as (name, words)."""
    several = len(sheet.sizes.combinations) > 0
    complete = "complete: no other size was made" if sheet.sizes.complete else "not complete"
    facts = (
        ("Also called", ", ".join(sheet.aliases)),
        ("Made", era_text(sheet.years.first, sheet.years.last, False)),
        ("Country", ", ".join(sheet.country)),
        ("List of sizes", complete if several else ""),
        ("Marks that belong", ", ".join(sheet.marks_belong)),
        ("Marks it never carries", ", ".join(sheet.marks_never)),
        ("Usual faults", ", ".join(sheet.usual_faults)),
        ("Look-alikes", "; ".join(_look_alike_text(sheet))),
        ("Source", sheet.source),
    )
    return tuple((name, told) for name, told in facts if told)


def sheet_parts(sheet: ReferenceSheet) -> tuple[SheetPart, ...]:
    """The sizes, the points and each edition of a sheet; parts that hold nothing are left out."""
    sizes = [*_size_rows(sheet.sizes, sheet), *_fixed_rows(sheet.fixed, sheet)]
    parts = (
        SheetPart("Sizes", tuple(sizes)),
        SheetPart("Points", tuple(_rule_row(rule, sheet) for rule in sheet.rules)),
        *(_edition_part(edition, sheet) for edition in sheet.editions),
    )
    return tuple(part for part in parts if part.rows)


def _edition_part(edition: EditionSheet, sheet: ReferenceSheet) -> SheetPart:
    """What tells an edition, its years and sizes, then its points."""
    known = " and ".join(say_condition(c) for c in edition.known_by)
    facts = [f"known by: {known}"] if known else []
    facts += [f"also called {', '.join(edition.aliases)}"] if edition.aliases else []
    if edition.years:
        facts.append(f"made {era_text(edition.years.first, edition.years.last, False)}")
    title = f"Edition {edition.name}"
    rows = [SheetRow(title, "; ".join(facts) or "known by its name")]
    rows += _size_rows(edition.sizes, sheet) if edition.sizes else []
    rows += _fixed_rows(edition.fixed, sheet)
    rows += [_rule_row(rule, sheet) for rule in edition.rules]
    return SheetPart(title, tuple(rows), edition.name)


def _size_rows(sizes: Sizes, sheet: ReferenceSheet) -> Iterable[SheetRow]:
    """A row a size; what to ask stands with the first."""
    source = _other_source(sizes.source, sheet)
    for number, one in enumerate(sizes.combinations):
        ask = (sizes.question, sizes.photo) if number == 0 else ("", "")
        yield SheetRow(one.name, _lengths_text(one.dimensions), source, *ask)


def _fixed_rows(fixed: Sequence[Dimension], sheet: ReferenceSheet) -> Iterable[SheetRow]:
    for d in fixed:
        told = f"{_length_text(d)}{_basis_text(d)}"
        yield SheetRow(d.quantity.replace("_", " "), told, _other_source(d.source, sheet))


def _other_source(source: str, sheet: ReferenceSheet) -> str:
    """A source, unless it is the sheet's own, which is told once."""
    return "" if source == sheet.source else source


def _lengths_text(dimensions: Sequence[Dimension]) -> str:
    """Lengths with their tolerances; how they were taken once, where all were taken alike."""
    bases = {_basis_text(d) for d in dimensions}
    own = [_basis_text(d) if len(bases) > 1 else "" for d in dimensions]
    told = (
        f"{d.quantity.replace('_', ' ')} {_length_text(d)}{basis}"
        for d, basis in zip(dimensions, own, strict=True)
    )
    return ", ".join(told) + (bases.pop() if len(bases) == 1 else "")


def _length_text(d: Dimension) -> str:
    return f"{size_text(d.low_mm, d.high_mm)} ± {d.tolerance_mm:g}"


def _basis_text(d: Dimension) -> str:
    basis = {"printed": ", printed", None: ", by ruler"}.get(d.basis, f", {d.basis}")
    return basis.replace("_", " ").replace(", ruler", ", by ruler")


def _rule_row(rule: Rule, sheet: ReferenceSheet) -> SheetRow:
    told = expected_inscription(rule) if rule.inscription else expected_text(rule)
    more = [f"± {rule.tolerance:g}"] if rule.tolerance else []
    more += [f"wear: {rule.wear}"] if rule.wear else []
    more += list(rule.harmless)
    why = rule.why or _other_source(rule.source, sheet)
    name = rule.point.replace("_", " ")
    return SheetRow(name, "; ".join([told, *more]), why, rule.question, rule.photo)


def _look_alike_text(sheet: ReferenceSheet) -> Iterable[str]:
    for look in sheet.look_alikes:
        told = (
            f", told by {', '.join(p.replace('_', ' ') for p in look.tell_by)}"
            if look.tell_by
            else ""
        )
        yield f"{look.reference} ({look.how}{told})" if look.how or told else look.reference


# --- a change tried on past listings ---------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Move:
    """What a changed sheet would move for one listing: (point, result before, result after)."""

    id: str
    reference_before: str | None
    reference_after: str | None
    changes: tuple[tuple[str, str | None, str | None], ...]


def with_tried(before: Sheets, tried: Sheets) -> tuple[Sheets, tuple[str, ...]]:
    """The sheets as they would be with the tried ones, and what was taken for a new version.

    A tried sheet of another id that bears a loaded one's name is its new version: else both would
    share the name, and no listing could be told from the other.
    """
    told: list[str] = []
    by_id = {sheet.id: sheet for sheet in before.sheets}
    for sheet in tried.sheets:
        same = next((s for s in before.sheets if plain(s.name) == plain(sheet.name)), None)
        if sheet.id not in by_id and same is not None:
            told.append(f"{sheet.file} is tried as a new version of {same.id}")
            sheet = replace(sheet, id=same.id)
        by_id[sheet.id] = sheet
    return linked(Sheets(tuple(by_id.values()), (*before.problems, *tried.problems))), tuple(told)


def try_sheets(
    before: Sheets, after: Sheets, listings: Sequence[tuple[Listing, Evidence]]
) -> tuple[Move, ...]:
    """Every listing whose reference or findings would change."""
    moves = (_move(before, after, listing, evidence) for listing, evidence in listings)
    return tuple(m for m in moves if m.changes or m.reference_before != m.reference_after)


def _move(before: Sheets, after: Sheets, listing: Listing, evidence: Evidence) -> Move:
    told = []
    for sheets in (before, after):
        resolution = resolve(listing, evidence, sheets)
        findings = run_checks(listing, evidence, resolution, sheets)
        told.append((resolution.reference, {f.point: str(f.result) for f in findings}))
    (old, first), (new, second) = told
    points = dict.fromkeys((*first, *second))
    changes = tuple(
        (p, first.get(p), second.get(p)) for p in points if first.get(p) != second.get(p)
    )
    return Move(listing.id, old, new, changes)


# --- coverage --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Coverage:
    """How well one reference is covered: its listings, and how often each point is stated."""

    reference: str
    name: str
    listings: int
    points: int
    stated_share: float
    silent: tuple[str, ...]  # points no listing states
    unsourced: tuple[str, ...]
    unasked: tuple[str, ...]  # points without a question


def coverage(sheets: Sheets, examined: Sequence[Examined]) -> tuple[Coverage, ...]:
    """One row per sheet, those with most listings first."""
    rows = [
        _cover(sheet, [e for e in examined if e.resolution.reference == sheet.id])
        for sheet in sheets.sheets
    ]
    return tuple(sorted(rows, key=lambda row: (-row.listings, row.reference)))


def _cover(sheet: ReferenceSheet, examined: Sequence[Examined]) -> Coverage:
    stated: Counter[str] = Counter()
    for one in examined:
        told = {f.point for f in one.findings if f.result in ("agrees", "conflicts", "undecided")}
        stated.update(told & set(sheet.points))
    total = len(examined) * len(sheet.points)
    return Coverage(
        sheet.id,
        sheet.name,
        len(examined),
        len(sheet.points),
        sum(stated.values()) / total if total else 0.0,
        tuple(p for p in sheet.points if examined and not stated[p]),
        tuple(dict.fromkeys(r.point for r in sheet.rules if not r.source)),
        tuple(dict.fromkeys(r.point for r in sheet.rules if not r.question)),
    )


def _times(number: int) -> str:
    return "once" if number == 1 else f"{number} times"
