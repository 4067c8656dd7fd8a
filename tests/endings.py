"""Work that must end: what grows with the square of its input would never, at these sizes.

How long it takes is for the benchmarks to say (`tests/benchmarks/benchmark_growth.py`); here only
that it ends, and how many calls and steps it makes, which no load of the machine changes.
"""

import multiprocessing
import resource
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

_PROCESSOR_SECONDS = 120  # a hundred times what the slowest of these takes


def ends(task: Callable[[], object]) -> bool:
    """Whether the task ends at all, tried in a child that the kernel stops if it does not."""
    child = multiprocessing.get_context("fork").Process(target=_limited, args=(task,))
    child.start()
    child.join()
    return child.exitcode == 0


def _limited(task: Callable[[], object]) -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (_PROCESSOR_SECONDS, _PROCESSOR_SECONDS + 1))
    task()


def calls(task: Callable[[], object]) -> int:
    """How many calls the task makes, those into C included."""
    count = 0

    def seen(_frame: FrameType, event: str, _arg: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    with _watched(sys.getprofile, sys.setprofile, seen):
        task()
    return count


def steps(task: Callable[[], object]) -> int:
    """How many lines of Python the task goes through: a loop without a call shows here alone."""
    count = 0

    def seen(_frame: FrameType, event: str, _arg: Any) -> Any:
        nonlocal count
        count += event == "line"
        return seen

    with _watched(sys.gettrace, sys.settrace, seen):
        task()
    return count


@contextmanager
def _watched(
    current: Callable[[], Any], put: Callable[[Any], None], seen: Callable[..., Any]
) -> Iterator[None]:
    """Have the interpreter tell `seen`, and after that whom it told before."""
    before = current()
    put(seen)
    try:
        yield
    finally:
        put(before)
