"""A note's lines as "label: value", whatever its writer puts between the two and about them.

People note a listing as a table of a text program, with tabs or dots between, as headings with
text below, or as the mapping that programs put before a text ("---"). A form is taken for what it
is where two fields that are known stand in it; all other text stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from triage.readers.dates import read_date
from triage.readers.field_names import field_of, is_of_shipping
from triage.readers.letters import unquoted
from triage.readers.prices import find_money

MOST_LINES = 20_000
MOST_DEPTH = 6


def plain_note(text: str) -> str:
    """The note with each fact that it states on a line of its own, "label: value"."""
    lines = unquoted(text.split("\n"), least=2)
    if len(lines) > MOST_LINES:
        return text
    lines = _paired(list(_told_below(list(_without_headings(lines)))))
    return "\n".join(_title_first(lines))


# --- marks about lines -------------------------------------------------------------------------


_RULE = re.compile(r"\s*(?:={3,}|-{3,}|\*{3,}|_{3,}|~{3,})\s*")
_HEADING = re.compile(r"\s*(?:#{1,6}\s+(.+?)\s*#*|={1,4}\s*([^=]+?)\s*={1,4}|\[([\w ]{3,30})\])\s*")
_DRAWER = re.compile(r"\s*:(?:PROPERTIES|END):\s*")


def _without_headings(lines: list[str]) -> Iterator[str]:
    """Headings as plain lines, those of the description with a colon, those of lists left out."""
    is_drawn = any(_DRAWER.fullmatch(line) for line in lines[:20])
    for at, line in enumerate(lines):
        if (_RULE.fullmatch(line) and at) or _DRAWER.fullmatch(line):
            continue
        found = _HEADING.fullmatch(line)
        heading = next((g for g in found.groups() if g), "") if found else ""
        under = at + 1 < len(lines) and _RULE.fullmatch(lines[at + 1]) is not None
        if at == 0 and is_drawn:
            yield line.lstrip("* ")
        elif heading or (under and field_of(line.strip()) == "description"):
            yield from _heading(heading or line.strip(), found is not None and bool(found[3]))
        else:
            yield line


def _heading(text: str, is_section: bool) -> Iterator[str]:
    field = field_of(text)
    if field == "description":
        yield f"{text}:"
    elif field != "specifics" and not is_section:
        yield text


def _title_first(lines: list[str]) -> list[str]:
    """Put an address and a day of saving that stand above the title below it."""
    start = next((at for at, line in enumerate(lines) if line.strip()), 0)
    head = []
    for at in range(start, min(len(lines), start + 4)):
        line = lines[at].strip()
        day = re.sub(r"^\w+:?\s+(?:on\s+|am\s+|le\s+|il\s+|el\s+)?", "", line)
        is_saved = field_of(line.split(" ")[0].strip(":")) == "date_saved" and read_date(day)
        if re.fullmatch(r"https?://\S+", line):
            head.append(line)
        elif is_saved:
            head.append(f"saved: {day}")
        elif line:
            is_title = ":" not in line and len(line) < 150
            return [line, *head, *lines[at + 1 :]] if head and is_title else lines
    return lines


# --- labels and values ---------------------------------------------------------------------------

_MARK = r"(?:\d{1,2}[.)]|[-*•+])\s+"
_FORMS = tuple(
    re.compile(form)
    for form in (
        rf"\s*(?:{_MARK})?(?:\*\*|__)(?P<label>[^*_]+?)\s*:?(?:\*\*|__)\s*:?\s*(?P<value>\S.*?)\s*",
        r"\s*\|\s*(?:\*\*)?(?P<label>[^|]+?)(?:\*\*)?\s*\|\s*(?P<value>[^|]*?)\s*\|?\s*",
        r"(?P<label>\S[^\t]{0,40}?)\s*\t+\s*(?P<value>\S.*)",
        r"(?P<label>\S.{0,30}?)\s*\.{3,}\s*(?P<value>\S.*)",
        r"(?P<label>\S.{0,30}?)\s{2,}[:=]?\s*(?P<value>\S.*)",
        r"(?P<label>\S.{0,30}?)\s+(?:-|–|—|->|→|=>|\|)\s+(?P<value>\S.*)",
        r"[@#:](?P<label>[^\W\d][\w ]{0,30}?):?\s+(?P<value>\S.*)",
        rf"{_MARK}(?P<label>[^\W\d][^:]{{0,40}}?)\s*:\s+(?P<value>\S.*)",
    )
)
_TABLE_RULE = re.compile(r"\s*\|?[\s:|-]*-{2,}[\s:|-]*\|?\s*")


def _paired(lines: list[str]) -> list[str]:
    """Each paragraph with its labels before colons, by the form that most of it has."""
    made: list[str] = []
    for paragraph in _paragraphs(lines):
        made += _in_form([part for line in paragraph for part in _parted(line)])
    return made


def _paragraphs(lines: Sequence[str]) -> Iterator[list[str]]:
    """The lines in groups, empty ones each apart."""
    group: list[str] = []
    for line in lines:
        if line.strip():
            group.append(line)
            continue
        if group:
            yield group
        yield [line]
        group = []
    if group:
        yield group


def _in_form(paragraph: list[str]) -> list[str]:
    for form in _FORMS:
        found = [form.fullmatch(line) for line in paragraph]
        known = sum(1 for m in found if m and field_of(m["label"].strip("*_ :")) is not None)
        if known < 2 or known * 3 < sum(1 for m in found if m):
            continue
        return [
            f"{m['label'].strip('*_ :').replace('_', ' ')}: {m['value']}" if m else line
            for line, m in zip(paragraph, found, strict=True)
            if not _is_of_the_table(line, m)
        ]
    return paragraph


def _is_of_the_table(line: str, found: re.Match[str] | None) -> bool:
    """Say whether a line is a table's rule or its heading ("| Field | Value |")."""
    if "|" not in line:
        return False
    return found is None or not found["value"] or _TABLE_RULE.fullmatch(line) is not None or (
        found["value"].casefold() in ("value", "wert", "valeur", "valore", "valor", "waarde")
    )  # fmt: skip


def _parted(line: str) -> list[str]:
    """Several facts on one line, each on its own; an amount and what is added to send it."""
    parts = [p.strip() for p in re.split(r"\s*[;|]\s+|\s+[|•·]\s+", line) if p.strip()]
    if len(parts) > 1:
        labels = [p.partition(":")[0].strip() for p in parts if ": " in p]
        known = sum(field_of(label) is not None for label in labels)
        if len(labels) == len(parts) and known > 1:
            return parts
    money = find_money(line) if len(line) < 80 else ()
    if len(money) == 2 and not line[: money[0].start].strip():
        between, after = line[money[0].end : money[1].start].strip(), line[money[1].end :].strip()
        if between.casefold() in _ADDED and is_of_shipping(after):
            price, sent = line[money[0].start : money[0].end], line[money[1].start : money[1].end]
            return [f"price: {price.strip()}", f"shipping: {sent.strip()}"]
    return [line]


_ADDED = ("+", "plus", "and", "zzgl.", "und", "plus", "et", "più", "e", "más", "y", "en", "mais")


def _told_below(lines: list[str]) -> Iterator[str]:
    """Values that stand below their labels beside them, where three known labels do so."""
    labels = {at for at in range(len(lines) - 1) if _stands_above(lines, at)}
    known = [at for at in labels if field_of(lines[at].strip(" :")) is not None]
    if len(known) < 3:
        yield from lines
        return
    skipped = -1
    for at, line in enumerate(lines):
        if at == skipped:
            continue
        if at in labels and field_of(line.strip(" :")) != "description":
            skipped = at + 1
            yield f"{line.strip(' :')}: {lines[at + 1].strip()}"
        elif line.strip() or skipped != at - 1:  # the empty line after a fact goes as well
            is_text = field_of(line.strip(" :")) == "description"
            yield f"{line.strip(' :')}:" if is_text else line


def _stands_above(lines: Sequence[str], at: int) -> bool:
    """Say whether a line is a label by itself with one line below, an empty one on both sides."""
    label, value = lines[at].strip(), lines[at + 1].strip()
    above = lines[at - 1].strip() if at else ""
    below = lines[at + 2].strip() if at + 2 < len(lines) else ""
    is_short = 1 < len(label) <= 30 and not any(c.isdigit() for c in label)
    is_open = label.endswith(":") or (not above and not below)
    return is_short and bool(value) and is_open and ": " not in label


# --- mappings ---------------------------------------------------------------------------------


_KEY = re.compile(r"(?P<in>[ ]*)(?P<key>[^\W\d][^:#\n]{0,40}?)\s*:(?:\s+(?P<value>.*?))?\s*")
_NESTED = re.compile(r"(?m)^[^\W\d][^:\n]{0,40}:[ ]*(?:[|>][+-]?)?[ ]*\n(?:[ ]+\S|-\s)")


def read_mapping(text: str) -> tuple[dict[str, Any], str] | None:
    """The mapping that a note is or begins with, set off by "---", and the text after it.

    Of YAML 1.2 this knows block mappings, lists, quotes and block texts; no anchors, no types.
    None for a note that is none.

    >>> read_mapping('---\\ntitle: "Frame"\\nseller:\\n  name: anna\\n---\\nAs found.')
    ({'title': 'Frame', 'seller': {'name': 'anna'}}, 'As found.')
    """
    lines = text.strip("\n").split("\n")
    body = ""
    if lines[0].strip() == "---":
        end = next((at for at, line in enumerate(lines[1:], 1) if line.strip() in _ENDS), None)
        if end is None:
            return None
        lines, body = lines[1:end], "\n".join(lines[end + 1 :]).strip("\n")
    elif not _NESTED.search(text):
        return None
    lines = [line.expandtabs(2) for line in lines if not line.lstrip().startswith("# ")]
    if len(lines) > MOST_LINES or not all(map(_may_be_of_a_mapping, lines)):
        return None
    value, at = _mapping(lines, 0, 0, 0)
    known = {field_of(key) for key in value} - {None}
    return (value, body) if at >= len(lines) and len(known) > 1 else None


_ENDS = ("---", "...")


def _may_be_of_a_mapping(line: str) -> bool:
    return not line.strip() or line[0] in " -" or _KEY.fullmatch(line) is not None


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _mapping(lines: list[str], at: int, indent: int, depth: int) -> tuple[dict[str, Any], int]:
    made: dict[str, Any] = {}
    while at < len(lines):
        line = lines[at]
        if not line.strip():
            at += 1
            continue
        found = _KEY.fullmatch(line)
        if _indent(line) != indent or found is None or depth > MOST_DEPTH:
            break
        key, value = found["key"].strip("\"' "), found["value"] or ""
        if re.fullmatch(r"[|>][+-]?\d?", value):
            made[key], at = _block(lines, at + 1, indent, folded=value[0] == ">")
        elif value:
            made[key], at = _scalar(value), at + 1
        else:
            made[key], at = _inner(lines, at + 1, indent, depth + 1)
    return made, at


def _inner(lines: list[str], at: int, indent: int, depth: int) -> tuple[Any, int]:
    """What stands below a key without a value: a list, a mapping or nothing."""
    while at < len(lines) and not lines[at].strip():
        at += 1
    if at >= len(lines):
        return "", at
    inner = _indent(lines[at])
    if lines[at].lstrip().startswith("- ") and inner >= indent:
        return _list(lines, at, inner, depth)
    return _mapping(lines, at, inner, depth) if inner > indent else ("", at)


def _list(lines: list[str], at: int, indent: int, depth: int) -> tuple[list[Any], int]:
    made: list[Any] = []
    while at < len(lines) and lines[at].startswith(" " * indent + "- "):
        item = lines[at][indent + 2 :]
        if _KEY.fullmatch(item) and not re.match(r"\s*(?:https?:|[\"'])", item):
            rows = [" " * (indent + 2) + item.lstrip(), *_deeper(lines, at + 1, indent)]
            value, _ = _mapping(rows, 0, indent + 2, depth + 1)
            made.append(value)
            at += len(rows)
        else:
            made.append(_scalar(item))
            at += 1
    return made, at


def _deeper(lines: list[str], at: int, indent: int) -> list[str]:
    end = at
    while end < len(lines) and lines[end].strip() and _indent(lines[end]) > indent:
        end += 1
    return lines[at:end]


def _block(lines: list[str], at: int, indent: int, folded: bool) -> tuple[str, int]:
    """A text in lines of its own ("|"), or folded at its empty lines (">")."""
    end = at
    while end < len(lines) and (not lines[end].strip() or _indent(lines[end]) > indent):
        end += 1
    own = min((_indent(line) for line in lines[at:end] if line.strip()), default=0)
    text = "\n".join(line[own:].rstrip() for line in lines[at:end]).strip("\n")
    return re.sub(r"(?<!\n)\n(?!\n)", " ", text) if folded else text, end


def _scalar(text: str) -> Any:
    text = text.strip()
    if len(text) > 1 and text[0] == text[-1] and text[0] in "\"'":
        return text[1:-1].replace("''", "'") if text[0] == "'" else text[1:-1].replace('\\"', '"')
    if text.startswith("[") and text.endswith("]"):
        return [_scalar(part) for part in text[1:-1].split(",") if part.strip()]
    return re.sub(r"\s+#\s.*$", "", text)
