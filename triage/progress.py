"""What goes to standard error: the bar on long work, and the summary at the end."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from extractors.records import Problem
from models.counts import count_text
from models.records import NextStep
from triage.run import Run, problem_groups
from triage.words import CAUTIONS, printable

PLACES_SHOWN = 3
PROBLEMS_SHOWN = 12
NAMES_SHOWN = 10


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a stage of a run has come; `total` 0 means not known."""

    stage: str
    done: int
    total: int


OnProgress = Callable[[Progress], None]

_GROUP_WORDS: dict[NextStep, str] = {
    "look": "worth a close look",
    "ask": "worth a question",
    "cannot_say": "that cannot be judged yet",
    "no_sheet": "without a sheet",
    "leave": "to leave",
}
STAGE_WORDS = {
    "read": "reading files",
    "evidence": "reading texts",
    "photos": "looking at photos",
    "pairs": "comparing photos",
    "checks": "holding against sheets",
    "pictures": "making small pictures",
}


def no_progress(progress: Progress) -> None:
    """Tell no one."""


@contextmanager
def progress_bar(file: IO[str], quiet: bool) -> Iterator[OnProgress]:
    """A bar on a terminal; nothing where standard error is no terminal."""
    if quiet or not file.isatty():
        yield no_progress
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description:<24}"), BarColumn(), MofNCompleteColumn())
    with Bar(*columns, console=Console(file=file), transient=True) as bar:
        tasks = {
            stage: bar.add_task(words, total=None, visible=False)
            for stage, words in STAGE_WORDS.items()
        }

        def show(progress: Progress) -> None:
            bar.update(
                tasks[progress.stage],
                completed=progress.done,
                total=progress.total or None,
                visible=progress.done < progress.total or not progress.total,
            )

        yield show


def summary(run: Run, report: Path | None = None) -> list[str]:
    """The lines after a ranking: groups, names without a sheet, problems, the report, a caution."""
    counts = run.counts()
    told = ", ".join(
        f"{counts[step]} {words}" for step, words in _GROUP_WORDS.items() if counts[step]
    )
    lines = [f"{count_text(len(run.rows), 'listing')}: {told}." if run.rows else "No listings."]
    if run.unsheeted:
        names = [f"{printable(name)} ({count})" for name, count in run.unsheeted[:NAMES_SHOWN]]
        rest = len(run.unsheeted) - NAMES_SHOWN
        more = f" and {rest} more" if rest > 0 else ""
        lines.append(f"Names without a sheet: {', '.join(names)}{more}.")
    lines += [run.sureness] if run.sureness else []
    lines += [f"{doubt}." for doubt in run.doubts]
    lines += problem_lines(run.problems)
    lines += containment_lines(run.holds)
    if report is not None:
        lines.append(f"Report: {report}")
    if run.rows:
        lines.append(CAUTIONS[0])
    return lines


_MEASURES = {
    "limits": "limited memory",
    "parent": "they end with this program",
    "network": "no network",
    "landlock": "no other files",
    "seccomp": "no new programs",
    "audit": "a watch in Python",
}


def containment_lines(holds: Mapping[str, bool]) -> list[str]:
    """One line on the means that hold the processes that opened files; none if none were opened.

    >>> containment_lines({"limits": True, "network": False})
    ['Files were opened in contained processes: limited memory. Not to be had here: no network.']
    """
    if not holds:
        return []
    kept = [_MEASURES.get(key, key) for key, is_held in holds.items() if is_held]
    lacking = [_MEASURES.get(key, key) for key, is_held in holds.items() if not is_held]
    line = f"Files were opened in contained processes: {', '.join(kept) or 'nothing holds'}."
    return [f"{line} Not to be had here: {', '.join(lacking)}." if lacking else line]


def problem_lines(problems: Sequence[Problem]) -> list[str]:
    """The problems, those with the same trouble together, each with a few of its places."""
    if not problems:
        return []
    groups = problem_groups(problems)
    lines = [f"{count_text(len(problems), 'problem')}:"]
    for what, do, places in groups[:PROBLEMS_SHOWN]:
        lines.append(f"  {_places(places)}: {printable(what)}; {printable(do)}")
    if len(groups) > PROBLEMS_SHOWN:
        lines.append(f"  and {len(groups) - PROBLEMS_SHOWN} other kinds (--problems FILE has all)")
    return lines


_LONGEST_NAME = 255  # characters; a file system's own limit, a name inside an archive has none


def _shortened(place: str) -> str:
    """A place fit to be printed; of an endless name both ends."""
    shown = printable(place[:_LONGEST_NAME])
    return shown if len(place) <= _LONGEST_NAME else f"{shown}...{printable(place[-40:])}"


def _places(places: Sequence[str]) -> str:
    rest = len(places) - PLACES_SHOWN
    told = ", ".join(map(_shortened, places[:PLACES_SHOWN]))
    return told + (f" and {rest} more" if rest > 0 else "")
