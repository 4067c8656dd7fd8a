"""One listing explained in the terminal: the seller's words, the sum, the questions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from extractors.errors import UserError
from extractors.records import Evidence
from models.notes import Note
from models.records import Assessment, Finding
from models.sureness import say_places
from triage.columns import completeness_text, interval_text, price_kind_text, risk_text, signed
from triage.run import GROUPS, Row, Run, place_text
from triage.words import (
    ALSO_NAMED,
    CAUTIONS,
    MAYBE,
    RESULTS,
    STRENGTHS,
    condition_text,
    evidence_notes,
    finding_line,
    moment_text,
    name,
    place_words,
    printable,
    quotes_shown,
    reason_text,
    with_numbers,
)


def find_row(run: Run, wanted: str) -> Row:
    """The row that `wanted` names: an id, the only beginning of one, a file, or a rank number.

    Raises UserError when nothing, or more than one listing, goes by that name.
    """
    for matches in _ways(run.rows, wanted):
        if len(matches) == 1:
            return matches[0]
        if matches:
            raise UserError(
                f"{printable(wanted)} names {len(matches)} listings.",
                "Give one of: " + ", ".join(printable(row.listing.id) for row in matches[:8]) + ".",
            )
    raise UserError(
        f"No listing goes by {printable(wanted)}.",
        "Give its number in the ranking, its id (or how it begins), or its file.",
    )


def _ways(rows: tuple[Row, ...], wanted: str) -> Iterator[list[Row]]:
    yield [row for row in rows if row.listing.id == wanted]
    if wanted.isascii() and wanted.isdigit():
        yield [row for row in rows if row.rank == int(wanted)]
    yield [row for row in rows if _source(row) == wanted]
    yield [row for row in rows if wanted and row.listing.id.startswith(wanted)]
    yield [row for row in rows if wanted and _source(row).endswith("/" + wanted)]
    yield [row for row in rows if wanted and row.listing.listing_id == wanted]


def _source(row: Row) -> str:
    place = place_text(row.listing.source, row.listing.member)
    return place if row.listing.line is None else f"{place}:{row.listing.line}"


def print_explanation(console: Console, row: Row, rows: Iterable[Row] = ()) -> None:
    """Print everything known about one listing; `rows` are all, to name others by their number."""
    for part in _parts(row, {other.listing.id: other for other in rows}, console.width):
        console.print(part)


def _parts(row: Row, rows: Mapping[str, Row], width: int) -> Iterator[RenderableType]:
    assessment = row.assessment
    yield from _head(row)
    yield _title("How the score comes about (+ for more risk, \N{MINUS SIGN} for less)")
    yield _sum(assessment, width)
    for result in RESULTS:
        findings = [f for f in assessment.findings if f.result == result]
        if result == "no_reference":  # that there is no sheet at all the head has told
            findings = [f for f in findings if f.point != "reference"]
        if findings and result in ("not_stated", "no_reference"):
            yield _title(RESULTS[result])
            yield _line(", ".join(dict.fromkeys(name(f.point) for f in findings)))
        elif findings:
            yield _title(RESULTS[result])
            yield from (_finding(finding, rows) for finding in findings)
    if row.disputed:
        yield _title("Disputed by you, not weighed")
        yield from (_finding(finding, rows, "strike") for finding in row.disputed)
    yield from _further(row.evidence, assessment)
    if assessment.candidates:
        yield _title(MAYBE if assessment.reference is None else ALSO_NAMED)
        yield from (_line(f"{c.reference}: {c.why}") for c in assessment.candidates)
    if assessment.shares_photo_with:
        yield _title("Other sellers show the same photo")
        yield from (_other(o, rows) for o in _by_number(assessment.shares_photo_with, rows))
    if assessment.questions:
        yield _title("Questions to ask")
        yield from (_line(question.text, bullet="? ") for question in assessment.questions)
    if assessment.figures:
        yield _title("What a change of your figures would do")
        yield from (_line(told, bullet="- ") for told in assessment.figures)
    if row.notes:
        yield _title("For your safety")
        yield from (_note(note) for note in row.notes)
    yield _title("Mind")
    yield from (_line(caution, bullet="- ", style="dim") for caution in CAUTIONS[:3])


def _head(row: Row) -> Iterator[RenderableType]:
    listing, assessment = row.listing, row.assessment
    yield Text(printable(listing.title) or "(without a title)", style="bold")
    yield _line(f"{_source(row)}  id {listing.id}", indent=0, style="dim")
    facts = [
        price_kind_text(listing),
        f"seller {listing.seller_name or listing.seller_id}"
        if listing.seller_name or listing.seller_id
        else "",
        f"listed {moment_text(listing.date_listed)}" if listing.date_listed else "",
        f"saved {moment_text(listing.date_saved)}" if listing.date_saved else "",
    ]
    told = " · ".join(fact for fact in facts if fact)
    if told:
        yield _line(told, indent=0)
    if faults := condition_text(row.evidence):
        yield _line(f"condition named: {faults}", indent=0)
    sheet = f"sheet {assessment.reference}" if assessment.reference else "no sheet"
    if assessment.edition:
        sheet += f", edition {assessment.edition}"
    told = completeness_text(assessment.completeness)
    yield _line(
        f"No {row.rank} · {GROUPS[assessment.next_step]} · risk {risk_text(assessment.risk)}"
        f" ({interval_text(assessment.interval)}) · {sheet}" + (f" · {told} told" if told else ""),
        indent=0,
    )
    yield _line(assessment.reason, indent=0, style="italic")
    if assessment.outlook:
        yield _line(assessment.outlook, indent=0)
    if row.places:
        yield _line(say_places(row.rank, row.places), indent=0)


def _title(text: str) -> RenderableType:
    return Text(f"\n{text}", style="bold")


def _line(text: str, bullet: str = "", indent: int = 2, style: str = "") -> RenderableType:
    """A paragraph whose further lines hang under the first, whatever the width."""
    body = Text(printable(text), style=style)
    if not bullet:
        return Padding(body, (0, 0, 0, indent))
    table = Table.grid(padding=0)
    table.add_column(width=indent + len(bullet))
    table.add_column()
    table.add_row(Text(" " * indent + bullet), body)
    return table


def _sum(assessment: Assessment, width: int) -> RenderableType:
    """The steps, each with its sign and a bar that grows left (less risk) or right (more)."""
    table = Table.grid(padding=(0, 2, 0, 0))
    room = max(5, (width - 58) // 2)
    table.add_column(width=width - 2 * room - 1 - 14, overflow="fold")
    table.add_column(width=6, justify="right")
    table.add_column(width=2 * room + 1, no_wrap=True)
    most = max([abs(step.log_odds) for step in assessment.steps] + [1.0])
    for step in assessment.steps:
        table.add_row(
            Text(printable(name(step.name))),
            Text(signed(step.log_odds)),
            Text(_bar(step.log_odds / most, room)),
        )
    table.add_row(
        Text("total", style="bold"),
        Text(signed(assessment.score), style="bold"),
        Text(f"risk {risk_text(assessment.risk)}"),
    )
    return Padding(table, (0, 0, 0, 2))


def _bar(share: float, room: int) -> str:
    size = round(abs(share) * room)
    if share < 0:
        return " " * (room - size) + "░" * size + "│" + " " * room
    return " " * room + "│" + "█" * size + " " * (room - size)


def _other(other: str, rows: Mapping[str, Row]) -> RenderableType:
    """Another listing in a line, by its number where it is in the ranking."""
    if other not in rows:
        return _line(other, bullet="• ")
    row = rows[other]
    listing = row.listing
    facts = (
        listing.title or "(without a title)",
        f"seller {listing.seller_name or listing.seller_id or 'not named'}",
        f"listed {listing.date_listed[:10]}" if listing.date_listed else "",
    )
    return _line(f"No {row.rank}  {' · '.join(fact for fact in facts if fact)}", bullet="• ")


def _by_number(ids: Iterable[str], rows: Mapping[str, Row]) -> list[str]:
    return sorted(ids, key=lambda one: rows[one].rank if one in rows else len(rows) + 1)


def _finding(finding: Finding, rows: Mapping[str, Row], style: str = "") -> RenderableType:
    numbers = {other: rows[other].rank for other in finding.about if other in rows}
    why = reason_text(finding, with_numbers(finding.why, numbers))
    lines: list[RenderableType] = [
        _line(f"{finding_line(finding)} ({STRENGTHS[finding.strength]})", bullet="• ", style=style)
    ]
    agrees = finding.result == "agrees"  # then the reason only repeats the line above
    if not agrees:
        lines.append(_line(why, indent=4))
    for text, where in quotes_shown(finding, why):
        said = f"“{text}”" if text else ""
        lines.append(_line(", ".join(part for part in (said, where) if part), indent=4))
    lines += [_line(f"or: {other}", indent=4) for other in finding.explanations]
    if finding.about:
        about = _by_number(finding.about, rows)
        named = (f"No {numbers[o]}" if o in numbers else o for o in about)
        lines.append(_line("see " + ", ".join(named), indent=4))
    if finding.source and not agrees:
        lines.append(_line(f"source: {finding.source}", indent=4, style="dim"))
    return Group(*lines)


def _note(note: Note) -> RenderableType:
    where = place_words(note.quoted)
    said = f"“{note.quoted.text.strip()}”" + (f", {where}" if where else "")
    return Group(
        _line(note.text, bullet="• "),
        _line(said, indent=4),
        _line(f"source: {note.source}", indent=4, style="dim"),
    )


def _further(evidence: Evidence, assessment: Assessment) -> Iterator[RenderableType]:
    """What else was read from the text, beyond what the findings quote."""
    quoted = {span for finding in assessment.findings for span in finding.quoted}
    rest = [(span, note) for span, note in evidence_notes(evidence) if span not in quoted]
    if rest:
        yield _title("Also read")
        said = dict.fromkeys((span.text.strip(), note) for span, note in rest)
        yield from (_line(f"“{text}”: {note}") for text, note in said)
