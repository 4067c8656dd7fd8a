"""Mailboxes give each of their mails; documents of other programs are named as what they are."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from tests.triage.readers.saving import FULL, page, photo
from tests.triage.readers.test_letters import message_of
from triage.containment import Supervisor
from triage.readers import mime
from triage.readers.folder import Reading, read_folder
from triage.readers.members import member_bytes
from triage.readers.source import Source

LINE = b"From anna@holm.example Tue Nov 24 09:00:00 2026\n"


def read(root: Path) -> Reading:
    with Supervisor(0) as supervisor:
        return read_folder(root, supervisor)


def box(*texts: str) -> bytes:
    mails = [
        message_of("Anna Holm <anna@holm.example>", f"Frame {n}", text, 1).as_bytes()
        for n, text in enumerate(texts)
    ]
    return b"\n".join(LINE + mail.rstrip(b"\n") + b"\n" for mail in mails)


def test_each_mail_of_a_mailbox_is_a_listing(tmp_path: Path) -> None:
    (tmp_path / "offers.mbox").write_bytes(box("46-24, 80 EUR", "48-22, 90 EUR", "50-20, 95 EUR"))
    reading = read(tmp_path)
    assert reading.problems == ()
    assert [listing.title for listing in reading.listings] == ["Frame 0", "Frame 1", "Frame 2"]
    for listing in reading.listings:
        (found,) = listing.photos
        assert member_bytes(tmp_path, found.path, found.member) == photo(0)


@pytest.mark.parametrize("memory_mb", [96, None])
def test_a_worker_of_any_size_reads_mailboxes_and_pages(
    tmp_path: Path, memory_mb: int | None
) -> None:
    (tmp_path / "offers.mbox").write_bytes(box("46-24, 80 EUR", "48-22, 90 EUR"))
    (tmp_path / "page.html").write_bytes(page(list(FULL)))
    with Supervisor(1, [tmp_path], memory_mb=memory_mb) as supervisor:
        reading = read_folder(tmp_path, supervisor)
    assert reading.problems == ()
    assert len(reading.listings) == 3


@pytest.mark.parametrize("piece", [7, 64, 333, 1000])
def test_where_a_mailbox_is_cut_for_reading_changes_nothing(
    piece: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = box("one\n\nFrom me", "two\n\n>From you", "three")
    whole = [mime.open_box_member(io.BytesIO(data), f"mail:{n}") for n in range(3)]
    monkeypatch.setattr(mime, "PIECE", piece)
    source = Source(Path("/x"), "a.mbox", content=data)
    members = [m for m in mime.box_members(source) if isinstance(m, Source)]
    assert [m.content for m in members] == whole


def test_from_within_a_text_parts_nothing(tmp_path: Path) -> None:
    data = box("From my collection, 46-24.\n\n>From 1960 on they were made in horn.")
    (tmp_path / "offers.mbox").write_bytes(data)
    (listing,) = read(tmp_path).listings
    assert listing.description.endswith("From 1960 on they were made in horn.")


@pytest.mark.parametrize(("name", "expected"), [("a.mbox", True), ("a", True), ("a.eml", False)])
def test_what_is_taken_for_a_mailbox(name: str, expected: bool) -> None:
    assert mime.can_open_box(box("text"), name) is expected
    assert not mime.can_open_box(b"From here on: 85 EUR\n\ntext", name)


@pytest.mark.parametrize(
    ("name", "data", "what"),
    [
        ("a.pdf", b"%PDF-1.7\n1 0 obj\n<< >>\nendobj\n", "PDF"),
        ("b.pdf", b"not one at all", "document"),
        ("a.rtf", b"{\\rtf1\\ansi Frame, 85 EUR}", "RTF"),
        ("a.doc", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "office"),
    ],
)
def test_document_is_named_as_what_it_is(tmp_path: Path, name: str, data: bytes, what: str) -> None:
    (tmp_path / name).write_bytes(data)
    (problem,) = read(tmp_path).problems
    assert what in problem.what
    assert "HTML" in problem.do


def test_packed_document_is_no_archive(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.docx", "w") as packed:
        packed.writestr("[Content_Types].xml", "<Types/>")
        packed.writestr("word/document.xml", "<w/>")
    (problem,) = read(tmp_path).problems
    assert (problem.member, "office document" in problem.what) == (None, True)
