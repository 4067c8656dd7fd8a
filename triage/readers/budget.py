"""What one file of the folder may hold and cost, with all that is nested in it.

Each archive has its own limits (limits.py); nested ones would multiply them.
"""

from __future__ import annotations

import time

from extractors.records import Problem
from triage.readers.source import Place, ReadResult, Source

MAX_MEMBERS = 100_000
MAX_UNPACKED = 4 << 30  # bytes
MAX_SECONDS = 600.0  # of processor time
UNIT_SECONDS = 25.0  # taken for a part on which a worker was given up


class Budget:
    """Counts the members of one file; `spent` are the seconds that earlier passes took."""

    def __init__(self, spent: float) -> None:
        self._began = time.process_time() - spent
        self._members = 0
        self._unpacked = 0
        self.is_over = False

    @property
    def spent(self) -> float:
        """Seconds of processor time, those of earlier passes with them."""
        return time.process_time() - self._began

    def allows(self, member: Source | Problem | Place) -> bool:
        """Count one more member, unless all that may be read has been."""
        self.is_over = (
            self._members >= MAX_MEMBERS
            or self._unpacked > MAX_UNPACKED
            or self.spent > MAX_SECONDS
        )
        if not self.is_over:
            self._members += 1
            content = member.content if isinstance(member, Source) else None
            self._unpacked += len(content or b"")
        return not self.is_over

    def told(self, source: Source) -> ReadResult:
        """Say how far the reading of a file went."""
        what = f"holds too much: {self._members:,} of its parts were read, the rest was not"
        return ReadResult(problems=(source.problem(what, "unpack it and read less at a time"),))
