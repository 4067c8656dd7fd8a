"""What the buyer enters about listings of the latest reviewed folder, and the care of the memory.

Each command takes listings by number ("3"), range ("2-5"), id or file, and writes one batch that
`triage undo` takes back.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from extractors.errors import UserError
from models.counts import count_text
from triage.journal import (
    DISPUTES,
    OUTCOME_SHORT,
    OUTCOMES,
    STEPS,
    dispute_body,
    outcome_body,
    step_body,
    text_body,
)
from triage.settings import DESK, Settings, add_options
from triage.words import printable

if TYPE_CHECKING:
    from triage.store import Entry
    from triage.workspace import Chosen, Workspace

Run = Callable[[dict[str, Any], Settings], int]
Body = Callable[[dict[str, Any]], dict[str, Any]]


def add_commands(commands: Any) -> None:
    """Add the commands that enter, undo and take care."""
    watch = _entry(commands, "watch", "watch listings", "watch", lambda g: {"on": not g["off"]})
    watch.add_argument("--off", action="store_true", help="watch them no longer")
    step = _entry(
        commands,
        "next",
        "set the next step",
        "step",
        lambda g: step_body(g["step"], g["due"], g["note"]),
        "step",
        STEPS,
    )
    step.add_argument("--due", metavar="DATE", help="when it is due, as 2026-12-01 or 1.12.2026")
    step.add_argument("--note", metavar="TEXT", default="", help="a note to it")
    for word, words in (("note", "note something"), ("asked", "keep a question sent"),
                        ("answered", "keep what the seller answered")):  # fmt: skip
        _entry(commands, word, words, word, lambda g: text_body(g["text"]), "text")
    dispute = _entry(
        commands,
        "dispute",
        "say why a finding is wrong",
        "dispute",
        lambda g: dispute_body(g["check"], g["point"], g["why"], g["note"]),
        "why",
        DISPUTES,
    )
    dispute.add_argument("--check", required=True, metavar="CHECK", help="the finding's check")
    dispute.add_argument("--point", required=True, metavar="POINT", help="the finding's point")
    dispute.add_argument("--note", metavar="TEXT", default="", help="a note to it")
    outcome = _entry(
        commands,
        "outcome",
        "say what became of a piece",
        "outcome",
        _outcome,
        "result",
        OUTCOMES,
    )
    outcome.add_argument("--reason", metavar="TEXT", default="", help="why it was returned")
    outcome.add_argument("--paid", metavar="PRICE", help="the price paid, as 120.50")
    outcome.add_argument("--date", metavar="DATE", help="when, as 2026-12-01")
    outcome.add_argument(
        "--found",
        metavar="POINT=WHAT",
        action="append",
        default=[],
        help="what the inspection found at a point; may be repeated",
    )
    outcome.add_argument(
        "--chance",
        metavar="CHANCE",
        type=float,
        help="the chance told by rank --random-looks, if the piece was drawn by lot",
    )
    outcome.add_argument(
        "--photo",
        metavar="FILE",
        type=Path,
        action="append",
        default=[],
        help="your own photo that shows it, copied beside the memory; may be repeated",
    )
    for word, words in (("same", "answer the review: it is the piece seen earlier"),
                        ("different", "say that it is another piece than earlier")):  # fmt: skip
        answer = _command(commands, word, words, _answer)
        answer.add_argument("listing", metavar="LISTING", help="number, id or file")
    apart = _command(commands, "apart", "say that two photos are not the same picture", _apart)
    apart.add_argument(
        "photos", metavar="PHOTO", nargs=2, help="as the ranking names it, or a file"
    )
    _care(commands)


def _apart(given: dict[str, Any], settings: Settings) -> int:
    from triage.apart import tell_apart

    return tell_apart(given, settings)


def _answer(given: dict[str, Any], settings: Settings) -> int:
    word = given["command"]
    with _memory(settings) as space:
        chosen = space.choose([given["listing"]])
        if len(chosen) != 1:
            raise UserError("One answer is about one listing.", "Give its number, id or file.")
        earlier, batch = space.answer(chosen[0], word == "same")
    here = f"{chosen[0].rank}  {printable(chosen[0].snapshot.listing.title)}"
    is_same = "the same piece as" if word == "same" else "another piece than"
    print(f"  {here}: {is_same} “{printable(earlier.title)}”", file=sys.stderr)
    print(f"Not asked again; to take it back: triage undo {batch}", file=sys.stderr)
    return 0


def _outcome(given: dict[str, Any]) -> dict[str, Any]:
    points = dict(found.partition("=")[::2] for found in given["found"])
    return outcome_body(
        given["result"],
        reason=given["reason"],
        paid=given["paid"],
        date=given["date"],
        points=points,
        chance=given["chance"],
    )


def _entry(
    commands: Any,
    word: str,
    words: str,
    kind: str,
    body: Body,
    first: str = "",
    choices: tuple[str, ...] = (),
) -> argparse.ArgumentParser:
    """A command that enters one kind of thing; `first` names the argument before the listings."""

    def run(given: dict[str, Any], settings: Settings) -> int:
        from triage.shown import recall

        with _memory(settings) as space:
            chosen = space.choose(given["listings"])
            enter = space.enter_dispute if kind == "dispute" else partial(space.enter, kind)
            told_of = body(given)
            if given.get("photo"):
                told_of["photos"] = list(space.keep_evidence(given["photo"]))
            batch = enter(chosen, told_of)
            kept = _kept_photos(space, kind, chosen, told_of, settings)
            told = space.shown_text(space.shown())
            made_at = space.store.shown().get(space.shown(), "")
        since = recall(settings)
        if since is not None and since.memory is None and since.made_at > made_at > "":
            print(f"Numbers are the review's, not those of {since.folder}, ranked since.",
                  file=sys.stderr)  # fmt: skip
        print(f"In {printable(told)}:", file=sys.stderr)
        for one in chosen:
            number = f"{one.rank}  " if one.rank else ""
            print(f"  {number}{printable(one.snapshot.listing.title)}", file=sys.stderr)
        print(f"Entered for {len(chosen)}; to take it back: triage undo {batch}", file=sys.stderr)
        for line in kept:
            print(printable(line), file=sys.stderr)
        return 0

    command = _command(commands, word, words, run)
    if first:
        shown: dict[str, Any] = {"choices": choices} if choices else {"metavar": "TEXT"}
        command.add_argument(
            first, help=words, type=lambda text: OUTCOME_SHORT.get(text, text), **shown
        )
    command.add_argument(
        "listings",
        metavar="LISTING",
        nargs="+",
        help="number, range, id or file; or all, state:changed, group:ask, reference:ID,"
        " words:TEXT, is:watched, is:due",
    )
    return command


def _kept_photos(
    space: Workspace,
    kind: str,
    chosen: Sequence[Chosen],
    body: Mapping[str, Any],
    settings: Settings,
) -> tuple[str, ...]:
    from triage.keeping import is_kept_with, keep_photos

    if not is_kept_with(kind, body):
        return ()
    return keep_photos(space, space.pasts(one.snapshot for one in chosen), settings).lines()


def _memory(settings: Settings, is_new: bool = False) -> Workspace:
    """The memory opened; UserError where there is none, unless a new one may be made."""
    from triage.workspace import Workspace  # loads the extractors, which only few commands need

    if not is_new and not settings.memory.is_file():
        raise UserError(
            f"There is no memory {settings.memory}.",
            "Review a folder first, or name another file with --memory.",
        )
    return Workspace(settings.memory)


def _command(commands: Any, word: str, words: str, run: Run) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(word, help=words, description=words)
    add_options(command, DESK)
    command.set_defaults(run=run)
    return command


# --- care of the memory -----------------------------------------------------------------------


def _care(commands: Any) -> None:
    listed = _command(commands, "entries", "list what was entered, with its batch", _entries)
    listed.add_argument("listing", metavar="LISTING", nargs="?", help="number, id or file")
    undo = _command(commands, "undo", "take back what was entered last, or a named batch", _undo)
    undo.add_argument("batches", metavar="BATCH", nargs="*", help="as told when it was entered")
    disputes = "count what was disputed, by check and reason, beside what it found"
    _command(commands, "disputes", disputes, _disputes)
    memory = commands.add_parser("memory", help="verify, repair, export, import or forget")
    below = memory.add_subparsers(required=True, metavar="WHAT")
    _command(below, "verify", "check the memory and its photos", _verify)
    mend = _command(below, "repair", "save what can be read of a damaged memory", _repair)
    mend.add_argument("file", metavar="NEW-FILE", type=Path, help="a new file; --memory stays")
    stock = _command(below, "catalogue", "know the pictures of a folder as catalogue's", _catalogue)
    stock.add_argument("folder", metavar="FOLDER", type=Path, help="a folder of bare pictures")
    stock.add_argument("--name", metavar="NAME", help="what to call them; default: the folder's")
    stock.add_argument("--off", action="store_true", help="know them no longer")
    export = _command(below, "export", "write everything to a new folder", _export)
    export.add_argument("folder", metavar="FOLDER", type=Path, help="a new folder")
    export.add_argument("--without-sellers", action="store_true", help="leave sellers out")
    take = _command(below, "import", "fill an empty memory from an export", _import)
    take.add_argument("folder", metavar="FOLDER", type=Path, help="the exported folder")
    seller = _command(below, "forget-seller", "forget a seller; cannot be undone", _forget_seller)
    seller.add_argument("seller", metavar="NAME", help="the seller's name or id")
    seller.add_argument(
        "--everywhere",
        action="store_true",
        help="cover a name of one plain word in the texts of other listings too",
    )
    before = _command(below, "forget-before", "forget what is older; cannot be undone", _forget)
    before.add_argument("date", metavar="DATE", help="as 2026-01-31")


def _entries(given: dict[str, Any], settings: Settings) -> int:
    from triage.shown import minute_text

    with _memory(settings) as space:
        chosen = space.choose([given["listing"]])[0] if given["listing"] else None
        entries = space.entries(chosen, undone=True)
        titles = {e.snapshot: space.store.snapshot(e.snapshot).listing.title
                  for e in entries if e.snapshot is not None}  # fmt: skip
    for entry in entries:
        back = "  (taken back)" if entry.undone_at else ""
        print(f"{entry.batch}  {minute_text(entry.made_at)}  {_body_text(entry)}{back}")
        number = f"  (number {entry.rank} then)" if entry.rank else ""
        print(f"  {printable(titles.get(entry.snapshot or 0, ''))}{number}")
    count = count_text(len(entries), "entry", "entries")
    print(f"{count}; to take one back: triage undo BATCH", file=sys.stderr)
    return 0


def _body_text(entry: Entry) -> str:
    """An entry in one line: its kind and what was given with it."""
    given = [
        value if key in _LEADING else f"{key} {_value_text(value)}"
        for key, value in sorted(entry.body.items(), key=lambda item: _told_when(item[0]))
        if value not in (None, "", {}, [], True)
    ]
    return printable(f"{entry.kind}: {', '.join(given)}" if given else entry.kind)


_LEADING = ("text", "step", "result", "why")  # told first and without their key


def _told_when(key: str) -> int:
    return 0 if key in _LEADING else 2 if key == "note" else 1


def _value_text(value: Any) -> str:
    if isinstance(value, list):
        return f"{len(value)}"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {told}" for key, told in value.items())
    return str(value)


def _undo(given: dict[str, Any], settings: Settings) -> int:
    with _memory(settings) as space:
        for wanted in given["batches"] or [None]:
            batch, count = space.undo(wanted)
            entries = count_text(count, "entry", "entries")
            print(f"Taken back: {entries} of batch {batch}", file=sys.stderr)
    return 0


def _verify(given: dict[str, Any], settings: Settings) -> int:
    with _memory(settings) as space:
        wrong = space.verify()
        gone, others = ((), 0) if wrong else space.photos_gone()
        wrong = (*wrong, *gone)
    for line in wrong:
        print(printable(line))
    if others:
        gone_of = count_text(others, "photo of other listings", "photos of other listings")
        are = "is" if others == 1 else "are"
        print(f"{gone_of} {are} no longer where saved.", file=sys.stderr)
    print("All is well." if not wrong else count_text(len(wrong), "fault"), file=sys.stderr)
    return 1 if wrong else 0


def _export(given: dict[str, Any], settings: Settings) -> int:
    with _memory(settings) as space:
        count = space.export(given["folder"], given["without_sellers"])
    print(f"{count_text(count, 'record')} written to {given['folder']}", file=sys.stderr)
    return 0


def _import(given: dict[str, Any], settings: Settings) -> int:
    with _memory(settings, is_new=True) as space:
        space.take_in(given["folder"])
    print(f"Taken in from {given['folder']}", file=sys.stderr)
    return 0


def _forget_seller(given: dict[str, Any], settings: Settings) -> int:
    from triage.cache import throw_away

    with _memory(settings) as space:
        told = space.forget_seller(given["seller"], given["everywhere"])
    throw_away(settings.cache)
    gone = count_text(told.snapshots, "saved listing")
    print(f"{gone} forgotten; this cannot be undone.", file=sys.stderr)
    if told.covered:
        print(
            f"The name was covered in {count_text(told.covered, 'record')} of others.",
            file=sys.stderr,
        )
    if told.standing:
        print(
            f"It still stands as a word in {count_text(told.standing, 'record')} of others; to"
            " cover it there too, add --everywhere.",
            file=sys.stderr,
        )
    print(_ELSEWHERE, file=sys.stderr)
    return 0


_ELSEWHERE = (
    "Backups beside the memory and the cache are gone too. Saved folders, reports and exports\n"
    "are yours to delete."
)


def _forget(given: dict[str, Any], settings: Settings) -> int:
    from triage.cache import throw_away

    with _memory(settings) as space:
        count = space.forget_before(given["date"])
    throw_away(settings.cache)
    gone = count_text(count, "saved listing")
    print(f"{gone} forgotten; this cannot be undone.", file=sys.stderr)
    print(_ELSEWHERE, file=sys.stderr)
    return 0


def _repair(given: dict[str, Any], settings: Settings) -> int:
    from triage.mending import repair, saved_lines

    if not settings.memory.is_file():
        raise UserError(f"There is no memory {settings.memory}.", "Name it with --memory.")
    saved = repair(settings.memory, given["file"])
    for line in saved_lines(saved):
        print(printable(line), file=sys.stderr)
    print(f"Written to {given['file']}; {settings.memory} is as it was.", file=sys.stderr)
    return 1 if saved.faults else 0


def _catalogue(given: dict[str, Any], settings: Settings) -> int:
    from triage.pipeline import picture_looks

    name = given["name"] or given["folder"].resolve().name
    looks = {} if given["off"] else picture_looks(given["folder"], settings)
    with _memory(settings, is_new=True) as space:
        if given["off"]:
            gone = count_text(space.store.drop_known_pictures(name), "picture")
            told = f"{gone} of {name} known no longer"
        else:
            new = count_text(space.store.add_known_pictures(name, looks), "new picture")
            told = f"{new} known as {name}"
    print(printable(told), file=sys.stderr)
    return 0


def _disputes(given: dict[str, Any], settings: Settings) -> int:
    with _memory(settings) as space:
        counts, shown = space.disputes(), space.conflicts_shown()
    for check in sorted({check for check, _ in counts}):
        why = ", ".join(f"{w} {n}" for (c, w), n in sorted(counts.items()) if c == check)
        total = sum(n for (c, _), n in counts.items() if c == check)
        print(f"{check}: {total} disputed of {shown[check]} conflicts shown ({why})")
    print(count_text(counts.total(), "dispute"), file=sys.stderr)
    return 0
