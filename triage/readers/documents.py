"""Documents of other programs, which are not read: what each is, so that it can be said."""

from __future__ import annotations

SAVE_INSTEAD = "save a page as HTML or MHTML, a table as CSV, a mail as .eml, a text as .txt"

_STARTS = (
    (b"%PDF", "a PDF document"),
    (b"{\\rtf", "a word processor's document (RTF)"),
    (b"\xd0\xcf\x11\xe0", "an older office document, or a mail program's own file"),
    (b"bplist", "a browser's own archive"),
)
# the first entry of a packed document (ISO/IEC 29500-2 and 26300-3)
_PACKED = (b"[Content_Types].xml", b"mimetypeapplication/", b"_rels/.rels")


def document_kind(head: bytes) -> str | None:
    """Say what a document of another program is, by its first bytes; None if it is none.

    >>> document_kind(b"%PDF-1.7"), document_kind(b"Price: 85")
    ('a PDF document', None)
    """
    if head.startswith(b"PK\3\4") and any(mark in head[:80] for mark in _PACKED):
        return "an office document"
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    return next((kind for mark, kind in _STARTS if start.startswith(mark)), None)


_OF_THE_SYSTEM = frozenset({".ds_store", "thumbs.db", "ehthumbs.db", "desktop.ini"})


def is_of_the_system(path: str) -> bool:
    """Say whether a system put a file among the user's own by itself, for its views of folders.

    >>> is_of_the_system("week/Thumbs.db"), is_of_the_system("__MACOSX/._a.html")
    (True, True)
    """
    name = path.replace("\\", "/").rpartition("/")[2].casefold()
    return name in _OF_THE_SYSTEM or name.startswith("._")
