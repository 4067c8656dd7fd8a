"""A record of a crawl that is damaged or a bomb costs itself alone, and says no more than is so."""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import brotli
import pytest

from extractors.records import Problem
from tests.triage.readers.saving import URL, page
from tests.triage.readers.test_web_archives import PAGE, records
from triage.containment import Supervisor
from triage.readers import reading, warc
from triage.readers.folder import Reading, read_folder
from triage.readers.source import ReadResult, Source, Unreadable

BOMB = b"\0" * (150 << 20)
PACK: dict[str, Callable[[bytes], bytes]] = {
    "br": lambda data: brotli.compress(data, quality=5),
    "gzip": gzip.compress,
    "deflate": zlib.compress,
}
OTHER = ("https://shop.example/b", "text/html", b"<p>another page</p>")


def read_contained(root: Path, name: str, data: bytes) -> Reading:
    """Read in a worker of the smallest memory that may be set."""
    (root / name).write_bytes(data)
    with Supervisor(1, [root], memory_mb=96, time_limit_s=240) as supervisor:  # a busy machine
        return read_folder(root, supervisor)


def honest(number: int) -> bytes:
    html = page([]).replace(URL.encode(), f"https://shop.example/itm/{number}".encode())
    return records((f"https://shop.example/itm/{number}", "text/html", html))


@pytest.mark.parametrize("coding", list(PACK))
def test_a_bomb_hides_only_its_own_record(tmp_path: Path, coding: str) -> None:
    packed = PACK[coding](BOMB)
    bomb = records(
        ("https://shop.example/x", "text/html", packed), headers=[("Content-Encoding", coding)]
    )
    read = read_contained(tmp_path, "crawl.warc", honest(1) + bomb + honest(2))
    assert len(read.listings) == 2
    (problem,) = read.problems
    assert (problem.source, problem.member) == ("crawl.warc", "record:1")
    assert "more than is plausible" in problem.what


@pytest.mark.parametrize(
    ("head", "size"),
    [
        (b"no record\r\n", 0),
        (b"no record\r\n", len(BOMB)),
        (b"", len(BOMB)),
        (b"WARC/1.1\r\n", len(BOMB)),
    ],
)
def test_a_packed_record_that_is_damaged_hides_only_itself(
    tmp_path: Path, head: bytes, size: int
) -> None:
    hostile = head + BOMB[:size]
    data = b"".join(gzip.compress(one, 6) for one in (honest(1), hostile, honest(2)))
    read = read_contained(tmp_path, "crawl.warc.gz", data)
    assert len(read.listings) == 2
    (problem,) = read.problems
    assert problem.member == "record:1"
    assert problem.do.endswith("the rest was read")


def test_a_picture_after_a_damaged_record_keeps_its_number() -> None:
    parts = (records(PAGE), b"no record\r\n", records(OTHER))
    data = b"".join(map(gzip.compress, parts))
    source = Source(Path("/x"), "a.warc.gz", content=data)
    found = [one for one in warc.members(source) if isinstance(one, Source)]
    assert [one.member for one in found] == ["record:0", "record:2"]
    assert warc.opener(source)("record:2") == OTHER[2]
    with pytest.raises(Unreadable):
        warc.opener(source)("record:1")


def test_damage_without_an_end_does_not_say_that_the_rest_was_read() -> None:
    data = records(PAGE) + b"nothing that is a record\r\n\r\n" + records(OTHER)
    found = list(warc.members(Source(Path("/x"), "a.warc", content=data)))
    (problem,) = [one for one in found if isinstance(one, Problem)]
    assert "the rest was read" not in problem.do


@pytest.mark.parametrize(
    ("given", "do"),
    [(0, "save it again; the rest was read"), (2, "save it again; what follows in it is missing")],
)
def test_a_file_that_fails_midway_is_told_to_be_cut_short(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, given: int, do: str
) -> None:
    def results(*_: object) -> Iterator[ReadResult]:
        yield from [ReadResult()] * given
        raise RuntimeError

    monkeypatch.setattr(reading, "_results", results)
    (tmp_path / "offers.jsonl").write_text("{}\n")
    with Supervisor(0) as supervisor:
        (problem,) = read_folder(tmp_path, supervisor).problems
    assert problem.do == do
