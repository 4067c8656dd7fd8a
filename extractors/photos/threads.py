"""What the machine is asked for: one thread for linear algebra, and memory that is kept.

Small products cost several times more when threads share them, and arrays of a megabyte cost as
much to take from the system anew for every photo as to fill.
"""

from __future__ import annotations

import ctypes
import functools
import sys
from contextlib import AbstractContextManager
from typing import Any

from threadpoolctl import ThreadpoolController


@functools.cache
def _libraries() -> ThreadpoolController:
    return ThreadpoolController()  # of those loaded by now; callers have imported numpy


def one_thread() -> AbstractContextManager[Any]:
    """Inside, matrix products use the calling thread only; costs about 20 microseconds."""
    limited: AbstractContextManager[Any] = _libraries().limit(limits=1, user_api="blas")
    return limited


_TRIM, _MAP = -1, -3  # parameters of mallopt (GNU C library, malloc.h)
_LARGEST = 32 << 20  # bytes; glibc takes no larger bound for what it maps by itself


@functools.cache
def keep_memory() -> None:
    """Freed memory stays with the process, for the next photo; only where the C library is glibc.

    A fifth of the time of a fingerprint was spent on pages that had just been given back.
    """
    if not sys.platform.startswith("linux"):
        return
    set_option = getattr(ctypes.CDLL(None), "mallopt", None)
    if set_option is not None:
        set_option(_MAP, _LARGEST)
        set_option(_TRIM, 2 * _LARGEST)
