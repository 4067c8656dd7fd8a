"""READERS: every kind of saved thing the tool reads, one line each; the first that can, reads.

CONTAINERS open what holds other sources (archives, mails, records of a crawl); what comes out
goes through the same two lists again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from extractors.records import Problem
from triage.readers.source import ReadResult, Source


@dataclass(frozen=True, slots=True)
class Reader:
    """One kind of saved thing.

    `can_read` sees the first 4096 bytes and the name; `read` may raise Unreadable.
    """

    name: str
    can_read: Callable[[bytes, str], bool]
    read: Callable[[Source], ReadResult]


@dataclass(frozen=True, slots=True)
class Container:
    """One kind of thing that holds others.

    `members` gives the sources to read, lazily; a damaged member is a Problem among them.
    """

    name: str
    can_open: Callable[[bytes, str], bool]
    members: Callable[[Source], Iterator[Source | Problem]]


CONTAINERS: tuple[Container, ...] = ()
READERS: tuple[Reader, ...] = ()
