"""Reads a page held in a test, with pictures and frames by address."""

from __future__ import annotations

import io
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from PIL import Image, ImageDraw

from extractors.records import Listing
from triage.readers.page import read_page
from triage.readers.source import Asset, MemberResources, ReadResult, Source

HOME = "https://stallrow.example/item/9001"


def read(
    html: str | bytes, files: Mapping[str, bytes] | None = None, url: str | None = HOME
) -> ReadResult:
    data = html if isinstance(html, bytes) else html.encode()
    source = Source(Path("."), "page.mhtml", "part:0", content=data, url=url)
    table = {
        address: Asset("page.mhtml", f"part:{n}", address, lambda body=body: body)
        for n, (address, body) in enumerate((files or {}).items(), 1)
    }
    return read_page(data, MemberResources(source, table, url or ""), source)


def one(
    html: str | bytes, files: Mapping[str, bytes] | None = None, url: str | None = HOME
) -> Listing:
    result = read(html, files, url)
    assert [p.what for p in result.problems] == []
    assert len(result.listings) == 1
    return result.listings[0]


@cache
def picture(seed: int, width: int = 400, height: int = 300) -> bytes:
    """A picture that looks unlike that of any other seed, alike at every size."""
    image = Image.new("RGB", (400, 300), (seed * 67 % 256, seed * 131 % 256, 200))
    draw = ImageDraw.Draw(image)
    for n in range(12):
        x, y = (seed * 97 + n * 53) % 360, (seed * 41 + n * 71) % 260
        draw.ellipse((x, y, x + 60 + n * 7, y + 50), fill=(n * 20, seed * 29 % 256, 255 - n * 20))
    out = io.BytesIO()
    image.resize((width, height)).save(out, "JPEG", quality=90)
    return out.getvalue()
