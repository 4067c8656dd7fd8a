"""Words for people, shared by the terminal and the report: names of points, results, evidence.

Nothing here reaches a screen raw: `printable` takes out what could move a terminal's cursor.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

from extractors.records import Evidence, Measurement, Span
from models.records import Finding, Result, Strength

RESULTS: dict[Result, str] = {
    "conflicts": "Conflicts",
    "undecided": "Undecided",
    "agrees": "Agreements",
    "not_stated": "Not stated",
    "no_reference": "Nothing to hold it against",
}

STRENGTHS: dict[Strength, str] = {
    "hard": "firm point",
    "soft": "soft point",
    "clue": "clue",
}

# the head of what a listing names, where it is not known which it is, and where it is
MAYBE, ALSO_NAMED = "It might be", "Also named"

CAUTIONS: tuple[str, ...] = (
    "A rank says where to look first. It is no verdict on a piece or on the person who sells it;"
    " honest sellers measure badly, and careful copies measure well.",
    "What a seller leaves out counts neither for nor against the piece. Ask.",
    "Have an optician test the lenses for UV protection before you wear them as sunglasses; dark"
    " lenses without it harm the eye more than none.",
    "Old lenses may be brittle, loose or ground to another person's eyes. Old frames may be"
    " brittle too, and those of cellulose nitrate burn fiercely. Let an optician look first.",
    "Owning, importing or reselling a copy may be unlawful where you live, and so may saying in"
    " public that a person sells copies. State differences, not guilt, and ask someone who knows"
    " your law.",
    "Sellers' names, places and photos are personal data. Keeping them for your own purchases is"
    " one thing, passing them on another: --leave-out people makes a report that travels.",
)

_INVISIBLE = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
_REPLACED = "\N{REPLACEMENT CHARACTER}"


def printable(text: str) -> str:
    r"""The text on one line, without characters that act on a terminal or turn its direction.

    >>> printable("a\tb\nc"), printable("\x1b[2Jred\u202e"), printable("za\u200dz")
    ('a b c', '�[2Jred�', 'za�z')
    """
    spaced = re.sub(r"[\t\n\v\f\r\u0085\u2028\u2029]+", " ", text)
    return "".join(_REPLACED if unicodedata.category(c) in _INVISIBLE else c for c in spaced)


def name(key: str) -> str:
    """A point, check or class as words.

    >>> name("lens_width"), name("duplicate-photo")
    ('lens width', 'duplicate photo')
    """
    return key.replace("_", " ").replace("-", " ")


def length_text(measurement: Measurement) -> str:
    """A stated length in millimetres, with its range or its "about"."""
    low, high = f"{measurement.low_mm:g}", f"{measurement.high_mm:g}"
    shown = low if low == high else f"{low} to {high}"
    return f"{'about ' if measurement.approximate else ''}{shown} mm"


def years_text(start: int | None, end: int | None) -> str:
    """A stretch of years, open where a side is not known.

    >>> years_text(1970, 1979), years_text(None, 1989), years_text(1944, 1944)
    ('1970 to 1979', 'up to 1989', '1944')
    """
    if start == end:
        return str(start) if start is not None else "not known"
    if start is None:
        return f"up to {end}"
    return f"from {start}" if end is None else f"{start} to {end}"


def finding_line(finding: Finding) -> str:
    """One finding in a line: the point, what is stated, what is expected."""
    parts = [name(finding.point or finding.check)]
    if finding.stated is not None:
        parts.append(f"stated {finding.stated}")
    if finding.expected is not None:
        parts.append(f"expected {finding.expected}")
    return ": ".join([parts[0], ", ".join(parts[1:])]) if len(parts) > 1 else parts[0]


def reason_text(finding: Finding, why: str | None = None) -> str:
    """Why, without the point's name in front, which `finding_line` has told already.

    >>> reason_text(Finding("sizes", "lens_width", "conflicts", "hard", "lens width: 3 mm off"))
    '3 mm off'
    """
    why = finding.why if why is None else why
    return why.removeprefix(f"{name(finding.point or finding.check)}: ")


def with_numbers(why: str, numbers: Mapping[str, int]) -> str:
    """A reason, other listings named by their number in the ranking instead of their id.

    >>> with_numbers("seen earliest in listing ab12, then in listing cd34", {"ab12": 7})
    'seen earliest in No 7, then in listing cd34'
    """
    for other, number in numbers.items():
        why = re.sub(rf"\blisting {re.escape(other)}(?!\w)", f"No {number}", why)
    return why


def place_words(span: Span) -> str:
    """Where a quotation stands, if not in title or description."""
    if span.part == "specific":
        return f"detail “{span.key}”"
    if span.part == "answer":
        return "answer of the seller"
    return f"photo {span.key}" if span.part == "photo" else ""


def quotes_shown(finding: Finding, why: str) -> tuple[tuple[str, str], ...]:
    """The finding's quotations with where they stand, each once.

    Left out is one that stands in the reason above it already, but for an agreement, whose reason
    is not shown.
    """
    quotes = dict.fromkeys((span.text.strip(), place_words(span)) for span in finding.quoted)
    if finding.result == "agrees":
        return tuple(quotes)
    return tuple((text, at) for text, at in quotes if at or f"“{text}”" not in why)


def as_sentence(text: str) -> str:
    """What is to be put right as a sentence, whoever wrote it.

    A name at its beginning (a path, something quoted) stays as it is.

    >>> as_sentence("there is no week"), as_sentence("w.db holds none.")
    ('There is no week.', 'w.db holds none.')
    """
    first = text.partition(" ")[0]
    begun = text[:1].upper() + text[1:] if first.isalpha() and first.islower() else text
    return begun if begun[-1:] in ".!?" else f"{begun}."


def condition_text(evidence: Evidence) -> str:
    """The faults, changes and repairs that the seller names, each once; "" where none is named.

    >>> from extractors.records import Condition
    >>> named = (Condition("crack", "present", "bridge", ()), Condition("warp", "unsure", None, ()))
    >>> condition_text(Evidence("a", conditions=named))
    'crack (bridge), perhaps warp'
    """
    told = (
        (
            "perhaps " if c.claimed == "unsure" else "",
            name(c.kind),
            f" ({c.part})" if c.part else "",
        )
        for c in evidence.conditions
        if c.claimed != "absent"
    )
    return ", ".join(dict.fromkeys(map("".join, told)))


def moment_text(date: str) -> str:
    """A date (ISO 8601), with the hour and minute where they are given.

    >>> moment_text("2026-11-15T18:04:00Z"), moment_text("2026-11-15")
    ('2026-11-15 18:04', '2026-11-15')
    """
    return date[:16].replace("T", " ")


def evidence_notes(evidence: Evidence) -> tuple[tuple[Span, str], ...]:
    """Every stretch of the seller's words that was read, with what it was read as."""
    notes: list[tuple[Span, str]] = []
    for m in evidence.measurements:
        whose = "" if m.of_item else f" of the {m.object}"
        notes += [(span, f"{name(m.quantity)}{whose} {length_text(m)}") for span in m.quoted]
    for marking in evidence.markings:
        said = "nothing marked" if marking.text == "*" else f"marking {marking.text}"
        notes += [(span, f"{said}, {marking.claimed}") for span in marking.quoted]
    for era in evidence.eras:
        said = f"made {years_text(era.from_year, era.to_year)}"
        notes += [(span, said) for span in era.quoted]
    for feature in evidence.features:
        notes += [(span, f"{name(feature.kind)}, {feature.claimed}") for span in feature.quoted]
    for span in evidence.authenticity.quoted:
        notes.append((span, f"authenticity {evidence.authenticity.label}"))
    for phrase in evidence.key_phrases:
        notes += [(span, name(phrase.phrase_class)) for span in phrase.quoted]
    for condition in evidence.conditions:
        notes += [
            (span, f"condition: {name(condition.kind)}, {condition.claimed}")
            for span in condition.quoted
        ]
    for colour in evidence.colours:
        notes += [(span, f"colour of {colour.part or 'the piece'}") for span in colour.quoted]
    for edition in evidence.editions:
        notes += [(span, f"edition {edition.name}") for span in edition.quoted]
    return tuple(notes)
