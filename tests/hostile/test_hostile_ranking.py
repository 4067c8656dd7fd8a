"""The whole way over a folder of hostile files: nothing stops it, gets out of it or is believed."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.hostile.make_hostile import make
from tests.triage.readers.saving import SAVES

ROOT = Path(__file__).parents[2]
# what acts on a terminal or hides what is shown: controls, bidi marks, zero-width characters
ACTING = re.compile("[\0-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2066-\u2069]")


def rank(folder: Path, out: Path) -> tuple[list[dict[str, Any]], str, str]:
    """Rank a folder: the rows, the report, and all that reached the terminal."""
    out.mkdir()
    run = subprocess.run(
        [sys.executable, "-m", "triage", "rank", str(folder), "--no-cache", "--format", "jsonl",
         "--output", str(out / "rows.jsonl"), "--report", str(out / "report.html")],
        cwd=ROOT, capture_output=True, timeout=600, check=False,
    )  # fmt: skip
    told = (run.stdout + run.stderr).decode("utf-8")
    assert run.returncode in (0, 1), told[-2000:]
    rows = [json.loads(line) for line in (out / "rows.jsonl").read_text("utf-8").splitlines()]
    return rows, (out / "report.html").read_text("utf-8"), told


@pytest.mark.slow
def test_same_ranking_with_and_without_the_hostile_half(tmp_path: Path) -> None:
    folder = tmp_path / "saved"
    for number, save in enumerate(SAVES.values()):
        (folder / f"h{number}").mkdir(parents=True)
        save(folder / f"h{number}")
    before, _, _ = rank(folder, tmp_path / "before")
    make(folder / "x")
    rows, report, told = rank(folder, tmp_path / "after")
    mine = [
        {**row, "rank": None, "places": None} for row in rows if not row["source"].startswith("x/")
    ]
    assert mine == [{**row, "rank": None, "places": None} for row in before]
    assert not ACTING.search(told)
    assert not re.search(r"<script>alert|onload=alert|javascript:alert", report)
    assert not re.search("[\0-\x08\x0b-\x1f\x7f-\x9f]", report)
