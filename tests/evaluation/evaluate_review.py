"""Score the weekly review on simulated markets: `python -m tests.evaluation.evaluate_review`.

Seeds 0 to 9 were looked at while writing; 100 to 109 were kept back. Prints precision, recall and
F1 per state, and wrong merges (a piece taken for another; each counts five times in the score).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from tests.evaluation.simulated_weeks import Week, simulate
from triage.review import add_week, review
from triage.store import open_store

STATES = ("new", "unchanged", "changed", "ended", "sold", "back", "not_seen")


def score_market(weeks: Iterable[Week], counts: Counter[tuple[str, str]]) -> list[str]:
    """Count (state, right|missed|wrong) and wrong merges over a market's weeks."""
    faults: list[str] = []
    with open_store(None) as store:
        piece_of: dict[int, int] = {}
        for week in weeks:
            folder = add_week(store, week.path, week.listings, week.looks)
            rows = review(store, folder)
            for row in rows:
                if row.state == "not_seen":
                    continue
                truth = week.truth[row.id]
                kind = "right" if truth.state == row.state else "missed"
                counts[truth.state, kind] += 1
                if kind == "missed":
                    counts[row.state, "wrong"] += 1
                    faults.append(
                        f"{week.path} {row.id}: {truth.state} read as {row.state} {row.reasons}"
                    )
            for snapshot in store.snapshots(folder):
                key = week.truth[snapshot.listing.id].piece
                assert snapshot.piece is not None
                if piece_of.setdefault(snapshot.piece, key) != key:
                    counts["merge", "wrong"] += 1
            _count_not_seen(week, rows, piece_of, store, counts)
    return faults


def _count_not_seen(week, rows, piece_of, store, counts) -> None:  # type: ignore[no-untyped-def]
    said = set()
    for row in rows:
        if row.state == "not_seen":
            piece = row.earlier.piece
            said.add(piece_of[piece])
    counts["not_seen", "right"] += len(said & week.not_seen)
    counts["not_seen", "missed"] += len(week.not_seen - said)
    # a piece whose number went to another item stays unseen in later weeks; that is right too
    counts["not_seen", "later"] += len(said - week.not_seen)


def table(seeds: Iterable[int]) -> str:
    """Score several markets and lay out the table."""
    counts: Counter[tuple[str, str]] = Counter()
    for seed in seeds:
        score_market(simulate(seed), counts)
    lines = [f"{'state':10} {'n':>5} {'prec':>6} {'rec':>6} {'F1':>6}"]
    for state in STATES:
        right, missed, wrong = (counts[state, k] for k in ("right", "missed", "wrong"))
        precision = right / max(right + wrong, 1)
        recall = right / max(right + missed, 1)
        f1 = 2 * right / max(2 * right + missed + wrong, 1)
        lines.append(f"{state:10} {right + missed:5} {precision:6.3f} {recall:6.3f} {f1:6.3f}")
    lines.append(f"wrong merges: {counts['merge', 'wrong']}")
    return "\n".join(lines)


if __name__ == "__main__":
    print("seeds looked at while writing\n" + table(range(10)))
    print("\nseeds kept back\n" + table(range(100, 110)))
