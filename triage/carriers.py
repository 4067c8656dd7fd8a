"""In which form a listing was saved: what one form shows another may not."""

from __future__ import annotations

from pathlib import PurePosixPath

from extractors.records import Listing

_FORMS = {
    "page": (".html", ".htm", ".xhtml", ".mhtml", ".mht", ".warc", ".gz", ".wacz", ".har"),
    "export": (".json", ".jsonl", ".ndjson", ".csv", ".tsv"),
    "mail": (".eml", ".mbox", ".msg"),
    "note": (".txt", ".md", ".text"),
}
_FORM_OF = {ending: form for form, endings in _FORMS.items() for ending in endings}


def form_of(listing: Listing) -> str:
    """The form a listing was saved in: page, export, mail, note, or the ending of its file.

    >>> form_of(Listing("a", "week/77.html")), form_of(Listing("a", "all.zip", member="b/x.csv"))
    ('page', 'export')
    """
    for name in (listing.member, listing.source):
        ending = PurePosixPath((name or "").lower()).suffix
        if ending in _FORM_OF:
            return _FORM_OF[ending]
    return PurePosixPath(listing.source.lower()).suffix


def are_saved_alike(one: Listing, other: Listing) -> bool:
    """Whether both were saved in one form, so that what only one of them shows was changed."""
    return form_of(one) == form_of(other)
