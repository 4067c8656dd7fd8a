"""Killed at any moment, the store keeps every decision it has acknowledged and goes on."""

from __future__ import annotations

import json
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
        # some kills come before the first decision, the others right behind one: how fast the
        # machine is decides neither whether there are decisions nor whether they are all made
        said = [process.stdout.readline() for _ in range(number % 6)]
        time.sleep(rng.random() * (0.005 if said else 0.1))
        process.send_signal(signal.SIGKILL)
        said = ("".join(said) + process.stdout.read()).splitlines()
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


def _write_weeks(place: Path) -> list[Path]:
    """Three folders of saved listings, of which some change from week to week."""
    folders = []
    for week in range(3):
        folder = place / f"week {week + 1}"
        folder.mkdir()
        rows = [
            {"id": f"f{n}", "title": f"Ostelino Bruma 50-20-140 number {n}",
             "price": str(90 - week),
             "url": f"https://stallrow.example/item/77{n:03}", "currency": "EUR",
             "seller_name": f"seller {n}", "date_saved": f"2026-10-{2 + 7 * week:02}",
             "description": f"Five-barrel hinges, from drawer {n}, week {week if n % 2 else 0}."}
            for n in range(week, 12 + week)
        ]  # fmt: skip
        text = "".join(json.dumps(row) + "\n" for row in rows)
        (folder / "all.jsonl").write_text(text, encoding="utf-8")
        folders.append(folder)
    return folders


def _command(place: Path, *words: str, kill_after_s: float | None = None) -> tuple[int, str]:
    """Run a command of the tool, or begin it and kill it; its exit code and what it printed."""
    kept = ("--memory", str(place / "memory.db"))
    few = () if words[0] == "next" else ("--workers", "1")
    process = subprocess.Popen(
        [sys.executable, "-m", "triage", *words, *kept, *few],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        env={**os.environ, "XDG_CACHE_HOME": str(place / "cache")},
    )  # fmt: skip
    if kill_after_s is not None:
        time.sleep(kill_after_s)
        process.kill()
    said, _ = process.communicate()
    return process.returncode, said


@pytest.mark.slow
@pytest.mark.parametrize("command", ["review", "rank"])
def test_a_killed_command_loses_nothing_and_the_next_goes_on(command: str, tmp_path: Path) -> None:
    folders = _write_weeks(tmp_path)
    form = ("--format", "jsonl")
    assert _command(tmp_path, "review", str(folders[0]), *form)[0] == 0
    assert _command(tmp_path, "next", "write", "1-3")[0] == 0
    rng = random.Random(3)
    for number in range(max(2, ROUNDS // 5)):
        folder = str(folders[1 + number % 2])
        _command(tmp_path, command, folder, *form, kill_after_s=0.2 + 2.5 * rng.random())
        with open_store(tmp_path / "memory.db") as store:
            assert store.check() == ()
            assert [e.kind for e in store.entries()] == ["step"] * 3
    code, said = _command(tmp_path, "review", *map(str, folders), *form)
    (tmp_path / "never killed").mkdir()
    other = _command(tmp_path / "never killed", "review", *map(str, folders), *form)
    keys = ("id", "state", "changed", "continues", "rank")
    told = [[{k: json.loads(row)[k] for k in keys} for row in text.splitlines()]
            for text in (said, other[1])]  # fmt: skip
    assert (code, told[0]) == (0, told[1])
