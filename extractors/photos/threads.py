"""One thread for linear algebra: small products cost several times more when threads share them."""

from __future__ import annotations

import functools
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
