"""Rank the second market and print its figures, both halves.

Run by hand:  python -m tests.evaluation.second_market [--count 150] [--seed 11] [--half open]
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from models import metrics
from tests.evaluation.second_market.make import Made, make_half

SHEETS = Path(__file__).parent / "sheets"


def rank_all(made: Sequence[Made], weights: Path | None = None) -> list[dict[str, object]]:
    """Run the whole ranking over the listings; records in rank order."""
    from triage.pipeline import screen
    from triage.settings import Settings

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "market.jsonl")
        file.write_text("\n".join(json.dumps(m.record) for m in made), "utf-8")
        chosen = dataclasses.replace(
            Settings(), quiet=True, no_cache=True, sheets=(SHEETS,), workers=1, weights=weights
        )
        run = screen(file, chosen)
    return [
        {"id": row.listing.id, "step": row.assessment.next_step, "risk": row.assessment.risk,
         "completeness": row.assessment.completeness or 0.0, "findings": row.assessment.findings}
        for row in run.rows
    ]  # fmt: skip


def report(half: str, made: Sequence[Made], rows: Sequence[dict[str, object]]) -> None:
    """Print the figures of one half."""
    truth = {str(m.record["id"]): m for m in made}
    seen = [truth[str(row["id"])] for row in rows]
    bad = np.array([float(m.bad) for m in seen])
    risk = np.array([float(row["risk"]) for row in rows])  # type: ignore[arg-type]
    told = np.array([float(row["completeness"]) for row in rows])  # type: ignore[arg-type]
    area = metrics.bootstrap(metrics.auc, bad.tolist(), risk.tolist(), range(len(rows)))
    signs = np.array([m.signs for m in seen])
    little = np.array([m.little for m in seen])
    print(f"{half}: {len(rows)} listings, {int(bad.sum())} not as described")
    print(f"  ROC AUC {area.value:.3f} ({area.low:.3f} to {area.high:.3f})", end="")
    for name in ("hard", "soft", "both", "none"):
        some = (signs == "honest") | (signs == name)
        print(f"; {name} {metrics.auc(bad[some], risk[some]):.2f}", end="")
    clean = np.array([not _conflicts(row) for row in rows])
    print(f"; without a conflict {metrics.auc(bad[clean], risk[clean]):.2f}")
    print(f"  first 20 as described {1 - bad[:20].mean():.2f}, first 30 {1 - bad[:30].mean():.2f}")
    third = np.sort(risk)[len(risk) // 3]
    low = little & (risk < third)
    print(f"  little said in the lowest third {int(low.sum())} of {int(little.sum())}", end="")
    print(f", of these with half told {int((low & (told >= 0.5)).sum())}")
    parts = metrics.murphy(bad, np.round(risk, 1))
    print(f"  Brier {metrics.brier(bad, risk):.3f} (reliability {parts.reliability:.3f}, ", end="")
    print(f"resolution {parts.resolution:.3f}, uncertainty {parts.uncertainty:.3f})", end="")
    print(f", log loss {metrics.natural_log_loss(bad, risk):.3f}", end="")
    print(f", ECE {metrics.calibration_error(bad, risk, 5):.3f}")
    bins = metrics.in_bins(risk, 5)
    told_bins = [
        f"{risk[bins == b].mean():.2f}->{bad[bins == b].mean():.2f} ({int((bins == b).sum())})"
        for b in np.unique(bins)
    ]
    print("  stated -> found:", ", ".join(told_bins))


def _conflicts(row: dict[str, object]) -> bool:
    soft = ("price", "text_reuse", "photo_reuse")
    return any(f.result == "conflicts" and f.check not in soft for f in row["findings"])  # type: ignore[attr-defined]


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=150)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--half", choices=("open", "kept"))
    parser.add_argument("--weights", type=Path, help="other starting weights")
    given = parser.parse_args()
    for half in [given.half] if given.half else ["open", "kept"]:
        made = make_half(half, given.count, given.seed)
        report(half, made, rank_all(made, given.weights))


if __name__ == "__main__":
    main()
