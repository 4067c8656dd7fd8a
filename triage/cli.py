"""The command line: parse, call the pipeline, print. Records go to standard output alone."""

from __future__ import annotations

import argparse
import datetime
import difflib
import errno
import os
import re
import sys
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from extractors.errors import UserError
from extractors.records import Problem
from triage import __version__
from triage.settings import Settings, add_options, make_settings
from triage.words import as_sentence, printable

if TYPE_CHECKING:
    from triage.progress import OnProgress
    from triage.run import Run

DONE, DONE_WITH_PROBLEMS, USER_ERROR, STOPPED = 0, 1, 2, 130
# what the system may refuse at any moment and place, and the user can put right
_USERS_TO_MEND = {
    errno.ENOENT, errno.EACCES, errno.EPERM, errno.ENAMETOOLONG, errno.ENOSPC, errno.EDQUOT,
    errno.EROFS, errno.EIO, errno.ENOTDIR, errno.EISDIR, errno.ELOOP, errno.EMFILE,
}  # fmt: skip
_INSTALLED = Path(__file__).resolve().parent

_STAGE_HELP = {
    "rank": "rank saved listings by explained risk",
    "read": "print the listings as read",
    "evidence": "print what each listing's text says",
    "photos": "print which photos show the same",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns 0 done, 1 done with problems, 2 user error."""
    _make_streams_forgiving()
    if not (sys.argv[1:] if argv is None else argv):
        _parser().print_help(sys.stderr)
        return USER_ERROR
    given = vars(_parser().parse_args(argv))
    try:
        settings = make_settings(given, given.get("settings"))
        command: Callable[[dict[str, Any], Settings], int] = given["run"]
        return command(given, settings)
    except UserError as error:
        # two lines, whatever their width, so that a program can tell them apart
        _complain(*(as_sentence(told) for told in (error.message, error.hint) if told))
        return USER_ERROR
    except BrokenPipeError:
        # the reader of our output has seen enough; keep Python from complaining at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as error:
        if error.errno not in _USERS_TO_MEND or _is_our_own(error.filename):
            raise
        where = f"{error.filename}: " if error.filename else ""
        _complain(f"{where}{error.strerror}.", "Check the name, the rights and the room there.")
        return USER_ERROR
    except KeyboardInterrupt:
        _say("Stopped.")
        return STOPPED


def _is_our_own(place: object) -> bool:
    """Whether this is a file the tool itself came with: its loss is a fault, not the user's."""
    return isinstance(place, str) and Path(place).resolve().is_relative_to(_INSTALLED)


def _complain(*lines: str | None) -> None:
    for line in filter(None, lines):
        print(printable(line), file=sys.stderr)


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints cannot act on the terminal."""

    def error(self, message: str) -> NoReturn:
        super().error(printable(f"{message}{self._meant(message)}"))

    def _meant(self, message: str) -> str:
        """ " (did you mean --report?)" where a word is a slip for one that is known."""
        told = _SLIP.match(message)
        near = difflib.get_close_matches(told[1], self._known(), 1) if told else []
        return f" (did you mean {near[0]}?)" if near else ""

    def _known(self) -> list[str]:
        choices = [c for action in self._actions for c in action.choices or ()]
        nested = [
            parser
            for action in self._actions
            if isinstance(action.choices, dict)
            for parser in action.choices.values()
        ]
        below = [word for parser in nested for word in parser._known()]
        return [*self._option_string_actions, *map(str, choices), *below]


_SLIP = re.compile(r"(?:unrecognized arguments:|argument .*?: invalid choice:) '?([^\s'=]+)")


def _make_streams_forgiving() -> None:
    """A terminal that cannot show a character shows a mark instead of ending the run."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


class _Version(argparse.Action):
    """Says the version, and whether texts are read by the compiled modules or plain Python."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> NoReturn:
        from extractors.catalogue import is_compiled

        way = "compiled modules" if is_compiled() else "plain Python"
        print(f"{parser.prog} {__version__} (texts are read by {way})")
        parser.exit()


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="triage",
        description="Ranks saved second-hand listings of vintage spectacle frames"
        " by explained risk.",
        epilog="Exit codes: 0 done, 1 done with problems, 2 something to put right.",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="say the version, and stop")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for stage, words in _STAGE_HELP.items():
        command = _command(commands, stage, words)
        command.add_argument("folder", metavar="FOLDER", type=Path, help=_what(stage))
        command.set_defaults(run=_rank if stage == "rank" else _stage)
    review = _command(commands, "review", "say what happened since the weeks before")
    review.add_argument(
        "folders",
        metavar="FOLDER",
        type=Path,
        nargs="+",
        help=_what("review") + "; of several, in any order, the one saved last is reviewed",
    )
    review.set_defaults(run=_review)
    explain = _command(commands, "explain", "explain one listing in full")
    explain.add_argument(
        "listing", metavar="LISTING", help="number in the ranking, id (or how it begins), or file"
    )
    explain.add_argument(
        "folder", metavar="FOLDER", type=Path, nargs="?", help="default: the folder ranked last"
    )
    explain.set_defaults(run=_explain)
    sheet = commands.add_parser("sheet", help="write, check and try reference sheets")
    from triage import desk, sheet_desk

    sheet_desk.add_commands(sheet.add_subparsers(required=True, metavar="WHAT"))
    desk.add_commands(commands)
    evaluate = _command(commands, "evaluate", "measure the ranking against what became of pieces")
    evaluate.add_argument(
        "folder", metavar="FOLDER", type=Path, nargs="?", help="what --outcomes speaks of"
    )
    evaluate.set_defaults(run=_evaluate)
    return parser


def _what(stage: str) -> str:
    if stage == "photos":
        return "a folder of saved listings or of bare pictures, or one file"
    return "a folder of saved listings, or one file (JSON Lines too)"


def _command(commands: Any, name: str, words: str) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(name, help=words, description=words)
    command.add_argument(
        "--settings",
        metavar="FILE",
        type=Path,
        default=argparse.SUPPRESS,
        help="a TOML file with these options as keys",
    )
    add_options(command, name)
    return command


# --- commands -------------------------------------------------------------------------------


def _rank(given: dict[str, Any], settings: Settings) -> int:
    from triage.pipeline import screen
    from triage.progress import progress_bar, summary
    from triage.shown import remember

    with progress_bar(sys.stderr, settings.quiet) as on_progress:
        run = screen(given["folder"], settings, on_progress)
        if settings.report is not None:
            _report(run, given["folder"], settings, on_progress)
    if run.rows or settings.format != "table" or settings.output is not None:
        _write("rank", run.rows, settings)
    if run.rows:  # numbers stay those of the last ranking that had any
        remember(given["folder"], settings)
    if not settings.quiet:
        _say(*summary(run, settings.report))
    if settings.random_looks:
        from triage.evaluation import draw_lots

        _say(*draw_lots(run, settings.random_looks))
    return _finish(run.problems, settings)


def _report(run: Run, folder: Path, settings: Settings, on_progress: OnProgress) -> None:
    from triage.pipeline import add_pictures
    from triage.report import make_report
    from triage.stages import write_whole

    if "people" not in settings.leave_out:
        run = add_pictures(run, folder, settings, on_progress)
    size = round(settings.report_photos * 1_000_000)
    write_whole(settings.report or Path(), make_report(run, settings.leave_out, size))


def _stage(given: dict[str, Any], settings: Settings) -> int:
    from triage.pipeline import run_stage
    from triage.progress import containment_lines, problem_lines, progress_bar

    with progress_bar(sys.stderr, settings.quiet) as on_progress:
        done = run_stage(given["command"], given["folder"], settings, on_progress)
    _write(given["command"], done.rows, settings)
    if not settings.quiet:
        _say(*problem_lines(done.problems), *containment_lines(done.holds))
    return _finish(done.problems, settings)


def _review(given: dict[str, Any], settings: Settings) -> int:
    from triage.keeping import keep_photos
    from triage.pipeline import read_and_look, screen
    from triage.prices import price_points, prices_csv
    from triage.progress import no_progress, problem_lines, progress_bar, summary
    from triage.review import placed_before
    from triage.shown import remember
    from triage.stages import write_whole
    from triage.week import (
        calendar_text,
        entered_about,
        fingerprints_at_hand,
        history_of,
        keep_ranks,
        lines_on_sheets,
        remember_folders,
        review_run,
        said_of,
        sheets_text,
        weights_text,
    )
    from triage.workspace import Workspace

    folders = {folder.resolve(): folder for folder in given["folders"]}.values()
    with progress_bar(sys.stderr, settings.quiet) as on_progress:
        read = {str(folder): read_and_look(folder, settings, on_progress) for folder in folders}
    listings = {path: reading.listings for path, (reading, _) in read.items()}
    looks = {path: seen for path, (_, seen) in read.items()}
    weights, sheets = weights_text(settings), sheets_text(settings)
    with (
        Workspace(settings.memory) as space,
        progress_bar(sys.stderr, settings.quiet) as on_progress,
    ):
        stored = fingerprints_at_hand(space, settings)
        last, weeks = remember_folders(space, listings, looks, stored)
        folder, week = Path(last), weeks[last]
        early = [placed_before(space.store, one, weeks.values()) for one in weeks.values()]
        # of earlier weeks their ranks are kept too, unless the buyer has seen others already
        for path in (p for p in weeks if p != last and not space.was_ranked(weeks[p])):
            past_run = screen(Path(path), settings, on_progress)
            keep_ranks(space, weeks[path], past_run, weights, sheets)
        entered = entered_about(space, week)
        run = screen(folder, settings, on_progress, entered)
        if settings.random_looks:
            from triage.evaluation import drawn_by_lot

            space.store.keep_drawn(week, *drawn_by_lot(run, settings.random_looks))
        kept = keep_photos(space, space.pasts(space.decided(week)), settings)
        rows = review_run(space, week, run, weights, entered, sheets)
        if settings.report is not None:
            past, since = history_of(space, week, rows), said_of(rows)
            run = replace(run, since=since, history=past, prices=price_points(space.store))
        if settings.prices is not None:
            write_whole(settings.prices, prices_csv(price_points(space.store)))
    if settings.report is not None:
        _report(run, folder, settings, no_progress)
    if settings.calendar is not None:
        write_whole(settings.calendar, calendar_text(rows, datetime.datetime.now(datetime.UTC)))
    _write("review", rows, settings)
    remember(folder, settings, settings.memory)
    if not settings.quiet:
        for path, (reading, _) in read.items():
            if path != last:
                _say(*_under(path, problem_lines(reading.problems)))
        _say(*early, *lines_on_sheets(rows), *summary(run, settings.report), *kept.lines())
    others = (p for path, (reading, _) in read.items() if path != last for p in reading.problems)
    return _finish([*run.problems, *others], settings)


def _under(path: str, lines: Sequence[str]) -> list[str]:
    return [f"In {path}, {lines[0]}", *lines[1:]] if lines else []


def _explain(given: dict[str, Any], settings: Settings) -> int:
    from triage.explain import find_row, print_explanation
    from triage.progress import progress_bar
    from triage.table import make_console
    from triage.week import run_as_shown

    memory = settings.memory if settings.memory != Settings().memory else None
    with progress_bar(sys.stderr, settings.quiet) as on_progress:
        run, told = run_as_shown(given.get("folder"), memory, settings, on_progress)
    row = find_row(run, given["listing"])
    if not settings.quiet:
        _say(f"Numbers are those of {told}.")
    print_explanation(make_console(sys.stdout), row, run.rows)
    return _finish((), settings)


def _evaluate(given: dict[str, Any], settings: Settings) -> int:
    from triage.evaluation import (
        figure_lines,
        learn_from,
        make_page,
        measure_memory,
        measure_run,
        uncounted_line,
    )
    from triage.pipeline import screen
    from triage.progress import problem_lines, progress_bar
    from triage.stages import write_whole

    if settings.outcomes is None:
        measured = measure_memory(settings)
    elif given["folder"] is None:
        raise UserError("No folder is given.", "Name the folder that the outcomes speak of.")
    else:
        with progress_bar(sys.stderr, settings.quiet) as on_progress:
            run = screen(given["folder"], settings, on_progress)
        measured = measure_run(run, settings)
    for line in figure_lines(measured.evaluation):
        print(line)
    if told := uncounted_line(measured.uncounted):
        print(textwrap.fill(told, 80))
    if settings.report is not None:
        write_whole(settings.report, make_page(measured.evaluation))
    if settings.learn is not None:
        _say(learn_from(measured, settings.learn))
    if not settings.quiet:
        _say(*problem_lines(measured.problems))
    return _finish(measured.problems, settings)


def _write(stage: str, rows: Sequence[Any], settings: Settings) -> None:
    from triage.stages import write_records

    write_records(stage, rows, settings.format, settings.output, sys.stdout)
    sys.stdout.flush()


def _finish(problems: Sequence[Problem], settings: Settings) -> int:
    if settings.problems is not None:
        from triage.stages import write_problems

        write_problems(settings.problems, problems)
    return DONE_WITH_PROBLEMS if problems else DONE


def _say(*lines: str) -> None:
    """Tell people, beside the records."""
    for line in lines:
        if line:
            print(_wrapped(printable(line)), file=sys.stderr)


def _wrapped(line: str) -> str:
    """A line folded at 80 columns, its further lines set in; long paths stay whole."""
    lead = " " * (len(line) - len(line.lstrip()) + 2)
    return textwrap.fill(
        line, 80, subsequent_indent=lead, break_long_words=False, break_on_hyphens=False
    )
