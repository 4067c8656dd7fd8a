"""What earlier parts of a listing leave behind for the sizes in later ones.

Headings, notes on units and on rounding, table heads, and what the last sentence was about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from extractors.quantities import WORD
from extractors.size_cues import KIND, flags
from extractors.size_labels import NOTHING_SAID, Entry, Label, heading
from extractors.size_mentions import Mention, Segment


class Side(NamedTuple):
    """A width or height of a watch: which, the how manieth measurement it is, and in which line."""

    dim: str
    place: int
    line: int


@dataclass(slots=True)
class Context:
    """What earlier segments leave behind for later ones."""

    goods: str
    piece: str = ""  # the part the title names: what a jewel is
    unit: str | None = None  # a heading: the figures under it are in mm
    note: str | None = None  # a note anywhere: all figures in mm
    columns: tuple[Label, ...] = ()  # the heads of a table
    units_seen: dict[str, int] = field(default_factory=dict)
    subject: Label = NOTHING_SAID  # what the sentence before was about
    heading: Label = NOTHING_SAID  # the line above, if it heads something
    asked: Label = NOTHING_SAID  # what the question before asks for
    is_approximate: bool = False
    all_approximate: bool = False
    models: set[tuple[str, float]] = field(default_factory=set)  # "Merseburg 22" of the title
    sides: list[Side] = field(default_factory=list)  # the widths and heights of a watch
    item: int = 1
    line: int = -1


def enter_line(line: int, after_gap: bool, context: Context) -> None:
    """Come to a new line; a blank line before it ends what headings cover."""
    context.line = line
    if after_gap:
        context.heading, context.subject, context.columns = NOTHING_SAID, NOTHING_SAID, ()


_ALL = KIND["all"]
_NOTED = flags("all", "size")


def noted_unit(segment: Segment, entries: Sequence[Entry]) -> str | None:
    """The unit of a note such as "all figures in mm", if this is one."""
    if not segment.mentions and any(cue.kinds & _NOTED for cue in segment.cues):
        return next((entry.value for entry in entries if entry.kind == "unit"), None)
    return None


def note_units_seen(mentions: Sequence[Mention], context: Context) -> None:
    """Remember the units in use."""
    seen = context.units_seen
    for mention in mentions:
        unit = mention.unit
        if unit:
            seen[unit] = seen.get(unit, 0) + 1


def note_units(segment: Segment, entries: Sequence[Entry], context: Context) -> None:
    """Remember a note such as "all figures in mm"."""
    first = segment.mentions[0].first if segment.mentions else segment.hi
    noted = [entry for entry in entries if entry.kind == "unit" and entry.first <= first]
    if noted and (not segment.mentions or any(entry.kind == "size" for entry in entries)):
        context.unit = noted[0].value


def note_approximation(segment: Segment, entries: Sequence[Entry], context: Context) -> None:
    """A heading or note that says approximate covers what stands under it.

    For entries of which one says so.
    """
    sizes = [entry for entry in entries if entry.kind == "size"]
    for entry in entries:
        if entry.kind != "approx" or not sizes or _follows_figure(segment, entry):
            continue
        near = min(sizes, key=lambda size: abs(size.first - entry.first))
        follower = next((m for m in segment.mentions if m.first >= entry.last), None)
        heads = entry.colon or (near.first >= entry.last and near.first - entry.last <= 2)
        if heads or follower is None or follower.first - entry.last > 3:
            context.is_approximate = True
            if segment.mentions and follower is None:
                context.all_approximate = True
    if any(cue.kinds & _ALL for cue in segment.cues):
        context.all_approximate = not segment.mentions or context.all_approximate


def _follows_figure(segment: Segment, entry: Entry) -> bool:
    return any(0 <= entry.first - mention.last <= 1 for mention in segment.mentions)


def note_heading(segment: Segment, entries: Sequence[Entry], context: Context) -> None:
    """Take a segment without figures as a heading, or as the subject of the next one."""
    if context.line == 0:
        note_piece(entries, context)
        return
    if segment.hi < len(segment.tokens) and segment.tokens.texts[segment.hi] == "?":
        context.asked = heading(entries)
        return
    words = segment.tokens.kinds.count(WORD, segment.lo, segment.hi)
    covered = sum(entry.last - entry.first for entry in entries if entry.kind != "step")
    ends_with_colon = (
        segment.tokens.texts[segment.hi - 1] == ":" if segment.hi > segment.lo else False
    )
    if (
        segment.starts_line
        and segment.ends_line
        and ((ends_with_colon and words <= 6) or words <= covered + 1)
    ):
        context.heading = heading(entries)
        context.columns = _columns(entries)
    content = [entry for entry in entries if entry.kind in ("part", "object", "whole", "step")]
    if content and content[0].kind != "step" and content[0].first - segment.lo <= 3:
        context.subject = heading(content[:1])
    elif content:
        context.subject = NOTHING_SAID


def note_models(segment: Segment, context: Context) -> None:
    """Remember the names with a number that the title gives: "Merseburg 22"."""
    texts = segment.tokens.texts
    bare = (m for m in segment.mentions if m.unit is None and m.first > segment.lo)
    context.models.update((texts[mention.first - 1], mention.low) for mention in bare)


def note_side(label: Label, mm: float, place: int, context: Context) -> None:
    """Remember where the width and height of a watch are found; "hoch" says thickness too."""
    dim = "height" if label.dim == "thickness" and mm > _THICKEST_WATCH else label.dim
    if dim in ("width", "height") and label.part in ("", "case"):
        context.sides.append(Side(dim, place, context.line))


_THICKEST_WATCH = 24  # mm, of a wristwatch; common practice, no source


def note_piece(entries: Sequence[Entry], context: Context) -> None:
    """Remember the part that the title names."""
    jewels = [entry for entry in entries if entry.kind == "part" and entry.value != "stone"]
    context.piece = heading(jewels or entries).part or context.piece


def _columns(entries: Sequence[Entry]) -> tuple[Label, ...]:
    """The labels of a table's head: one for each cell that names something."""
    cells: list[list[Entry]] = [[]]
    for entry in entries:
        if entry.kind == "step" and entry.value in ("|", "/", ",", "-", ";"):
            cells.append([])
        else:
            cells[-1].append(entry)
    labels = tuple(heading(cell) for cell in cells)
    named = tuple(label._replace(reach=0.0) for label in labels if not label.is_empty)
    return named if len(named) >= 2 else ()
