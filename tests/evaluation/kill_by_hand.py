"""Kill the memory's writer many times: `python -m tests.evaluation.kill_by_hand [TIMES]`.

What `tests/triage/test_kill.py` does a few times, many times over and without starting Python
anew: a forked child reviews weeks, decides, keeps photos, draws lots, brings old stores up to
date, runs the commands `review` and `rank` on saved folders, and is killed (SIGKILL) at a random
moment. Prints how often it was caught at what, and stops with an error at the first acknowledged
entry that is lost, or the first store that is damaged.
"""

from __future__ import annotations

import hashlib
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from extractors.records import Photo
from tests.evaluation.simulated_weeks import simulate
from tests.triage.test_kill import _write_weeks
from tests.triage.test_memory_care import _released
from triage.cli import main as command_line
from triage.journal import step_body
from triage.migrations import MIGRATIONS
from triage.review import add_week, review
from triage.store import open_store
from triage.workspace import Workspace


def _work(path: Path, seed: int, say: int) -> None:
    """Review, decide and keep photos; each thing safely kept is said on the pipe `say`."""
    os.write(say, b"at migrate\n")
    with Workspace(path) as space:
        for week in simulate(seed, weeks=2, size=24):
            os.write(say, b"at review\n")
            folder = space.add_week(week.path, week.listings, week.looks)
            space.store.keep_drawn(folder, [week.listings[0].id], 0.1)
            os.write(say, b"at decide\n")
            for number, snapshot in enumerate(space.store.snapshots(folder)):
                batch = space.store.record("step", [snapshot.id], step_body("write"))
                os.write(say, f"{batch}\n".encode())
                data = f"{seed} {number}".encode() * 3000
                photo = Photo("a.jpg", None, hashlib.sha256(data).hexdigest())
                space.keep_photos([(photo, data)])
    commands = [("rank", 1), ("review", 1), ("review", 2)]
    for command, folder in commands[seed % 3 :] + commands[: seed % 3]:
        os.write(say, f"at the command {command}\n".encode())
        place = path.parent / f"week {folder}"
        kept = ("--memory", str(path), "--cache", str(path.parent / "cache"))
        command_line([command, str(place), *kept, "--quiet", "--workers", "1", "--format", "jsonl"])
    os.write(say, b"at end\n")


def _killed(path: Path, seed: int, after_s: float) -> list[str]:
    """Start the work in a child and kill it; returns what it said."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reader)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        try:
            _work(path, seed, writer)
        finally:
            os._exit(0)
    os.close(writer)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    with os.fdopen(reader) as said:
        lines = said.read().splitlines()
    os.waitpid(child, 0)
    return lines


def main(times: int) -> None:
    """Kill so many times, over many stores."""
    caught: Counter[str] = Counter()
    entries = 0
    rng = random.Random(11)
    with tempfile.TemporaryDirectory() as place:
        path, kept = Path(place) / "none", set[str]()
        for number in range(times):
            if number % 5 == 0:
                path, kept = Path(place) / str(number) / "memory.db", set()
                path.parent.mkdir()
                _released(path, 1 + number // 5 % len(MIGRATIONS))
                _write_weeks(path.parent)
            # a good share of the kills while it is brought up to date, which takes milliseconds
            after = rng.random() * (0.03 if number % 5 == 0 else 6.0)
            said = _killed(path, number // 5, after)
            caught[[line for line in ["at start", *said] if line.startswith("at ")][-1]] += 1
            kept |= {line for line in said if len(line) == 12}
            entries += _check(path, kept)
    print(f"killed {times} times, {entries} entries looked up: " + ", ".join(
        f"{count} {where}" for where, count in sorted(caught.items())))  # fmt: skip


def _check(path: Path, kept: set[str]) -> int:
    with Workspace(path) as space:
        assert space.verify() == (), space.verify()
        assert kept <= {e.batch for e in space.store.entries()}, "an entry is lost"
        assert any(e.body.get("text") == "kept" for e in space.store.entries())
        for folder in space.store.folders():
            assert all(row.state for row in review(space.store, folder))
    with open_store(path) as store:  # the next run goes on
        week = simulate(0, weeks=1, size=24)[0]
        folder = add_week(store, week.path, week.listings, week.looks)
        assert all(s.piece is not None for s in store.snapshots(folder))
    return len(kept)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
