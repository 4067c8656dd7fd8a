"""Score the review on markets of real files: `python -m tests.evaluation.evaluate_saved_weeks`.

Seeds 0 to 5 were looked at while writing; 50 to 55 were kept back. Prints precision, recall and F1
per state, wrong merges (each counts five times in the score of pairs), and with `--faults` every
listing that was read wrongly. A question asked instead of a link that was due counts as missed.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from tests.evaluation.saved_weeks import SavedWeek, Truth, write_weeks
from triage.cache import Cache
from triage.pipeline import read_and_look
from triage.review import Reviewed, Week, add_weeks, review
from triage.settings import Settings
from triage.store import open_store

STATES = ("new", "unchanged", "changed", "ended", "sold", "back", "not_seen")
Counts = Counter[tuple[str, str]]


def read_week(week: SavedWeek, cache: Path) -> Week:
    """Read a folder as the command does, without ranking it."""
    settings = Settings(cache=cache, workers=1, quiet=True)
    reading, looks = read_and_look(week.folder, settings)
    return Week(str(week.folder), "", reading.listings, looks)


def kept_fingerprints(folder: Path) -> Callable[[Iterable[str]], Mapping[str, bytes]]:
    """What gives the fingerprints that reading left in the cache."""

    def stored(shas: Iterable[str]) -> Mapping[str, bytes]:
        cache = Cache(folder)
        try:
            return cache.get_many("fingerprint", shas)
        finally:
            cache.close()

    return stored


def score_market(weeks: Iterable[SavedWeek], cache: Path, counts: Counts) -> list[str]:
    """Count what is told of every week of a market; returns what is wrong, in words."""
    faults: list[str] = []
    pieces: dict[tuple[str, str, int | None], int] = {}
    with open_store(None) as store:
        for week in weeks:
            (folder,) = add_weeks(store, [read_week(week, cache)], kept_fingerprints(cache))
            name = str(week.folder)
            pieces |= {(name, s, n): truth.piece for (s, n), truth in week.truth.items()}
            rows = review(store, folder)
            faults += _score_week(week, rows, pieces, counts)
    return faults


def _score_week(
    week: SavedWeek,
    rows: Iterable[Reviewed],
    pieces: dict[tuple[str, str, int | None], int],
    counts: Counts,
) -> list[str]:
    faults: list[str] = []
    unseen: set[int] = set()
    met: set[int] = set()
    for row in rows:
        past = row.continues
        earlier = pieces.get((past.folder, past.source, past.line)) if past else None
        if row.state == "not_seen":
            unseen |= {earlier} if earlier is not None else set()
            continue
        truth = _truth(week, row)
        if truth is None:
            counts["stray", "wrong"] += 1
            faults.append(f"{week.folder.name}: unknown {row.source}:{row.line}")
            continue
        met.add(truth.piece)
        faults += _score_row(week, row, truth, earlier, counts)
    missed = {t.piece for t in week.truth.values()} - met
    faults += [f"{week.folder.name}: piece {piece} is not told of" for piece in missed]
    counts["stray", "missed"] += len(missed)
    counts["not_seen", "right"] += len(unseen & week.not_seen)
    counts["not_seen", "missed"] += len(week.not_seen - unseen)
    # a piece may stay unseen for weeks; what was met this week must not be called unseen
    counts["not_seen", "wrong"] += len(unseen & met)
    faults += [f"{week.folder.name}: {piece} called unseen" for piece in unseen & met]
    return faults


def _truth(week: SavedWeek, row: Reviewed) -> Truth | None:
    exact = week.truth.get((row.source or "", row.line))
    return exact or week.truth.get((row.source or "", None))


def _score_row(
    week: SavedWeek, row: Reviewed, truth: Truth, earlier: int | None, counts: Counts
) -> list[str]:
    told = f"{week.folder.parent.name} {week.folder.name} {row.source}:{row.line} {truth.event}:"
    faults: list[str] = []
    if earlier is not None:
        counts["pairs", "right" if earlier == truth.piece else "wrong"] += 1
        if earlier != truth.piece:
            faults.append(f"{told} WRONG MERGE {row.reasons}")
    elif "new" not in truth.states:
        counts["pairs", "missed"] += 1
    wanted = row.state if row.state in truth.states else min(truth.states)
    if row.state in truth.states:
        counts[wanted, "right"] += 1
    else:
        counts[wanted, "missed"] += 1
        counts[row.state, "wrong"] += 1
        faults.append(f"{told} {wanted} read as {row.state} {row.changed} asks {row.asks_about}"
                      f" {row.reasons}")  # fmt: skip
    if row.state == "changed" and truth.changed is not None:
        same = set(row.changed) == truth.changed
        counts["fields", "right" if same else "wrong"] += 1
        if not same and row.state in truth.states:
            faults.append(f"{told} fields {row.changed} for {sorted(truth.changed)}")
    return faults


def table(counts: Counts) -> str:
    """Precision, recall and F1 per state, and the pairs."""
    lines = [f"{'state':10} {'n':>5} {'prec':>6} {'rec':>6} {'F1':>6}"]
    for state in (*STATES, "pairs"):
        right, missed, wrong = (counts[state, k] for k in ("right", "missed", "wrong"))
        weight = 5 if state == "pairs" else 1
        precision = right / max(right + wrong, 1)
        recall = right / max(right + missed, 1)
        f1 = 2 * right / max(2 * right + missed + weight * wrong, 1)
        lines.append(f"{state:10} {right + missed:5} {precision:6.3f} {recall:6.3f} {f1:6.3f}")
    lines.append(f"wrong merges: {counts['pairs', 'wrong']}")
    lines.append(f"changed fields right: {counts['fields', 'right']}"
                 f" of {counts['fields', 'right'] + counts['fields', 'wrong']}")  # fmt: skip
    lines.append(f"listings not told of: {counts['stray', 'missed']},"
                 f" told of twice or unknown: {counts['stray', 'wrong']}")  # fmt: skip
    return "\n".join(lines)


def score_seeds(
    seeds: Iterable[int], place: Path, counts: Counts, weeks: int = 4, size: int = 50
) -> list[str]:
    """Write and score the markets of these seeds below a folder, kept for another time."""
    faults = []
    for seed in seeds:
        market = write_weeks(seed, place / f"market {seed}", weeks, size)
        faults += score_market(market, place / "cache", counts)
    return faults


def main(given: list[str]) -> None:
    """Both halves, or the seeds named."""
    halves = {"seeds looked at while writing": range(6), "seeds kept back": range(50, 56)}
    chosen = [int(word) for word in given if word.isdecimal()]
    for title, seeds in ({"seeds named": chosen} if chosen else halves).items():
        counts: Counts = Counter()
        with tempfile.TemporaryDirectory() as place:
            faults = score_seeds(seeds, Path(place), counts)
        print(f"{title}\n{table(counts)}\n")
        if "--faults" in given:
            print("\n".join(faults))


if __name__ == "__main__":
    main(sys.argv[1:])
