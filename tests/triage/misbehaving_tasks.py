"""Tasks that behave as a decoder taken over by a hostile file might; run in workers by tests."""

from __future__ import annotations

import ctypes
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from triage.worker import Beat


def double(payload: int) -> int:
    return payload * 2


def count(payload: int) -> Iterator[int]:
    yield from range(payload)


def spin(payload: Any) -> None:
    while True:
        pass


def sleep(payload: float) -> str:
    time.sleep(payload)
    return "slept"


def hoard(payload: int) -> int:
    kept = [bytearray(b"x") * (1 << 20) for _ in range(payload)]
    return len(kept)


def hoard_natively(payload: int) -> int:
    """Take memory that Python knows nothing of, and touch it."""
    libc = ctypes.CDLL(None)
    libc.malloc.restype = ctypes.c_void_p
    for _ in range(payload):
        block = libc.malloc(ctypes.c_size_t(1 << 20))
        if not block:
            ctypes.string_at(0)
        ctypes.memset(block, 1, 1 << 20)
    return payload


def crash(payload: Any) -> None:
    ctypes.string_at(0)


def leave(payload: Any) -> None:
    os._exit(3)


def fail(payload: Any) -> None:
    raise RuntimeError("\x1b[31mtext of a hostile file")


def recurse(payload: Any) -> int:
    return recurse(payload) + 1


def shout(payload: Any) -> str:
    print("x" * 100_000)
    sys.stderr.write("y" * 100_000)
    os.write(1, b"z" * 1000)
    return "shouted"


def flood(payload: int) -> str:
    return "x" * payload


def unplain(payload: Any) -> Any:
    return {1, 2} if payload == "set" else float("nan")


def lie(payload: Any) -> None:
    """Send the parent a message that no honest worker sends."""
    for number in range(3, 20):
        try:
            os.write(number, payload.encode())
        except OSError:
            continue
    time.sleep(10)


def steps(payload: dict[str, Any]) -> Iterator[Any]:
    """Work through parts 0 to 5; part 3 hangs or crashes."""
    for part in range(payload.get("skip", 0), 6):
        yield Beat(f"part {part}", {"skip": part + 1})
        if part == 3:
            if payload["how"] == "hang":
                time.sleep(60)
            ctypes.string_at(0)
        yield part


def begin_and_die(payload: dict[str, Any]) -> Iterator[Any]:
    """Give a value that reaches the parent, then die; with or without a part to go on with."""
    if payload.get("skip"):
        yield "after"
        return
    yield Beat("part", {"skip": 1} if payload["resumes"] else None)
    yield "x" * (1 << 19)  # is sent at once
    time.sleep(0.3)
    crash(None) if payload["how"] == "crash" else fail(None)


def attempt(payload: dict[str, str]) -> str:
    """Try what a worker may not do; says "done", or the error."""
    try:
        _ATTEMPTS[payload["what"]](payload)
    except OSError as error:
        return type(error).__name__
    return "done"


def _write(payload: dict[str, str]) -> None:
    Path(payload["path"]).write_text("x")


def _write_below_python(payload: dict[str, str]) -> None:
    libc = ctypes.CDLL(None, use_errno=True)
    number = libc.open(payload["path"].encode(), os.O_WRONLY | os.O_CREAT, 0o600)
    if number < 0:
        raise OSError(ctypes.get_errno(), "refused")


def _read_below_python(payload: dict[str, str]) -> None:
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.open(payload["path"].encode(), os.O_RDONLY) < 0:
        raise OSError(ctypes.get_errno(), "refused")


def _connect(payload: dict[str, str]) -> None:
    with socket.socket() as channel:
        channel.settimeout(2)
        channel.connect(("127.0.0.1", int(payload["path"])))


def _socket_below_python(payload: dict[str, str]) -> None:
    libc = ctypes.CDLL(None, use_errno=True)
    if libc.socket(2, 1, 0) < 0:
        raise OSError(ctypes.get_errno(), "refused")


def _start_program(payload: dict[str, str]) -> None:
    subprocess.run(["/bin/true"], check=True)


def _fork_below_python(payload: dict[str, str]) -> None:
    libc = ctypes.CDLL(None, use_errno=True)
    child = libc.fork()
    if child == 0:
        os._exit(0)
    if child < 0:
        raise OSError(ctypes.get_errno(), "refused")


def _remove(payload: dict[str, str]) -> None:
    Path(payload["path"]).unlink()


def _thread(payload: dict[str, str]) -> None:
    import threading

    thread = threading.Thread(target=lambda: None)
    thread.start()
    thread.join()


_ATTEMPTS = {
    "write": _write,
    "write below Python": _write_below_python,
    "read below Python": _read_below_python,
    "connect": _connect,
    "socket below Python": _socket_below_python,
    "start a program": _start_program,
    "fork below Python": _fork_below_python,
    "remove": _remove,
    "thread": _thread,
}
