"""Loads reference sheets: the shipped ones and any number of the buyer's own folders.

A broken file becomes a Problem naming the file, line or key, what is wrong and the fix; the rest
loads. A buyer's sheet with the id of a shipped one takes its place.

A sheet is one TOML file; only `name` is required, everything else narrows the judgement. An
annotated example is data/sheet_example.toml (`triage sheet new --example`).
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path

from extractors.errors import UserError
from extractors.folding import plain
from extractors.records import Problem
from models.sheet_reading import Notes, read_sheet, slug
from models.sheet_records import ReferenceSheet

SHIPPED = Path(__file__).parent / "reference_sheets"
_LARGEST = 1_000_000  # bytes; a sheet is a page of text
_DEEPEST = 20  # parts of a dotted key


@dataclass(frozen=True, eq=False)
class Sheets:
    """All usable sheets by id, and what could not be used; compared by identity."""

    sheets: tuple[ReferenceSheet, ...] = ()
    problems: tuple[Problem, ...] = ()

    def get(self, reference: str | None) -> ReferenceSheet | None:
        """The sheet with this id, or None."""
        return next((sheet for sheet in self.sheets if sheet.id == reference), None)

    def find(self, name: str) -> ReferenceSheet | None:
        """The sheet with this id, name or alias, however it is cased; or None."""
        wanted = name.casefold().strip()
        for sheet in self.sheets:
            if wanted in (n.casefold() for n in (sheet.id, sheet.name, *sheet.aliases)):
                return sheet
        # "grifalco_piccolo" is the id "grifalco-piccolo", or the name "Grifalco Piccolo"
        for sheet in self.sheets:
            if slug(name) in (slug(n) for n in (sheet.id, sheet.name, *sheet.aliases)):
                return sheet
        return None


def example() -> str:
    """An annotated sheet to copy from (models/data/sheet_example.toml)."""
    return resources.files("models").joinpath("data/sheet_example.toml").read_text("utf-8")


def load_sheets(folders: Sequence[Path] = (), shipped: bool = True) -> Sheets:
    """Read every .toml below the shipped folder and the given ones (a file may be given too).

    Raises UserError where a given folder does not exist.
    """
    by_id: dict[str, ReferenceSheet] = {}
    problems: list[Problem] = []
    for folder in ([SHIPPED] if shipped else []) + [Path(f) for f in folders]:
        in_folder: dict[str, ReferenceSheet] = {}
        for file in _files(folder):
            sheet, found = load_sheet(file, _shown(file, folder))
            problems += found
            if sheet is None:
                continue
            if sheet.id in in_folder:
                sheet, twice = _renamed(sheet, in_folder)
                problems.append(twice)
            in_folder[sheet.id] = sheet
        by_id |= in_folder
    return linked(Sheets(tuple(by_id.values()), tuple(problems)))


def linked(sheets: Sheets) -> Sheets:
    """The sheets with every look-alike named by its id, and told by points as they are named."""
    return replace(sheets, sheets=tuple(_linked(sheet, sheets) for sheet in sheets.sheets))


def _linked(sheet: ReferenceSheet, sheets: Sheets) -> ReferenceSheet:
    looks = tuple(
        replace(look, reference=other.id) if (other := sheets.find(look.reference)) else look
        for look in sheet.look_alikes
    )
    return sheet if looks == sheet.look_alikes else replace(sheet, look_alikes=looks)


def _files(folder: Path) -> Iterator[Path]:
    if folder.is_file():
        yield folder
    elif folder.is_dir():
        yield from sorted(
            p for p in folder.rglob("*") if p.suffix.lower() == ".toml" and p.is_file()
        )
    else:
        raise UserError(f"no sheets folder at {folder}", "give a folder that holds .toml sheets")


def _shown(file: Path, folder: Path) -> str:
    return file.name if folder == file else file.relative_to(folder).as_posix()


def _renamed(
    sheet: ReferenceSheet, taken: dict[str, ReferenceSheet]
) -> tuple[ReferenceSheet, Problem]:
    number = next(n for n in range(2, 10_000) if f"{sheet.id}-{n}" not in taken)
    what = (
        f"two sheets have the id '{sheet.id}' (the other: {taken[sheet.id].file}); "
        f"this one is read as '{sheet.id}-{number}'"
    )
    return replace(sheet, id=f"{sheet.id}-{number}"), Problem(
        sheet.file, None, what, "give it an id of its own"
    )


def load_sheet(file: Path, shown: str | None = None) -> tuple[ReferenceSheet | None, list[Problem]]:
    """One sheet and everything that is wrong in its file; None where nothing is usable."""
    shown = shown or file.name
    try:
        if file.stat().st_size > _LARGEST:
            return None, [
                Problem(shown, None, "larger than 1 MB", "a sheet is a page of text; split it")
            ]
        text = file.read_bytes().decode("utf-8-sig")
    except OSError as error:
        return None, [
            Problem(shown, None, f"cannot be read ({error.strerror})", "check the file's rights")
        ]
    except UnicodeDecodeError:
        return None, [Problem(shown, None, "is not UTF-8 text", "save it again as UTF-8")]
    return sheet_from_text(text, shown, file.stem)


def sheet_from_text(text: str, file: str, stem: str) -> tuple[ReferenceSheet | None, list[Problem]]:
    """Read a sheet from its text; `file` is named in problems, `stem` gives the id if none."""
    if any(line.partition("=")[0].count(".") > _DEEPEST for line in text.splitlines()):
        return None, [Problem(file, None, "is nested too deeply", "write plain tables")]
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return None, [Problem(file, None, f"is not valid TOML: {error}", _toml_fix(str(error)))]
    except RecursionError:
        return None, [Problem(file, None, "is nested too deeply", "write plain tables")]
    except ValueError:  # more digits than Python reads
        return None, [_too_large(file)]
    notes = Notes()
    try:
        sheet = read_sheet(data, file, stem, notes)
    except OverflowError:
        return None, [_too_large(file)]
    except ValueError as error:
        return None, [
            Problem(file, None, f"no sheet: {error}", 'write name = "Maker Model" at the top')
        ]
    problems = [
        Problem(file, None, f"{line_of(text, key)}{what}", fix) for key, what, fix in notes.found
    ]
    return replace(sheet, text=text), problems


def _too_large(file: str) -> Problem:
    return Problem(file, None, "holds a number far too large", "write lengths in millimetres")


def _toml_fix(message: str) -> str:
    if "overwrite" in message or "twice" in message or "Cannot" in message:
        return "a table or key stands there twice: use [[point]] for lists, and each key once"
    if "Invalid value" in message or "Illegal" in message:
        return 'put texts in quotes: name = "..."; lists in brackets: ["a", "b"]'
    return "look at that line: key = value, texts in quotes, lists in brackets"


def line_with(text: str, name: str) -> str:
    """ "line 2: " where a sheet's text has these words, in whatever case and accents."""
    for number, line in enumerate(text.splitlines(), 1):
        if plain(name) in plain(line):
            return f"line {number}: "
    return ""


def line_of(text: str, key: str) -> str:
    r""" "line 7: " where a sheet's text has this key, table or name; empty where it has not.

    A key with a table before it ("edition.rivets") is looked for in that table first; "edition
    NAME" is where the edition is named.

    >>> line_of('name = "A B"\n[[point]]\nname = "badge"\n', "badge")
    'line 3: '
    """
    if key.startswith("edition "):
        return _line_of_edition(text, key.removeprefix("edition "))
    tables = key.split(".")[:-1]
    for header in re.finditer(rf"(?m)^\s*\[+\s*{'.'.join(tables)}s?\b", text) if tables else ():
        end = re.compile(r"(?m)^\s*\[").search(text, header.end())
        until = end.start() if end else len(text)
        if found := _line_of_key(text[header.start() : until], key):
            return f"line {text.count(chr(10), 0, header.start()) + found}: "
    line = _line_of_key(text, key)
    return f"line {line}: " if line else ""


def _line_of_edition(text: str, name: str) -> str:
    word = re.escape(name)
    match = re.search(
        rf"(?m)^\s*\[+\s*editions?\.\"?{word}\"?\s*\]|^\s*name\s*=\s*[\"']{word}[\"']", text
    )
    return f"line {text.count(chr(10), 0, match.end()) + 1}: " if match else ""


def _line_of_key(text: str, key: str) -> int:
    """The number of the line, 0 where the key does not stand there."""
    word = re.escape(key.rsplit(".", 1)[-1])
    match = re.search(
        rf"(?m)^\s*(?:\[+\s*)?(?:[\w\"-]+\.)*\"?{word}\"?\s*[=\].]|[{{,]\s*{word}\s*="
        rf"|^\s*(?:name|point|reference)\s*=\s*[\"']{word}[\"']",
        text,
    )
    if match is None:
        return 0
    start = match.start() + len(match.group()) - len(match.group().lstrip())
    return text.count(chr(10), 0, start) + 1
