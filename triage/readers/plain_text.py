"""A listing noted down in a text file, with pictures beside it.

The first line is the title unless it is labelled. Lines "label: value" before the description are
facts, by the names in data/field_names.csv; everything after a blank line or an unlabelled line
is the description, as it stands.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import groupby

from triage.readers.addresses import item_in
from triage.readers.announced import Announced, find_announced
from triage.readers.card_facts import card_facts
from triage.readers.documents import SAVE_INSTEAD, document_kind
from triage.readers.exports import decode_text, encoding_of, read_values
from triage.readers.field_names import field_of, is_signed
from triage.readers.fields import Named, build_listing, find_photos, split_names
from triage.readers.json_shapes import plain_object
from triage.readers.letters import (
    MAX_LETTER,
    Letter,
    bare_subject,
    forwarded_text,
    is_notice,
    price_in,
    read_letter,
    states_sizes,
)
from triage.readers.note_forms import plain_note, read_mapping
from triage.readers.phrases import mentions, says
from triage.readers.pictures import picture_kind
from triage.readers.prices import find_money
from triage.readers.source import ReadResult, Sender, Source, Unreadable

MAX_TEXT = 2 << 20  # a listing's text runs to some thousand characters

_LABELLED = re.compile(r"\s*(?:[-*•]\s+)?([^\W\d][^:：=\n]{0,40}?)\s*[:：=]\s*(\S.*)?$")
_HEAD = 12  # lines in which facts may stand one behind the other
_TELLING = {"title", "price", "bid", "sold", "seller_name", "seller_id", "listing_id", "url"}


def can_read(head: bytes, name: str) -> bool:
    """Say whether this is text: no zero bytes (but for UTF-16) and hardly a control character."""
    if document_kind(head) is not None:
        return False
    if encoding_of(head) is not None:
        return True
    control = sum(head.count(c) for c in _CONTROLS)
    return bool(head.strip()) and control == 0


_CONTROLS = [bytes([c]) for c in range(32) if c not in (7, 8, 9, 10, 12, 13, 26, 27)]


def read(source: Source) -> ReadResult:
    """Read a noted listing, or each one of a mail that announces several.

    Raises Unreadable for a text that is none.
    """
    text = decode_text(source.data(MAX_TEXT)).replace("\r\n", "\n").replace("\r", "\n")
    told = forwarded_text(source.title or "", text) if source.is_mail else ""
    announced = find_announced(told) if source.is_mail else []
    if len(announced) == 1 and (form := _form_in(source, text, announced[0].block)) is not None:
        return read_mail(source, form[1], form[0])
    if len(announced) > 1 or (announced and _is_announcement(source, announced[0])):
        return sum((_read_announced(source, one) for one in announced), ReadResult())
    if source.is_mail:
        return read_mail(source, text)
    if several := _several(text):
        return sum((_read_one_of(source, *one) for one in several), ReadResult())
    if len(announced := find_announced(text)) > 1 and len(announced) == len(_paragraphs(text)):
        return sum((_read_paragraph(source, one) for one in announced), ReadResult())
    return _read_note(source, text)


# --- several notes in one file -----------------------------------------------------------------

_RULE = re.compile(r"\s*([-=*_#~])(?: ?\1){2,}\s*")


def _several(text: str) -> list[tuple[int, str]]:
    """The notes of a file that holds several, each with the number of its first line; else none.

    They are set apart by rules, or are paragraphs; every one tells its own title and price. Else
    one listing's text would hold the sizes of another.
    """
    lines = text.split("\n")
    ruled = _divided(lines, lambda line: _RULE.fullmatch(line) is not None)
    for parts, least in ((ruled, 2), (_paragraphs(text), 3)):
        if len(parts) > 1 and all(_is_note_of_its_own(part, least) for _, part in parts):
            return parts
    return []


def _divided(lines: list[str], divides: Callable[[str], bool]) -> list[tuple[int, str]]:
    parts = []
    for is_between, group in groupby(enumerate(lines, 1), lambda line: divides(line[1])):
        told = [(number, line) for number, line in group if line.strip()]
        if told and not is_between:
            parts.append((told[0][0], "\n".join(lines[told[0][0] - 1 : told[-1][0]])))
    return parts


def _is_note_of_its_own(part: str, least: int) -> bool:
    """Say whether a part has a title, a price, and so many telling facts in all."""
    if _is_known(_label(part.split("\n", 1)[0])):
        return False
    fields = {field_of(named.name) for named in _values(plain_note(part))} & _TELLING
    return bool(fields & {"price", "bid", "sold"}) and len(fields) >= least


def _paragraphs(text: str) -> list[tuple[int, str]]:
    return _divided(text.split("\n"), lambda line: not line.strip())


def _read_one_of(source: Source, line: int, text: str) -> ReadResult:
    """Read one of several notes; a picture is of the one that names it."""
    named = tuple(_values(plain_note(text)))
    photos, missing, used = find_photos(
        list(_photo_names(named)),
        source.resources(),
        lambda head: picture_kind(head) is not None,
    )
    facts = tuple(n for n in named if field_of(n.name) != "photos")
    listing, problems = build_listing(source, facts, "text", photos, missing, line)
    return ReadResult((listing,), problems, used)


def _is_announcement(source: Source, one: Announced) -> bool:
    """Say whether a paragraph is a listing noted in lines: a title, and its address alone.

    If a program sent it, some word may stand before the address of a listing.
    """
    lines = [line.strip() for line in one.block.strip().split("\n")]
    is_bulk = source.sender is not None and source.sender.is_bulk
    if is_bulk and len(lines) > 2 and item_in(one.address):
        return True
    alone = [line for line in lines[1:] if re.fullmatch(r"<?https?://\S+", line)]
    return bool(alone) and len(lines[0]) <= 120 and not lines[0].endswith((".", ":", ","))


def _form_in(source: Source, text: str, block: str) -> tuple[str, str] | None:
    """Split the text at a listing's title, if a paragraph of it notes the listing's facts by name.

    What stands below is then the listing's, not an alert's: its description.
    """
    first, _, facts = block.lstrip("\n").partition("\n")
    told = {field_of(labelled[0]) for line in facts.split("\n") if (labelled := _label(line))}
    is_bulk = source.sender is not None and source.sender.is_bulk
    if is_bulk or _is_known(_label(first)) or len(told & (_TELLING - {"url"})) < 2:
        return None
    return first.strip(" *-•\t"), text.partition(first)[2]


def _read_paragraph(source: Source, one: Announced) -> ReadResult:
    """Read a listing noted as a title, lines about it, and its address."""
    told = card_facts(one.lines, one.title, "")
    text = Named("description", "\n".join(one.lines))
    named = [Named("title", one.title), Named("url", one.address), *told, text]
    listing, problems = build_listing(source, named, "text")
    return ReadResult((listing,), problems)


def _read_announced(source: Source, one: Announced) -> ReadResult:
    named = [
        Named("title", one.title),
        Named("url", one.address),
        *card_facts(one.lines, one.title, ""),
    ]
    listing, problems = build_listing(source, named, "mail")
    return ReadResult((listing,), problems)


def _read_note(source: Source, text: str) -> ReadResult:
    named = _noted(text)
    photos, missing, used = find_photos(
        [*_photo_names(named), *source.beside],
        source.resources(),
        lambda head: picture_kind(head) is not None,
    )
    fields = {field_of(n.name) for n in named}
    if not photos and not _is_noted(named):
        if re.search(r"(?i)\.(?:pdf|docx?|xlsx?|odt|ods|rtf|pages|numbers)$", source.name):
            raise Unreadable("is a document of another program, which is not read", SAVE_INSTEAD)
        raise Unreadable(
            "is a text without photos, price or seller",
            "name it as its photos, or write lines such as Price: and Seller: into it",
        )
    facts = tuple(n for n in named if field_of(n.name) != "photos")
    if "title" not in fields:
        facts = (Named("title", _name_as_title(source)), *facts)
    listing, problems = build_listing(source, facts, "text", photos, missing)
    return ReadResult((listing,), problems, used)


def _noted(text: str) -> tuple[Named, ...]:
    """The values of a note: of the mapping that it is or begins with, else of its lines."""
    if (mapping := read_mapping(text)) is None:
        return tuple(_values(plain_note(text)))
    named = read_values(mapping[0], plain_object(mapping[0]))
    is_told = "description" in {field_of(n.name) for n in named}
    body = mapping[1] if not is_told else ""
    return (*named, Named("description", body)) if body.strip() else named


# --- mails -----------------------------------------------------------------------------------

_ORIGINS = {"title": "Subject", "description": "text", "price": "text", "seller_name": "From"}


def read_mail(
    source: Source, text: str, heading: str = "", pictures: Iterable[str] = ()
) -> ReadResult:
    """Read what a person offers in a mail; `pictures` are those that stand in its text.

    Raises Unreadable for a mail that offers nothing.
    """
    sender = source.sender or Sender()
    letter = read_letter(source.title or "", text[:MAX_LETTER], sender)
    named = tuple(_values(letter.text, heading or letter.subject or _first_line(letter.text)))
    fields = {field_of(n.name) for n in named}
    photos, missing, used = find_photos(
        [*_photo_names(named), *pictures, *source.beside],
        source.resources(),
        lambda head: picture_kind(head) is not None,
    )
    labelled = fields & (_TELLING - {"title"})
    _refuse_mail(letter, heading, bool(photos), bool(labelled))
    facts = [n for n in named if field_of(n.name) not in ("photos", "date_saved")]
    if len(labelled) < 2:  # a letter, not a form: what stands in it stays together
        facts = [n for n in facts if field_of(n.name) not in (None, "description")]
        facts.append(Named("description", letter.text))
    made = []
    if not fields & {"price", "bid", "sold"} and (amount := price_in(letter.text)) is not None:
        made.append(Named("price", f"{amount.amount} {amount.currency}"))
    if not fields & {"seller_name", "seller_id"} and not letter.sender.is_bulk:
        made += _seller(letter.sender)
    listing, problems = build_listing(source, [*facts, *made], "mail", photos, missing)
    told = {field_of(n.name) for n in made} | {"title", "description"}
    origins = {k: (f"mail:{_ORIGINS.get(k, 'From')}",) for k in told & set(listing.origins) if k}
    if heading:
        origins["title"] = ("mail:heading",)
    return ReadResult(
        (replace(listing, origins={**listing.origins, **origins}),), problems, frozenset(used)
    )


def _seller(sender: Sender) -> Iterator[Named]:
    name = sender.name or (sender.address or "").partition("@")[0]
    if name:
        yield Named("seller_name", name)
    if sender.address:
        yield Named("seller_id", sender.address)


def _refuse_mail(letter: Letter, heading: str, has_photos: bool, labelled: bool) -> None:
    """Say why a mail is no offer, if it is none."""
    text = f"{heading or letter.subject}\n{letter.text}"
    if not letter.text.strip() and not has_photos:
        raise Unreadable("is a mail without words of its own", _NO_OFFER)
    if is_notice(letter.subject) and not (states_sizes(text) or has_photos):
        raise Unreadable("is a mail with a receipt, notice or newsletter, not an offer", _NO_OFFER)
    if letter.sender.is_bulk and not labelled and not (states_sizes(text) and price_in(text)):
        raise Unreadable("is a mail that a program sent to many, not one offer", _NO_OFFER)
    is_priced = price_in(text) is not None and mentions("offer", text)
    if not (has_photos or labelled or states_sizes(text) or is_priced):
        raise Unreadable("is a mail that offers nothing: no photo, no price, no sizes", _NO_OFFER)


_NO_OFFER = "nothing to do, unless it offers a piece: then note it down in a text file"


def _first_line(text: str) -> str:
    return next((line.strip()[:80] for line in text.split("\n") if line.strip()), "")


def _is_noted(named: tuple[Named, ...]) -> bool:
    """Say whether the labels are those of a listing; "title" alone stands in any text."""
    return len({field_of(n.name) for n in named} & _TELLING) >= 2


def _photo_names(named: tuple[Named, ...]) -> Iterator[str]:
    for one in named:
        if field_of(one.name) == "photos":
            yield from split_names(one.value)


def _name_as_title(source: Source) -> str:
    return re.sub(r"[_\s]+", " ", source.name.rpartition(".")[0])


def _values(text: str, subject: str | None = None) -> Iterator[Named]:
    """Split a note into title, labelled values, and the description.

    A mail has its subject for a title, so that its first line is text like the others.
    """
    lines = text.strip("\n \t\f\v").split("\n")
    if lines[0].strip() == "---":  # values set off as YAML does
        lines = [line for line in lines if line.strip() != "---"] or [""]
    if subject:
        yield Named("title", bare_subject(subject) or subject)
    elif lines[0].strip() and not _is_known(_label(lines[0])):
        yield Named("title", lines[0].strip().lstrip("# ").strip())
        del lines[0]
    lines = [part for line in lines[:_HEAD] for part in _one_a_line(line)] + lines[_HEAD:]
    end = _end_of_facts(lines)
    yield from (Named(*labelled) for line in lines[:end] if (labelled := _label(line)))
    body = lines[end:]
    if body and (labelled := _label(body[0])) and field_of(labelled[0]) == "description":
        body[0] = labelled[1]
    tail = _start_of_tail(body)
    yield from (Named(*labelled) for line in body[tail:] if (labelled := _label(line)))
    told = {field_of(found[0]) for line in (*lines[:end], *body[tail:]) if (found := _label(line))}
    facts, body = _facts_between(body[:tail], told)
    yield from (Named(*fact) for fact in facts)
    described = "\n".join(line.rstrip() for line in body)
    if described.strip():
        yield Named("description", re.sub(r"\n{3,}", "\n\n", described).strip("\n"))


def _is_known(labelled: tuple[str, str] | None) -> bool:
    return labelled is not None and field_of(labelled[0]) is not None


def _end_of_facts(lines: list[str]) -> int:
    """Find where the description begins: at its label, or the first line that is no fact.

    After a blank line only known fields are facts: sellers write "First: ..." in descriptions.
    """
    told = False
    for at, line in enumerate(lines):
        labelled = _label(line)
        if labelled is not None and field_of(labelled[0]) == "description":
            return at
        if line.strip() and not (_is_known(labelled) or (labelled and not told)):
            return at
        told = told or (not line.strip() and at > 0)
    return len(lines)


def _start_of_tail(body: list[str]) -> int:
    """Find facts noted below the description: a last paragraph of facts, two of known fields."""
    start = len(body)
    while start and body[start - 1].strip() and _label(body[start - 1]):
        start -= 1
    known = [line for line in body[start:] if _is_known(_label(line))]
    if len(known) < min(2, len(body) - start) or len(known) * 3 < len(body) - start:
        return len(body)
    below = start > 0 and not body[start - 1].strip()
    return start if below else len(body)


_BETWEEN = {"seller_name", "seller_id", "location", "listing_id", "shipping", "ends_at", "url"}


def _facts_between(
    body: list[str], told: set[str | None]
) -> tuple[list[tuple[str, str]], list[str]]:
    """Take paragraphs that are nothing but facts of the sale out of a text, as a copied page has.

    A paragraph that tells again what is told, or anything else beside, stays in the text.
    """
    facts: list[tuple[str, str]] = []
    left: list[str] = []
    for is_blank, group in groupby(body, lambda line: not line.strip()):
        lines = list(group)
        found = [labelled for line in lines if (labelled := _label(line)) and labelled[1].strip()]
        fields = {field_of(name) for name, _ in found}
        is_told = len(found) == len(lines) == len(fields) and fields <= _BETWEEN - told
        if is_blank or not is_told:
            left += lines
            continue
        facts += found
        told = told | fields
    return facts, left


def _label(line: str) -> tuple[str, str] | None:
    """Read "label: value"; the label must be a known field, or short and the value short.

    >>> _label("Price: 85 EUR"), _label("Sizes are as follows: see below"), _label("Bridge: 21 mm")
    (('Price', '85 EUR'), None, ('Bridge', '21 mm'))
    """
    bare = line.strip()
    if re.fullmatch(r"https?://\S+", bare):
        return "url", bare
    if _is_price(bare):
        return "price", bare
    if says("offers", bare) and field_of(bare.split()[0]) != "price":
        return "offers_accepted", "yes"
    if (added := _ADDED.fullmatch(bare)) and field_of(added[2]) == "shipping":
        return added[2], added[1]
    if (unmarked := _without_colon(bare)) is not None:
        return unmarked
    if (state := next((kind for kind in ("sold", "ended") if says(kind, bare)), None)) is not None:
        return "ended", state
    match = _LABELLED.match(line)
    if match is None:
        return None
    label, value = match[1], match[2] or ""
    value = re.sub(r"^([\"'])(.*)\1$", r"\2", value.strip())
    if field_of(label) is not None:
        return label, value
    if not value:
        return None
    told = len(label.split()) <= 3 or is_signed(label)
    short = told and 0 < len(value) <= 60 and "//" not in value[:2]
    return (label, value.strip()) if short else None


def _without_colon(line: str) -> tuple[str, str] | None:
    """Read "Price 210 USD" and "Seller dora_k": a sum, or a name that is no word of a sentence.

    >>> _without_colon("Price 210 USD"), _without_colon("Seller dora_k")
    (('Price', '210 USD'), ('Seller', 'dora_k'))
    >>> _without_colon("Price negotiable"), _without_colon("Seller moves house")
    (None, None)
    """
    match = _UNMARKED.fullmatch(line)
    field = field_of(match[1]) if match is not None else None
    if match is None or field is None:
        return None
    is_sum = field in ("price", "bid", "buy_now", "shipping") and _is_price(match[2])
    is_name = field in ("seller_name", "seller_id") and _NICKNAME.fullmatch(match[2])
    return (match[1], match[2]) if is_sum or is_name else None


_ADDED = re.compile(r"\+ ?(\S.{0,12}\d.{0,6}?) ([^\W\d_]{3,20}(?: [^\W\d_]{2,20})?)")
_UNMARKED = re.compile(r"([^\W\d_]{2,20}(?: [^\W\d_]{2,20})?) ([^\s:].{0,40})")
_NICKNAME = re.compile(r"(?=\S*[\d_.-])[\w.-]*\w")


def _one_a_line(line: str) -> list[str]:
    """A line that holds nothing but facts, one behind the other, as a line each.

    >>> _one_a_line("45 €, seller dora_k")
    ['45 €', 'seller dora_k']
    >>> _one_a_line("Lens 48 mm, bridge 20 mm")
    ['Lens 48 mm, bridge 20 mm']
    """
    if len(line) > 120:
        return [line]
    parts = [part.strip() for part in re.split(r"[,;|·]\s", line)]
    known = [labelled for part in parts if (labelled := _label(part)) and _is_known(labelled)]
    fields = {field_of(name) for name, _ in known}
    if len(parts) > 1 and len(known) == len(fields) == len(parts):
        return parts
    return [line]


def _is_price(line: str) -> bool:
    """Say whether a line is an amount of money and hardly anything else ("85 € VB")."""
    if len(line) > 24 or not line[:1].strip():
        return False
    found = find_money(line)
    return len(found) == 1 and len(line) - (found[0].end - found[0].start) <= 4
