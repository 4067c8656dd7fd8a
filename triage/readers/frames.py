"""Frames of a page, put in the place where they stand, so that the page reads as one.

A frame's own document may be a saved file, a member of the carrier, a ``data:`` address or
``srcdoc``; frames nest.
"""

from __future__ import annotations

from triage.readers.bounds import check_markup
from triage.readers.encoding import decode_page
from triage.readers.gallery import FRAME_ATTRIBUTE
from triage.readers.markup import HtmlElement, parse_html
from triage.readers.source import Asset, Resources, Unreadable

MOST_FRAMES = 24
DEEPEST = 4


def graft_frames(root: HtmlElement, resources: Resources) -> list[Asset | None]:
    """Replace each saved frame by a <div> with its content; list the frames' assets by number.

    The <div> keeps id, class, name and title of the frame and carries its number.
    """
    assets: list[Asset | None] = []
    _graft(root, resources, None, assets, 0)
    return assets


def _graft(
    root: HtmlElement,
    resources: Resources,
    within: Asset | None,
    assets: list[Asset | None],
    depth: int,
) -> None:
    for frame in list(root.iter("iframe", "frame", "object", "embed")):
        if len(assets) >= MOST_FRAMES or frame.getparent() is None:
            return
        asset, text = _frame_text(frame, resources, within)
        if text is None:
            continue
        document = _parsed(text)
        if document is None:
            continue
        inner = asset if asset is not None else within
        assets.append(inner)
        number = len(assets) - 1
        if depth + 1 < DEEPEST:
            _graft(document, resources, inner, assets, depth + 1)
        _put(frame, document, number)


def _parsed(text: str) -> HtmlElement | None:
    """A frame's document; one that cannot be parsed is left out, the page is read without it."""
    try:
        return parse_html(text)
    except Unreadable:
        return None


def _frame_text(
    frame: HtmlElement, resources: Resources, within: Asset | None
) -> tuple[Asset | None, str | None]:
    if frame.tag == "iframe" and frame.get("srcdoc"):
        return None, frame.get("srcdoc")
    address = frame.get("src") or frame.get("data") or frame.get("data-src")
    asset = resources.find(address, within) if address else None
    if asset is None:
        return None, None
    try:
        head = asset.data[:2048]
        kind = (asset.content_type or "").split(";")[0].strip().lower()
        if kind not in ("text/html", "application/xhtml+xml") and b"<" not in head:
            return None, None
        if kind.startswith(("image/", "video/", "application/pdf")) or b"\0\0" in head[:8]:
            return None, None
        check_markup(asset.data)
    except (Unreadable, OSError):
        return None, None
    charset = (asset.content_type or "").partition("charset=")[2].strip(" \"'") or None
    return asset, decode_page(asset.data, charset)


def _put(frame: HtmlElement, document: HtmlElement, number: int) -> None:
    """Put the frame's styles and body where the frame stood."""
    box = frame.makeelement("div")
    for name in ("id", "class", "name", "title", "aria-label", "style"):
        if frame.get(name):
            box.set("data-name" if name == "title" else name, frame.get(name, ""))
    box.set(FRAME_ATTRIBUTE, str(number))
    body = document.find("body")
    for style in list(document.iter("style")):
        box.append(style)
    if body is not None:
        box.text = body.text
        if body.get("style") or body.get("bgcolor"):
            for name in ("bgcolor",):
                if body.get(name):
                    box.set(name, body.get(name, ""))
        last = box[-1] if len(box) else None
        if last is not None and body.text:
            last.tail, box.text = body.text, None
        for child in list(body):
            box.append(child)
    parent = frame.getparent()
    if parent is None:
        return
    box.tail = frame.tail
    parent.replace(frame, box)
