"""Loads reference sheets: the shipped ones and any number of the buyer's own folders.

A broken file becomes a Problem naming the file, line or key, what is wrong and the fix; the rest
loads. A buyer's sheet with the id of a shipped one takes its place.

A sheet is one TOML file; only `name` is required, everything else narrows the judgement:

    name = "Orlenza Merrin"            # maker and model, as sellers write it
    aliases = ["Merrin"]
    years = [1958, 1964]               # or "1958-1964", "1960s", "from 1958", {from=, to=}
    country = "England"
    source = "seven pieces measured"   # for every point that names none of its own
    sure = "certain"                   # certain | likely | guess (a guess never conflicts)
    usual_faults = ["white bloom on the tips"]

    [sizes]                            # millimetres: 46, "46 ± 1", "46-48", {value=, tolerance=}
    basis = "printed"                  # printed on the frame, or taken by ruler
    complete = true                    # no other size was made: only then an unlisted one conflicts
    combinations = ["44-20-135", { lens_width = 46, bridge = 22, temple_length = 140 }]

    [[point]]                          # one statement; several of one name, or [points.NAME]
    name = "hinge_barrels"
    always = 7                         # always | usually (a clue only) | never; a value or a list;
    never = [3, 5]                     # never = "any": nothing of the kind
    when = "colour is not black"       # or otherwise = true: the contrary of the rules before
    text = "ORLENZA"                   # inscriptions: text, how, where, not_where, aligned,
    how = "stamped"                    #   numerals (roman | arabic), how_often,
    wear = "stays"                     #   wear: stays | can vanish; harmless = "paint rubs off"
    tolerance = 2                      # plain numbers (angles), with unit = "degrees"
    why = "..."                        # why, question, photo, source, sure
    cues = { lozenge = ["little diamonds"] }   # a seller's words for a value
    topic = ["clasp"]                  # words for the part, for a point of your own

    [[edition]]                        # name, aliases, years, known_by = "rivet_colour is gold",
    name = "Regatta"                   #   and [[edition.point]] or [edition.sizes] that replace
    [[look_alike]]                     # reference, how, tell_by = ["rim_width"]
    reference = "orlenza-tavoy"
    [marks]                            # belong = ["Made in England"], never = ["CE"]
    never = ["CE"]
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from extractors.errors import UserError
from extractors.records import Problem
from models.sheet_reading import Notes, read_sheet
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
        return None


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
    return Sheets(tuple(by_id.values()), tuple(problems))


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


def line_of(text: str, key: str) -> str:
    r""" "line 7: " where a sheet's text has this key, table or name; empty where it has not.

    >>> line_of('name = "A B"\n[[point]]\nname = "badge"\n', "badge")
    'line 3: '
    """
    word = re.escape(key.rsplit(".", 1)[-1])
    match = re.search(
        rf"(?m)^\s*(?:\[+\s*)?(?:[\w\"-]+\.)*\"?{word}\"?\s*[=\].]|[{{,]\s*{word}\s*="
        rf"|^\s*(?:name|point|reference)\s*=\s*[\"']{word}[\"']",
        text,
    )
    return f"line {text.count(chr(10), 0, match.start()) + 1}: " if match else ""
