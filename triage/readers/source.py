"""Where bytes come from: a file, a member of a container, and what a page finds beside itself.

Member notation. A place inside a file is a list of steps joined by "!", outermost first; in a step
"%" and "!" are written %25 and %21. A step is one of

- a name in a zip (also WACZ): ``week/alert.eml``
- ``part:N``: the MIME part number N of an e-mail or MHTML file, depth first, the root being 0
- ``mail:N``: mail number N of a mailbox (mbox), from 0
- ``record:N``: WARC record number N, from 0
- ``entry:N``: HAR entry number N, from 0
- ``data:D``: the ``data:`` address whose decoded bytes have a SHA-256 beginning with D (16 digits)
- ``ungzip``: the content of a gzip file

so ``week.zip`` + ``alerts/1.eml!part:3`` is the fourth part of an e-mail in a zip. Everything
that reads a member again goes by the SHA-256 beside it, so a changed file is noticed.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import io
import itertools
import os
import re
import stat
import unicodedata
from collections import Counter, OrderedDict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, BinaryIO
from urllib.parse import unquote, unquote_to_bytes, urldefrag, urljoin, urlsplit

from extractors.records import Listing, Photo, Problem

Place = tuple[str, str | None]  # path, member
MOST_REPLIES = 60  # looked at for one page
MAX_REPLIES = 3_000_000  # characters of those about the listing
MAX_FILE = 4 << 30  # bytes of a file that is read in parts, such as an archive


class Unreadable(Exception):
    """A file or member that cannot be read: what is wrong, and what the buyer can do."""

    def __init__(self, what: str, do: str = "save it again; the rest was read") -> None:
        super().__init__(what)
        self.what = what
        self.do = do


# --- member notation ------------------------------------------------------------------------


def join_member(member: str | None, step: str) -> str:
    """Add one step to a member.

    >>> join_member("week.zip", "now! 50%.html")
    'week.zip!now%21 50%25.html'
    """
    quoted = step.replace("%", "%25").replace("!", "%21")
    return quoted if member is None else f"{member}!{quoted}"


def split_member(member: str | None) -> tuple[str, ...]:
    """List the steps of a member, outermost first.

    >>> split_member("week.zip!now%21 50%25.html")
    ('week.zip', 'now! 50%.html')
    """
    if member is None:
        return ()
    return tuple(s.replace("%21", "!").replace("%25", "%") for s in member.split("!"))


def path_text(path: str) -> str:
    """Write a relative path as text that survives UTF-8: bytes that are no UTF-8 become %XX.

    "%" becomes %25 in these paths, and in those that could be taken for one of them: each path
    has a text of its own.
    """
    raw = os.fsencode(path)
    if not _stands_for_bytes(raw):
        return raw.decode("utf-8")
    shown = raw.replace(b"%", b"%25").decode("utf-8", "surrogateescape")
    return re.sub("[\udc80-\udcff]", lambda m: f"%{ord(m[0]) - 0xDC00:02X}", shown)


def _stands_for_bytes(raw: bytes) -> bool:
    """Say whether a path is no UTF-8, or becomes so when percent-decoded once or more."""
    while True:
        try:
            raw.decode("utf-8")
        except UnicodeDecodeError:
            return True
        decoded = unquote_to_bytes(raw)
        if decoded == raw:
            return False
        raw = decoded


def locate(root: Path, path: str) -> Path:
    """Find the file that a relative path names; never outside `root`, never through a link.

    Raises Unreadable if there is no such regular file.
    """
    exact = path.encode("utf-8", "surrogateescape")
    tries = [exact, unquote_to_bytes(path)] if "%" in path else [exact]
    if _stands_for_bytes(exact):  # as path_text writes it
        tries.reverse()
    for relative in tries:
        steps = relative.split(b"/")
        if b".." in steps or b"" in steps or b"\0" in relative:
            continue
        if _is_regular_below(os.fsencode(root), steps):
            return root / os.fsdecode(relative)
    raise Unreadable("no such file in the folder")


def _is_regular_below(root: bytes, steps: Sequence[bytes]) -> bool:
    """Say whether every step from root down is a real folder and the last a regular file."""
    try:
        for n in range(1, len(steps)):
            if not _is_real_folder(b"/".join((root, *steps[:n]))):
                return False
        return stat.S_ISREG(os.lstat(b"/".join((root, *steps))).st_mode)
    except (OSError, ValueError):
        return False


@lru_cache(maxsize=4096)
def _is_real_folder(path: bytes) -> bool:
    return stat.S_ISDIR(os.lstat(path).st_mode)


# --- a thing to be read ---------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sender:
    """Who wrote a mail: the name shown, the address, and whether a program sent it to many."""

    name: str | None = None
    address: str | None = None
    is_bulk: bool = False


@dataclass(frozen=True)
class Source:
    """A file of the folder, or a member of one, that a reader is asked to read.

    `content` holds a member's bytes, or `opener` opens a large one; for a plain file both are None
    and the file is read on demand.
    `url`, `saved_at` (ISO 8601), `charset` and `content_type` are what the carrier says of it.
    `table` holds the other members by full address, `base` is this one's address among them.
    `beside` gives the addresses of pictures that go with it as a whole (attached to a mail, next
    to a text file), in order; `title` is what the carrier calls it (the subject of a mail),
    `filename` the name it gives, where the member has none of its own. `is_mail` is true of
    the body of a mail, which may announce many listings; `sender` wrote it. `is_frame` is true of
    what a browser asked for as a part of another page only.
    """

    root: Path
    path: str
    member: str | None = None
    content: bytes | None = field(default=None, repr=False)
    opener: Callable[[], BinaryIO] | None = field(default=None, repr=False, compare=False)
    url: str | None = None
    saved_at: str | None = None
    charset: str | None = None
    content_type: str | None = None
    table: Mapping[str, Asset] | None = field(default=None, repr=False, compare=False)
    base: str | None = None
    beside: tuple[str, ...] = ()
    title: str | None = None
    filename: str | None = None
    is_mail: bool = False
    sender: Sender | None = None
    is_frame: bool = False

    @property
    def name(self) -> str:
        """What the file or member is called, without folders."""
        steps = split_member(self.member)
        return self.filename or (steps[-1] if steps else self.path).rsplit("/", 1)[-1]

    @property
    def place(self) -> Place:
        return self.path, self.member

    def open(self) -> BinaryIO:
        """Open the bytes for reading; raises Unreadable if they cannot be had."""
        if self.content is not None:
            return io.BytesIO(self.content)
        if self.opener is not None:
            return self.opener()
        try:
            file = open_regular(locate(self.root, self.path))
        except OSError as error:
            raise Unreadable(f"cannot be opened ({error.strerror})", "check its rights") from error
        if os.fstat(file.fileno()).st_size > MAX_FILE:
            file.close()
            raise Unreadable(f"larger than {MAX_FILE >> 30} GB", "split it")
        return file

    def data(self, limit: int = 256 << 20) -> bytes:
        """Read all bytes; raises Unreadable above `limit` bytes."""
        if self.content is not None:
            return self.content
        with self.open() as file:
            return _read_all(file, limit, "split it or save single pages")

    def inside(self, step: str, content: bytes | None, **known: Any) -> Source:
        """Make the source of a member of this one; `known` sets url, saved_at, charset ..."""
        member = join_member(self.member, step)
        saved_at = known.pop("saved_at", None) or self.saved_at
        return Source(self.root, self.path, member, content, saved_at=saved_at, **known)

    def resources(self) -> Resources:
        """What can be found beside this: other files of the folder, other members, or nothing."""
        if self.member is None:
            return FolderResources(self)
        return MemberResources(self, self.table or {}, self.base)

    def problem(self, what: str, do: str) -> Problem:
        return Problem(self.path, self.member, what, do)


def open_regular(path: Path) -> BinaryIO:
    """Open a file without following a link and without waiting on a pipe or device."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    number = os.open(path, flags | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0))
    if not stat.S_ISREG(os.fstat(number).st_mode):
        os.close(number)
        raise OSError(0, "not a regular file")
    return os.fdopen(number, "rb")


@dataclass(frozen=True, slots=True)
class ReadResult:
    """What a reader made of one source; `used` are the places it took as parts of its listings."""

    listings: tuple[Listing, ...] = ()
    problems: tuple[Problem, ...] = ()
    used: frozenset[Place] = frozenset()

    def __add__(self, other: ReadResult) -> ReadResult:
        return ReadResult(
            self.listings + other.listings,
            self.problems + other.problems,
            self.used | other.used,
        )


# --- what lies beside a page ----------------------------------------------------------------


@dataclass(frozen=True)
class Asset:
    """Bytes that an address in a page led to; relative addresses in it start from `base`."""

    path: str
    member: str | None
    base: str
    load: Callable[[], bytes] = field(repr=False)
    content_type: str | None = None

    @property
    def place(self) -> Place:
        return self.path, self.member

    @property
    def data(self) -> bytes:
        """The stored bytes; raises Unreadable or OSError if they cannot be had (any more)."""
        return _RECENT.data_of(self)

    @cached_property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()

    def photo(self) -> Photo:
        return Photo(self.path, self.member, self.sha256)


class _Recent:
    """The bytes last loaded, within a bound: an archive's pictures must not all stay in memory."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._size = 0
        self._held: OrderedDict[int, tuple[Asset, bytes]] = OrderedDict()

    def data_of(self, asset: Asset) -> bytes:
        held = self._held.get(id(asset))
        if held is not None:
            return held[1]
        data = asset.load()
        if len(data) <= self._most:
            self._held[id(asset)] = asset, data  # holding it keeps its id its own
            self._size += len(data)
        while self._size > self._most:
            _, (_, dropped) = self._held.popitem(last=False)
            self._size -= len(dropped)
        return data


_RECENT = _Recent(32 << 20)


class Resources:
    """Finds the bytes behind an address that stands in a page (or in a frame of it).

    `find(address)` takes the address as the page writes it, entities decoded: relative, absolute,
    ``cid:``, ``data:``; `within` is the frame's Asset if the address stands in a frame. None when
    it was not saved. Nothing is ever fetched. This base class knows ``data:`` addresses alone;
    subclasses say in `lookup` where a full address leads.
    """

    def __init__(self, source: Source, base: str | None = None) -> None:
        self.source = source
        self.base = base if base is not None else source.url or ""

    def find(self, address: str, within: Asset | None = None) -> Asset | None:
        if "\n" in address or "\t" in address or "\r" in address:
            address = re.sub(r"[\t\r\n]", "", address)
        address = address.strip("\0 \f")
        if address[:5].lower() == "data:":
            return self._inline(address, within)
        bare = urldefrag(address)[0] if "#" in address else address
        if not bare:
            return None
        base = within.base if within is not None else self.base
        return next((a for a in map(self.lookup, spellings(base, bare)) if a is not None), None)

    def lookup(self, address: str) -> Asset | None:
        """Find one full address; overridden where there is more than ``data:``."""
        return None

    def replies(self, *names: str) -> Iterator[tuple[str, str]]:
        """The data about one listing that a page's scripts fetched: (media type, text) each.

        `names` are what it may be known by: its number, the last step of its address.
        """
        yield from ()

    def rebased(self, base: str) -> Resources:
        """The same resources, for a page whose ``<base href>`` says `base`."""
        other = type(self).__new__(type(self))
        other.__dict__.update(self.__dict__)
        other.base = resolve(self.base, base)
        return other

    def _inline(self, address: str, within: Asset | None) -> Asset | None:
        read = read_data_address(address)
        if read is None:
            return None
        content_type, data = read
        path, member = within.place if within is not None else self.source.place
        step = "data:" + hashlib.sha256(data).hexdigest()[:16]
        base = within.base if within is not None else self.base
        return Asset(path, join_member(member, step), base, lambda: data, content_type)


class MemberResources(Resources):
    """The other members of a container, by full address (``https:``, ``cid:``, or a path)."""

    def __init__(self, source: Source, table: Mapping[str, Asset], base: str | None = None) -> None:
        super().__init__(source, base)
        self.table = table

    def lookup(self, address: str) -> Asset | None:
        found = self.table.get(address)
        return found if found is not None else self.table.get(self._alike.get(alike(address), ""))

    def replies(self, *names: str) -> Iterator[tuple[str, str]]:
        answers = (a for a in self.table.values() if "json" in (a.content_type or "").lower())
        found = 0
        for asset in itertools.islice(answers, MOST_REPLIES):
            try:
                text = asset.data.decode("utf-8", "replace") if found < MAX_REPLIES else ""
            except (Unreadable, OSError):
                continue
            if any(name in asset.base or name in text for name in names):
                found += len(text)
                yield "application/json", text

    @cached_property
    def _alike(self) -> dict[str, str]:
        """Names by what is alike in them; web addresses and content ids must match exactly."""
        return {alike(name): name for name in self.table if not scheme_of(name)}


class FolderResources(Resources):
    """Files beside a plain file in the folder; addresses are paths relative to the root."""

    def __init__(self, source: Source) -> None:
        super().__init__(source, source.path)

    def lookup(self, address: str) -> Asset | None:
        if scheme_of(address):
            return None
        file = self._find(address)
        if file is None:
            return None
        path = path_text(os.path.relpath(file, self.source.root)).replace(os.sep, "/")
        return Asset(path, None, path, lambda: _read_file(file))

    def _find(self, address: str) -> Path | None:
        """Find a file by its exact path, else by one that is alike (case, composed letters)."""
        root = self.source.root
        try:
            return locate(root, address)
        except Unreadable:
            pass
        folder, _, name = address.rpartition("/")
        like = _names_alike(os.path.join(root, folder)).get(alike(name))
        if like is None:
            return None
        try:
            return locate(root, f"{folder}/{like}" if folder else like)
        except Unreadable:
            return None


def alike(name: str) -> str:
    """What two spellings of a file name share: systems differ in case and in composed letters."""
    return unicodedata.normalize("NFC", name).casefold()


@lru_cache(maxsize=256)
def _names_alike(folder: str) -> dict[str, str]:
    """The names in a folder by what is alike in them; those that two files share are left out."""
    try:
        names = [path_text(name) for name in os.listdir(folder)[:100_000]]
    except (OSError, ValueError):
        return {}
    counts = Counter(map(alike, names))
    return {alike(name): name for name in names if counts[alike(name)] == 1}


def _read_file(file: Path, limit: int = 256 << 20) -> bytes:
    with open_regular(file) as opened:
        return _read_all(opened, limit, "save it again; the rest was read")


def _read_all(file: BinaryIO, limit: int, do: str) -> bytes:
    """Read all bytes. Asking for more than there are would claim that much memory at once."""
    size = file.seek(0, io.SEEK_END)
    if size > limit:
        raise Unreadable(f"larger than {limit >> 20} MB", do)
    file.seek(0)
    return file.read(size)


def spellings(base: str, address: str) -> tuple[str, ...]:
    """List the full addresses that an address may be stored under, the likeliest first.

    As written, joined to the base, without the query, and percent-decoded: browsers write
    ``a%20b.jpg`` for a file called ``a b.jpg``, and savers drop or keep the query as they please.
    """
    joined = resolve(base, address)
    tries = [joined, address, unquote(joined), unquote(address)]
    if "%" in joined:  # a page in an old encoding writes its bytes
        tries.append(unquote(joined, encoding="latin-1"))
    if "?" in joined:
        tries += [t.split("?", 1)[0] for t in tries]
    return tuple(dict.fromkeys(tries))


def resolve(base: str, address: str) -> str:
    """Join as RFC 3986 does; a base without scheme is a path below the folder."""
    if scheme_of(address) or address.startswith("//"):
        return address if not address.startswith("//") else _with_scheme(base, address)
    if not scheme_of(base):
        return _join_path(base, address)
    try:
        # urllib joins only to schemes it knows; cid: and the like have no relative addresses
        return urljoin(base, address)
    except ValueError:
        return address


def _with_scheme(base: str, address: str) -> str:
    scheme = scheme_of(base)
    return f"{scheme or 'https'}:{address}"


def _join_path(base: str, address: str) -> str:
    """Join two "/" paths; one that climbs above the root stays as it is, and is not found.

    >>> _join_path("a/page.html", "./page_files/1.jpg"), _join_path("a/p.html", "../b.jpg")
    ('a/page_files/1.jpg', 'b.jpg')
    """
    steps = base.split("/")[:-1]
    for step in address.replace("\\", "/").split("/"):
        if step == ".." and steps and steps[-1] != "..":
            steps.pop()
        elif step not in ("", "."):
            steps.append(step)
    return "/".join(steps)


def scheme_of(address: str) -> str:
    """The scheme of an address in lower case, or "".

    >>> scheme_of("HTTPS://a.example/b"), scheme_of("b/c.jpg"), scheme_of("C:/x")
    ('https', '', 'c')
    """
    try:
        return urlsplit(address).scheme
    except ValueError:
        return ""


_DATA_ADDRESS = re.compile(r"(?i)data:([^,]{0,400}),")


_PLUS_AND_SLASH = bytes.maketrans(b"-_", b"+/")  # RFC 4648, 5


def read_data_address(address: str) -> tuple[str, bytes] | None:
    """Decode a ``data:`` address (RFC 2397) to media type and bytes; None if it is damaged.

    >>> read_data_address("data:text/plain;base64,aGk=")
    ('text/plain', b'hi')
    """
    head = _DATA_ADDRESS.match(address)
    if head is None:
        return None
    media, body = head[1], address[head.end() :]
    if not re.search(r"(?i);\s*base64\s*$", media):
        return media.strip() or "text/plain", unquote_to_bytes(body)
    raw = unquote_to_bytes(body) if "%" in body else body.encode("ascii", "ignore")
    raw = raw.translate(_PLUS_AND_SLASH, b" \t\n\r\f\v").rstrip(b"=")
    try:
        data = base64.b64decode(raw + b"=" * (-len(raw) % 4))
    except binascii.Error:
        return None
    return media[: media.rindex(";")].strip() or "text/plain", data


def photo_bytes(root: Path, photo: Photo) -> bytes:
    """Read the stored bytes of a photo again; raises Unreadable if they are gone or changed.

    This opens containers, so it runs in worker processes.
    """
    from triage.readers.members import member_bytes  # only needed here, and it needs this module

    data = member_bytes(root, photo.path, photo.member)
    if hashlib.sha256(data).hexdigest() != photo.sha256:
        raise Unreadable("changed since it was read", "run again")
    return data
