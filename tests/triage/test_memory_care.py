"""The care of the memory: photos that are kept, repair, forgetting, catalogue pictures, lots."""

from __future__ import annotations

import hashlib
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import textwrap
import time
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from extractors.errors import UserError
from extractors.records import Listing, Photo
from models.records import Assessment, Finding
from triage.cli import main
from triage.journal import outcome_body
from triage.mending import repair
from triage.migrations import MIGRATIONS, now
from triage.review import Week
from triage.store import Store, open_store
from triage.workspace import Workspace

ROOT = Path(__file__).parents[2]


def _week(place: Path, name: str, *listings: dict[str, object]) -> Path:
    (place / name).mkdir()
    lines = "".join(json.dumps(x) + "\n" for x in listings)
    (place / name / "all.jsonl").write_text(lines, encoding="utf-8")
    return place / name


def _listing(number: int, **more: object) -> dict[str, object]:
    return {
        "listing_id": f"5500{number}", "url": f"https://stallrow.example/i/5500{number}",
        "title": f"Ostelino Bruma, drawer {number}", "description": f"Five barrels, box {number}.",
        "seller_name": f"stall {number}", "price": "80", "currency": "EUR", "ended": False,
        "date_saved": "2026-11-20", **more,
    }  # fmt: skip


def _picture(place: Path, seed: int) -> str:
    rng = random.Random(seed)
    small = Image.frombytes("RGB", (9, 7), rng.randbytes(189))
    small.resize((180, 140), Image.Resampling.BICUBIC).save(place / f"p{seed}.png")
    return f"p{seed}.png"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder of two listings with a photo each, remembered as a review does."""
    week = _week(tmp_path, "week", _listing(1, photos=["p1.png"]), _listing(2, photos=["p2.png"]))
    listings = []
    for seed in (1, 2):
        name = _picture(week, seed)
        sha = hashlib.sha256((week / name).read_bytes()).hexdigest()
        listings.append(
            Listing(
                f"frame-{seed}", "all.jsonl", title=f"Ostelino Bruma, drawer {seed}", line=seed,
                seller_name=f"stall {seed}", photos=(Photo(name, None, sha),), ended=False,
                url=f"https://stallrow.example/i/5500{seed}", date_saved="2026-11-20",
            )
        )  # fmt: skip
    with Workspace(tmp_path / "memory.db") as space:
        (folder,) = space.add_weeks([Week(str(week), str(week), listings, {})])
        conflict = Finding("points", "badge", "conflicts", "hard", "another badge")
        seen = Assessment(
            "", 0.3, (0.1, 0.6), -0.85, (), 0.5, "ask", "why", "halm", findings=(conflict,)
        )
        space.store.add_assessments(folder, [replace(seen, id=x.id) for x in listings], "none")
    return tmp_path


def _run(place: Path, *words: str, code: int = 0) -> None:
    kept = ["--memory", str(place / "memory.db"), "--cache", str(place / "cache")]
    assert main([*words, *kept]) == code


def _kept(place: Path) -> list[Path]:
    return sorted((place / "memory photos").glob("??/*"))


# --- photos ------------------------------------------------------------------------------------


def test_photos_of_a_watched_piece_survive_its_folder(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _run(place, "watch", "1")
    assert "Photos copied beside the memory: 1" in capsys.readouterr().err
    assert len(_kept(place)) == 1
    shutil.rmtree(place / "week")
    _run(place, "memory", "verify")
    assert "1 photo of other listings is no longer where saved" in capsys.readouterr().err


def test_a_photo_that_is_gone_is_said(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.rmtree(place / "week")
    _run(place, "next", "write", "2")
    told = capsys.readouterr().err
    assert "no longer where they were saved" in told
    assert ".png" in told
    assert not _kept(place)
    _run(place, "memory", "verify", code=1)
    assert "is gone and was not kept" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["note", "ask him", "1"], ["watch", "--off", "1"]])
def test_what_decides_nothing_copies_nothing(place: Path, words: list[str]) -> None:
    _run(place, *words)
    assert not _kept(place)


# --- repair ------------------------------------------------------------------------------------


def test_repair_saves_into_a_new_file_and_leaves_the_damaged_one(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _run(place, "note", "the hinge is loose", "1")
    file = place / "memory.db"
    with Workspace(file) as space:
        space.store._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    with sqlite3.connect(file) as db:
        (page,) = db.execute("SELECT rootpage FROM sqlite_master WHERE name = 'photo'").fetchone()
    db.close()
    data = bytearray(file.read_bytes())
    data[(page - 1) * 4096 : page * 4096] = bytes(4096)
    file.write_bytes(data)
    _run(place, "memory", "verify", code=1)
    assert len(capsys.readouterr().out.splitlines()) <= 12
    _run(place, "memory", "repair", str(place / "new.db"), code=1)
    assert file.read_bytes() == bytes(data)
    with Workspace(place / "new.db") as space:
        assert space.verify() == ()
        assert [e.body for e in space.entries()] == [{"text": "the hinge is loose"}]
        assert len(space.store.snapshots(space.latest())) == 2
    _run(place, "memory", "repair", str(place / "new.db"), code=2)


def test_a_sound_memory_is_repaired_into_an_equal_one(place: Path) -> None:
    _run(place, "watch", "1-2")
    repair(place / "memory.db", place / "new.db")
    with open_store(place / "memory.db") as old, open_store(place / "new.db") as new:
        assert list(new.dump()) == list(old.dump())


def test_what_holds_nothing_is_no_repair(tmp_path: Path) -> None:
    (tmp_path / "memory.db").write_bytes(bytes(5000))
    with pytest.raises(UserError, match="Nothing can be read"):
        repair(tmp_path / "memory.db", tmp_path / "new.db")
    assert not (tmp_path / "new.db").exists()


def test_a_damaged_memory_says_how_to_repair_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "memory.db").write_bytes(b"x" * 5000)
    _run(tmp_path, "watch", "1", code=2)
    assert "memory repair" in capsys.readouterr().err


_ENTERED = [
    ("UPDATE snapshot SET record = 'no JSON'", "snapshot 1: its record cannot be read"),
    ("UPDATE snapshot SET record = '[1]'", "snapshot 1: its record cannot be read"),
    ("UPDATE assessment SET record = '{}'", "assessment 1: its record cannot be read"),
    ("UPDATE entry SET body = 'x'", "entry 1: its body cannot be read"),
]


@pytest.mark.parametrize(("statement", "told"), _ENTERED)
def test_a_record_that_cannot_be_read_is_told_as_damage(
    statement: str, told: str, place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _run(place, "note", "the hinge is loose", "1")
    with sqlite3.connect(place / "memory.db") as db:
        db.execute(statement)
    db.close()
    capsys.readouterr()
    _run(place, "memory", "verify", code=1)
    assert told in capsys.readouterr().out
    _run(place, "memory", "export", str(place / "export"), code=2)
    message, hint = capsys.readouterr().err.splitlines()
    assert message.startswith(f"The memory {place / 'memory.db'} is damaged: ")
    assert "triage memory repair NEW-FILE" in hint
    repair(place / "memory.db", place / "new.db")
    with Workspace(place / "new.db") as space:
        assert space.verify() == ()


def test_a_damaged_page_is_told_as_damage(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = place / "memory.db"
    with Workspace(file) as space:
        space.store._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    with sqlite3.connect(file) as db:
        pages = db.execute("SELECT rootpage FROM sqlite_master WHERE name IN ('folder', 'entry')")
        damaged = [page for (page,) in pages]
    db.close()
    data = bytearray(file.read_bytes())
    for page in damaged:
        data[(page - 1) * 4096 : page * 4096] = bytes(4096)
    file.write_bytes(data)
    for words in (("watch", "1"), ("entries",), ("memory", "export", str(place / "export"))):
        capsys.readouterr()
        _run(place, *words, code=2)
        assert "is damaged: " in capsys.readouterr().err.splitlines()[0]
    _run(place, "memory", "verify", code=1)


# --- forgetting --------------------------------------------------------------------------------

MINE = Listing("1", "1.html", title="One", seller_name="Orsolya Veldt", seller_id="rosewood")
OTHER = Listing(
    "2", "2.html", title="Two", description="Better than Orsolya Veldt's; the case is rosewood.",
    answers=("I know ORSOLYA VELDT.",), seller_name="else",
)  # fmt: skip


@pytest.mark.parametrize("everywhere", [False, True])
def test_a_forgotten_name_is_covered_where_others_wrote_it(
    everywhere: bool, tmp_path: Path
) -> None:
    path = tmp_path / "memory.db"
    with Workspace(path) as space:
        space.add_week("one", [MINE, OTHER], {})
        (other,) = (c for c in space.choose(["2"]) if c.snapshot.listing.id == "2")
        space.enter("note", [other], {"text": "asked orsolya veldt too"})
        told = space.forget_seller("Orsolya Veldt", everywhere)
        assert (told.snapshots, told.covered) == (1, 2)
        assert told.standing == (0 if everywhere else 1)
        (left,) = space.store.snapshots(space.latest())
        assert left.listing.description.startswith("Better than █████████████'s")
        assert ("rosewood" in left.listing.description) is not everywhere
    everything = b"".join(p.read_bytes() for p in tmp_path.iterdir() if p.is_file()).lower()
    assert b"orsolya" not in everything
    assert (b"rosewood" in everything) is not everywhere


def test_forgetting_takes_the_cache_and_backups_too(place: Path) -> None:
    (place / "memory.db.before-20260101T000000").write_bytes(b"stall 1")
    _run(place, "memory", "forget-seller", "stall 1")
    left = [p for p in place.rglob("*") if p.is_file() and place / "week" not in p.parents]
    assert not [p.name for p in left if b"stall 1" in p.read_bytes()]


# --- disputes, lots, catalogue pictures --------------------------------------------------------


def test_disputes_are_counted_beside_what_was_shown(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for why, number in (("seller's slip", "1"), ("misread", "2")):
        _run(place, "dispute", why, number, "--check", "points", "--point", "badge")
    _run(place, "undo")
    _run(place, "disputes")
    told = capsys.readouterr()
    assert told.out == "points: 1 disputed of 2 conflicts shown (seller's slip 1)\n"
    assert "1 dispute\n" in told.err


def test_a_look_drawn_by_lot_goes_with_the_outcome_by_itself(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = ["review", str(place / "week"), "--workers", "1", "--random-looks", "1"]
    (place / "memory.db").unlink()
    for _ in range(2):  # the same folder draws the same
        _run(place, *given)
    told = capsys.readouterr().out
    assert told.count("drawn by lot for a close look") == 2
    with Workspace(place / "memory.db") as space:
        drawn = space.store.drawn()
        assert list(drawn.values()) == [0.5]
        space.enter("outcome", space.choose(["1-2"]), outcome_body("as described"))
        assert sorted(o.probability or 0 for o in space.outcomes()) == [0, 0.5]


def test_catalogue_pictures_are_named_and_tell_no_pieces_apart(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (place / "book").mkdir()
    _picture(place / "book", 1)
    _run(place, "memory", "catalogue", str(place / "book"), "--name", "Spring book")
    assert "1 new picture known as Spring book" in capsys.readouterr().err
    _run(place, "memory", "catalogue", str(place / "book"), "--name", "Spring book")
    assert "0 new" in capsys.readouterr().err
    week = _week(place, "later", _listing(7, photos=["p1.png"], date_saved="2026-11-27"))
    _picture(week, 1)
    _run(place, "review", str(week), "--workers", "1")
    told = capsys.readouterr().out
    assert "shows a picture of Spring book" in told
    assert "Is this the same piece" not in told
    _run(place, "memory", "catalogue", str(place / "book"), "--name", "Spring book", "--off")
    assert "1 picture of Spring book known no longer" in capsys.readouterr().err


def test_a_picture_another_seller_showed_weeks_ago_is_found(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    later = _listing(7, photos=["p1.png"], date_saved="2026-12-04", title="Mirovale Ash")
    week = _week(place, "later", later)
    _picture(week, 1)
    _run(place, "review", str(week), "--workers", "1", "--quiet")
    with Workspace(place / "memory.db") as space:
        (snapshot,) = space.store.snapshots(space.latest())
        seen = space.store.assessment(snapshot.id)
    assert seen is not None
    (finding,) = (f for f in seen[1].findings if f.check == "photo_reuse")
    assert "also shown by 1 other seller" in finding.why
    assert "saved 2026-11-20" in finding.why


# --- migrations and full disks -----------------------------------------------------------------


def _released(path: Path, steps: int) -> None:
    """A store as a release with so many steps left it, with an entry in it."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("CREATE TABLE migration (name TEXT PRIMARY KEY, made_at TEXT NOT NULL)")
    for step in MIGRATIONS[:steps]:
        for statement in step.statements:
            db.execute(statement)
        db.execute("INSERT INTO migration VALUES (?, ?)", (step.name, now()))
    record = '{"id":"1","source":"1.html","title":"One"}'
    db.execute(
        "INSERT INTO folder (digest, path, saved_at, read_at) VALUES ('d','w','2026','2026')"
    )
    db.execute(
        "INSERT INTO snapshot (folder_id, listing, source, ended, record)"
        " VALUES (1, '1', '1.html', 0, ?)", (record,),
    )  # fmt: skip
    db.execute(
        "INSERT INTO entry (made_at, batch, kind, snapshot_id, body)"
        " VALUES ('2026-01-01', 'b', 'note', 1, '{\"text\": \"kept\"}')"
    )
    db.close()


@pytest.mark.parametrize("steps", range(1, len(MIGRATIONS) + 1))
def test_a_store_of_every_released_schema_is_brought_up_to_date(steps: int, tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    _released(path, steps)
    with open_store(path) as store:
        assert [e.body["text"] for e in store.entries()] == ["kept"]
        assert store.check() == ()
        (folder,) = store.folders()
        assert [s.listing.title for s in store.snapshots(folder)] == ["One"]
    backups = list(tmp_path.glob("memory.db.before-*"))
    assert len(backups) == (steps < len(MIGRATIONS))
    for backup in backups:
        with sqlite3.connect(backup) as db:
            assert db.execute("SELECT count(*) FROM entry").fetchone() == (1,)
        db.close()


MIGRATE = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    from triage.store import open_store
    print("begun", flush=True)
    open_store(Path(sys.argv[1])).__exit__()
    print("done", flush=True)
    """
)


@pytest.mark.slow
def test_killed_while_migrating_nothing_is_lost(tmp_path: Path) -> None:
    rng = random.Random(3)
    stopped = 0
    for number in range(int(os.environ.get("TRIAGE_KILLS", "20"))):
        path = tmp_path / f"{number}.db"
        _released(path, 1 + number % (len(MIGRATIONS) - 1))
        process = subprocess.Popen(
            [sys.executable, "-c", MIGRATE, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        assert process.stdout is not None
        assert process.stdout.readline() == "begun\n"
        time.sleep(rng.random() * 0.02)
        process.send_signal(signal.SIGKILL)
        stopped += process.stdout.read() != "done\n"
        process.wait()
        process.stdout.close()
        with open_store(path) as store:
            assert [e.body["text"] for e in store.entries()] == ["kept"]
            assert store.check() == ()
        for backup in tmp_path.glob(f"{number}.db.before-*[0-9]"):
            with sqlite3.connect(backup) as db:
                assert db.execute("SELECT count(*) FROM entry").fetchone() == (1,)
            db.close()
    assert stopped, "the kills came too late to show anything"


def test_a_full_disk_is_said_and_harms_nothing(tmp_path: Path) -> None:
    with open_store(tmp_path / "memory.db") as store:
        folder = _add(store, [MINE])
        (size,) = store._db.execute("PRAGMA page_count").fetchone()
        store._db.execute(f"PRAGMA max_page_count = {size}")
        many = [replace(OTHER, id=f"{n}", description="word " * 300) for n in range(50)]
        with pytest.raises(UserError, match="disk is full; nothing was changed"):
            _add(store, many)
        store._db.execute("PRAGMA max_page_count = 100000")
        assert [s.listing for s in store.snapshots(folder)] == [MINE]
        assert store.folders() == (folder,)
        assert store.check() == ()


def _add(store: Store, listings: list[Listing]):  # type: ignore[no-untyped-def]
    looks = {p.sha256: bytes(32) for x in listings for p in x.photos}
    return store.add_folder("week", "2026-01-01", listings, looks)[0]


def test_a_photo_without_a_look_is_matched_by_its_bytes() -> None:
    one = replace(MINE, photos=(Photo("a.jpg", None, "a" * 64),))
    with open_store(None) as store:
        _add(store, [one])
        assert store.near_photos("b" * 64, 10) == ()


# --- pointing at many, taking back many, what was seen -------------------------------------------


@pytest.mark.parametrize(
    ("word", "count"),
    [
        ("all", 2),
        ("state:new", 2),
        ("group:ask", 2),
        ("words:DRAWER 2", 1),
        ("is:watched", 1),
        ("is:due", 1),
        ("reference:halm", 2),
    ],
)
def test_listings_are_named_by_a_filter(place: Path, word: str, count: int) -> None:
    _run(place, "watch", "1")
    _run(place, "next", "pass", "2", "--due", "2026-12-01")
    with Workspace(place / "memory.db") as space:
        assert len(space.choose([word])) == count
        with pytest.raises(UserError, match="fits no listing"):
            space.choose(["state:sold"])


def test_several_batches_are_taken_back_at_once(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in ("1", "2"):
        _run(place, "watch", number)
    batches = [line.split()[-1] for line in capsys.readouterr().err.splitlines() if "undo" in line]
    _run(place, "undo", *batches)
    assert capsys.readouterr().err.count("Taken back: 1") == 2


def test_an_entry_keeps_the_rank_and_versions_the_buyer_saw(place: Path) -> None:
    with Workspace(place / "memory.db") as space:
        folder = space.latest()
        sheet = space.store.keep_version("sheet", '{"id": "halm"}')
        seen = space.store.assessment(space.store.snapshots(folder)[0].id)
        assert seen is not None
        space.store.add_assessments(folder, [seen[1]], "w", {"halm": sheet})
        space.enter("note", space.choose(["1"]), {"text": "seen"})
        (entry,) = space.entries()
        assert (entry.rank, entry.weights, entry.sheet) == (1, "w", sheet)
        assert space.store.version(sheet) == '{"id": "halm"}'
        assert json.loads(entry.seen or "")["interval"] == [0.1, 0.6]


def test_evidence_photos_are_kept_with_an_outcome(place: Path, tmp_path: Path) -> None:
    _picture(tmp_path, 9)
    _run(place, "outcome", "misdescribed", "1", "--photo", str(tmp_path / "p9.png"))
    with Workspace(place / "memory.db") as space:
        (photo,) = space.evidence_photos()
        assert space.is_kept(photo)
        space.forget_before("2020-01-01")
        assert space.is_kept(photo)
    _run(place, "outcome", "misdescribed", "1", "--photo", str(tmp_path / "none.png"), code=2)


def test_a_merge_nobody_asked_about_can_be_taken_apart(place: Path) -> None:
    with Workspace(place / "memory.db") as space:
        before = [replace(s.listing, photos=()) for s in space.store.snapshots(space.latest())]
        week = [replace(x, price=None, date_saved="2026-11-27") for x in before]
        (folder,) = space.add_weeks([Week("later", "later", week, {})])
        seen = Assessment("", 0.3, (0.1, 0.6), -0.85, (), 0.5, "ask", "why")
        space.store.add_assessments(folder, [replace(seen, id=x.id) for x in week], "none")
        assert {r.state for r in space.review(folder)} == {"unchanged"}
        (chosen,) = space.choose([week[0].id])
        space.answer(chosen, is_same=False)
        states = {r.id: r.state for r in space.review(folder) if r.state != "not_seen"}
        assert states[week[0].id] == "new"
        space.undo()
        assert {r.state for r in space.review(folder)} == {"unchanged"}
        with pytest.raises(UserError, match="does not ask"):
            space.answer(chosen, is_same=True)
