"""The worker's side of containment: takes tasks from the parent, sends results, in bounded JSON.

Started by containment.py as a process of its own; never imported by the rest of the program.
A message is four bytes of length (big endian) and that much JSON. From the parent:
``{"task", "indices", "payloads", "time_s"}``. To the parent, lists beginning with a word:

- ``["hello", holds]`` once
- ``["begin", index]``, ``["beat", index, label, resume]``, ``["value", index, value]``,
  ``["refused", index, what]`` in place of one value, ``["failed", index, what]``,
  ``["end", index]``
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import GeneratorType
from typing import Any, BinaryIO

MAX_MESSAGE = 16 << 20


@dataclass(frozen=True, slots=True)
class Beat:
    """Yielded by a task when it begins a new part: the time limit counts from here.

    `label` names the part if it must be killed; `resume` are the payload's changes to go on after.
    """

    label: str | None
    resume: dict[str, Any] | None = None


class Channel:
    """Writes messages; small ones wait for the next that must go out."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self._waiting = bytearray()

    def put(self, *message: Any) -> None:
        try:
            data = json.dumps(message, ensure_ascii=True, allow_nan=False).encode()
        except (ValueError, TypeError, RecursionError):
            data = json.dumps(["refused", message[1], "gave a result that is no JSON"]).encode()
        if len(data) > MAX_MESSAGE:
            data = json.dumps(["refused", message[1], "gave a result that is too large"]).encode()
        self._waiting += len(data).to_bytes(4, "big") + data
        if len(self._waiting) > 1 << 18:
            self.flush()

    def flush(self) -> None:
        self._out.write(self._waiting)
        self._out.flush()
        self._waiting.clear()


def read_message(stream: BinaryIO) -> Any:
    """Read one message; None at the end."""
    head = stream.read(4)
    if len(head) < 4:
        return None
    return json.loads(stream.read(int.from_bytes(head, "big")))


def find_task(name: str, tasks: dict[str, str]) -> Callable[[Any], Any]:
    """Import a task by its name in the table ("module:function")."""
    module, _, function = tasks[name].partition(":")
    found: Callable[[Any], Any] = getattr(importlib.import_module(module), function)
    return found


def parts_of(task: Callable[[Any], Any], payload: Any) -> Iterator[Any]:
    """Run a task, whether it returns one value or yields values and beats."""
    made = task(payload)
    if isinstance(made, GeneratorType):
        yield from made
    else:
        yield made


def _run(channel: Channel, index: int, task: Callable[[Any], Any], payload: Any) -> None:
    channel.put("begin", index)
    channel.flush()
    try:
        for part in parts_of(task, payload):
            if isinstance(part, Beat):
                channel.put("beat", index, part.label, part.resume)
                channel.flush()
            else:
                channel.put("value", index, part)
    except MemoryError:
        channel.put("failed", index, "needs more memory than it may have")
    except RecursionError:
        channel.put("failed", index, "is nested too deep")
    except Exception as error:  # noqa: BLE001 - a decoder on hostile bytes raises anything
        channel.put("failed", index, f"cannot be read ({type(error).__name__})")
    channel.put("end", index)


def _task_or_failure(name: str, tasks: dict[str, str]) -> Callable[[Any], Any]:
    """Import a task; one that cannot be had (a library is missing or confined) fails each time."""
    try:
        return find_task(name, tasks)
    except Exception as error:  # noqa: BLE001 - importing may raise anything
        failure = error

        def fail(_: Any) -> None:
            raise failure

        return fail


def serve(inbox: BinaryIO, out: BinaryIO, tasks: dict[str, str], holds: dict[str, bool]) -> None:
    """Work until the parent closes the pipe."""
    from triage.confinement import allow_cpu_seconds

    channel = Channel(out)
    channel.put("hello", holds)
    channel.flush()
    while (batch := read_message(inbox)) is not None:
        task = _task_or_failure(batch["task"], tasks)
        for index, payload in zip(batch["indices"], batch["payloads"], strict=True):
            allow_cpu_seconds(batch["time_s"])
            _run(channel, index, task, payload)
        channel.flush()


def main(settings: dict[str, Any]) -> None:
    """Begin: keep the pipes to ourselves, give up rights, serve."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides when to stop
    inbox = os.fdopen(os.dup(0), "rb")
    out = os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    for standard in (0, 1):  # a library that prints must not speak to the parent
        os.dup2(nothing, standard)
    from triage.confinement import confine

    holds = confine(settings["readable"], settings["scratch"], settings["memory_mb"])
    if holds.get("parent") and os.getppid() != settings["parent"]:
        os._exit(1)  # it ended while this one was starting, so no signal will come
    sys.setrecursionlimit(1000)
    serve(inbox, out, settings["tasks"], holds)
