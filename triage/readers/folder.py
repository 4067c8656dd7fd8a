"""A folder of saved things in, listings and problems out; every file is read or named.

This runs in the parent and parses nothing: it walks the folder, plans by names, lets workers
read, and puts together what they send.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any

from extractors.codec import UnreadableRecord, from_plain
from extractors.errors import UserError
from extractors.records import Listing, Photo, Problem
from triage.containment import Breach, Supervisor
from triage.readers.documents import is_of_the_system
from triage.readers.grouping import Plan, companion_of, make_plan
from triage.readers.source import Place, ReadResult, path_text

OnCount = Callable[[int, int], None]  # files done, files in all
MAX_FILES = 1_000_000
MAX_PATH_DEPTH = 60


@dataclass(frozen=True, slots=True)
class Reading:
    """What a folder held. `holds` says which means of containment were in force."""

    root: Path
    listings: tuple[Listing, ...] = ()
    problems: tuple[Problem, ...] = ()
    files: int = 0
    holds: Mapping[str, bool] = field(default_factory=dict)


def read_folder(folder: Path, supervisor: Supervisor, on_count: OnCount | None = None) -> Reading:
    """Read every listing of a folder (or of one file), newest snapshot of each, in a fixed order.

    Raises UserError if the folder is not there, is empty, or cannot be listed.
    """
    root, names, problems = list_files(folder)
    plan = make_plan(names)
    gathered = _Gathered(root, plan)
    tell = on_count or (lambda done, total: None)
    tell(0, len(names))
    for done in gathered.take(supervisor, plan.first):
        tell(done, len(names))
    rest = [name for name in plan.later if gathered.is_on_its_own(name)]
    for _ in gathered.take(supervisor, rest):
        pass
    tell(len(names), len(names))
    return Reading(
        root,
        gathered.listings(),
        (*problems, *gathered.all_problems()),
        len(names),
        dict(supervisor.holds),
    )


# --- walking ---------------------------------------------------------------------------------


def list_files(folder: Path) -> tuple[Path, list[str], list[Problem]]:
    """List the regular files below a folder, and name what else is there.

    Gives the root, the relative paths with "/", and problems. A single file is a folder of one.
    """
    try:
        is_folder = stat.S_ISDIR(folder.stat().st_mode)
    except FileNotFoundError:
        raise UserError(f"there is no {folder}", "check the spelling") from None
    except (OSError, ValueError) as error:
        raise UserError(f"{folder} cannot be opened", str(error)) from None
    root = Path(os.path.realpath(folder))
    if not is_folder:
        return root.parent, [path_text(root.name)], []
    names, problems = _walk(root)
    if not names and not problems:
        raise UserError(f"{folder} is empty", "save some listings into it")
    return root, names, problems


def _walk(root: Path) -> tuple[list[str], list[Problem]]:
    names: list[str] = []
    problems: list[Problem] = []
    todo = [""]
    while todo:
        below = todo.pop()
        for name, kind in _entries(root, below):
            shown = path_text(name)
            if kind == "file" and is_of_the_system(shown):
                continue
            if kind == "file" and len(names) < MAX_FILES:
                names.append(shown)
            elif kind == "folder" and name.count(os.sep) < MAX_PATH_DEPTH:
                todo.append(name)
            else:
                problems.append(Problem(shown.replace(os.sep, "/"), None, *_NOT_READ[kind]))
    return sorted(n.replace(os.sep, "/") for n in names), problems


_NOT_READ = {
    "file": ("is one file too many", "read fewer at a time"),
    "folder": ("lies too deep", "move it up"),
    "link": ("is a link, and links are not followed", "copy what it leads to"),
    "other": ("is no regular file (a pipe, socket or device)", "remove it"),
    "closed": ("is a folder that cannot be listed", "check its rights"),
}


def _entries(root: Path, below: str) -> list[tuple[str, str]]:
    """List one folder: relative name and kind of each entry."""
    try:
        with os.scandir(root / below) as entries:
            return [(os.path.join(below, e.name), _kind(e)) for e in entries]
    except OSError:
        return [(below or ".", "closed")]


def _kind(entry: os.DirEntry[str]) -> str:
    try:
        if entry.is_symlink() or (hasattr(entry, "is_junction") and entry.is_junction()):
            return "link"
        if entry.is_dir(follow_symlinks=False):
            return "folder"
        return "file" if entry.is_file(follow_symlinks=False) else "other"
    except OSError:
        return "other"


# --- putting together ------------------------------------------------------------------------


class _Gathered:
    """Results of the workers as they come in, by file, so that the order is that of the names."""

    def __init__(self, root: Path, plan: Plan) -> None:
        self._root = root
        self._plan = plan
        self._results: dict[str, list[ReadResult]] = {}
        self._used: set[Place] = set()

    def take(self, supervisor: Supervisor, names: Sequence[str]) -> Iterator[int]:
        """Let workers read these files; counts those heard of."""
        payloads = (self._payload(name) for name in names)
        for index, value in supervisor.map("read", payloads):
            name = names[index]
            result = _result_of(name, value)
            self._results.setdefault(name, []).append(result)
            self._used |= result.used
            yield len(self._results)

    def _payload(self, name: str) -> dict[str, Any]:
        beside = [_relative(name, p) for p in self._plan.beside.get(name, ())]
        return {"root": str(self._root), "path": name, "beside": beside}

    def is_on_its_own(self, name: str) -> bool:
        """Say whether a file in a folder named after a page is none of the page's parts."""
        return (name, None) not in self._used and not self._is_part(name)

    def _is_part(self, name: str) -> bool:
        """A page's folder is one from which the page took something, or whose page failed."""
        folder = companion_of(name, self._plan.companions)
        if folder is None:
            return False
        page = self._results.get(self._plan.companions[folder], [])
        took = any(p.startswith(folder + "/") for r in page for p, _ in r.used)
        return took or not any(r.listings for r in page)

    def _in_order(self) -> Iterable[ReadResult]:
        return (r for name in sorted(self._results) for r in self._results[name])

    def listings(self) -> tuple[Listing, ...]:
        """All listings but frames, which are parts of others."""
        return tuple(
            listing
            for result in self._in_order()
            for listing in result.listings
            if not self._is_frame(listing)
        )

    def _is_frame(self, listing: Listing) -> bool:
        """A page that another page shows inside itself, and that sells nothing of its own.

        The price tells: a page must not make another seller's listing vanish by framing it.
        """
        place = (listing.source, listing.member)
        return listing.member is not None and place in self._used and listing.price is None

    def all_problems(self) -> Iterator[Problem]:
        for result in self._in_order():
            for problem in result.problems:
                if result.listings or (problem.source, problem.member) not in self._used:
                    yield problem
        for name in self._plan.pictures:
            if (name, None) not in self._used and not self._is_part(name):
                yield Problem(
                    name, None, "is a picture that no listing names", "put a text file beside it"
                )


def _relative(name: str, picture: str) -> str:
    """Write a picture's path as seen from the text beside it, ready for an address."""
    folder = name.rpartition("/")[0]
    return picture[len(folder) + 1 :] if folder else picture


def _result_of(name: str, value: Any) -> ReadResult:
    """Take what a worker sent for a file; anything that is no result of this file is a problem."""
    if isinstance(value, Breach):
        return ReadResult(problems=(value.problem(name),))
    try:
        result = from_plain(value, ReadResult)
    except UnreadableRecord:
        return ReadResult(problems=(Problem(name, None, "gave no sound result", "leave it out"),))
    listings = tuple(cleaned(one) for one in result.listings if one.source == name)
    return replace(result, listings=listings)


_CONTROL = re.compile("[\0-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")


def cleaned(listing: Listing) -> Listing:
    """Replace control characters and lone surrogates, one for one, so that offsets still hold."""
    changes = {
        f.name: made
        for f in fields(listing)
        if f.name not in ("source", "member", "photos")
        for value in [getattr(listing, f.name)]
        if (made := _clean(value)) is not value
    }
    return replace(listing, **changes) if changes else listing


def _clean(value: Any) -> Any:
    """Clean a text, or the texts in a tuple or mapping; the same object if there is nothing."""
    if isinstance(value, str):
        return _CONTROL.sub("\ufffd", value) if _CONTROL.search(value) else value
    if isinstance(value, tuple):
        made = tuple(map(_clean, value))
        return value if all(a is b for a, b in zip(made, value, strict=True)) else made
    if isinstance(value, Mapping):
        made_items = [(_clean(k), _clean(v)) for k, v in value.items()]
        same = all(
            k is a and v is b for (k, v), (a, b) in zip(made_items, value.items(), strict=True)
        )
        return value if same else dict(made_items)
    return value


# --- a folder of bare pictures ---------------------------------------------------------------


def read_pictures(
    folder: Path, supervisor: Supervisor, on_count: OnCount | None = None
) -> tuple[tuple[Photo, ...], tuple[Problem, ...]]:
    """List all files of a folder that are pictures by content, with their digests, by name."""
    root, names, problems = list_files(folder)
    found: dict[str, Photo] = {}
    payloads = ({"root": str(root), "path": name} for name in names)
    for done, (index, value) in enumerate(supervisor.map("hash", payloads), 1):
        if isinstance(value, Breach):
            problems.append(value.problem(names[index]))
        elif value is not None:
            found[names[index]] = from_plain(value, Photo)
        if on_count is not None:
            on_count(done, len(names))
    return tuple(found[name] for name in sorted(found)), tuple(problems)
