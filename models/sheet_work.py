"""Working with sheets: start one, draft one from listings, show it, try a change, see coverage.

Pure functions over values; asking, printing and writing files is the command line's business.
"""

from __future__ import annotations

import json
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
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
from models.point_words import known_points
from models.resolve import resolve
from models.sheet_records import (
    INSCRIPTIONS,
    LENGTHS,
    Dimension,
    EditionSheet,
    ReferenceSheet,
    Rule,
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
    counted = f"{number} listing{'' if number == 1 else 's'}"
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


# --- shown as a page -------------------------------------------------------------------------


def sheet_rows(sheet: ReferenceSheet) -> tuple[tuple[str, str, str], ...]:
    """(point, what the sheet has, why or source) for every statement of a sheet, in its order.

    Years, country, marks, faults and look-alikes come first.
    """
    return (*((name, told, "") for name, told in _facts(sheet) if told), *_point_rows(sheet))


def _facts(sheet: ReferenceSheet) -> tuple[tuple[str, str], ...]:
    """What a sheet says of the model as a whole; an empty text where it says nothing."""
    several = len(sheet.sizes.combinations) > 0
    complete = "complete: no other size was made" if sheet.sizes.complete else "not complete"
    return (
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


def _point_rows(sheet: ReferenceSheet) -> tuple[tuple[str, str, str], ...]:
    rows = []
    for combination in sheet.sizes.combinations:
        rows.append((combination.name, _lengths_text(combination.dimensions), sheet.sizes.source))
    rows += [(d.quantity.replace("_", " "), _length_text(d), d.source) for d in sheet.fixed]
    rows += [_rule_row(rule, "") for rule in sheet.rules]
    rows += [row for edition in sheet.editions for row in _edition_rows(edition)]
    return tuple(rows)


def _edition_rows(edition: EditionSheet) -> Iterable[tuple[str, str, str]]:
    """What tells an edition, its years and sizes, then its points."""
    known = " and ".join(say_condition(c) for c in edition.known_by)
    facts = [f"known by: {known}"] if known else []
    facts += [f"also called {', '.join(edition.aliases)}"] if edition.aliases else []
    if edition.years:
        facts.append(f"made {era_text(edition.years.first, edition.years.last, False)}")
    yield f"Edition {edition.name}", "; ".join(facts) or "known by its name", ""
    for combination in edition.sizes.combinations if edition.sizes else ():
        yield f"{combination.name} ({edition.name})", _lengths_text(combination.dimensions), ""
    for d in edition.fixed:
        yield f"{d.quantity.replace('_', ' ')} ({edition.name})", _length_text(d), d.source
    for rule in edition.rules:
        yield _rule_row(rule, edition.name)


def _lengths_text(dimensions: Sequence[Dimension]) -> str:
    return ", ".join(f"{d.quantity.replace('_', ' ')} {_length_text(d)}" for d in dimensions)


def _length_text(d: Dimension) -> str:
    basis = {"printed": ", printed", None: ", by ruler"}.get(d.basis, f", {d.basis}")
    basis = basis.replace("_", " ").replace(", ruler", ", by ruler")
    return f"{size_text(d.low_mm, d.high_mm)} ± {d.tolerance_mm:g}{basis}"


def _rule_row(rule: Rule, edition: str) -> tuple[str, str, str]:
    name = rule.point.replace("_", " ") + (f" ({edition})" if edition else "")
    told = expected_inscription(rule) if rule.inscription else expected_text(rule)
    more = [f"± {rule.tolerance:g}"] if rule.tolerance else []
    more += [f"wear: {rule.wear}"] if rule.wear else []
    more += list(rule.harmless)
    return name, "; ".join([told, *more]), rule.why or rule.source


def sheet_page(sheet: ReferenceSheet) -> str:
    """A page to print: self-contained HTML, everything escaped, pictures only named."""
    rows = "".join(
        f"<tr><th>{escape(point)}</th><td>{escape(told)}</td><td>{escape(why)}</td></tr>"
        for point, told, why in _point_rows(sheet)
    )
    listed = "".join(f"<dt>{escape(k)}</dt><dd>{escape(v)}</dd>" for k, v in _facts(sheet) if v)
    return (
        "<!doctype html><html lang=en><meta charset=utf-8>"
        "<meta name=viewport content='width=device-width'>"
        "<meta http-equiv=Content-Security-Policy "
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{escape(sheet.name)}</title><style>{_STYLE}</style>"
        f"<h1>{escape(sheet.name)}</h1><dl>{listed}</dl>"
        "<table><thead><tr><th>Point<th>The sheet has<th>Why, or source</thead>"
        f"{rows}</table></html>"
    )


_STYLE = (
    "body{font:15px/1.45 Georgia,serif;max-width:46em;margin:2em auto;padding:0 1em}"
    "table{border-collapse:collapse;width:100%}th,td{text-align:left;vertical-align:top;"
    "padding:.35em .6em;border-bottom:1px solid #bbb}dt{font-weight:bold}dd{margin:0 0 .4em}"
    "tr{break-inside:avoid}"
)


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
