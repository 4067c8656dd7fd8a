"""Every file of a folder is read, taken as a part of a listing, or named with a reason."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from urllib.parse import unquote_to_bytes

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.errors import UserError
from extractors.records import Listing
from tests.hostile.make_hostile import make
from tests.triage.readers.saving import SAVES, photo
from triage.containment import Supervisor
from triage.readers.folder import Reading, cleaned, list_files, read_folder, read_pictures
from triage.readers.grouping import begins_with, make_plan
from triage.readers.source import Unreadable, join_member, locate, path_text, split_member


def read(root: Path) -> Reading:
    with Supervisor(0) as supervisor:
        return read_folder(root, supervisor)


def named(reading: Reading) -> dict[str, str]:
    return {problem.source: problem.what for problem in reading.problems}


# --- what is not a folder of listings --------------------------------------------------------


def test_missing_folder_is_a_user_error(tmp_path: Path) -> None:
    with pytest.raises(UserError):
        read(tmp_path / "none")


def test_empty_folder_is_a_user_error(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="empty"):
        read(tmp_path)


def test_folder_of_something_else_names_every_file(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("Dear Anna,\n\nthe weather is fine.\n")
    (tmp_path / "table.csv").write_text("name,age\nAnna,12\n")
    (tmp_path / "package.json").write_text('{"name": "left-pad", "version": "1"}')
    (tmp_path / "program.bin").write_bytes(bytes(range(256)))
    (tmp_path / "empty.html").write_bytes(b"")
    reading = read(tmp_path)
    assert reading.listings == ()
    assert set(named(reading)) == {p.name for p in tmp_path.iterdir()}


def test_what_a_system_puts_into_folders_is_passed_over(tmp_path: Path) -> None:
    SAVES["JSON"](tmp_path)
    (tmp_path / ".DS_Store").write_bytes(b"\0\0\0\1Bud1")
    (tmp_path / "Thumbs.db").write_bytes(b"\xd0\xcf\x11\xe0" + bytes(500))
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "desktop.ini").write_text("[ViewState]")
    (tmp_path / "deep" / "._a.html").write_bytes(b"\0\5\x16\7")
    reading = read(tmp_path)
    assert (len(reading.listings), reading.problems) == (1, ())


def test_one_file_may_be_given(tmp_path: Path) -> None:
    SAVES["JSON Lines"](tmp_path)
    SAVES["CSV"](tmp_path)
    reading = read(tmp_path / "l.jsonl")
    assert [one.source for one in reading.listings] == ["l.jsonl"]
    assert len(reading.listings[0].photos) == 2


# --- links, pipes, names ---------------------------------------------------------------------

needs_links = pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")


@needs_links
def test_links_and_pipes_are_named_and_not_followed(tmp_path: Path) -> None:
    secret = tmp_path / "outside.txt"
    secret.write_text("Title: secret\nPrice: 1\nSeller: x\n")
    root = tmp_path / "in"
    root.mkdir()
    SAVES["JSON"](root)
    (root / "link.txt").symlink_to(secret)
    (root / "folder").symlink_to(tmp_path)
    (root / "loop").symlink_to(root)
    os.mkfifo(root / "pipe.html")
    reading = read(root)
    assert [one.source for one in reading.listings] == ["l.json"]
    assert set(named(reading)) == {"link.txt", "folder", "loop", "pipe.html"}


@needs_links
@pytest.mark.parametrize(
    "path", ["../x", "/etc/passwd", "a/../../x", "link", "folder/x", "", ".", "a//x", "x\0", "pipe"]
)
def test_nothing_outside_is_located(path: str, tmp_path: Path) -> None:
    (tmp_path / "x").write_text("secret")
    root = tmp_path / "in"
    (root / "a").mkdir(parents=True)
    (root / "link").symlink_to(tmp_path / "x")
    (root / "folder").symlink_to(tmp_path)
    os.mkfifo(root / "pipe")
    with pytest.raises(Unreadable):
        locate(root, path)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems keep names in Unicode")
@pytest.mark.parametrize(
    "name", [b"\xff\xfe", b"50%", b"%FF", "größe".encode(), b"a\nb", b"CON.", b"!"]
)
def test_any_name_is_read_and_written_as_text(name: bytes, tmp_path: Path) -> None:
    folder = os.fsencode(tmp_path) + b"/" + name
    os.mkdir(folder)
    SAVES["JSON"](Path(os.fsdecode(folder)))
    (listing,) = read(tmp_path).listings
    assert listing.source.encode("utf-8")
    assert len(listing.photos) == 2
    assert locate(tmp_path, listing.source).is_file()


@given(st.lists(st.text(max_size=20), min_size=1, max_size=4))
def test_member_notation_comes_back(steps: list[str]) -> None:
    member = None
    for step in steps:
        member = join_member(member, step)
    assert split_member(member) == tuple(steps)


@given(st.text(max_size=80))
def test_located_paths_stay_below(path: str) -> None:
    root = Path(__file__).parent
    try:
        found = locate(root, path)
    except Unreadable:
        return
    assert found.resolve().is_relative_to(root.resolve())


def test_bytes_that_are_no_utf8_are_percent_encoded() -> None:
    assert path_text(os.fsdecode(b"a/\xff.html")) == "a/%FF.html"
    assert path_text("50% off.html") == "50% off.html"


@given(st.lists(st.sampled_from([b"%", b"25", b"FF", b"C3%A9", b"\xff", b"a"]), max_size=8))
def test_each_path_has_a_text_of_its_own(pieces: list[bytes]) -> None:
    raw = b"".join(pieces)
    text = path_text(os.fsdecode(raw))
    assert raw in (text.encode(), unquote_to_bytes(text))
    assert (text.encode() == raw) == (path_text(text) == text)


def test_names_that_differ_in_undecodable_bytes_are_both_read(tmp_path: Path) -> None:
    names = [b"a\xff.html", b"a%FF.html", b"a%25FF.html"]
    for name in names:
        (tmp_path / os.fsdecode(name)).write_bytes(name)
    root, shown, _ = list_files(tmp_path)
    assert sorted(locate(root, name).read_bytes() for name in shown) == sorted(names)


# --- what belongs together -------------------------------------------------------------------


def beside(*names: str) -> dict[str, tuple[str, ...]]:
    return dict(make_plan(names).beside)


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (("a.txt", "a_1.jpg", "a_2.jpg", "a_10.jpg"),
         {"a.txt": ("a_1.jpg", "a_2.jpg", "a_10.jpg")}),
        (("a1.txt", "a12.txt", "a1_1.jpg", "a12_1.jpg", "a12.jpg"),
         {"a1.txt": ("a1_1.jpg",), "a12.txt": ("a12.jpg", "a12_1.jpg")}),
        (("x/note.txt", "x/front.jpg", "x/more/b.png"),
         {"x/note.txt": ("x/front.jpg", "x/more/b.png")}),
        (("x/note.txt", "x/front.jpg", "x/list.csv"), {}),
        (("a.txt", "b.txt", "a/1.jpg", "b photos/1.jpg", "c.jpg"),
         {"a.txt": ("a/1.jpg",), "b.txt": ("b photos/1.jpg",)}),
        (("A.TXT", "a (1).JPG"), {"A.TXT": ("a (1).JPG",)}),
        (("x.jpg", "y.jpg"), {}),
    ],
)  # fmt: skip
def test_pictures_go_with_their_text(
    names: tuple[str, ...], expected: dict[str, tuple[str, ...]]
) -> None:
    assert beside(*names) == expected


@pytest.mark.parametrize(
    ("folder", "waits"),
    [
        ("lamp_files", True), ("lamp-Dateien", True), ("lamp_fichiers", True), ("lamp.files", True),
        ("lamp_archivos", True), ("lamp", True), ("lamp 2", False), ("lamps", False),
        ("other", False),
    ],
)  # fmt: skip
def test_folder_named_after_a_page_waits_for_it(folder: str, waits: bool) -> None:
    plan = make_plan(["lamp.html", f"{folder}/frame.html", f"{folder}/deep/data.json"])
    assert (f"{folder}/frame.html" in plan.later) is waits
    assert (f"{folder}/deep/data.json" in plan.later) is waits


def test_page_in_a_folder_that_its_namesake_does_not_use_is_read(tmp_path: Path) -> None:
    SAVES["page in one file"](tmp_path)
    (tmp_path / "page").mkdir()
    other = (tmp_path / "page.html").read_bytes().replace(b"40221", b"50331")
    (tmp_path / "page" / "other.html").write_bytes(other)
    assert [one.source for one in read(tmp_path).listings] == ["page.html", "page/other.html"]


@given(st.text(min_size=1, max_size=12), st.text(max_size=12))
def test_names_begin_with_themselves(stem: str, rest: str) -> None:
    assert begins_with(f"{stem}.jpg", stem)
    if begins_with(stem + rest, stem):
        assert (stem + rest).startswith(stem)


def test_many_notes_and_pictures_are_grouped_quickly() -> None:
    names = [f"note{n}.txt" for n in range(20_000)]
    pictures = [f"note{n}_1.jpg" for n in range(20_000)]
    plan = make_plan([*names, *pictures])
    assert plan.beside["note19999.txt"] == ("note19999_1.jpg",)


# --- bare pictures ---------------------------------------------------------------------------


def test_bare_pictures_are_found_by_content(tmp_path: Path) -> None:
    (tmp_path / "b.dat").write_bytes(photo(1))
    (tmp_path / "a.jpg").write_bytes(photo(2))
    (tmp_path / "c.jpg").write_bytes(b"no picture at all")
    with Supervisor(0) as supervisor:
        pictures, problems = read_pictures(tmp_path, supervisor)
    assert [p.path for p in pictures] == ["a.jpg", "b.dat"]
    assert problems == ()


# --- text ------------------------------------------------------------------------------------


@given(st.text(st.characters(), max_size=60))
def test_cleaned_text_keeps_its_length_and_can_be_shown(text: str) -> None:
    listing = cleaned(Listing("x", "a", title=text, specifics=((text, text),)))
    assert len(listing.title) == len(text)
    assert listing.title.encode("utf-8").decode("utf-8") == listing.title
    assert not set(listing.title) & {chr(c) for c in range(32)} - {"\n", "\t"}
    assert listing.specifics == ((listing.title, listing.title),)


# --- hostile files ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def honest(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("honest")
    for number, save in enumerate(SAVES.values()):
        (root / f"h{number}").mkdir()
        save(root / f"h{number}")
    return root


@pytest.mark.slow
def test_survivors_read_as_if_the_others_were_not_there(honest: Path) -> None:
    with Supervisor(2, [honest], time_limit_s=5) as supervisor:
        before = read_folder(honest, supervisor)
        make(honest / "x")
        after = read_folder(honest, supervisor)
    mine = [one for one in after.listings if not one.source.startswith("x/")]
    assert mine == list(before.listings)
    assert [p for p in after.problems if not p.source.startswith("x/")] == list(before.problems)
    told = {p.source for p in after.problems} | {one.source for one in after.listings}
    told |= {photo.path for one in after.listings for photo in one.photos}
    assert all(
        any(t == name or name.startswith(t + "/") for t in told) for name in files(honest / "x")
    )


def files(root: Path) -> list[str]:
    found = []
    for folder, _, names in os.walk(root):
        for name in names:
            relative = os.path.relpath(os.path.join(folder, name), root.parent)
            found.append(path_text(relative).replace(os.sep, "/"))
    return found


def _change(path: Path) -> None:
    path.write_bytes(b"changed")


def _vanish(path: Path) -> None:
    path.unlink()


@pytest.mark.parametrize("meddle", [_vanish, _change])
def test_files_that_go_or_change_on_the_way_are_named(
    meddle: Callable[[Path], None], tmp_path: Path
) -> None:
    for n in range(40):
        (tmp_path / f"{n:02}.json").write_text(f'{{"title": "x", "id": "{n}"}}')
    done = []

    def on_count(count: int, total: int) -> None:
        if count == 1 and not done:
            done.append(meddle(tmp_path / "39.json"))

    with Supervisor(0) as supervisor:
        reading = read_folder(tmp_path, supervisor, on_count)
    assert len(reading.listings) == 39
    assert set(named(reading)) == {"39.json"}
