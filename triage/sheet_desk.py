"""`triage sheet ...`: start, draft, check, show and try sheets, and see their coverage."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from extractors.errors import UserError
from models.counts import count_text
from triage.settings import Settings, add_options, reading_options
from triage.words import name, printable

if TYPE_CHECKING:
    from models.sheet_records import ReferenceSheet

Run = Callable[[dict[str, Any], Settings], int]


def add_commands(commands: Any) -> None:
    """Add the commands below `triage sheet`."""
    reads = ("sheets", *reading_options())
    new = _command(commands, "new", "start a sheet, asked step by step", _new)
    new.add_argument(
        "file", metavar="FILE", type=Path, nargs="?", help="the sheet to write (.toml)"
    )
    new.add_argument(
        "--example", action="store_true", help="an annotated example instead of the questions"
    )
    draft = _command(
        commands, "draft", "draft a sheet from listings at hand", _draft, "output", *reads
    )
    draft.add_argument("model", metavar="NAME", help="maker and model, as sellers write it")
    draft.add_argument("folder", metavar="FOLDER", type=Path, help="a folder of saved listings")
    words = "say what is wrong with sheets, and how to mend it"
    check = _command(commands, "check", words, _check, "sheets", "quiet")
    check.add_argument("files", metavar="SHEETS", type=Path, nargs="*", help="folders or files")
    words = "show a sheet (--report FILE: as a page to print)"
    show = _command(commands, "show", words, _show, "sheets", "report")
    show.add_argument("model", metavar="NAME", help="its id, name, alias or file")
    tried = _command(commands, "try", "list what changed sheets would move", _try, *reads)
    tried.add_argument("files", metavar="SHEETS", type=Path, help="the changed sheet, or a folder")
    tried.add_argument("folder", metavar="FOLDER", type=Path, help="listings to try it on")
    cover = _command(
        commands, "coverage", "say how well each reference is covered", _coverage, *reads
    )
    cover.add_argument("folder", metavar="FOLDER", type=Path, help="a folder of saved listings")
    _command(commands, "points", "list the points a sheet can name and their values", _points)
    _command(commands, "schema", "print the JSON Schema of sheets, for editors", _schema, "output")


def _command(
    commands: Any, word: str, words: str, run: Run, *options: str
) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(word, help=words, description=words)
    add_options(command, "sheet", options)
    command.set_defaults(run=run)
    return command


# --- writing --------------------------------------------------------------------------------


def _new(given: dict[str, Any], settings: Settings) -> int:
    from models.sheet_work import STEPS, cannot_read, sheet_from_answers

    file: Path | None = given["file"]
    if given["example"]:
        return _give_example(file)
    if file is None:
        raise UserError("A new sheet needs a file.", "Name it: triage sheet new my-model.toml")
    if file.exists():
        raise UserError(f"{file} is there already.", "Name a new file, or edit that one.")
    answers = {}
    for step in STEPS:
        answers[step.key] = _ask(step.ask, step.example)
        while wrong := cannot_read(step, answers[step.key]):
            print(f"  {printable(wrong)}; leave it empty if not known", file=sys.stderr)
            answers[step.key] = _ask(step.ask, step.example)
    if not answers["name"].strip():
        raise UserError("A sheet needs a name.", "Start again and give maker and model.")
    text = sheet_from_answers(answers)
    _write_sheet(file, text)
    return _tell_problems(text, file)


def _give_example(file: Path | None) -> int:
    from models.sheets import example

    if file is None:
        sys.stdout.write(example())
        return 0
    if file.exists():
        raise UserError(f"{file} is there already.", "Name a new file, or edit that one.")
    _write_sheet(file, example())
    return 0


def _ask(question: str, example: str) -> str:
    """An answer from standard input; the question goes to standard error. Empty at its end."""
    shown = f"{question} (e.g. {example}) " if example else f"{question} "
    print(shown, end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip()


def _write_sheet(file: Path, text: str) -> None:
    from triage.stages import write_whole

    write_whole(file, text)
    print(printable(f"Written: {file}"), file=sys.stderr)


def _tell_problems(text: str, file: Path) -> int:
    from models.sheets import sheet_from_text

    _, problems = sheet_from_text(text, file.name, file.stem)
    for problem in problems:
        print(f"{printable(problem.what)}; {printable(problem.do)}", file=sys.stderr)
    return 1 if problems else 0


def _draft(given: dict[str, Any], settings: Settings) -> int:
    from models.sheet_work import draft_from_listings
    from models.sheets import load_sheets
    from triage.pipeline import examine

    words = given["model"].casefold().split()
    chosen = [
        (listing, evidence)
        for listing, evidence, _ in examine(given["folder"], settings)
        if all(word in listing.text.casefold() for word in words)
    ]
    if not chosen:
        raise UserError(
            f"No listing in {given['folder']} names {given['model']}.",
            "Write the name as sellers write it.",
        )
    _put(draft_from_listings(given["model"], chosen, load_sheets(settings.sheets)), settings)
    return 0


def _schema(given: dict[str, Any], settings: Settings) -> int:
    from models.sheet_schema import schema

    _put(json.dumps(schema(), indent=2, ensure_ascii=False) + "\n", settings)
    return 0


def _points(given: dict[str, Any], settings: Settings) -> int:
    from models.point_words import known_points, said_of
    from models.sheet_records import INSCRIPTIONS, LENGTHS

    lengths = (f"{n}: millimetres (46, 46 ± 1 in quotes, or [46, 48])" for n in LENGTHS)
    marks = (f"{n}: text, how, where, not_where, aligned, numerals" for n in INSCRIPTIONS)
    points = (f"{n}: {said_of(n)}" for n in known_points())
    _print_rows([(line, "") for line in (*lengths, *marks, *points)])
    return 0


def _put(text: str, settings: Settings) -> None:
    if settings.output is None:
        sys.stdout.write(text)
    else:
        _write_sheet(settings.output, text)


# --- looking --------------------------------------------------------------------------------


def _check(given: dict[str, Any], settings: Settings) -> int:
    from models.sheet_advice import check_sheets
    from models.sheets import load_sheets

    paths = (*settings.sheets, *given["files"])
    sheets = load_sheets(paths, shipped=not paths)
    problems = check_sheets(sheets)
    _print_rows([(f"{problem.source}: {problem.what}", problem.do) for problem in problems])
    told = (count_text(len(sheets.sheets), "sheet"), count_text(len(problems), "remark"))
    if not settings.quiet:
        print(", ".join(told), file=sys.stderr)
    return 1 if problems else 0


def _show(given: dict[str, Any], settings: Settings) -> int:
    from models.sheet_work import sheet_rows
    from triage.sheet_page import make_sheet_page
    from triage.stages import write_whole

    sheet = _sheet_of(given["model"], settings)
    if sheet is None:
        raise UserError(
            f"No sheet goes by {printable(given['model'])}.",
            _nearest(given["model"], settings) + "Give its id, its name, an alias or its file.",
        )
    if settings.report is not None:
        write_whole(settings.report, make_sheet_page(sheet))
        print(printable(f"Page: {settings.report}"), file=sys.stderr)
        return 0
    print(printable(sheet.name))
    _print_rows([(f"{point}: {told}", why) for point, told, why in sheet_rows(sheet)])
    return 0


def _nearest(model: str, settings: Settings) -> str:
    """The names of sheets that are written much like this one, as a sentence; "" for none."""
    from models.sheets import load_sheets

    sheets = load_sheets(settings.sheets).sheets
    names = {n.casefold(): s.name for s in sheets for n in (s.name, s.id, *s.aliases)}
    near = get_close_matches(model.casefold(), names, n=3, cutoff=0.7)
    meant = ", ".join(dict.fromkeys(names[n] for n in near))
    return f"Did you mean: {printable(meant)}? " if meant else ""


def _sheet_of(model: str, settings: Settings) -> ReferenceSheet | None:
    """The sheet of an id, a name, an alias, or of a file."""
    from models.sheets import load_sheet, load_sheets

    if not model.lower().endswith(".toml") or not Path(model).is_file():
        return load_sheets(settings.sheets).find(model)
    sheet, problems = load_sheet(Path(model))
    for problem in problems:
        print(f"{printable(problem.what)}; {printable(problem.do)}", file=sys.stderr)
    if sheet is None:
        raise UserError(f"{printable(model)} holds no usable sheet.", "Mend what is said above.")
    return sheet


def _print_rows(rows: Sequence[tuple[str, str]]) -> None:
    from rich.padding import Padding
    from rich.text import Text

    from triage.table import make_console

    console = make_console(sys.stdout)
    for line, more in rows:
        console.print(Padding(Text(printable(line)), (0, 0, 0, 2)))
        if more:
            console.print(Padding(Text(printable(more), style="dim"), (0, 0, 0, 6)))


def _try(given: dict[str, Any], settings: Settings) -> int:
    from models.sheet_work import try_sheets, with_tried
    from models.sheets import load_sheets
    from triage.pipeline import examine

    listings = [(x, evidence) for x, evidence, _ in examine(given["folder"], settings)]
    before = load_sheets(settings.sheets)
    after, told = with_tried(before, load_sheets((given["files"],), shipped=False))
    for line in told:
        print(printable(line), file=sys.stderr)
    moves = try_sheets(before, after, listings)
    titles = {listing.id: listing.title for listing, _ in listings}
    for move in moves:
        print(f"{printable(titles[move.id])}  ({printable(move.id)})")
        if move.reference_before != move.reference_after:
            print(f"  reference: {move.reference_before or 'none'} → {move.reference_after}")
        for point, old, new in move.changes:
            print(f"  {name(point)}: {name(old or 'nothing')} → {name(new or 'nothing')}")
    print(f"{len(moves)} of {len(listings)} listings would move", file=sys.stderr)
    return 0


def _coverage(given: dict[str, Any], settings: Settings) -> int:
    from models.checks.corpus import Examined
    from models.sheet_work import coverage
    from models.sheets import load_sheets
    from triage.pipeline import examine

    examined = [
        Examined(listing, evidence, judged.resolution, judged.findings)
        for listing, evidence, judged in examine(given["folder"], settings)
    ]
    rows = []
    for row in coverage(load_sheets(settings.sheets), examined):
        told = f"{row.name}: {count_text(row.listings, 'listing')}, {row.points} points"
        if row.listings:
            told += f", {row.stated_share:.0%} of them stated"
        gaps = [
            f"{words}: {', '.join(map(name, points))}"
            for words, points in (
                ("never stated", row.silent),
                ("without a source", row.unsourced),
                ("without a question", row.unasked),
            )
            if points
        ]
        rows.append((told, "; ".join(gaps)))
    _print_rows(rows)
    return 0
