"""JSON, JSON Lines and CSV exports: one listing per object or row.

RFC 8259 for JSON, RFC 4180 for CSV (and what spreadsheets make of it). Lines are counted from 1.
"""

from __future__ import annotations

import codecs
import csv
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from functools import cache
from itertools import islice
from typing import Any, BinaryIO

from extractors.records import Photo, Problem
from triage.readers.field_names import everyday_field, field_of, is_listing, key_of, words
from triage.readers.fields import (
    Named,
    answers_of,
    build_listing,
    find_photos,
    scalars,
    split_names,
)
from triage.readers.json_listings import plain_listings
from triage.readers.json_shapes import plain_object
from triage.readers.limits import MAX_LINE, MAX_LISTINGS, MAX_MEMBER, json_depth
from triage.readers.pictures import picture_kind
from triage.readers.prices import find_money
from triage.readers.source import Place, ReadResult, Source, Unreadable, resolve

MAX_DEPTH = 64
_NAME_THEM = "name the {}, such as title, description, price, currency, seller, photos, url"


# --- text ------------------------------------------------------------------------------------

_BOMS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


def encoding_of(head: bytes) -> str | None:
    """Tell a Unicode encoding by its byte order mark, or UTF-16 by its zeros; else None.

    >>> encoding_of("t;p".encode("utf-16")), encoding_of("t;p".encode("utf-16-be"))
    ('utf-16', 'utf-16-be')
    """
    for mark, name in _BOMS:
        if head.startswith(mark):
            return name
    sample = head[:400]
    odd, even = sample[1::2].count(0), sample[0::2].count(0)
    if odd > len(sample) * 0.3 and even < len(sample) * 0.05:
        return "utf-16-le"
    if even > len(sample) * 0.3 and odd < len(sample) * 0.05:
        return "utf-16-be"
    return None


def decode_text(data: bytes) -> str:
    """Decode a file of text: by its mark, else UTF-8, else Windows-1252; never fails."""
    name = encoding_of(data[:4096])
    if name is not None:
        return data.decode(name, "replace").removeprefix("\ufeff")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    text = data.decode("utf-8", "replace")
    if text.count("\ufffd") * 20 < sum(c > "\x7f" for c in text):
        return text  # a cut or a stray byte in what is otherwise UTF-8
    return data.decode("cp1252", "replace")


# --- JSON ------------------------------------------------------------------------------------


def can_read_json(head: bytes, name: str) -> bool:
    start = _start(head)
    if name.lower().endswith((".json", ".jsonl", ".ndjson")):
        return True
    return bool(re.match(r'\{\s*(?:"|\})|\[\s*(?:[\[\]{"\d-]|true|false|null|$)', start))


def _start(head: bytes) -> str:
    return head.decode(encoding_of(head) or "utf-8", "replace").lstrip("\ufeff \t\r\n")


def read_json(source: Source) -> Iterator[ReadResult]:
    """Read a file of one object, an array, or an object per line."""
    with source.open() as file:
        lines = _is_lines(file.read(MAX_LINE), source.name)
    return _read_lines(source) if lines else _read_document(source)


def _is_lines(start: bytes, name: str) -> bool:
    """Say whether each line is a value of its own."""
    if name.lower().endswith((".jsonl", ".ndjson")):
        return True
    if encoding_of(start) not in (None, "utf-8-sig"):
        return False
    lines = start.removeprefix(codecs.BOM_UTF8).strip().splitlines()
    if len(lines) < 2 or not lines[0].startswith(b"{"):
        return False
    try:
        json.loads(lines[0], parse_int=str)
    except (ValueError, RecursionError):
        return False
    return True


class _Duplicates:
    """Notes keys that stand twice in an object with different values; the first counts."""

    def __init__(self) -> None:
        self.keys: dict[str, None] = {}

    def __call__(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(reversed(pairs))
        if len(made) == len(pairs):
            return dict(pairs)
        seen: dict[str, Any] = {}
        for key, value in pairs:
            if key in seen and seen[key] != value:
                self.keys.setdefault(key[:60])
            seen.setdefault(key, value)
        return seen


def _exact(text: str) -> str | None:
    """Keep a number as its digits; None if it is out of all reason (1e999)."""
    if len(text) > 40:
        return None
    if "e" not in text and "E" not in text:
        return text
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return format(number, "f") if -20 < number.adjusted() < 20 else None


def load_strict(text: str) -> tuple[Any, tuple[str, ...]]:
    """Parse JSON to text scalars; also the keys given twice. Raises Unreadable.

    >>> load_strict('{"price": 85.10, "x": NaN, "a": 1, "a": 2}')
    ({'price': '85.10', 'x': None, 'a': '1'}, ('a',))
    """
    if json_depth(text, MAX_DEPTH) > MAX_DEPTH:
        raise Unreadable(f"brackets are nested deeper than {MAX_DEPTH}")
    duplicates = _Duplicates()
    try:
        value = json.loads(
            text,
            parse_float=_exact,
            parse_int=_exact,
            parse_constant=lambda _: None,
            object_pairs_hook=duplicates,
            strict=False,
        )
    except ValueError as error:
        where = _from_where(error) if isinstance(error, json.JSONDecodeError) else ""
        raise Unreadable(f"is not JSON{where}", "export it again") from None
    except RecursionError:
        raise Unreadable("brackets are nested too deep") from None
    return value, tuple(duplicates.keys)


def _from_where(error: json.JSONDecodeError) -> str:
    line = f"line {error.lineno}, " if error.lineno > 1 else ""
    return f" from {line}character {error.colno} on"


def _read_document(source: Source) -> Iterator[ReadResult]:
    value, doubled = load_strict(decode_text(source.data(MAX_MEMBER)))
    objects = plain_listings(value)
    if not objects:
        raise Unreadable("holds no listings that can be told", _NAME_THEM.format("fields"))
    yield ReadResult(problems=_doubled(source, doubled, None))
    if len(objects) == 1:
        yield _with_pictures_beside(source, _read_object(source, *objects[0], None))
        return
    for one, plain in objects[:MAX_LISTINGS]:
        yield _read_object(source, one, plain, None)


def _with_pictures_beside(source: Source, result: ReadResult) -> ReadResult:
    """Give a file's only listing the pictures that lie beside it, if it names none itself."""
    listing = result.listings[0]
    if listing.photos or listing.missing_photos or not source.beside:
        return result
    photos, missing, used = find_photos(source.beside, source.resources(), _is_picture)
    origins = {**listing.origins, "photos": ("files beside it",)}
    listing = replace(listing, photos=photos, missing_photos=missing, origins=origins)
    return replace(result, listings=(listing,), used=result.used | used)


def _doubled(source: Source, keys: Sequence[str], line: int | None) -> tuple[Problem, ...]:
    where = f"line {line}: " if line else ""
    return tuple(
        source.problem(f"{where}gives {k!r} twice; the first is used", "check which is right")
        for k in keys[:5]
    )


def _read_lines(source: Source) -> Iterator[ReadResult]:
    """Read a value per line, however many; a damaged line is a problem, the others are read."""
    with source.open() as file:
        for number, raw in numbered_lines(file):
            if number > MAX_LISTINGS:
                raise Unreadable(f"more than {MAX_LISTINGS:,} lines", "split the file")
            try:
                yield _read_line(source, number, raw)
            except Unreadable as error:
                yield ReadResult(problems=(source.problem(f"line {number}: {error}", error.do),))


def numbered_lines(file: BinaryIO) -> Iterator[tuple[int, bytes | None]]:
    """Give each line that is not blank with its number; None for a line that is too long."""
    encoding = encoding_of(file.read(4096))
    file.seek(0)
    if encoding not in (None, "utf-8-sig"):
        text = decode_text(file.read(MAX_MEMBER))
        yield from ((n, t.encode("utf-8", "replace")) for n, t in enumerate(text.split("\n"), 1))
        return
    number = 0
    while line := file.readline(MAX_LINE + 1):
        number += 1
        whole = len(line) <= MAX_LINE
        while len(line) > MAX_LINE and not line.endswith(b"\n"):
            line = file.readline(MAX_LINE + 1)
        yield number, line if whole else None


def _read_line(source: Source, number: int, raw: bytes | None) -> ReadResult:
    if raw is None:
        raise Unreadable(f"longer than {MAX_LINE >> 20} MB", "split it")
    text = decode_text(raw).strip().rstrip(",")
    if text in ("", "[", "]"):
        return ReadResult()
    value, doubled = load_strict(text)
    if not isinstance(value, dict):
        raise Unreadable("is no JSON object", "write one object a line")
    found = plain_listings(value)
    if not found and _has_text(value):
        found = [(value, plain_object(value))]
    if not found:
        raise Unreadable("holds no title and no description", _NAME_THEM.format("fields"))
    results = [_read_object(source, one, plain, number) for one, plain in found]
    return sum(results, ReadResult(problems=_doubled(source, doubled, number)))


def _has_text(value: Mapping[str, Any]) -> bool:
    fields = {field_of(key) for key in value}
    return bool(fields & {"title", "description"})


def _read_object(
    source: Source, stated: Mapping[str, Any], value: dict[str, Any], line: int | None
) -> ReadResult:
    """Read an object as it stands and in plain values."""
    named = read_values(stated, value)
    photos, missing, used = _photos_of(source, value, named)
    gone = value.get("missing_photos")
    if isinstance(gone, list):
        missing = tuple(dict.fromkeys([*missing, *(str(s) for s in gone)]))
    listing, problems = build_listing(
        source, named, "json", photos, missing, line, _language(value)
    )
    return ReadResult((listing,), problems, used)


def read_values(stated: Mapping[str, Any], plain: Mapping[str, Any]) -> tuple[Named, ...]:
    """The values of an object, given as it stands and plain, with the fields that they are of."""
    asked = answers_of(stated)
    own = {a.written for a in asked}.union(_OWN)
    named = _everyday(scalars({k: v for k, v in plain.items() if k not in own}))
    return _priced((*named, *asked))


def _priced(named: tuple[Named, ...]) -> tuple[Named, ...]:
    """Take the only amount with a currency for the price, if no value is named as one."""
    if {field_of(n.name) for n in named} & {"price", "bid", "sold", "buy_now"}:
        return named
    amounts = [n for n in named if field_of(n.name) is None and _is_amount(n.value)]
    if len({n.value for n in amounts}) != 1:
        return named
    price = replace(amounts[0], name="price", written=amounts[0].name)
    return tuple(price if n is amounts[0] else n for n in named)


def _is_amount(text: str) -> bool:
    """Say whether a value is an amount of money with its currency and nothing else."""
    money = find_money(text) if len(text) < 24 else ()
    rest = len(text.strip()) - sum(m.end - m.start for m in money)
    return len(money) == 1 and money[0].currency is not None and rest < 3


def _everyday(values: Iterable[Named]) -> tuple[Named, ...]:
    """Take everyday names ("who") for fields that the object does not name outright."""
    named = tuple(values)
    known = {field_of(n.name) for n in named}
    made = []
    for one in named:
        field = everyday_field(one.name) if field_of(one.name) is None else None
        is_open = field is not None and field not in known
        made.append(replace(one, name=field, written=one.name) if field and is_open else one)
    return tuple(made)


# keys of our own records that are no facts, and photos, which are objects there
_OWN = ("origins", "source", "member", "line", "missing_photos")


def _language(value: Mapping[str, Any]) -> str:
    stated = value.get("language") or value.get("inLanguage") or value.get("lang")
    return stated[:10] if isinstance(stated, str) else ""


def _photos_of(
    source: Source, value: Mapping[str, Any], named: Iterable[Named]
) -> tuple[tuple[Photo, ...], tuple[str, ...], frozenset[Place]]:
    own = value.get("photos")
    if isinstance(own, list) and own and all(isinstance(p, dict) and "sha256" in p for p in own):
        return _own_photos(source, own)
    cells = [n.value for n in named if field_of(n.name) == "photos"]
    names = cells if isinstance(own, list) else [s for cell in cells for s in split_names(cell)]
    return find_photos(names, source.resources(), _is_picture)


def _own_photos(
    source: Source, stated: Sequence[Mapping[str, Any]]
) -> tuple[tuple[Photo, ...], tuple[str, ...], frozenset[Place]]:
    """Take over photos as `triage read` wrote them, paths relative to this file.

    A photo inside a container is believed to be there; it is opened when it is compared.
    """
    photos: list[Photo] = []
    missing: list[str] = []
    resources = source.resources()
    for one in stated:
        path, member, digest = str(one.get("path")), one.get("member"), str(one["sha256"])
        if member is None:
            found, none, _ = find_photos([path], resources, _is_picture)
            photos += found
            missing += none
        else:
            photos.append(Photo(resolve(source.path, path), str(member), digest))
    return tuple(photos), tuple(missing), frozenset((p.path, p.member) for p in photos)


def _is_picture(head: bytes) -> bool:
    return picture_kind(head) is not None


# --- CSV -------------------------------------------------------------------------------------


def can_read_csv(head: bytes, name: str) -> bool:
    """Say whether one of the first lines names known fields, whatever divides them."""
    if b"\0" in head and encoding_of(head) is None:
        return False
    if name.lower().endswith((".csv", ".tsv")):
        return True
    return _find_dialect(decode_text(head[: len(head) // 4 * 4])) is not None


_DIVIDER = re.compile(r"[^\w \"'.()\-]")


@cache
def _find_dialect(start: str) -> tuple[int, str, str] | None:
    """Find the header's line (from 0), the delimiter and the quote, by the names it yields."""
    best: tuple[tuple[int, float], tuple[int, str, str]] | None = None
    for number, line in enumerate(_lines(start)[:12]):
        line = line.rstrip("\r\n")[:4000]
        for delimiter in dict.fromkeys(_DIVIDER.findall(line)):
            names = [name.strip(" \"'") for name in line.split(delimiter)]
            fields = {f for name in names if (f := field_of(name) or everyday_field(name))}
            score = (len(fields), len(fields) / len(names))
            if len(fields) > 1 and _is_listing_table(names) and (best is None or score > best[0]):
                best = score, (number, delimiter, _quote(start, delimiter, number))
    return best[1] if best else None


def _is_listing_table(names: Sequence[str]) -> bool:
    """Say whether a header is that of a table of listings, as a site or a person writes it."""
    sure = {field_of(name) for name in names}
    everyday = {everyday_field(name) for name in names}
    texts = bool((sure | everyday) & {"title", "description"})
    sold = sure & {"price", "bid", "sold", "photos"}
    found = (sure | everyday) - {None}
    is_told = "title" in found or bool(sure & {"photos", "url", "seller_name", "seller_id"})
    return is_listing(names) or (texts and bool(sold) and is_told and len(found) > 2)


def _quote(start: str, delimiter: str, skipped: int) -> str:
    """Tell which quote encloses cells: the one that gives more rows the header's width."""
    enclosed = {q: len(re.findall(_cell(delimiter, q), start, re.M)) for q in "\"'"}
    if not enclosed["'"]:
        return '"'
    double, single = (_even_rows(start, delimiter, quote, skipped) for quote in "\"'")
    if single == double:
        return "'" if enclosed["'"] > max(enclosed['"'], 1) else '"'
    return "'" if single > double else '"'


def _cell(delimiter: str, quote: str) -> str:
    """The pattern of a cell that stands in quotes."""
    edge, inside = re.escape(delimiter), f"(?:[^{quote}]|{quote}{quote}){{1,5000}}"
    return rf"(?:^|{edge}){quote}{inside}{quote}(?=\r?$|{edge})"


def _even_rows(start: str, delimiter: str, quote: str, skipped: int) -> int:
    """Count the first rows that are as wide as the header, less those that are not."""
    lines = _lines(start)[skipped : skipped + 40]
    csv.field_size_limit(MAX_LINE)
    try:
        rows = list(csv.reader(lines, delimiter=delimiter, quotechar=quote))
    except csv.Error:
        return 0
    return sum(1 if len(row) == len(rows[0]) else -1 for row in rows[1:] if row)


def read_csv(source: Source) -> Iterator[ReadResult]:
    """Read a table with a header; a damaged row is a problem, the others are read."""
    text = decode_text(source.data(MAX_MEMBER))
    if not text.strip():
        raise Unreadable("is empty", "export it again")
    dialect = _find_dialect(text[:65536])
    if dialect is None and (turned := _turned(text)) is not None:
        yield from (_read_row(source, turned[0], row, 1, {}) for row in turned[1])
        return
    if dialect is None:
        raise Unreadable("no line names columns that are known", _NAME_THEM.format("columns"))
    skipped, delimiter, quote = dialect
    rows = _rows(text, skipped, delimiter, quote)
    _, cells = next(rows, (0, None))
    if cells is None:
        raise Unreadable("holds no rows", "export it again")
    header = [cell.strip() for cell in cells]
    sample = (row for _, row in islice(_rows(text, skipped, delimiter, quote), 1, SAMPLE))
    columns = find_columns(header, [row for row in sample if row is not None])
    for line, row in rows:
        if row is None or _tells_something(header, row, columns):
            yield _read_row(source, header, row, line, columns)


def _tells_something(header: Sequence[str], row: Sequence[str], columns: Mapping[str, str]) -> bool:
    """Say whether a row is one of the table's: no rule, no heading again, no sum below."""
    told = [cell.strip() for cell in row]
    if all(re.fullmatch(r":?-+:?|", cell) for cell in told):
        return False
    if sum(a == b for a, b in zip(told, header, strict=False) if b) * 2 > len(header):
        return False
    named = zip(header, told, strict=False)
    filled = {columns.get(n) or field_of(n) or everyday_field(n) for n, cell in named if cell}
    return bool(filled & _OF_A_ROW) or not _OF_A_ROW & {field_of(n) for n in header}


_OF_A_ROW = {"title", "description", "url", "photos"}


def _turned(text: str) -> tuple[list[str], list[list[str]]] | None:
    """A table with its headings in the first column, as headings and rows; None for any other."""
    csv.field_size_limit(MAX_LINE)
    lines = _lines(text)[:MAX_ROW_LINES]
    for delimiter in ";,\t|":
        try:
            rows = [row for row in csv.reader(lines, delimiter=delimiter) if len(row) > 1]
        except csv.Error:
            continue
        header = [row[0].strip(" :") for row in rows]
        wide = max(map(len, rows), default=0)
        if len(header) * 2 > len(lines) and is_listing(header) and _is_listing_table(header):
            cells = [[row[at] if at < len(row) else "" for row in rows] for at in range(1, wide)]
            return header, [row for row in cells if any(cell.strip() for cell in row)]
    return None


SAMPLE = 200  # rows looked at to tell what a column holds


def find_columns(header: Sequence[str], rows: Sequence[Sequence[str]]) -> dict[str, str]:
    """Tell the field of columns under other names: by everyday words, else by what they hold.

    A field that some column names outright is not looked for.
    """
    known = {field_of(name) for name in header}
    columns: dict[str, str] = {}
    for name in header:
        field = everyday_field(name) if field_of(name) is None else None
        if field is not None and field not in known:
            columns[name] = field
            known.add(field)
    cells = {
        name: [row[at].strip() for row in rows if at < len(row) and row[at].strip()]
        for at, name in enumerate(header)
        if name and field_of(name) is None and name not in columns
    }
    if "description" not in known and (texts := [n for n in cells if _is_prose(cells[n])]):
        longest = max(texts, key=lambda n: sum(map(len, cells[n])))
        columns[longest] = "description"
        del cells[longest]
    if not known & {"seller_name", "seller_id"}:
        handles = [name for name in cells if _are_handles(cells[name])]
        columns.update(dict.fromkeys(handles[:1], "seller_name"))
    return {**columns, **_size_columns(cells)}


# how buyers head the columns of the three lengths by a letter; common practice, no source
_LETTERS = {
    "l": ("Lens width", 30, 70),
    "b": ("Bridge", 8, 32),
    "t": ("Temple length", 90, 170),
}


def _size_columns(cells: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Columns L, B and T that hold lens, bridge and temple, by what all their cells hold.

    The same letters stand for a parcel's length, breadth and depth in German.
    """
    named = {key_of(name): name for name in cells if key_of(name) in _LETTERS}
    if len(named) < len(_LETTERS) or not all(cells[name] for name in named.values()):
        return {}
    found = {}
    for key, (quantity, low, high) in _LETTERS.items():
        lengths = [re.fullmatch(r"(\d{1,3})(?:[.,]\d)?(?: ?mm)?", c) for c in cells[named[key]]]
        if not all(length and low <= int(length[1]) <= high for length in lengths):
            return {}
        found[named[key]] = quantity
    return found


def _is_prose(cells: Sequence[str]) -> bool:
    """Say whether most cells are sentences: many words, hardly two alike."""
    told = [c for c in cells if len(c.split()) >= 6 and len(c) >= 40]
    return len(told) * 2 > len(cells) and len(set(cells)) * 2 > len(cells)


_HANDLE = re.compile(r"@?(?=.{0,30}[a-z]{3})[a-z0-9]+(?:[._-][a-z0-9]+)*[._-]?")
_MARKED = re.compile(r"^@|[._]|[a-z]{3}\d")


def _are_handles(cells: Sequence[str]) -> bool:
    """Say whether cells are names of accounts: short, lower case, marked as such, some repeated."""
    marked = [c for c in cells if _MARKED.search(c)]
    repeated = 1 < len(set(cells)) < len(cells)
    return (
        repeated
        and len(marked) * 3 >= len(cells)
        and all(len(c) <= 30 and _HANDLE.fullmatch(c) for c in cells)
    )


def _rows(
    text: str, skipped: int, delimiter: str, quote: str
) -> Iterator[tuple[int, list[str] | None]]:
    """Give each row with the number of its first line; None for one whose quotes do not close."""
    csv.field_size_limit(MAX_LINE)
    lines = _lines(text)
    at = skipped
    while at < len(lines):
        reader = csv.reader(_at_most(lines, at), delimiter=delimiter, quotechar=quote, strict=False)
        start = at
        try:
            for cells in reader:
                if _runs_away(lines, at, at + reader.line_num - (at - start)):
                    break
                if any(cell.strip() for cell in cells):
                    yield at + 1, cells
                at = start + reader.line_num
            else:
                return
        except csv.Error:
            pass
        yield at + 1, None
        at += 1


def _lines(text: str) -> list[str]:
    """Split as tables are: at line feeds and carriage returns alone, which are kept."""
    return re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+\Z", text)


MAX_ROW_LINES = 3_000


def _at_most(lines: list[str], start: int) -> Iterator[str]:
    return (lines[i] for i in range(start, len(lines)))


def _runs_away(lines: list[str], first: int, after: int) -> bool:
    return after - first > MAX_ROW_LINES


def _read_row(
    source: Source,
    header: Sequence[str],
    cells: list[str] | None,
    line: int,
    columns: Mapping[str, str],
) -> ReadResult:
    if cells is None:
        problem = source.problem(f"line {line}: a quote is not closed", "close it, or export again")
        return ReadResult(problems=(problem,))
    if len(cells) > len(header):
        cells = _rejoin(header, cells)
    if cells is None:
        problem = source.problem(
            f"line {line}: more cells than columns", "put quotes round text that holds the divider"
        )
        return ReadResult(problems=(problem,))
    filled = [cell for cell in cells if cell.strip()]
    if len(filled) > 2 and all(cell[0] == cell[-1] == " " for cell in filled):
        cells = [cell.strip() for cell in cells]  # set out with spaces about the dividers
    named = [
        Named(known := columns.get(name, name), _cell_value(known, cell), name)
        for name, cell in _in_pairs(header, cells)
        if name and cell.strip()
    ]
    photos, missing, used = _photos_of(source, {}, named)
    listing, problems = build_listing(source, named, "csv", photos, missing, line)
    return ReadResult((listing,), problems, used)


def _cell_value(name: str, cell: str) -> str:
    """A cell's value; a text in words stays as it is, however it begins."""
    text = re.sub(r"\r\n?", "\n", cell)
    return text if field_of(name) in ("title", "description") else _bare_cell(text)


def _bare_cell(cell: str) -> str:
    """A cell without what spreadsheets put about a value: links, and marks that it is text.

    >>> _bare_cell('=HYPERLINK("https://s.example/1";"A")'), _bare_cell("'012"), _bare_cell('="7"')
    ('https://s.example/1', '012', '7')
    """
    link = re.fullmatch(r'(?i)\s*=HYPERLINK\(\s*"([^"]+)".*\)\s*', cell)
    mark = re.fullmatch(r"""\s*(?:'(\d[\w-]*)|="([^"]*)")\s*""", cell)
    return link[1] if link else (mark[1] or mark[2]) if mark else cell


def _in_pairs(header: Sequence[str], cells: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Headings and cells; where columns hold labels and values in turn, a label is the heading."""
    named = dict(zip(header, cells, strict=False))
    for name, cell in zip(header, cells, strict=False):
        found = re.fullmatch(r"(\D+?)[ _.-]*(\d{1,2})", name)
        if found is None:
            yield name, cell
            continue
        kinds = {
            f"in_{kind}": key_of(found[1]) in words(f"in_{kind}") for kind in ("label", "value")
        }
        partner = next((n for n in named if n != name and _is_pair(n, found[2], kinds)), None)
        if partner is None:
            yield name, cell
        elif kinds["in_label"]:
            yield cell.strip(" :"), named[partner]


def _is_pair(name: str, number: str, kinds: Mapping[str, bool]) -> bool:
    """Say whether a heading is of the values ("Wert 2") to labels ("Merkmal 2"), or back."""
    found = re.fullmatch(r"(\D+?)[ _.-]*(\d{1,2})", name)
    if found is None or found[2] != number:
        return False
    other = "in_value" if kinds["in_label"] else "in_label" if kinds["in_value"] else ""
    return bool(other) and key_of(found[1]) in words(other)


def _rejoin(header: Sequence[str], cells: list[str]) -> list[str] | None:
    """Undo a divider inside an unquoted price or text, if one way of joining fits all columns."""
    extra = len(cells) - len(header)
    if not any(cell.strip() for cell in cells[len(header) :]):
        return cells[: len(header)]
    tries = []
    for at, name in enumerate(header):
        if field_of(name) in ("description", "title", "price", "photos", None):
            mark = "," if field_of(name) == "price" else ", "
            joined = [*cells[:at], mark.join(cells[at : at + extra + 1]), *cells[at + extra + 1 :]]
            if all(map(_fits, header, joined)):
                tries.append(
                    (field_of(name) != "price" or not _CENTS.fullmatch(joined[at]), joined)
                )
    sure = [joined for other, joined in tries if not other] or [joined for _, joined in tries]
    return sure[0] if len(sure) == 1 else None


_CENTS = re.compile(r"\D{0,4}\d+,\d{2}\D{0,4}")


_SHAPES = {
    "price": r"[^\d]{0,8}\d[\d.,' ]*[^\d]{0,8}",
    "bid": r"[^\d]{0,8}\d[\d.,' ]*[^\d]{0,8}",
    "url": r"(?:https?://|www\.)\S+",
    "currency": r"[^\d\s]{1,5}",
    "date_listed": r"[\w./: +-]*\d[\w./: +-]*",
    "ends_at": r"[\w./: +-]*\d[\w./: +-]*",
    "photos": r".*\.\w{3,4}.*",
    "quantity": r"\d{1,6}",
}


def _fits(name: str, cell: str) -> bool:
    shape = _SHAPES.get(field_of(name) or "")
    return not cell.strip() or shape is None or re.fullmatch(shape, cell.strip()) is not None
