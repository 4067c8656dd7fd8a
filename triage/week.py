"""The weekly review as the terminal shows it: what needs the buyer first, then changes, then rest.

The memory itself is in workspace.py; here a ranked run is put into it and read back as rows.
"""

from __future__ import annotations

import datetime
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from extractors.catalogue import extract
from extractors.codec import to_plain
from extractors.errors import UserError
from extractors.records import Listing
from models.outcomes import outcome_words
from models.records import Assessment, Step
from models.risk import START
from triage.cache import Cache
from triage.changes import Change, sizes_corrected, word_diff
from triage.columns import price_text, signed
from triage.diary import Appointment, calendar
from triage.journal import Standing
from triage.recognition import SAME_PICTURE_BITS, Stored, nothing_stored
from triage.review import Reviewed, Sighting, Week, past_of, still_open
from triage.run import Earlier, Entered, Past, Row, Run
from triage.settings import Settings
from triage.shown import last_shown, minute_text, recall
from triage.store import Folder, Snapshot
from triage.words import name, printable
from triage.workspace import Workspace

if TYPE_CHECKING:
    from triage.progress import OnProgress

STATES = {
    "new": "New",
    "back": "Back again",
    "changed": "Changed",
    "sold": "Sold",
    "ended": "Ended",
    "not_seen": "Not saved this week (which does not mean it is gone)",
    "unchanged": "Unchanged",
}
SHORT_STATES = {**STATES, "new": "First seen", "not_seen": "Not saved"}
_WORDS_AROUND = 3
_NOTES_TOLD = 2  # the last ones
_STEPS_TOLD, _FELT = 2, 0.05  # steps of a score that are told as having moved it, in log-odds
_DAYS_TO_NEXT = 8  # a review a week, or a day late


@dataclass(frozen=True, slots=True)
class WeekRow:
    """One listing of the review: what happened, its ranks, and where its piece stands."""

    told: Reviewed
    rank: int | None
    earlier_rank: int | None
    standing: Standing
    drawn: float | None = None  # the chance with which it was drawn by lot for a close look
    catalogue: tuple[str, ...] = ()  # collections that a photo of it belongs to
    moved_by: tuple[str, ...] = ()  # the steps of its score that are others than last time
    start_moved: str = ""  # that its score starts from another figure than last time
    sizes: tuple[Change, ...] = ()  # sizes of the piece that the text states otherwise now
    ends_soon: bool = False  # before the next review, and worth a look, a question or watched
    key: str = ""  # of the piece, the same from week to week under whatever number
    is_late: bool = False  # what was to be done was due before the folder was saved
    sheet_gone: str = ""  # the sheet it was held against last time, if that is not loaded now


def entered_about(space: Workspace, folder: Folder) -> Entered:
    """What the memory knows about the pieces and pictures of a folder that moves its ranking."""
    week = space.store.snapshots(folder)
    standing = space.standing_of(week)
    near = {
        p.sha256: {p.sha256, *space.store.near_photos(p.sha256, SAME_PICTURE_BITS)}
        for s in week
        for p in s.listing.photos
    }
    catalogue = space.store.known_pictures()
    known = {
        sha: min(names)
        for sha, copies in near.items()
        if (names := {catalogue[c] for c in copies if c in catalogue})
    }
    own = {sha: copies for sha, copies in near.items() if sha not in known}
    return Entered(
        {key: one.answers for key, one in standing.items() if one.answers},
        {key: one.disputed for key, one in standing.items() if one.disputed},
        _shown_by_others_before(space, folder, week, own),
        known,
    )


def _shown_by_others_before(
    space: Workspace, folder: Folder, week: Sequence[Snapshot], near: Mapping[str, set[str]]
) -> tuple[Earlier, ...]:
    """Listings of earlier weeks, of pieces not saved this week, that show a picture of this one."""
    here = {s.piece for s in week} | {s.listing.id for s in week}
    before = space.store.shown_before(folder, {c for copies in near.values() for c in copies})
    found = []
    for then in before:
        if {then.piece, then.listing.id} & here:
            continue
        theirs = {p.sha256 for p in then.listing.photos}
        shows = tuple((sha, c) for sha in sorted(near) for c in sorted(near[sha] & theirs))
        seen = space.store.assessment(then.id)
        found.append(Earlier(then.listing, seen[1].reference if seen else None, shows))
    return tuple(sorted(found, key=lambda e: e.listing.id))


def remember_folders(
    space: Workspace,
    listings: Mapping[str, Sequence[Listing]],
    looks: Mapping[str, Mapping[str, bytes]],
    stored: Stored = nothing_stored,
) -> tuple[str, dict[str, Folder]]:
    """Remember folders by the path the buyer gave; returns the path saved last, and all."""
    weeks = [
        Week(path, str(Path(path).resolve()), told, looks[path]) for path, told in listings.items()
    ]
    folders = dict(zip(listings, space.add_weeks(weeks, stored), strict=True))
    last = max(folders, key=lambda path: (folders[path].saved_at, folders[path].id))
    return last, folders


def fingerprints_at_hand(space: Workspace, settings: Settings) -> Stored:
    """What gives the fingerprints of stored photos: from the cache, or made again from the files.

    A photo that lies neither where it was saved nor among the kept ones has none.
    """

    def stored(shas: Iterable[str]) -> dict[str, bytes]:
        from triage.pipeline import stored_fingerprints

        wanted = set(shas)
        cache = Cache(None if settings.no_cache else settings.cache)
        found = cache.get_many("fingerprint", wanted)
        cache.close()
        for folder, photos in space.photo_files(wanted - found.keys()).items():
            found |= stored_fingerprints(photos, folder, settings)
        return found

    return stored


def keep_ranks(
    space: Workspace,
    folder: Folder,
    run: Run,
    weights: str,
    sheets: Mapping[str, str] | None = None,
) -> None:
    """Keep what the buyer is shown of a folder, and the weights and sheets (texts) behind it."""
    version = space.store.keep_version("weights", weights)
    told = [row.assessment for row in run.rows]
    named = {a.reference for a in told}
    used = {
        reference: space.store.keep_version("sheet", text)
        for reference, text in (sheets or {}).items()
        if reference in named
    }
    space.store.add_assessments(folder, told, version, used)


def review_run(
    space: Workspace,
    folder: Folder,
    run: Run,
    weights: str,
    entered: Entered | None = None,
    sheets: Mapping[str, str] | None = None,
) -> tuple[WeekRow, ...]:
    """Keep what the buyer is shown of a folder; say what happened since the weeks before."""
    keep_ranks(space, folder, run, weights, sheets)
    space.store.keep_shown(folder)
    known = entered.known_pictures if entered else {}
    return tuple(_rows(space, folder, run.rows, known, sheets))


def run_as_shown(
    folder: Path | None, memory: Path | None, settings: Settings, on_progress: OnProgress
) -> tuple[Run, str]:
    """The ranking that a number is meant of, and which one it is in words.

    Without a folder it is the one shown last; with a memory the review kept there. Raises
    UserError where nothing was ranked or the memory does not hold the folder.
    """
    from triage.pipeline import screen

    shown = recall(settings, folder) if folder or memory else last_shown(settings)
    if memory is None and shown and shown.memory and shown.memory.exists():
        memory = shown.memory
    if memory is not None:
        return _review_as_shown(folder or (shown.folder if shown else None), memory, settings)
    place = folder or (shown.folder if shown else Path())
    run = screen(place, shown.settings(settings) if shown else settings, on_progress)
    made = minute_text(shown.made_at) if shown else "made now"
    return run, f"the ranking of {place}, {made}"


def _review_as_shown(folder: Path | None, memory: Path, settings: Settings) -> tuple[Run, str]:
    from triage.pipeline import screen

    with Workspace(memory) as space:
        week = space.shown_at(folder) if folder else space.shown()
        if week is None:
            raise UserError(
                f"{memory} holds no review of {folder}: `rank` keeps none in a memory.",
                "Leave out --memory for the numbers of the ranking, or review first:"
                f" triage review {folder} --memory {memory}",
            )
        place = folder or Path(week.path)
        entered, ranks = entered_about(space, week), space.ranks(week)
        told = space.shown_text(week)
    shown = recall(settings, place)
    run = screen(place, shown.settings(settings) if shown else settings, entered=entered)
    return number_as_shown(run, ranks), told


def number_as_shown(run: Run, ranks: Mapping[str, int]) -> Run:
    """The run under the numbers the buyer was shown; what came later is numbered after them."""
    last = max(ranks.values(), default=0)
    later = (row.listing.id for row in run.rows if row.listing.id not in ranks)
    numbers = {**ranks, **{key: last + n for n, key in enumerate(later, 1)}}
    rows = (
        row if row.rank == numbers[row.listing.id] else _numbered(row, numbers[row.listing.id])
        for row in run.rows
    )
    return replace(run, rows=tuple(sorted(rows, key=lambda row: row.rank)))


def _numbered(row: Row, number: int) -> Row:
    """The row under another number, for which no places were reckoned."""
    return replace(row, rank=number, places=None)


def _rows(
    space: Workspace,
    folder: Folder,
    ranked: Iterable[Row],
    known: Mapping[str, str],
    sheets: Mapping[str, str] | None = None,
) -> Iterator[WeekRow]:
    shown = {row.listing.id: row for row in ranked}
    ranks = {key: row.rank for key, row in shown.items()}
    told = space.review(folder)
    drawn = space.store.drawn()
    pieces = {s.id: s.piece for s in space.store.snapshots(folder)}
    standing = space.standing_of(space.store.snapshots(folder))
    for one in sorted(told, key=lambda one: (ranks.get(one.id, len(ranks) + 1), one.id)):
        before = space.store.assessment(one.earlier.id) if one.earlier else None
        row = shown.get(one.id) if one.state != "not_seen" else None
        yield WeekRow(
            one,
            row.rank if row else None,
            before[0] if before else None,
            standing.get(one.id, Standing()),
            drawn.get(pieces.get(one.snapshot) or 0),
            tuple(sorted({known[p.sha256] for p in one.listing.photos if p.sha256 in known})),
            _moved_by(before[1], row.assessment) if before and row else (),
            _start_moved(before[1], row.assessment) if before and row else "",
            _sizes_of(one, row),
            _ends_soon(one.listing, folder, row, standing.get(one.id, Standing())),
            _key_of(space, pieces.get(one.snapshot), one),
            (standing.get(one.id, Standing()).due or "9") < folder.saved_at[:10],
            _sheet_gone(before[1], sheets) if before and row and sheets is not None else "",
        )


def _sheet_gone(before: Assessment, sheets: Mapping[str, str]) -> str:
    """The sheet that a listing was held against in the review before, if it is not loaded now."""
    return before.reference if before.reference and before.reference not in sheets else ""


def lines_on_sheets(rows: Iterable[WeekRow]) -> list[str]:
    """That listings were held against sheets that are not loaded now, and what to do; else none."""
    gone = Counter(row.sheet_gone for row in rows if row.sheet_gone)
    if not gone:
        return []
    named = ", ".join(f"{printable(sheet)} ({count})" for sheet, count in gone.most_common(8))
    more = f" and {len(gone) - 8} more" if len(gone) > 8 else ""
    return [
        f"Not loaded now, though listings were held against them last time: {named}{more}."
        " Give your sheets again: --sheets FOLDER."
    ]


def _key_of(space: Workspace, piece: int | None, told: Reviewed) -> str:
    """The id that a piece had when it was seen first."""
    return space.store.history(piece)[0].listing.id if piece is not None else told.id


def _moved_by(before: Assessment, now: Assessment) -> tuple[str, ...]:
    """The steps of the score that came, went or grew most, in words; none where it hardly moved.

    The start is left out: it moves all listings alike, and is told once.
    """
    then, here = ({s.name: s.log_odds for s in a.steps if not _is_start(s)} for a in (before, now))
    moved = {key: here.get(key, 0.0) - then.get(key, 0.0) for key in {**then, **here}}
    told = sorted(moved, key=lambda key: (-abs(moved[key]), key))
    return tuple(
        f"{'' if key in here else 'no longer '}“{name(key)}” ({signed(moved[key])},"
        f" {'more' if moved[key] > 0 else 'less'} risk)"
        for key in told[:_STEPS_TOLD]
        if abs(moved[key]) >= _FELT
    )


def _is_start(step: Step) -> bool:
    return step.name.startswith(START)  # behind it stands what it rests on


def _start_moved(before: Assessment, now: Assessment) -> str:
    """That all listings start from another figure than in the review before; "" where they do not.

    After outcomes were learned the start stands for what became of earlier pieces.
    """
    then, here = (next((s for s in a.steps if _is_start(s)), None) for a in (before, now))
    if then is None or here is None or abs(here.log_odds - then.log_odds) < _FELT:
        return ""
    moved = signed(here.log_odds - then.log_odds)
    cause = "Your outcomes" if "outcomes" in here.name else "Other weights"
    return (
        f"{cause} moved the starting figure of all listings by {moved} since they were reviewed"
        " last; that alone changes no place in the order."
    )


def _sizes_of(told: Reviewed, row: Row | None) -> tuple[Change, ...]:
    if row is None or told.earlier is None or not {"title", "description"} & set(told.changed):
        return ()
    before = extract(told.earlier.listing).measurements
    return sizes_corrected(before, row.evidence.measurements)


def _ends_soon(listing: Listing, folder: Folder, row: Row | None, standing: Standing) -> bool:
    """Whether it ends before the next review, a week from when it was saved, and one may mind."""
    is_minded = standing.watched or (row and row.assessment.next_step in ("look", "ask"))
    is_open = listing.ends_at is not None and still_open(listing) and not standing.is_settled
    if row is None or listing.ends_at is None or not is_open or not is_minded:
        return False
    try:
        saved = datetime.date.fromisoformat((listing.date_saved or folder.saved_at)[:10])
        ends = datetime.date.fromisoformat(listing.ends_at[:10])
    except ValueError:
        return False
    return saved <= ends <= saved + datetime.timedelta(days=_DAYS_TO_NEXT)


def weights_text(settings: Settings) -> str:
    """The weights in force, as text: the buyer's model, weights file, or the shipped ones."""
    for file in (settings.model, settings.weights):
        if file is not None:
            return file.read_text(encoding="utf-8")
    shipped = resources.files("models").joinpath("data", "starting_weights.toml")
    return shipped.read_text(encoding="utf-8")


def sheets_text(settings: Settings) -> dict[str, str]:
    """Reference -> the sheet in force for it, as text (JSON)."""
    from models.sheets import load_sheets

    return {
        sheet.id: json.dumps(to_plain(replace(sheet, file="")), sort_keys=True, default=str)
        for sheet in load_sheets(settings.sheets).sheets
    }


def said_of(rows: Iterable[WeekRow]) -> dict[str, tuple[str, ...]]:
    """Listing id -> its state since the weeks before, and what changed, for the report."""
    return {
        row.told.id: (STATES[row.told.state], *_details(row))
        for row in rows
        if row.told.state != "not_seen" and (row.told.state != "unchanged" or _is_minded(row))
    }


def _is_minded(row: WeekRow) -> bool:
    """Whether the buyer has something entered that the card of an unchanged piece should tell."""
    standing = row.standing
    return bool(standing.watched or standing.step or standing.outcome) or needs_you(row)


def history_of(
    space: Workspace, folder: Folder, rows: Iterable[WeekRow]
) -> dict[str, tuple[Past, ...]]:
    """Listing id -> how its piece stood week by week, of pieces seen in more than one week."""
    found = {}
    for row in rows:
        piece = space.store.snapshot(row.told.snapshot).piece
        if piece is None or row.told.earlier is None or row.told.state == "not_seen":
            continue
        past = past_of(space.store, piece, folder)
        found[row.told.id] = tuple(
            Past(
                _day_of(one),
                SHORT_STATES[one.state],
                price_text(one.listing) if one.listing else "",
            )
            for one in past
        )
    return found


def _day_of(one: Sighting) -> str:
    return ((one.listing.date_saved if one.listing else None) or one.folder.saved_at)[:10]


def needs_you(row: WeekRow) -> bool:
    """Whether the buyer is asked something, set a date, drew it by lot, or it ends soon."""
    is_drawn = row.drawn is not None and row.standing.outcome is None
    is_here = row.told.state != "not_seen"
    asked = row.told.asks_about is not None or row.standing.due is not None
    return asked or row.ends_soon or (is_drawn and is_here)


def print_review(console: Console, rows: Sequence[WeekRow]) -> None:
    """Print the review for people; it reads well at 80 columns."""
    for told in dict.fromkeys(row.start_moved for row in rows if row.start_moved):
        console.print(Text(told, style="dim"))
    first = [row for row in rows if needs_you(row)]
    _print_group(console, "Needs you first", sorted(first, key=_when))
    for state, title in STATES.items():
        group = [row for row in rows if row.told.state == state and not needs_you(row)]
        _print_group(console, title, group)


def calendar_text(rows: Iterable[WeekRow], made_at: datetime.datetime) -> str:
    """What is due and what ends, as a calendar file."""
    entries: list[Appointment] = []
    for row in rows:
        listing, due = row.told.listing, row.standing.due
        title, key = printable(listing.title), row.key or row.told.id
        notes = map(printable, row.standing.notes)
        if due is not None:
            step = row.standing.step or "look again"
            entries.append(Appointment(f"due {key}", due, f"{step}: {title}", "\n".join(notes)))
        is_open = still_open(listing) and not row.standing.is_settled
        if listing.ends_at is not None and is_open:
            entries.append(Appointment(f"ends {key}", listing.ends_at, f"ends: {title}"))
    return calendar(entries, made_at).decode("utf-8")


def _when(row: WeekRow) -> tuple[str, str]:
    return (row.standing.due or row.told.listing.ends_at or "9999", row.told.id)


def _print_group(console: Console, title: str, rows: Sequence[WeekRow]) -> None:
    if not rows:
        return
    console.print(Text(f"\n{title} ({len(rows)})", style="bold"))
    for row in rows:
        console.print(Text(_line(row, console.width)))
        for line in _details(row):
            console.print(Padding(Text(printable(line), style="dim"), (0, 0, 0, 6)))


def _line(row: WeekRow, width: int) -> str:
    rank = f"{row.rank:>4}" if row.rank is not None else "   –"
    price = price_text(row.told.listing)
    room = width - 6 - (len(price) + 2 if price else 0)
    title = printable(row.told.listing.title) or "(without a title)"
    if len(title) > room:
        title = title[: room - 1] + "…"
    return f"{rank}  {title:<{room}}" + (f"  {price}" if price else "")


def _details(row: WeekRow) -> Iterator[str]:
    if row.standing.due or row.standing.step:
        due = f" by {row.standing.due}" if row.standing.due else ""
        late = ", which is past" if row.is_late else ""
        yield f"next step: {row.standing.step or 'none'}{due}{late}"
    elif row.standing.watched and not row.standing.is_settled:
        yield "watched"
    if row.standing.outcome is not None:
        yield f"your outcome: {_outcome_text(row.standing.outcome)}"
    if row.standing.notes and (row.told.state != "unchanged" or row.standing.due):
        yield from (f"your note: {note}" for note in row.standing.notes[-_NOTES_TOLD:])
    if row.told.asks_about:
        yield from _asked(row)
    elif row.told.state == "back":
        yield "; ".join(row.told.reasons)
    if row.ends_soon:
        yield f"ends {(row.told.listing.ends_at or '')[:16].replace('T', ' ')}"
    if row.drawn is not None and row.told.state != "not_seen":
        yield "drawn by lot for a close look"
    if row.catalogue:
        yield f"shows a picture of {', '.join(row.catalogue)}"
    moved = row.rank is not None and row.earlier_rank is not None and row.rank != row.earlier_rank
    if moved and row.moved_by:
        yield f"was number {row.earlier_rank}; what moved it: {', '.join(row.moved_by)}"
    elif moved and row.told.state != "unchanged":
        yield f"was number {row.earlier_rank}"
    for change in row.told.changes:
        if row.told.state == "sold" and change.field == "price_kind":
            continue  # the heading says so
        yield f"{name(change.field)}: {change_text(change)}"
    for change in row.sizes:
        yield f"{name(change.field)} corrected: {change.before} → {change.after}"


def _outcome_text(outcome: Mapping[str, Any]) -> str:
    """An outcome in words.

    >>> _outcome_text({"result": "returned", "reason": "not as shown", "paid": "90", "date": None})
    'returned, not as shown, paid 90'
    """
    paid = f"paid {outcome['paid']}" if outcome.get("paid") else ""
    return ", ".join(filter(None, (outcome_words(outcome), paid, outcome.get("date"))))


def _asked(row: WeekRow) -> Iterator[str]:
    """The question whether a listing shows a piece seen earlier, and how to answer it."""
    earlier = row.told.asked
    known = row.told.asks_about or ""
    if earlier is not None:
        day = (earlier.listing.date_saved or earlier.folder.saved_at)[:10]
        title = earlier.listing.title or "(without a title)"
        known = ", ".join(filter(None, (f"“{title}”", price_text(earlier.listing), f"seen {day}")))
    yield f"Is this the same piece as {known}? ({'; '.join(row.told.reasons)})"
    one = row.rank if row.rank is not None else row.told.id
    yield f"To answer: triage same {one}, or: triage different {one}"


def change_text(change: Change) -> str:
    """A change in words; long texts as the words added and removed.

    >>> change_text(Change("price", "80 EUR", "60 EUR"))
    '80 EUR → 60 EUR (down 25 %)'
    """
    if len(change.before) + len(change.after) <= 60:
        moved = _moved_text(change) if change.field == "price" else ""
        return f"{change.before or 'nothing'} → {change.after or 'nothing'}{moved}"
    shown = []
    # other white space is no change, and would be shown as empty brackets
    for piece in word_diff(*(" ".join(text.split()) for text in (change.before, change.after))):
        if piece.kind == "kept":
            words = piece.text.split()
            cut = len(words) > 2 * _WORDS_AROUND
            shown.append(
                " ".join([*words[:_WORDS_AROUND], "…", *words[-_WORDS_AROUND:]])
                if cut
                else piece.text.strip()
            )
        else:
            shown.append(f"{'+' if piece.kind == 'added' else '−'}[{piece.text.strip()}]")
    return " ".join(part for part in shown if part)


def _moved_text(change: Change) -> str:
    """How far a price went, up or down; nothing where that cannot be told."""
    try:
        old, new = (Decimal(text.split()[0]) for text in (change.before, change.after))
    except (InvalidOperation, IndexError):
        return ""
    if old <= 0 or not (old.is_finite() and new.is_finite()):
        return ""
    share = round(100 * abs(new - old) / old)
    return f" ({'up' if new > old else 'down'} {share} %)"
