"""Opens and decodes untrusted files in limited worker processes.

A `Supervisor` owns the workers. A task that takes too long, needs too much memory or crashes its
worker costs that one task: the worker is killed and replaced, the breach is told, the rest goes
on. The parent never parses a saved file; what workers send is bounded JSON, never pickle.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import os
import queue
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType, TracebackType
from typing import IO, Any, Self

from extractors.errors import UserError
from extractors.records import Problem
from triage.worker import MAX_MESSAGE, Beat, find_task, parts_of

# every task that may run in a worker, by name; nothing else can be asked of one
TASKS: dict[str, str] = {
    "read": "triage.readers.tasks:read",
    "hash": "triage.readers.tasks:hash_pictures",
}

_POLL_S = 0.1
_MAX_DEATHS = 20  # of workers over one payload that is resumed after each
_REST_WAS_READ = "leave it out; the rest was read"
_CUT_SHORT = "read it again; what follows in it is missing, the rest was read"
_REST_IS_MISSING = "read it again; what follows in the file is missing"


@dataclass(frozen=True, slots=True)
class Breach:
    """Why a payload (or the part of it called `label`) gave no result."""

    what: str
    do: str = _REST_WAS_READ
    label: str | None = None

    def problem(self, source: str, member: str | None = None) -> Problem:
        return Problem(source, self.label if self.label is not None else member, self.what, self.do)


@dataclass
class _Job:
    index: int
    payload: Any
    deaths: int = 0
    values: int = 0


@dataclass(eq=False)
class _Worker:
    """One process and what it was given; `current` is what it works on, since `since`."""

    process: subprocess.Popen[bytes]
    inbox: queue.SimpleQueue[bytes | None]
    room: threading.Semaphore
    jobs: dict[int, _Job] = field(default_factory=dict)
    current: int | None = None
    since: float = 0.0
    began: float = 0.0
    pace: float = 0.1  # seconds a payload, smoothed
    label: str | None = None
    resume: Mapping[str, Any] | None = None
    values: int = 0  # since the last beat
    holds: Mapping[str, bool] = field(default_factory=dict)
    killed_for: str | None = None
    ready: bool = False
    closed: bool = False


class Supervisor:
    """Runs named tasks in `workers` processes (0: in this one, for trusted tests).

    Use it as a context manager; leaving it, also by Ctrl-C, leaves no process behind.
    `readable` are the folders that workers may read besides the program itself.
    """

    def __init__(
        self,
        workers: int,
        readable: Sequence[Path] = (),
        time_limit_s: float = 25.0,
        memory_mb: int | None = None,
        tasks: Mapping[str, str] = TASKS,
    ) -> None:
        self._count = workers
        self._readable = [os.path.realpath(p) for p in readable]
        self._time_limit_s = time_limit_s
        # the whole tree stays under 1.5 GB: 400 MB for the parent, the rest for the workers
        self._memory_mb = memory_mb or max(200, min(450, 1000 // max(workers, 1)))
        self._tasks = dict(tasks)
        self._workers: list[_Worker] = []
        self._messages: queue.SimpleQueue[tuple[_Worker, bytes | None]] = queue.SimpleQueue()
        self._scratch: str | None = None
        self._owner = os.getpid()
        self._failed_starts = 0
        self._paused_s = 0.0
        self.holds: dict[str, bool] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Kill all workers and remove their scratch folder."""
        for worker in self._workers:
            self._kill(worker)
        self._workers.clear()
        if self._scratch is not None:
            shutil.rmtree(self._scratch, ignore_errors=True)
            self._scratch = None
        _OPEN.discard(self)

    def abandon(self) -> None:
        """Do the same within a signal handler: no lock is taken, nothing is waited for."""
        if self._owner != os.getpid():
            return  # a process that was forked off has no say
        for worker in self._workers:
            worker.process.kill()
        if self._scratch is not None:
            shutil.rmtree(self._scratch, ignore_errors=True)

    def process_ids(self) -> tuple[int, ...]:
        """The processes at work now, for those who measure."""
        return tuple(worker.process.pid for worker in self._workers) or (0,)

    # --- running -------------------------------------------------------------------------

    def map(
        self,
        task: str,
        payloads: Iterable[Any],
        time_limit_s: float | None = None,
        batch: int = 16,
    ) -> Iterator[tuple[int, Any]]:
        """Run a task over JSON payloads; gives (index, value) in no particular order.

        A task that yields gives several values for its index. A breach comes as a `Breach` in
        place of a value. Few payloads are held at a time, so `payloads` may be endless.
        """
        jobs = (_Job(index, payload) for index, payload in enumerate(payloads))
        limit = time_limit_s or self._time_limit_s
        if self._count == 0:
            yield from self._here(task, jobs)
            return
        pending: deque[_Job] = deque()
        try:
            while self._feed(task, jobs, pending, limit, batch):
                yield from self._timed(self._collect(pending, limit))
        finally:
            self._drop_busy()

    def _here(self, task: str, jobs: Iterable[_Job]) -> Iterator[tuple[int, Any]]:
        function = find_task(task, self._tasks)
        for job in jobs:
            for part in parts_of(function, job.payload):
                if not isinstance(part, Beat):
                    yield job.index, json.loads(json.dumps(part))

    def _timed(self, results: Iterable[tuple[int, Any]]) -> Iterator[tuple[int, Any]]:
        """Pass results on; the time the caller spends with one counts for no worker."""
        for result in results:
            began = time.monotonic()
            yield result
            pause = time.monotonic() - began
            for worker in self._workers:
                worker.since += pause

    def _feed(
        self, task: str, jobs: Iterator[_Job], pending: deque[_Job], limit: float, batch: int
    ) -> bool:
        """Give work to idle workers; False when all is done."""
        while len(self._workers) < self._count:
            self._workers.append(self._start())
        for worker in self._workers:
            room = self._room(worker, batch)
            if room:
                taken = [pending.popleft() for _ in range(min(len(pending), room))]
                taken += itertools.islice(jobs, room - len(taken))
                if taken:
                    self._send(worker, task, taken, limit)
        return any(w.jobs for w in self._workers)

    def _room(self, worker: _Worker, batch: int) -> int:
        """How many more payloads to give a worker: about a tenth of a second's work ahead, so that
        none waits behind a slow one while another worker is idle."""
        ahead = max(2, min(batch, int(0.1 / max(worker.pace, 1e-4))))
        return ahead - len(worker.jobs) if len(worker.jobs) <= ahead // 2 else 0

    def _send(self, worker: _Worker, task: str, jobs: Sequence[_Job], limit: float) -> None:
        message = {
            "task": task,
            "indices": [job.index for job in jobs],
            "payloads": [job.payload for job in jobs],
            "time_s": limit,
        }
        data = json.dumps(message).encode()
        if not worker.jobs:
            worker.since = time.monotonic()
        worker.jobs.update((job.index, job) for job in jobs)
        worker.inbox.put(len(data).to_bytes(4, "big") + data)

    def _collect(self, pending: deque[_Job], limit: float) -> Iterator[tuple[int, Any]]:
        """Take what has come from the workers, and look after those that take too much."""
        try:
            worker, data = self._messages.get(timeout=_POLL_S)
        except queue.Empty:
            self._watch(limit)
            return
        if worker not in self._workers:
            return  # the last words of one that was replaced
        if data is None:
            yield from self._bury(worker, pending)
            return
        worker.room.release()
        yield from self._heard(worker, data)
        if time.monotonic() - self._last_watch > _POLL_S:
            self._watch(limit)

    _last_watch = 0.0

    def _heard(self, worker: _Worker, data: bytes) -> Iterator[tuple[int, Any]]:
        """Act on one message; a worker that sends nonsense is killed."""
        worker.since = time.monotonic()
        try:
            word, *rest = json.loads(data)
            yield from self._act(worker, word, rest)
        except (ValueError, TypeError, KeyError, RecursionError):
            self._condemn(worker, "made its reader send nonsense")

    def _act(self, worker: _Worker, word: str, rest: list[Any]) -> Iterator[tuple[int, Any]]:
        if word == "hello":
            worker.holds = {str(k): v is True for k, v in rest[0].items()}
            worker.ready = True
            self.holds = dict(worker.holds)
            self._failed_starts = 0
            return
        job = worker.jobs[rest[0]]
        if word == "begin":
            worker.began = worker.since
            worker.current, worker.label, worker.resume = job.index, None, None
            worker.values = 0
        elif word == "beat":
            label, resume = rest[1:]
            worker.label = label if isinstance(label, str) else None
            worker.resume = resume if isinstance(resume, dict) else None
            worker.values = 0
        elif word == "value":
            worker.values += 1
            job.values += 1
            yield job.index, rest[1]
        elif word == "refused":
            yield job.index, Breach(str(rest[1])[:200], label=worker.label)
        elif word == "failed":
            yield job.index, _breach(str(rest[1])[:200], worker, job, False)
        elif word == "end":
            worker.pace = 0.8 * worker.pace + 0.2 * (worker.since - worker.began)
            del worker.jobs[job.index]
            worker.current = worker.label = worker.resume = None
        else:
            raise ValueError(word)

    # --- watching ------------------------------------------------------------------------

    def _watch(self, limit: float) -> None:
        """Kill what is over its time or memory."""
        self._last_watch = now = time.monotonic()
        for worker in self._workers:
            if worker.jobs and now - worker.since > limit + (0 if worker.ready else 30):
                self._condemn(worker, f"took longer than {limit:g} s")
            elif resident_mb(worker.process.pid) > self._memory_mb:
                self._condemn(worker, f"needed more than {self._memory_mb} MB of memory")

    def _condemn(self, worker: _Worker, why: str) -> None:
        if worker.killed_for is None:
            worker.killed_for = why
            worker.process.kill()

    def _bury(self, worker: _Worker, pending: deque[_Job]) -> Iterator[tuple[int, Any]]:
        """Replace a dead worker; what it worked on is a breach, the rest goes to others."""
        self._workers.remove(worker)
        self._kill(worker)
        if not worker.ready and worker.killed_for is None:
            self._failed_starts += 1
            if self._failed_starts > 3:
                raise UserError("worker processes do not start", "reinstall the program")
        job = worker.jobs.pop(worker.current, None) if worker.current is not None else None
        pending.extendleft(reversed(worker.jobs.values()))
        if job is None:
            return
        why = worker.killed_for or _cause(worker.process.returncode)
        goes_on = worker.resume is not None and job.deaths < _MAX_DEATHS
        yield job.index, _breach(why, worker, job, goes_on)
        if worker.resume is not None and goes_on:
            payload = {**job.payload, **worker.resume}
            pending.appendleft(_Job(job.index, payload, job.deaths + 1, job.values))

    def _drop_busy(self) -> None:
        """After a run that was broken off, keep no worker that is still at it."""
        for worker in [w for w in self._workers if w.jobs]:
            self._workers.remove(worker)
            self._kill(worker)

    # --- processes -----------------------------------------------------------------------

    def _start(self) -> _Worker:
        if self._scratch is None:
            self._scratch = _make_scratch()
            _OPEN.add(self)
            _tidy_when_ended()
        process = subprocess.Popen(
            [sys.executable, "-I", "-c", _BOOT, json.dumps(self._settings())],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=_environment(self._scratch),
            start_new_session=True,  # Ctrl-C reaches the parent alone
        )
        worker = _Worker(process, queue.SimpleQueue(), threading.Semaphore(256))
        worker.since = time.monotonic()
        threading.Thread(target=_write, args=(worker,), daemon=True).start()
        threading.Thread(target=_read, args=(worker, self._messages), daemon=True).start()
        return worker

    def _settings(self) -> dict[str, Any]:
        return {
            "path": [p for p in sys.path if p] + [str(Path(__file__).parents[1])],
            "readable": self._readable,
            "scratch": self._scratch,
            "parent": os.getpid(),
            "memory_mb": self._memory_mb + 200,  # the watch comes first, with the better message
            "tasks": self._tasks,
        }

    def _kill(self, worker: _Worker) -> None:
        worker.inbox.put(None)
        worker.process.kill()
        worker.closed = True
        worker.room.release()
        worker.process.wait()


def _breach(what: str, worker: _Worker, job: _Job, goes_on: bool) -> Breach:
    """Tell what is lost: the rest of the file too, unless another worker goes on with it."""
    if goes_on:
        return Breach(what, _CUT_SHORT if worker.values else _REST_WAS_READ, worker.label)
    is_part = bool(job.values) or worker.label is not None
    return Breach(what, _REST_IS_MISSING if is_part else _REST_WAS_READ, worker.label)


def _make_scratch() -> str:
    try:
        return tempfile.mkdtemp(prefix="triage-")
    except OSError as error:
        raise UserError(
            f"no temporary folder can be made ({error.strerror})",
            "make room, or set TMPDIR to a folder that can be written to",
        ) from None


_OPEN: set[Supervisor] = set()  # those that have a scratch folder
_ENDINGS = [s for name in ("SIGTERM", "SIGHUP") if (s := getattr(signal, name, None)) is not None]


def _tidy_when_ended() -> None:
    """Let a signal that ends the program remove scratch folders first, unless it means more."""
    if threading.current_thread() is not threading.main_thread():
        return
    for number in _ENDINGS:
        if signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, _tidy_and_end)


def _tidy_and_end(number: int, frame: FrameType | None) -> None:
    for supervisor in list(_OPEN):
        supervisor.abandon()
    signal.signal(number, signal.SIG_DFL)
    os.kill(os.getpid(), number)


_BOOT = (
    "import json, sys; s = json.loads(sys.argv[1]); sys.path[:] = s['path'];"
    "from triage.worker import main; main(s)"
)


def _environment(scratch: str) -> dict[str, str]:
    """A worker's environment: one thread per library, nothing of the user's but the path."""
    threads = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMEXPR_NUM_THREADS")
    kept = ("PATH", "SYSTEMROOT", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "LANG", "LC_ALL")
    return {
        **{name: os.environ[name] for name in kept if name in os.environ},
        **dict.fromkeys(threads, "1"),
        "TMPDIR": scratch,
        "HOME": scratch,
        "MALLOC_ARENA_MAX": "2",
    }


def _write(worker: _Worker) -> None:
    stdin = worker.process.stdin
    assert stdin is not None
    with contextlib.suppress(OSError, ValueError), stdin:
        while (data := worker.inbox.get()) is not None:
            stdin.write(data)
            stdin.flush()


def _read(worker: _Worker, messages: queue.SimpleQueue[tuple[_Worker, bytes | None]]) -> None:
    stdout = worker.process.stdout
    assert stdout is not None
    with contextlib.suppress(OSError, ValueError), stdout:
        while (data := _frame(stdout)) is not None:
            worker.room.acquire()  # a slow caller holds the worker up, not our memory
            if worker.closed:
                return
            messages.put((worker, data))
    messages.put((worker, None))


def _frame(stream: IO[bytes]) -> bytes | None:
    head = stream.read(4)
    size = int.from_bytes(head, "big")
    if len(head) < 4 or size > MAX_MESSAGE:
        return None
    data = stream.read(size)
    return data if len(data) == size else None


def _cause(code: int | None) -> str:
    if code is None or code >= 0:
        return "ended its reader"
    if code == -24:  # SIGXCPU
        return "took too much computing time"
    if code == -9:
        return "needed more memory than the system gives"
    return f"crashed its reader (signal {-code})"


def resident_mb(pid: int) -> int:
    """Memory that a process holds in RAM, in MB; 0 where the system does not say."""
    try:
        with open(f"/proc/{pid}/statm", encoding="ascii") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") >> 20
    except (OSError, ValueError, IndexError):
        return 0
