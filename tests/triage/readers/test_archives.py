"""Zip and gzip, within limits."""

from __future__ import annotations

import gzip
import io
import json
import zipfile
from pathlib import Path

import pytest

from tests.hostile.make_hostile import link_zip, nested_zip
from tests.triage.readers.saving import RECORD, SAVES, photo, zip_bytes
from triage.containment import Supervisor
from triage.readers import archives, budget
from triage.readers.folder import Reading, read_folder
from triage.readers.limits import read_bounded
from triage.readers.reading import SourceReading
from triage.readers.source import ReadResult, Source, Unreadable


def read(root: Path) -> Reading:
    with Supervisor(0) as supervisor:
        return read_folder(root, supervisor)


def record(number: int) -> bytes:
    return json.dumps({**RECORD, "id": str(number), "photos": []}).encode()


def test_zip_in_a_zip(tmp_path: Path) -> None:
    inner = zip_bytes({"b.json": record(2)})
    (tmp_path / "a.zip").write_bytes(zip_bytes({"a.json": record(1), "deep/in.zip": inner}))
    reading = read(tmp_path)
    assert {one.member for one in reading.listings} == {"a.json", "deep/in.zip!b.json"}


def test_what_a_system_puts_into_a_zip_is_passed_over(tmp_path: Path) -> None:
    odd = {"__MACOSX/._a.json": b"\0\5\x16\7", ".DS_Store": b"\0\0\0\1Bud1"}
    (tmp_path / "a.zip").write_bytes(zip_bytes({"a.json": record(1), **odd}))
    reading = read(tmp_path)
    assert ([one.member for one in reading.listings], reading.problems) == (["a.json"], ())


def test_a_file_that_is_no_zip_but_by_its_first_bytes_is_damaged(tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(b"PK\3\4" + bytes(range(200)))
    assert [(p.what, p.do) for p in read(tmp_path).problems] == [
        ("is a damaged zip file", "copy it again")
    ]


def three_zips_of_three() -> bytes:
    pages = {f"{n}.json": record(n) for n in range(3)}
    return zip_bytes({f"{n}.zip": zip_bytes(pages) for n in range(3)})


def test_nested_archives_share_one_limit_of_members(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budget, "MAX_MEMBERS", 6)
    (tmp_path / "a.zip").write_bytes(three_zips_of_three())
    (tmp_path / "b.json").write_bytes(record(9))
    reading = read(tmp_path)
    members = [one.member for one in reading.listings]
    assert members == ["0.zip!0.json", "0.zip!1.json", "0.zip!2.json", "1.zip!0.json", None]
    (problem,) = reading.problems
    assert (problem.source, problem.member) == ("a.zip", None)
    assert problem.what == "holds too much: 6 of its parts were read, the rest was not"


def test_a_file_that_just_fits_is_read_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budget, "MAX_MEMBERS", 12)
    (tmp_path / "a.zip").write_bytes(three_zips_of_three())
    reading = read(tmp_path)
    assert (len(reading.listings), reading.problems) == (9, ())


@pytest.mark.parametrize(("limit", "most"), [("MAX_UNPACKED", 1), ("MAX_SECONDS", -1.0)])
def test_nested_archives_share_one_limit_of_bytes_and_time(
    limit: str, most: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budget, limit, most)
    (tmp_path / "a.zip").write_bytes(three_zips_of_three())
    reading = read(tmp_path)
    assert reading.listings == ()
    assert [p.member for p in reading.problems] == [None]


def test_time_of_earlier_passes_counts() -> None:
    source = Source(Path("/x"), "a.zip", content=three_zips_of_three())
    steps = SourceReading(spent=budget.MAX_SECONDS + 1).steps(source)
    (problem,) = [p for s in steps if isinstance(s, ReadResult) for p in s.problems]
    assert problem.what.startswith("holds too much: 0 ")


def test_picture_that_no_listing_names_is_named(tmp_path: Path) -> None:
    files = {"x/a.json": record(1), "x/b.json": record(2), "x/loose.jpg": photo(1)}
    (tmp_path / "a.zip").write_bytes(zip_bytes(files))
    reading = read(tmp_path)
    assert [(p.source, p.member) for p in reading.problems] == [("a.zip", "x/loose.jpg")]


def test_damaged_member_costs_itself_alone(tmp_path: Path) -> None:
    data = bytearray(zip_bytes({"a.json": record(1) * 20, "b.json": record(2)}))
    data[60:90] = bytes(30)
    (tmp_path / "a.zip").write_bytes(data)
    reading = read(tmp_path)
    assert [one.member for one in reading.listings] == ["b.json"]
    assert [p.member for p in reading.problems] == ["a.json"]


def test_names_that_lead_out_are_left_out(tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(link_zip())
    reading = read(tmp_path)
    assert reading.listings == ()
    assert len(reading.problems) == 4


def test_archives_in_archives_end_somewhere(tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(nested_zip(20))
    (problem,) = read(tmp_path).problems
    assert "archives" in problem.what


def test_encrypted_member_is_named(tmp_path: Path) -> None:
    data = zip_bytes({"a.json": record(1)})
    for mark, at in ((b"PK\3\4", 6), (b"PK\1\2", 8)):  # APPNOTE 6.3.10, 4.4.4: bit 0
        where = data.index(mark) + at
        data = data[:where] + bytes([data[where] | 1]) + data[where + 1 :]
    (tmp_path / "a.zip").write_bytes(data)
    (problem,) = read(tmp_path).problems
    assert (problem.member, problem.what) == ("a.json", "is encrypted")


def test_bomb_is_refused_early() -> None:
    packed = gzip.compress(bytes(50_000_000))
    with pytest.raises(Unreadable, match="plausible"):
        archives.ungzip(io.BytesIO(packed))


def test_honest_compression_is_no_bomb() -> None:
    text = ("Lens 48 mm, bridge 21 mm. " * 200_000).encode()
    assert read_bounded(io.BytesIO(text), 1 << 30, len(text) // 150) == text


def test_large_unpacked_member_is_read_in_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archives, "LARGE", 10)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as made:
        made.writestr("first.bin", b"0" * 100)
        made.writestr("second.bin", b"123456789" * 10)
    archive = archives.Archive(out)
    opener = archive.opener("second.bin")
    assert opener is not None
    with opener() as file:
        assert file.read() == b"123456789" * 10
        assert file.seek(-9, io.SEEK_END) == 81
        assert file.read() == b"123456789"


@pytest.mark.parametrize("name", ["a.json.gz", "a.gz", "A.JSON.GZ"])
def test_gzip_of_one_file(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(gzip.compress(record(1)))
    (listing,) = read(tmp_path).listings
    assert listing.member == "ungzip"


def test_many_pages_with_their_folders(tmp_path: Path) -> None:
    files = {}
    SAVES["complete page"](tmp_path)
    for n in range(3):
        for path in sorted(tmp_path.rglob("*")):
            if path.is_file():
                data = path.read_bytes().replace(b"40221", str(50_000 + n).encode())
                files[f"week {n}/{path.relative_to(tmp_path).as_posix()}"] = data
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.zip").write_bytes(zip_bytes(files))
    reading = read(tmp_path / "in")
    assert len(reading.listings) == 3
    assert reading.problems == ()


def test_zip_without_anything_is_told() -> None:
    found = list(archives.zip_members(Source(Path("/x"), "a.zip", content=zip_bytes({}))))
    assert found == []


def test_member_without_a_name_costs_itself_alone(tmp_path: Path) -> None:  # found by fuzzing
    data = bytearray(zip_bytes({"x": b"text", "a.json": record(1)}))
    for mark, length, start in ((b"PK\3\4", 26, 30), (b"PK\1\2", 28, 46)):
        at = data.index(mark)
        data[at + length : at + length + 2] = b"\0\0"
        del data[at + start]
    end, second = data.rindex(b"PK\5\6"), data.rindex(b"PK\1\2")
    for at in (end + 12, end + 16, second + 42):  # sizes and offsets are one less now
        less = int.from_bytes(data[at : at + 4], "little") - 1
        data[at : at + 4] = less.to_bytes(4, "little")
    (tmp_path / "a.zip").write_bytes(data)
    reading = read(tmp_path)
    assert [one.member for one in reading.listings] == ["a.json"]
    assert [p.what for p in reading.problems] == ["has no name"]
