"""What a person's mail offers: its own words without quotes and signatures, its sender, its price.

Words that mail programs put around a text lie in data/letters.csv (from memory). The line "-- "
before a signature is RFC 3676, 4.3; header fields that mass mail carries are RFC 2369 and 3834.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from email.message import Message
from email.utils import parseaddr
from functools import cache

from triage.readers.phrases import mentions
from triage.readers.prices import Money, find_money
from triage.readers.source import Sender
from triage.readers.tables import rows_of

MAX_LETTER = 20_000  # characters; nobody describes a frame at greater length

_PREFIX = re.compile(r"^(?:(?:re|aw|rif|fwd?|wg|tr|rv|i)\s*(?:\[\d+\])?\s*:\s*)+", re.IGNORECASE)
_FORWARD_PREFIX = re.compile(r"^\s*(?:fwd?|wg|tr|rv|i)\s*:", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Letter:
    """A mail's own words. `subject` and `sender` are those of the mail forwarded in it, if any."""

    subject: str
    text: str
    sender: Sender


def sender_of(message: Message, written: str) -> Sender:
    """Read the From field, given decoded in `written`.

    Who sends a mail to the same address keeps something there, and is no seller: left out.
    """
    name, address = parseaddr(written)
    if address and address.casefold() == parseaddr(str(message.get("To", "")))[1].casefold():
        name, address = "", ""
    mass = any(message.get(n) for n in ("List-Id", "List-Unsubscribe", "Feedback-ID"))
    automatic = str(message.get("Auto-Submitted", "no")).strip().lower() != "no"
    told = str(message.get("Precedence", "")).strip().lower() in ("bulk", "list", "junk")
    is_bulk = mass or automatic or told or _at_start("robot").match(address) is not None
    return Sender(name.strip() or None, address.strip() or None, is_bulk)


def bare_subject(subject: str) -> str:
    """Take "Re:", "Fwd:", "WG:" and the like off a subject.

    >>> bare_subject("WG: Fwd: Re: a frame"), bare_subject("I: montatura")
    ('a frame', 'montatura')
    """
    return _PREFIX.sub("", subject.strip()).strip()


def read_letter(subject: str, text: str, sender: Sender) -> Letter:
    """Find the words of the one who offers: those forwarded, else the mail's own."""
    lines = [line.rstrip() for line in text.replace("\u00a0", " ").split("\n")]
    inner = _forwarded(subject, lines)
    while inner is not None:
        lines, stated, author = inner
        subject, sender = stated or subject, author or sender
        inner = _forwarded("", lines)
    return Letter(bare_subject(subject), _own_words(lines), sender)


def forwarded_text(subject: str, text: str) -> str:
    """The text of a mail that is forwarded in another, without marks of quoting; else the text."""
    inner = _forwarded(subject, text.split("\n"))
    return text if inner is None else "\n".join(inner[0])


def is_notice(subject: str) -> bool:
    """Say whether a subject is that of a receipt, a newsletter or the like."""
    return _inside("notice").search(subject) is not None


def states_sizes(text: str) -> bool:
    """Say whether a text states sizes of a frame: two of them joined, or a number of mm."""
    return _SIZES.search(text) is not None


_SIZES = re.compile(
    r"(?<![\d.,/-])[3-7]\d(?:[.,]\d)?\s?[-–—/x×□▢☐ ]\s?[12]\d(?!\d|[.,]\d|[-/]\d{4})"
    r"|\b\d{2,3}\s?mm\b"
)


# --- own words -------------------------------------------------------------------------------


def _own_words(lines: Sequence[str]) -> str:
    """Leave out what is quoted, what follows a signature's line, and the device's line."""
    kept = []
    for at, line in enumerate(lines):
        if line.strip() == "--" or _starts_quote(lines, at):
            break
        if not line.lstrip().startswith(">") and not _at_start("device").match(line.strip()):
            kept.append(line)
    return re.sub(r"\n{3,}", "\n\n", "\n".join(kept)).strip("\n")


def _starts_quote(lines: Sequence[str], at: int) -> bool:
    """Say whether the mail that is answered begins here; its heading may run over two lines."""
    two = " ".join(line.strip() for line in lines[at : at + 2])
    line = lines[at].strip()
    if _at_start("quote").match(line):
        return True
    broken = at + 1 < len(lines) and not line.endswith((".", "!", "?"))
    if broken and (m := _at_start("quote").match(two)) and m.end() == len(two):
        return True
    return len(list(_headers(lines, at))) >= 3


def _headers(lines: Sequence[str], start: int) -> Iterator[tuple[str, str, int]]:
    """Read a mail's header as text: lines "From: ...", "Date: ...", an empty one between at most.

    Gives names, values and where each line ends.
    """
    at = start
    while at < len(lines):
        at += not lines[at].strip() and at > start
        match = _HEADER.match(lines[at]) if at < len(lines) else None
        if match is None or match[1].casefold() not in _words("header"):
            return
        at += 1
        yield match[1].casefold(), match[2].strip(" *"), at


_HEADER = re.compile(r"[>*\s]*([^\W\d][\w -]{0,14}?)\s?\*?\s?:\*?\s*(\S.*)$")


def _forwarded(subject: str, lines: list[str]) -> tuple[list[str], str, Sender | None] | None:
    """Find a mail forwarded in the text: its lines, subject and sender."""
    for at, line in enumerate(lines):
        marked = _at_start("forward").match(line.strip(" >")) is not None
        start = at + 1 if marked else at
        while marked and start < len(lines) and not lines[start].strip(" >"):
            start += 1
        told = list(_headers(lines, start))
        if marked or (_FORWARD_PREFIX.match(subject) and len(told) >= 3):
            rest = unquoted(lines[told[-1][2] if told else start :])
            return rest, _first(told, "subject"), _author(_first(told, "from"))
    return None


def unquoted(lines: list[str], least: int = 1) -> list[str]:
    """Take the marks off a text all of whose lines are quoted, if it has `least` of them."""
    said = [line for line in lines if line.strip()]
    if len(said) >= least and all(line.startswith(">") for line in said):
        return [re.sub(r"^> ?", "", line) for line in lines]
    return lines


def _first(headers: Sequence[tuple[str, str, int]], kind: str) -> str:
    return next((value for name, value, _ in headers if name in _words(kind)), "")


def _author(stated: str) -> Sender | None:
    """Read "Anna Beispiel <anna@mail.example>", also as "[mailto:anna@mail.example]"."""
    address = re.search(r"[^\s<>\[\]:;,\"']+@[^\s<>\[\]:;,\"']+", stated)
    name = re.split(r"\s*[<\[(]", stated)[0].strip(" \"'")
    if not stated or (address is None and not name):
        return None
    found = address[0] if address else None
    robot = found is not None and _at_start("robot").match(found) is not None
    return Sender(None if name == found else name or None, found, robot)


# --- the price -------------------------------------------------------------------------------


def price_in(text: str) -> Money | None:
    """Give the one amount that is asked, or None if there is none or more than one."""
    found = [(m, clause) for line in text.split("\n") for m, clause in _amounts(line)]
    asked = [m for m, clause in found if _last("ask").search(clause)]
    for some in (asked, [m for m, _ in found]):
        if len({(m.amount, m.currency) for m in some}) == 1:
            return some[0]
    return None


def _amounts(line: str) -> Iterator[tuple[Money, str]]:
    """List amounts with a currency, each with the words before it; not what shipping costs."""
    end = 0
    for money in find_money(line):
        before = re.split(r"[.;!?(]\s|,\s|\s(?:plus|zzgl\.?|più|más)\s", line[end : money.start])[
            -1
        ]
        after = line[money.end :][:24]
        end = money.end
        shipping = _inside("post").search(before) or _small_then_post().match(after)
        asked = _last("ask").search(before) is not None
        if money.currency and not shipping and (asked or not mentions("not_the_price", before)):
            yield money, before


# --- words -----------------------------------------------------------------------------------


@cache
def _words(kind: str) -> frozenset[str]:
    return frozenset(r["written"] for r in rows_of("letters.csv") if r["class"] == kind)


@cache
def _at_start(kind: str) -> re.Pattern[str]:
    return re.compile("(?:" + "|".join(sorted(_words(kind))) + ")", re.IGNORECASE)


@cache
def _inside(kind: str) -> re.Pattern[str]:
    return re.compile(r"(?<!\w)(?:" + "|".join(sorted(_words(kind))) + ")", re.IGNORECASE)


@cache
def _last(kind: str) -> re.Pattern[str]:
    """Words of a kind with nothing but small words between them and the end."""
    words = "|".join(sorted(_words(kind)))
    return re.compile(rf"(?<!\w)(?:{words})\b\W*(?:[^\W\d]{{1,8}}\W+){{0,3}}$", re.IGNORECASE)


@cache
def _small_then_post() -> re.Pattern[str]:
    """Words for what shipping costs, right after an amount ("12 EUR Versand", "8 GBP for post")."""
    words = "|".join(sorted(_words("post")))
    free = "|".join(sorted(_words("included")))
    small = r"(?:(?:for|für|de|di|pour|per|por)\s)?"
    return re.compile(rf"\s*{small}(?:{words})\w*(?!\s(?:{free}))", re.IGNORECASE)
