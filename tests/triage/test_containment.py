"""Whatever a task does, it costs itself alone, and it cannot do much."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from extractors.errors import UserError
from triage.containment import Breach, Supervisor

HERE = str(Path(__file__).parent)
NAMES = """
    double count spin sleep hoard hoard_natively crash leave fail recurse shout flood unplain lie
    steps attempt begin_and_die
"""
TASKS = {name: f"misbehaving_tasks:{name}" for name in NAMES.split()}
LINUX = sys.platform == "linux"


@pytest.fixture(scope="module")
def supervisor() -> Iterator[Supervisor]:
    sys.path.insert(0, HERE)
    with Supervisor(2, time_limit_s=1.0, memory_mb=150, tasks=TASKS) as made:
        yield made
    sys.path.remove(HERE)


def run(supervisor: Supervisor, task: str, payloads: list[Any]) -> dict[int, list[Any]]:
    gathered: dict[int, list[Any]] = {}
    for index, value in supervisor.map(task, payloads):
        gathered.setdefault(index, []).append(value)
    return gathered


def test_every_payload_gets_its_result(supervisor: Supervisor) -> None:
    results = run(supervisor, "double", list(range(500)))
    assert results == {n: [2 * n] for n in range(500)}


def test_a_task_may_give_many_values(supervisor: Supervisor) -> None:
    assert run(supervisor, "count", [3, 0, 1000]) == {0: [0, 1, 2], 2: list(range(1000))}


def test_no_payload_no_result(supervisor: Supervisor) -> None:
    assert run(supervisor, "double", []) == {}


@pytest.mark.parametrize("workers", [0, 1, 3])
def test_any_number_of_workers_gives_the_same(workers: int) -> None:
    sys.path.insert(0, HERE)
    with Supervisor(workers, tasks=TASKS) as supervisor:
        assert run(supervisor, "double", [1, 2, 3]) == {0: [2], 1: [4], 2: [6]}
    sys.path.remove(HERE)


@pytest.mark.parametrize(
    ("task", "payload", "words"),
    [
        ("spin", None, "longer than 1 s"),
        ("sleep", 30, "longer than 1 s"),
        ("hoard", 2_000, "memory"),
        ("hoard_natively", 2_000, "memory|crashed"),
        ("crash", None, r"crashed its reader \(signal 11\)"),
        ("leave", None, "ended its reader"),
        ("fail", None, r"cannot be read \(RuntimeError\)"),
        ("recurse", None, "nested too deep"),
        ("flood", 20_000_000, "too large"),
        ("unplain", "set", "no JSON"),
        ("unplain", "nan", "no JSON"),
    ],
)
def test_a_breach_costs_itself_alone(
    supervisor: Supervisor, task: str, payload: Any, words: str
) -> None:
    (breach,) = run(supervisor, task, [payload])[0]
    assert isinstance(breach, Breach)
    assert re.search(words, breach.what)
    assert "\x1b" not in breach.what
    assert run(supervisor, "double", [4]) == {0: [8]}


def test_a_task_that_cannot_be_loaded_fails_each_payload() -> None:
    with Supervisor(1, tasks={"none": "no_such_module:none"}) as supervisor:
        results = run(supervisor, "none", [1, 2])
    assert [b.what for values in results.values() for b in values] == [
        "cannot be read (ModuleNotFoundError)"
    ] * 2


def test_neighbours_of_a_crash_get_their_results(supervisor: Supervisor) -> None:
    results = run(supervisor, "steps", [{"how": "crash"} for _ in range(4)])
    for values in results.values():
        good = [v for v in values if not isinstance(v, Breach)]
        bad = [v for v in values if isinstance(v, Breach)]
        assert good == [0, 1, 2, 4, 5]
        assert [b.label for b in bad] == ["part 3"]


def test_a_hanging_part_is_named_and_the_rest_goes_on(supervisor: Supervisor) -> None:
    values = run(supervisor, "steps", [{"how": "hang"}])[0]
    assert [v.label if isinstance(v, Breach) else v for v in values] == [0, 1, 2, "part 3", 4, 5]


@pytest.mark.parametrize(
    ("how", "resumes", "do"),
    [
        ("crash", False, "what follows in the file is missing"),
        ("crash", True, "what follows in it is missing, the rest was read"),
        ("fail", False, "what follows in the file is missing"),
    ],
)
def test_the_rest_is_said_to_be_read_only_if_it_was(
    supervisor: Supervisor, how: str, resumes: bool, do: str
) -> None:
    values = run(supervisor, "begin_and_die", [{"how": how, "resumes": resumes}])[0]
    (breach,) = [v for v in values if isinstance(v, Breach)]
    assert breach.do.endswith(do)
    assert (values[-1] == "after") is resumes


def test_what_a_library_prints_reaches_no_one(
    supervisor: Supervisor, capfd: pytest.CaptureFixture[str]
) -> None:
    assert run(supervisor, "shout", [None]) == {0: ["shouted"]}
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    "message",
    ["\0\0\0\x05hello", "\0\0\0\x02{}", "\xff\xff\xff\xff", '\0\0\0\x14["value", 77, "x"]  '],
)
def test_a_worker_that_lies_is_replaced(supervisor: Supervisor, message: str) -> None:
    values = run(supervisor, "lie", [message])[0]
    assert all(isinstance(v, Breach) for v in values)
    assert run(supervisor, "double", [4]) == {0: [8]}


def test_a_slow_caller_is_no_breach(supervisor: Supervisor) -> None:
    results = []
    for index, value in supervisor.map("double", list(range(40))):
        if index % 16 == 0:
            time.sleep(1.2)
        results.append(value)
    assert sorted(results) == [2 * n for n in range(40)]


def attempt(supervisor: Supervisor, what: str, path: object = "") -> str:
    (answer,) = run(supervisor, "attempt", [{"what": what, "path": str(path)}])[0]
    return str(answer)


def test_workers_keep_what_they_need(supervisor: Supervisor) -> None:
    assert attempt(supervisor, "thread") == "done"


def test_python_code_cannot_write_or_connect(supervisor: Supervisor, tmp_path: Path) -> None:
    victim = tmp_path / "victim"
    victim.write_text("here")
    for what, path in [
        ("write", tmp_path / "new"),
        ("write", victim),
        ("remove", victim),
        ("connect", 9),
        ("start a program", ""),
    ]:
        assert attempt(supervisor, what, path) == "PermissionError"
    assert victim.read_text() == "here"
    assert os.listdir(tmp_path) == ["victim"]


@pytest.mark.skipif(not LINUX, reason="kernel means are those of Linux")
@pytest.mark.parametrize(
    ("measure", "what"),
    [
        ("landlock", "write below Python"),
        ("landlock", "read below Python"),
        ("seccomp", "socket below Python"),
        ("seccomp", "fork below Python"),
    ],
)
def test_native_code_is_held_by_the_kernel(
    supervisor: Supervisor, tmp_path: Path, measure: str, what: str
) -> None:
    run(supervisor, "double", [1])
    if not supervisor.holds[measure]:
        pytest.skip(f"this system has no {measure}")
    target = tmp_path / "file"
    if what.startswith("read"):
        target.write_text("secret")
    assert attempt(supervisor, what, target) in ("PermissionError", "OSError")
    assert target.exists() is what.startswith("read")


def test_the_measures_that_hold_are_told(supervisor: Supervisor) -> None:
    run(supervisor, "double", [1])
    assert set(supervisor.holds) == {
        "limits", "parent", "network", "landlock", "seccomp", "audit"
    }  # fmt: skip
    assert supervisor.holds["audit"]


PROGRAM = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell may have it ignored
signal.signal(signal.SIGHUP, signal.SIG_DFL)  # and nohup this one
sys.path[:0] = {path!r}
from triage.containment import Supervisor
TASKS = {{"sleep": "misbehaving_tasks:sleep"}}
with Supervisor(2, time_limit_s=600, tasks=TASKS) as supervisor:
    print([p for p in ()], flush=True)
    for _ in supervisor.map("sleep", [300, 300, 300]):
        pass
"""


@pytest.mark.skipif(not LINUX, reason="looks for children in /proc")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGKILL])
def test_stopping_leaves_no_child_and_no_scratch(how: signal.Signals, tmp_path: Path) -> None:
    path = [HERE, str(Path(HERE).parents[1])]
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM.format(path=path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    )
    try:
        children = wait_for(lambda: len(found := children_of(process.pid)) == 2 and found)
        time.sleep(0.3)
        process.send_signal(how)
        process.wait(timeout=60)
        wait_for(lambda: not any(is_running(child) for child in children))
        if how is not signal.SIGKILL:
            assert os.listdir(tmp_path) == []
    finally:
        process.kill()


def test_without_room_for_temporary_files_one_thing_is_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "missing"))
    with Supervisor(1) as supervisor, pytest.raises(UserError) as told:
        run(supervisor, "read", [{}])
    assert told.value.message == "no temporary folder can be made (No such file or directory)"
    assert "TMPDIR" in (told.value.hint or "")


@pytest.mark.skipif(not LINUX, reason="looks for children in /proc")
def test_a_parent_that_ends_while_a_child_starts_leaves_none() -> None:
    path = [HERE, str(Path(HERE).parents[1])]
    process = subprocess.Popen([sys.executable, "-c", PROGRAM.format(path=path)])
    children = wait_for(lambda: children_of(process.pid))
    process.kill()
    process.wait(timeout=60)
    wait_for(lambda: not any(is_running(child) for child in children))


def wait_for(what: Any) -> Any:
    until = time.monotonic() + 60  # a busy machine takes its time; a sleeping child would stay
    while time.monotonic() < until:
        if found := what():
            return found
        time.sleep(0.02)
    raise AssertionError("did not come about in 60 s")


def children_of(pid: int) -> list[int]:
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    return [int(child) for child in text.split()]


def is_running(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False
