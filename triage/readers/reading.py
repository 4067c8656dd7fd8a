"""Reads one source to the end: whatever it is, and whatever it holds.

This runs in a worker process (see containment.py). It gives steps: the name of each member before
it is opened, so that a worker that must be killed can be told where to go on, and results.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

from extractors.records import Listing, Problem
from triage.readers.budget import Budget
from triage.readers.catalogue import CONTAINERS, READERS, Container, Reader
from triage.readers.documents import SAVE_INSTEAD, document_kind
from triage.readers.fields import find_photos
from triage.readers.limits import MAX_DEPTH
from triage.readers.pictures import picture_kind
from triage.readers.source import Place, ReadResult, Source, Unreadable

HEAD_BYTES = 4096


@dataclass(frozen=True, slots=True)
class Unit:
    """The reading of one file or member begins; the time limit counts from here.

    After one that can be passed over, a later pass can go on with the next.
    """

    member: str | None
    can_be_passed: bool


Step = Unit | ReadResult


class SourceReading:
    """One pass over a source; `skip` units were read (or given up) in an earlier pass.

    `units` counts those begun so far: what a later pass gives as `skip` to go on after them;
    `spent` are the seconds of processor time that earlier passes took.
    """

    def __init__(self, skip: int = 0, spent: float = 0.0) -> None:
        self._skip = skip
        self.units = 0
        self._used: set[Place] = set()
        self._budget = Budget(spent)

    @property
    def spent(self) -> float:
        """Seconds of processor time so far, those of earlier passes with them."""
        return self._budget.spent

    def steps(self, source: Source, depth: int = 0) -> Iterator[Step]:
        """Read a source and all that is in it."""
        head, kind = b"", None
        try:
            head = _head(source)
            kind = kind_of(head, _telling_name(source))
        except Unreadable as error:
            yield from self._told(source, error)
            return
        if isinstance(kind, Container):
            yield from self._opened(source, kind, depth)
            if depth == 0 and self._budget.is_over:
                yield self._budget.told(source)
        else:
            yield from self._leaf(source, kind, head)

    def _opened(self, source: Source, kind: Container, depth: int) -> Iterator[Step]:
        if depth >= MAX_DEPTH:
            yield from self._told(source, Unreadable("archives within archives", "unpack it"))
            return
        members = kind.members(source)
        for count in itertools.count():
            # unpacking the next member takes its time too, but is needed to get to the others
            yield Unit(source.member, False)
            try:
                member = next(members, None)
            except Exception as error:  # noqa: BLE001 - a parser on hostile bytes raises anything
                yield from self._told(source, _cut_short(_as_unreadable(error), count))
                return
            if member is None:
                if count == 0:
                    yield from self._told(source, Unreadable("holds nothing that can be read"))
                return
            if not self._budget.allows(member):
                return
            if isinstance(member, Source):
                yield from self.steps(member, depth + 1)
                if self._budget.is_over:
                    return
            else:
                yield from self._aside(member)

    def _aside(self, member: Problem | Place) -> Iterator[Step]:
        """A member that is not read: damaged, or a picture, which a listing may have used."""
        if isinstance(member, Problem):
            yield ReadResult(problems=(member,))
        elif member not in self._used and not self._skip:
            problem = Problem(*member, "is a picture that no listing names", "nothing to do")
            yield ReadResult(problems=(problem,))

    def _leaf(self, source: Source, reader: Reader | None, head: bytes) -> Iterator[Step]:
        self.units += 1
        if self.units <= self._skip:
            return
        yield Unit(source.member, source.member is not None)
        count = 0
        try:
            for result in _results(source, reader, head):
                count += 1
                self._used |= result.used
                yield _completed(source, _of_frame(result) if source.is_frame else result)
        except Exception as error:  # noqa: BLE001 - a parser on hostile bytes raises anything
            if not source.is_frame:
                yield from self._told(source, _cut_short(_as_unreadable(error), count))

    def _told(self, source: Source, error: Unreadable) -> Iterator[Step]:
        yield ReadResult(problems=(source.problem(error.what, error.do),))


def _head(source: Source) -> bytes:
    with source.open() as file:
        return file.read(HEAD_BYTES)


def _telling_name(source: Source) -> str:
    """The name, ending as the carrier's word for the kind: a mail's HTML may lack <html>."""
    media = (source.content_type or "").split(";")[0].strip().lower()
    return f"{source.name}.html" if media in _HTML else source.name


_HTML = ("text/html", "application/xhtml+xml")


def kind_of(head: bytes, name: str) -> Container | Reader | None:
    """Find what reads a file, by its first bytes and its name; None if nothing does."""
    if picture_kind(head) is not None:
        return None
    for container in CONTAINERS:
        if container.can_open(head, name):
            return container
    return next((r for r in READERS if r.can_read(head, name)), None)


def _results(source: Source, reader: Reader | None, head: bytes) -> Iterator[ReadResult]:
    if reader is None:
        raise Unreadable(*_why_not(head, source.name))
    result = reader.read(source)
    if isinstance(result, ReadResult):
        yield result
    else:
        yield from result


# what a file of that name begins with (PKZIP APPNOTE 4.3.7, RFC 1952 2.3.1, RFC 5322, ISO 28500)
_NAMED = {
    ".zip": "zip", ".wacz": "zip", ".gz": "gzip", ".eml": "e-mail", ".mht": "saved page",
    ".mhtml": "saved page", ".mbox": "mailbox", ".warc": "web archive",
}  # fmt: skip


def _why_not(head: bytes, name: str) -> tuple[str, str]:
    if not head:
        return "is empty", "save it again"
    if picture_kind(head) is not None:
        return "is a picture that no listing names", "put a text file beside it"
    if (kind := document_kind(head)) is not None:
        return f"is {kind}, which is not read", SAVE_INSTEAD
    ending = "." + name.lower().rpartition(".")[2]
    if ending in _NAMED:
        what = f"is named {ending}, but its bytes are those of no {_NAMED[ending]}"
        return what, "copy or save it again; it may have been damaged on the way"
    return "is of a kind that holds no listings", "nothing to do"


def _cut_short(error: Unreadable, count: int) -> Unreadable:
    """After `count` results, what follows in the file or member is lost: say so."""
    if count == 0 or not error.do.endswith(_REST_WAS_READ):
        return error
    return Unreadable(error.what, error.do.removesuffix(_REST_WAS_READ) + _REST_IS_MISSING)


_REST_WAS_READ, _REST_IS_MISSING = "the rest was read", "what follows in it is missing"


def _as_unreadable(error: Exception) -> Unreadable:
    """Tell any failure in one line, without what a hostile file may have put in the message."""
    if isinstance(error, Unreadable):
        return error
    if isinstance(error, MemoryError):
        return Unreadable("needs more memory than it may have", "save less at a time")
    if isinstance(error, RecursionError):
        return Unreadable("is nested too deep")
    if isinstance(error, OSError):
        return Unreadable(f"cannot be read ({error.strerror})", "check the file")
    return Unreadable(f"cannot be parsed ({type(error).__name__})")


def _of_frame(result: ReadResult) -> ReadResult:
    """What stands in a frame is no listing, unless it sells on its own: it names price and seller.

    So a page cannot make another's listing vanish by framing it.
    """
    own = tuple(x for x in result.listings if x.price and (x.seller_name or x.seller_id))
    return replace(result, listings=own) if own else ReadResult()


def _completed(source: Source, result: ReadResult) -> ReadResult:
    """Add what the carrier knows and a page does not: its subject, its date, attached photos."""
    if len(result.listings) != 1:
        return result
    return replace(result, listings=(_with_carrier(source, result.listings[0]),))


def _with_carrier(source: Source, listing: Listing) -> Listing:
    if not listing.title and source.title:
        origins = {**listing.origins, "title": ("carrier",)}
        listing = replace(listing, title=source.title, origins=origins)
    if not listing.photos and source.beside and source.is_mail:
        listing = _with_attached(source, listing)
    if listing.date_saved is None and source.saved_at is not None:
        origins = {**listing.origins, "date_saved": ("carrier",)}
        listing = replace(listing, date_saved=source.saved_at, origins=origins)
    return listing


def _with_attached(source: Source, listing: Listing) -> Listing:
    """Give a mail's attached pictures to the one listing that its text describes."""
    photos, missing, _ = find_photos(
        source.beside, source.resources(), lambda head: picture_kind(head) is not None
    )
    origins = {**listing.origins, "photos": ("carrier",)}
    missing = (*listing.missing_photos, *missing)
    return replace(listing, photos=photos, missing_photos=missing, origins=origins)
