# ruff: noqa: E501 - the table of cases reads better unwrapped
"""The weekly review on simulated markets, and the store that remembers."""

from __future__ import annotations

import datetime
import sqlite3
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.errors import UserError
from extractors.records import Listing, Photo
from tests.evaluation.evaluate_review import STATES, score_market
from tests.evaluation.simulated_weeks import Week, simulate
from triage.changes import Change, find_changes, word_diff
from triage.migrations import MIGRATIONS
from triage.review import Reviewed, add_week, placed_before, relink, review, saved_time
from triage.store import Store, open_store
from triage.week import change_text


def _listing(name: str, **fields: object) -> Listing:
    base = Listing(
        id=name,
        source=f"{name}.html",
        title="Merrin glasses tortoise",
        description="lens 46 mm, bridge 22 mm",
        url=f"https://stallrow.example/item/{name}",
        seller_name="attic",
        price=Decimal(90),
        currency="GBP",
        ended=False,
        photos=(Photo("a.jpg", None, f"sha-{name}-1"), Photo("b.jpg", None, f"sha-{name}-2")),
    )
    return replace(base, **fields)  # type: ignore[arg-type]


def _two_weeks(store: Store, before: list[Listing], after: list[Listing]) -> dict[str, Reviewed]:
    add_week(store, "one", [replace(x, date_saved="2026-01-01") for x in before], {})
    folder = add_week(store, "two", [replace(x, date_saved="2026-01-08") for x in after], {})
    return {row.id: row for row in reversed(review(store, folder))}


@pytest.mark.parametrize("seed", [3, 104])
def test_simulated_market_is_read_rightly(seed: int) -> None:
    counts: Counter[tuple[str, str]] = Counter()
    score_market(simulate(seed, weeks=3), counts)
    for state in STATES:
        right, missed, wrong = (counts[state, k] for k in ("right", "missed", "wrong"))
        if right + missed >= 5:
            assert 2 * right / (2 * right + missed + wrong) >= 0.9, state
    assert counts["merge", "wrong"] == 0


SAME = _listing("1")
PHOTOS = SAME.photos
CASES = [
    ("nothing happened", SAME, SAME, "unchanged", ()),
    ("a price fell", SAME, replace(SAME, price=Decimal(80)), "changed", ("price",)),
    ("another way to write the price", SAME, replace(SAME, price=Decimal("90.00")), "unchanged", ()),
    ("a converted price", SAME, replace(SAME, price=Decimal(105), currency="EUR"), "unchanged", ()),
    ("it ended", SAME, replace(SAME, ended=True), "ended", ()),
    ("it sold", SAME, replace(SAME, ended=True, price_kind="sold"), "sold", ()),
    ("over, offered again", replace(SAME, ended=True), SAME, "back", ()),
    ("white space", SAME, replace(SAME, description="lens 46 mm,\n bridge  22 mm"), "unchanged", ()),
    ("pictures turned round", SAME, replace(SAME, photos=PHOTOS[::-1]), "changed", ("photos",)),
    ("number given to another item, same seller", SAME,
        _listing("1", title="brass telescope", description="a ship's glass", photos=(Photo("z", None, "z"),)), "new", ()),
    ("its end has passed", replace(SAME, ended=None, ends_at="2026-01-05"), replace(SAME, ended=None, ends_at="2026-01-05"), "ended", ()),
    ("its end is to come", replace(SAME, ended=None, ends_at="2026-01-08"), replace(SAME, ended=None, ends_at="2026-01-08"), "unchanged", ()),
    ("the page for small screens", SAME, replace(SAME, url="https://m.stallrow.example/item/1?x=2"), "unchanged", ()),
    ("the title in the address rewritten", replace(SAME, url="https://x.example/merrin-glasses-p4b-0.html"),
        replace(SAME, title="Rare find", url="https://x.example/rare-find-p4b-0.html"), "changed", ("title",)),
    ("one shop in the address, another item", replace(SAME, url="https://x.example/shop77/merrin-glasses"),
        _listing("2", title="Brass telescope", description="A ship's glass.", url="https://x.example/shop77/brass-telescope"), "new", ()),
    ("a given id, the site's numbers differ", replace(SAME, listing_id="90001"),
        replace(_listing("1", title="Merrin glasses black", url="https://stallrow.example/item/90002"), listing_id="90002",
                photos=(Photo("c", None, "other"),), description="lens 48 mm, bridge 20 mm"), "new", ()),
    ("same seller, new number, same pictures", replace(SAME, ended=True), _listing("2", photos=PHOTOS), "back", ()),
    ("another seller after a sale, same pictures", replace(SAME, ended=True, price_kind="sold"),
        _listing("2", photos=PHOTOS, seller_name="other"), "back", ("seller_name",)),
]  # fmt: skip


@pytest.mark.parametrize(("name", "before", "after", "state", "changed"), CASES)
def test_state(
    name: str, before: Listing, after: Listing, state: str, changed: tuple[str, ...]
) -> None:
    with open_store(None) as store:
        row = _two_weeks(store, [before], [after])[after.id]
    assert row.state == state
    assert row.changed == changed


def test_ids_that_hold_from_week_to_week_are_numbers() -> None:
    """Without addresses, a new id of the same pictures is a new listing where ids are a site's."""
    first = [_listing(f"id-{n}", url=None) for n in range(5)]
    moved = replace(first[4], id="id-9")
    with open_store(None) as store:
        told = _two_weeks(store, first, [*first[:4], moved])
    assert (told["id-9"].state, told["id-0"].state) == ("back", "unchanged")


def test_ids_that_count_rows_are_no_numbers() -> None:
    first = [
        _listing(f"w1-{n}", url=None, photos=(Photo("a", None, f"p{n}"),), title=f"Frame {n * n}")
        for n in range(5)
    ]
    again = [replace(x, id=x.id.replace("w1", "w2")) for x in first]
    with open_store(None) as store:
        told = _two_weeks(store, first, again)
    assert {told[x.id].state for x in again} == {"unchanged"}


def test_borrowed_pictures_while_the_first_is_for_sale_are_reuse() -> None:
    other = _listing("2", photos=PHOTOS, seller_name="other")
    with open_store(None) as store:
        rows = _two_weeks(store, [SAME], [SAME, other])
    assert rows["2"].state == "new"
    assert rows["2"].asks_about is None


def test_same_pictures_elsewhere_while_the_first_was_not_saved_is_asked() -> None:
    other = _listing("2", photos=PHOTOS, seller_name="other")
    with open_store(None) as store:
        rows = _two_weeks(store, [SAME], [other])
        assert rows["2"].asks_about == "1"
        assert rows["2"].state == "new"
        assert rows["1"].state == "not_seen"
        store.record("piece", [rows["2"].snapshot], {"about": "1", "same": True})
        relink(store)
        again = {row.id: row for row in review(store, store.folders()[-1])}
        assert again["2"].asks_about is None
        assert again["2"].state == "back" or again["2"].state == "changed"
        batch = store.last_batch()
        assert batch is not None
        store.undo(batch)
        relink(store)
        assert {row.id: row.state for row in review(store, store.folders()[-1])}["2"] == "new"


def _history(store: Store) -> set[frozenset[tuple[str, str]]]:
    pieces: dict[int | None, set[tuple[str, str]]] = {}
    for folder in store.folders():
        for snapshot in store.snapshots(folder):
            pieces.setdefault(snapshot.piece, set()).add((folder.path, snapshot.listing.id))
    return {frozenset(p) for p in pieces.values()}


def test_order_of_folders_and_giving_one_twice_change_nothing() -> None:
    weeks = simulate(5, weeks=3, size=30)
    histories = []
    for order in ([0, 1, 2], [2, 0, 1], [0, 0, 1, 2, 1]):
        with open_store(None) as store:
            for n in order:
                week: Week = weeks[n]
                add_week(store, week.path, week.listings, week.looks)
            histories.append(_history(store))
    assert histories[0] == histories[1] == histories[2]


@given(st.text(max_size=80), st.text(max_size=80))
def test_word_diff_gives_both_texts_back(before: str, after: str) -> None:
    pieces = word_diff(before, after)
    assert "".join(p.text for p in pieces if p.kind != "added") == before
    assert "".join(p.text for p in pieces if p.kind != "removed") == after


def test_no_change_is_found_between_equal_listings() -> None:
    assert find_changes(SAME, SAME, {}) == ()


def test_undo_hides_an_entry_and_keeps_it() -> None:
    with open_store(None) as store:
        rows = _two_weeks(store, [SAME], [SAME])
        batch = store.record("note", [rows["1"].snapshot], {"text": "ask for the hinge"})
        assert [e.body["text"] for e in store.entries()] == ["ask for the hinge"]
        assert store.undo(batch) == 1
        assert store.entries() == ()
        assert store.entries(undone=True)[0].undone_at is not None
        with pytest.raises(UserError):
            store.undo(batch)


def test_export_and_import_give_an_equal_store(tmp_path: Path) -> None:
    week = simulate(2, weeks=1, size=30)[0]
    with open_store(tmp_path / "a.db") as store, open_store(tmp_path / "b.db") as other:
        add_week(store, week.path, week.listings, week.looks)
        store.record("note", [1, 2], {"text": "both"})
        other.load(store.dump())
        assert list(other.dump()) == list(store.dump())
        assert other.check() == ()
        with pytest.raises(UserError, match="not empty"):
            other.load(store.dump())


def test_forgetting_a_seller_leaves_no_word_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    mine, other = _listing("1", seller_name="Orsolya Veldt"), _listing("2", seller_name="else")
    with open_store(path) as store:
        add_week(store, "one", [mine, other], {})
        assert store.forget_seller("orsolya veldt") == (1, 0)
        assert [s.listing.id for s in store.snapshots(store.folders()[0])] == ["2"]
    assert not [p for p in tmp_path.iterdir() if b"Orsolya" in p.read_bytes()]


def test_a_store_of_a_newer_release_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    open_store(path).__exit__()
    with sqlite3.connect(path) as db:
        db.execute("INSERT INTO migration VALUES ('9999 from the future', '2030')")
    db.close()
    with pytest.raises(UserError, match="newer release"):
        open_store(path)


def test_something_else_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    path.write_bytes(b"this is a shopping list, not a store" * 50)
    with pytest.raises(UserError, match="not a store"):
        open_store(path)


def test_a_newer_version_of_the_store_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    open_store(path).__exit__()
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version = 9999")
    db.close()
    with pytest.raises(UserError, match="newer release"):
        open_store(path)


@pytest.mark.parametrize(
    "made", ["CREATE TABLE migration (name, at)", "CREATE TABLE cd (id)", "PRAGMA application_id=7"]
)
def test_a_file_of_another_program_is_left_as_it_is(made: str, tmp_path: Path) -> None:
    path = tmp_path / "music.db"
    with sqlite3.connect(path) as db:
        db.execute(made)
        if "migration" in made:
            db.execute("INSERT INTO migration VALUES ('0001_initial', '2020')")
            db.execute("CREATE TABLE songs (id)")
    db.close()
    before = path.read_bytes()
    with pytest.raises(UserError, match="another program"):
        open_store(path)
    assert path.read_bytes() == before


def test_a_store_from_before_there_was_an_id_is_known(tmp_path: Path) -> None:
    path = tmp_path / "memory.db"
    open_store(path).__exit__()
    with sqlite3.connect(path) as db:
        assert db.execute("PRAGMA application_id").fetchone() != (0,)
        db.execute("PRAGMA application_id = 0")
    db.close()
    with open_store(path) as store:
        assert store.check() == ()


def test_migration_names_stay_in_order() -> None:
    names = [m.name for m in MIGRATIONS]
    assert names == sorted(names)
    assert names[0] == "0001 listings, photos, what the buyer entered"


def test_a_week_without_dates_comes_before_a_dated_one_read_later() -> None:
    """Of saved pages often none says when; a mail or export in the next week does."""
    dated = {"date_saved": "2026-01-08"}
    with open_store(None) as store:
        add_week(store, "zero", [replace(SAME, date_saved="2026-01-01", price=Decimal(95))], {})
        add_week(store, "one", [SAME], {})
        folder = add_week(store, "two", [replace(SAME, price=Decimal(50), **dated)], {})
        again = add_week(store, "two", [replace(SAME, price=Decimal(50), **dated)], {})
        (row,) = review(store, folder)
        names = [f.path for f in store.folders()]
    assert (names, again) == (["zero", "one", "two"], folder)
    assert (row.changes[0].before, row.changes[0].after) == ("90 GBP", "50 GBP")


def test_an_old_week_given_late_moves_no_other() -> None:
    with open_store(None) as store:
        for name, date in (("two", "2026-01-08"), ("undated", None), ("one", "2026-01-01")):
            add_week(store, name, [replace(SAME, date_saved=date)], {})
        assert [f.path for f in store.folders()] == ["one", "two", "undated"]


def test_undated_weeks_come_in_the_order_they_are_read() -> None:
    with open_store(None) as store:
        add_week(store, "one", [SAME], {})
        folder = add_week(store, "two", [replace(SAME, price=Decimal(50))], {})
        (row,) = review(store, folder)
    assert (row.state, row.changed) == ("changed", ("price",))


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("ab", "ba", "the same in another order"),
        ("ab", "axb", "1 added"),
        ("abc", "ac", "1 removed"),
        ("abc", "axc", "1 replaced"),
        ("abc", "xcby", "1 replaced, 1 added, the others in another order"),
        ("abc", "cbx", "1 added, 1 removed, the others in another order"),
        ("ab", "aabb", None),
        ("ab", "", None),
    ],
)
def test_what_became_of_the_photos_is_said(before: str, after: str, told: str | None) -> None:
    one, two = (replace(SAME, photos=tuple(Photo(x, None, x) for x in s)) for s in (before, after))
    assert [c.after for c in find_changes(one, two, {})] == ([told] if told else [])


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (Change("price", "80 EUR", "100 EUR"), "80 EUR → 100 EUR (up 25 %)"),
        (Change("price", "80.00 EUR", "60 EUR"), "80.00 EUR → 60 EUR (down 25 %)"),
        (Change("price", "0 EUR", "60 EUR"), "0 EUR → 60 EUR"),
        (Change("location", "", "Halm"), "nothing → Halm"),
        (
            Change(
                "description",
                "Ask me anything.\nMarked 47-18 inside the left temple.",
                "Ask me anything. Marked 47-18 inside the right  temple.",
            ),
            "Ask me anything. … 47-18 inside the −[left] +[right] temple.",
        ),
    ],
)
def test_a_change_is_said_in_words(change: Change, told: str) -> None:
    assert change_text(change) == told


MAIL = replace(SAME, id="mail", listing_id="77", date_saved="2026-01-12T09:00:00Z")


def _hardly_dated(newest: str = "2026-01-14") -> list[Listing]:
    """A folder of pages that do not say when they were saved, with one mail that does."""
    pages = [replace(SAME, id=f"page{n}", listing_id=f"55{n}") for n in range(4)]
    return [MAIL, replace(pages[0], date_listed=newest), *pages[1:]]


def _order_of(*weeks: tuple[str, list[Listing]]) -> list[str]:
    with open_store(None) as store:
        for name, listings in weeks:
            add_week(store, name, listings, {})
        return [f.path for f in store.folders()]


@given(st.permutations(["one", "two", "three", "four"]))
def test_folders_that_hardly_say_when_come_in_the_order_they_are_read(names: list[str]) -> None:
    assert _order_of(*((name, _hardly_dated()) for name in names)) == names


@given(st.permutations([(f"2026-01-{day:02}", f"week {day}") for day in (1, 8, 15, 22)]))
def test_folders_that_say_when_come_by_that_in_whatever_order(
    weeks: list[tuple[str, str]],
) -> None:
    told = [(name, [replace(SAME, date_saved=day)]) for day, name in weeks]
    assert _order_of(*told) == ["week 1", "week 8", "week 15", "week 22"]


@given(
    st.lists(st.dates(datetime.date(2020, 1, 1), datetime.date(2026, 1, 1)), min_size=1),
    st.integers(0, 9),
)
def test_a_folder_is_not_dated_before_its_newest_listing(
    days: list[datetime.date], saved: int
) -> None:
    listings = [replace(SAME, date_listed=day.isoformat()) for day in days]
    mails = [replace(MAIL, date_saved="2020-01-01")] * (saved + 1)
    assert saved_time([*listings, *mails]) >= max(days).isoformat()


def test_a_folder_read_again_with_its_dates_is_put_in_its_place() -> None:
    undated = [replace(SAME, price=Decimal(95))]
    with open_store(None) as store:
        add_week(store, "later", [SAME], {}, "2026-01-08")
        add_week(store, "earlier", undated, {}, "2026-01-09")
        add_week(store, "earlier", [replace(undated[0], date_saved="2026-01-01")], {})
        names = [f.path for f in store.folders()]
        (row,) = review(store, store.folders()[-1])
    assert (names, row.changes[0].before) == (["earlier", "later"], "95 GBP")


def test_it_is_said_where_a_folder_comes_before_a_known_one() -> None:
    with open_store(None) as store:
        two = add_week(store, "two", [replace(SAME, date_saved="2026-01-08")], {})
        one = add_week(store, "one", [replace(SAME, date_saved="2026-01-01")], {})
        assert placed_before(store, one, [one]).startswith("one counts as saved 2026-01-01, before")
        assert placed_before(store, one, [one, two]) == placed_before(store, two, [two]) == ""
