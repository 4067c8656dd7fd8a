"""What belongs together in a folder, told from names alone.

Names are paths with "/", relative to the folder or archive. Rules:

- a picture goes with a text file if its name (or its folder's) begins with the text's name
  (``lamp.txt``, ``lamp_1.jpg``, ``lamp/a.jpg``), the longest such name winning;
- in a folder with one text file and no other kind of listing, all pictures go with it, also those
  in folders below that hold nothing but pictures;
- the same holds for a folder with one JSON file;
- what lies in a folder named after a page beside it (``lamp.html``, ``lamp_files/``) waits until
  the page was read, because browsers keep a page's parts there.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

_PICTURE = re.compile(
    r"\.(?:jpe?g|jpe|jfif|png|webp|gif|tiff?|bmp|dib|avif|heic|heif|hif)$", re.IGNORECASE
)
_PAGE = re.compile(r"\.(?:x?html?|xht|shtml|mht|mhtml|php|aspx?)$", re.IGNORECASE)
_TEXT = re.compile(r"\.(?:txt|text|md|markdown|rst|asc)$", re.IGNORECASE)
_ASIDE = re.compile(
    r"(?:^|/)(?:read ?me|licen[cs]e|copying|credits|changelog)\.\w+$", re.IGNORECASE
)
_RECORD = re.compile(r"\.json$", re.IGNORECASE)
_CARRIER = re.compile(
    r"\.(?:x?html?|xht|mht|mhtml|eml|json|jsonl|ndjson|csv|tsv|har|warc|zip|wacz|gz)$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Plan:
    """What to read first and later, and which pictures go with a text file, in order.

    `companions` maps a folder to the page it is named after.
    """

    first: tuple[str, ...]
    later: tuple[str, ...]
    pictures: tuple[str, ...]
    beside: Mapping[str, tuple[str, ...]]
    companions: Mapping[str, str]


def make_plan(names: Iterable[str]) -> Plan:
    """Sort the names of a folder or archive by what is to be done with each."""
    names = sorted(names, key=natural_key)
    companions = _companions(names)
    pictures = tuple(n for n in names if _PICTURE.search(n))
    others = [n for n in names if not _PICTURE.search(n)]
    waiting = {n for n in others if companion_of(n, companions) is not None}
    return Plan(
        first=tuple(n for n in others if n not in waiting),
        later=tuple(n for n in others if n in waiting),
        pictures=pictures,
        beside=_beside(others, pictures, waiting),
        companions=companions,
    )


def natural_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """Order names as people do: 2 before 10.

    >>> sorted(["p10.jpg", "p2.jpg", "P1.jpg"], key=natural_key)
    ['P1.jpg', 'p2.jpg', 'p10.jpg']
    """
    parts = re.split(r"([0-9]{1,18})", name.casefold())
    keyed = ((0, int(p), "") if i % 2 else (1, 0, p) for i, p in enumerate(parts))
    return (*keyed, (2, 0, name))


def companion_of(name: str, companions: Mapping[str, str]) -> str | None:
    """Find the companion folder that a name lies in, or None."""
    steps = name.split("/")
    folders = ("/".join(steps[:n]) for n in range(1, len(steps)))
    return next((f for f in folders if f in companions), None)


def _companions(names: Iterable[str]) -> dict[str, str]:
    """Map each folder that is named after a page beside it to that page."""
    pages: dict[tuple[str, str], str] = {}
    folders: set[str] = set()
    for name in names:
        folders.update(_folders_above(name))
        folder, _, last = name.rpartition("/")
        if _PAGE.search(last):
            pages[folder, _PAGE.sub("", last)] = name
    return {f: page for f in folders if (page := _page_of(f, pages)) is not None}


def _folders_above(name: str) -> Iterable[str]:
    steps = name.split("/")[:-1]
    return ("/".join(steps[: n + 1]) for n in range(len(steps)))


def _page_of(folder: str, pages: Mapping[tuple[str, str], str]) -> str | None:
    """Find the page a folder is named after: "lamp" of "lamp_files", "lamp-Dateien", "lamp"."""
    above, _, last = folder.rpartition("/")
    ends = [m.start() for m in re.finditer(r"[\s_.\-]+[^\W\d_]+$", last)]
    stems = [last, *(last[:end] for end in ends)]
    return next((pages[above, s] for s in stems if (above, s) in pages), None)


@dataclass(frozen=True, slots=True)
class _Texts:
    """The text files of one folder: by stem (what their names begin with), and how many."""

    by_stem: Mapping[str, str]
    only: str | None


def _beside(
    others: Iterable[str], pictures: tuple[str, ...], waiting: set[str]
) -> dict[str, tuple[str, ...]]:
    """Give each text file its pictures."""
    texts: dict[str, list[str]] = defaultdict(list)
    carriers: dict[str, list[str]] = defaultdict(list)
    for name in others:
        folder = name.rpartition("/")[0]
        if name in waiting or _ASIDE.search(name):
            continue
        if _TEXT.search(name):
            texts[folder].append(name)
        elif _CARRIER.search(name):
            carriers[folder].append(name)
    for folder, found in carriers.items():
        if folder not in texts and len(found) == 1 and _RECORD.search(found[0]):
            texts[folder] = found  # a folder of one JSON record and its pictures
    carriers = {f: c for f, c in carriers.items() if texts.get(f) != c}
    known = {folder: _texts(names) for folder, names in texts.items()}
    beside: dict[str, list[str]] = defaultdict(list)
    for picture in pictures if known else ():
        owner = _owner(picture, known, carriers)
        if owner is not None:
            beside[owner].append(picture)
    return {name: tuple(given) for name, given in beside.items()}


def _texts(names: list[str]) -> _Texts:
    return _Texts({_stem(n): n for n in reversed(names)}, names[0] if len(names) == 1 else None)


def _stem(name: str) -> str:
    return re.sub(r"\.[^./]+$", "", name.rpartition("/")[2]).casefold()


def _owner(
    picture: str, texts: Mapping[str, _Texts], carriers: Mapping[str, list[str]]
) -> str | None:
    """Find the text a picture goes with: by name first, else the only text near it."""
    folder, _, below = picture.rpartition("/")
    while True:
        near = texts.get(folder)
        if near is not None:
            named = _named_after(below.casefold(), near.by_stem)
            return named or (None if folder in carriers else near.only)
        if not folder or folder in carriers:
            return None
        folder, _, below = folder.rpartition("/")


def _named_after(name: str, by_stem: Mapping[str, str]) -> str | None:
    """Find the text with the longest stem that a name begins with."""
    starts = (name[:n] for n in range(len(name), 0, -1))
    return next((by_stem[s] for s in starts if s in by_stem and begins_with(name, s)), None)


def begins_with(name: str, stem: str) -> bool:
    """Say whether a file is named after a stem: "lamp_1.jpg" after "lamp", "lamp12" not "lamp1".

    >>> [begins_with(n, "lamp1") for n in ("lamp1.jpg", "lamp1 (2).jpg", "lamp12.jpg")]
    [True, True, False]
    """
    if not stem or not name.startswith(stem):
        return False
    rest = re.sub(r"\.[^.]+$", "", name[len(stem) :])
    if not rest or rest[0] in " _-.(+#":
        return True
    if rest.isdigit():
        return not stem[-1].isdigit()
    return re.fullmatch(r"[a-z](?:\d{0,3})", rest) is not None and stem[-1].isdigit()
