"""Killed at any moment, the store keeps every decision it has acknowledged and goes on."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from tests.evaluation.simulated_weeks import simulate
from triage.review import add_week, review
from triage.store import open_store

ROOT = Path(__file__).parents[2]
ROUNDS = int(os.environ.get("TRIAGE_KILLS", "20"))

# reviews a week, then decides over and over; says on standard output what is safely kept
WORKER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from tests.evaluation.simulated_weeks import simulate
    from triage.journal import step_body
    from triage.review import add_week
    from triage.store import open_store
    print("begun", flush=True)
    with open_store(Path(sys.argv[1])) as store:
        for week in simulate(int(sys.argv[2]), weeks=2, size=30):
            folder = add_week(store, week.path, week.listings, week.looks)
            for snapshot in store.snapshots(folder):
                batch = store.record("step", [snapshot.id], step_body("write"))
                print(batch, flush=True)
    print("done", flush=True)
    """
)


@pytest.mark.slow
def test_no_acknowledged_decision_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    kept: set[str] = set()
    rng = random.Random(7)
    interrupted = 0
    for number in range(ROUNDS):
        process = subprocess.Popen(
            [sys.executable, "-c", WORKER, str(path), str(number // 3)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert process.stdout is not None
        assert process.stdout.readline() == "begun\n"
        time.sleep(rng.random() * 0.25)
        process.send_signal(signal.SIGKILL)
        said = process.stdout.read().splitlines()
        process.wait()
        process.stdout.close()
        interrupted += "done" not in said
        # the last line may have been cut in the middle
        kept |= {line for line in said if len(line) == 12}
        with open_store(path) as store:
            assert store.check() == ()
            assert kept <= {entry.batch for entry in store.entries()}
            for folder in store.folders():
                assert all(row.state for row in review(store, folder))
    with open_store(path) as store:
        for week in simulate(0, weeks=2, size=30):
            add_week(store, week.path, week.listings, week.looks)
        assert all(s.piece is not None for s in store.snapshots(store.folders()[0]))
    assert interrupted >= ROUNDS // 2, "the kills came too late to show anything"
    assert len(kept) > ROUNDS


def test_two_processes_write_at_once(tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    both = [
        subprocess.Popen(
            [sys.executable, "-c", WORKER, str(path), str(seed)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        for seed in (1, 2)
    ]
    said = [process.communicate(timeout=120)[0].splitlines() for process in both]
    assert [lines[-1] for lines in said] == ["done", "done"]
    batches = {line for lines in said for line in lines if len(line) == 12}
    with open_store(path) as store:
        assert batches == {entry.batch for entry in store.entries()}
        assert store.check() == ()
        assert len(store.folders()) == 4
