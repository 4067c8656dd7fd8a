"""Coverage-guided fuzzing of the readers, run by hand: python -m tests.fuzz.fuzz_readers TARGET

Needs atheris, which no test needs. TARGET is one of those below; further arguments go to libFuzzer
(``-max_total_time=600 -rss_limit_mb=1500``). A reader may refuse a file (Unreadable) and nothing
else: what is found here becomes a fixed case in tests/triage/readers.
"""

# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import contextlib
import gzip
import sys
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import atheris

with atheris.instrument_imports(include=["triage", "email", "zipfile", "csv", "warcio"]):
    from tests.triage.readers import saving
    from triage.readers import alerts, archives, exports, har, mime, plain_text, warc
    from triage.readers.source import Asset, ReadResult, Source, Unreadable

HERE = Path("/nonexistent")


def _drain(made: Iterable[Any] | ReadResult) -> None:
    if isinstance(made, ReadResult):
        return
    for one in made:
        if isinstance(one, Source):
            for address in ("cid:1", "a.jpg", "https://x.example/a.jpg"):
                found = one.resources().find(address)
                if isinstance(found, Asset):
                    found.load()


def _target(read: Callable[[Source], Any], name: str) -> Callable[[bytes], None]:
    def run(data: bytes) -> None:
        with contextlib.suppress(Unreadable):
            _drain(read(Source(HERE, name, content=data, member="x")))

    return run


_CSV = [b"title;price\nF;1\n", b'"title","price"\n"a\nb",2']
_PAGES = [
    b"""<html lang=en><head><style>.x{display:none} .a>.b:not(.c){color:#fff} @media print{.d{opacity:0}}</style>
<script type="application/ld+json">{"@type":"Product","name":"F 48","offers":{"price":"5","priceCurrency":"EUR"}}</script>
<script>window.S = {a:'b',items:[{id:1,title:"F 48",price:!0}]};</script></head><body><h1>F 48</h1>
<p class=x>hid</p><b>Price:</b> 5 &euro;<br>Seller: rosa<hr><table><tr><th>Lens<td>48</table>
<ul data-g='["a.jpg","b.jpg"]'><li><a href="/u/rosa">rosa</a><img src="cid:1" srcset="a.jpg 2x"></ul>
<h2>Description</h2><div>Text<a href="#">Show more</a></div><iframe srcdoc="<p>in</p>"></iframe></body></html>""",
    b"<dl><dt>Listed<dd>3 Nov 2026<dt>Shipping<dd><s>6</s> $4</dl><time datetime=2026-11-03>Posted</time>",
]
TARGETS: dict[str, tuple[Callable[[bytes], None], list[bytes]]] = {
    "csv": (_target(exports.read_csv, "a.csv"), _CSV),
    "json": (_target(exports.read_json, "a.json"), [b'{"title": "F", "price": 1}']),
    "jsonl": (
        _target(exports.read_json, "a.jsonl"),
        [b'{"title": "F", "id": 1}\n{"title": "G"}\n'],
    ),
    "text": (_target(plain_text.read, "a.txt"), [saving.NOTE.encode()]),
    "mail": (_target(mime.members, "a.eml"), [saving.mail_bytes(), saving.mhtml_bytes()]),
    "page": (_target(alerts.read, "p.html"), _PAGES),
    "alert": (_target(alerts.read, "a.html"), [saving.page(["cid:1"])]),
    "warc": (_target(warc.members, "a.warc"), [saving.warc_bytes(False), saving.warc_bytes(True)]),
    "har": (_target(har.members, "a.har"), [saving.har_bytes()]),
    "zip": (_target(archives.zip_members, "a.zip"), [saving.wacz_bytes()]),
    "gzip": (_target(archives.gzip_members, "a.gz"), [gzip.compress(b"title")]),
}


def main() -> None:
    chosen, seeds = TARGETS[sys.argv.pop(1)]
    corpus = Path(tempfile.mkdtemp(prefix="fuzz-"))
    for number, seed in enumerate(seeds):
        (corpus / str(number)).write_bytes(seed)
    atheris.Setup([*sys.argv, str(corpus)], chosen)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
