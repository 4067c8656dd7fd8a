"""Which saves are one listing, and which only say so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from extractors.records import Listing, Photo
from tests.endings import calls
from triage.snapshots import false_claims, merge_snapshots

ONE = Listing(
    "",
    "a.html",
    title="Vennerby 12",
    description="Lens 48 mm.",
    url="https://stallrow.example/item/40221",
    listing_id="40221",
    seller_name="anna",
    date_saved="2026-11-01",
)


@pytest.mark.parametrize(
    ("other", "saves"),
    [
        (replace(ONE, source="b.html", date_saved="2026-11-08", title="Vennerby 12, cheaper"), 2),
        (replace(ONE, source="b.html", url=f"{ONE.url}?utm_source=mail"), 2),
        (replace(ONE, source="b.html", url=None), 2),
        (replace(ONE, source="b.html", seller_name=None), 2),
        (replace(ONE, source="b.html", seller_name="Anna"), 2),
        (replace(ONE, source="b.html", seller_name="bert", date_saved="2026-11-08"), 1),
        (replace(ONE, source="b.html", url="https://x.example/item/50331", listing_id=None), 1),
        (replace(ONE, source="b.html", url=None, listing_id=None, description="Lens 50 mm."), 1),
    ],
)  # fmt: skip
def test_saves_of_one_listing(other: Listing, saves: int) -> None:
    groups = merge_snapshots([ONE, other])
    assert [1 + len(g.earlier) for g in groups] == ([2] if saves == 2 else [1, 1])


def test_the_newest_save_is_current() -> None:
    newer = replace(ONE, source="b.html", date_saved="2026-11-08")
    (group,) = merge_snapshots([newer, ONE])
    assert (group.current.source, group.earlier[0].source) == ("b.html", "a.html")


def test_given_ids_of_two_exports_may_be_equal() -> None:
    first = Listing("1", "a.csv", title="Frame", seller_name="anna")
    second = Listing("1", "b.csv", title="Another", seller_name="bert")
    third = Listing("1", "c.csv", title="A third", listing_id="70001")
    fourth = Listing("1", "d.csv", title="A fourth", listing_id="70002")
    assert len(merge_snapshots([first, second])) == 2
    assert len(merge_snapshots([third, fourth])) == 2


def test_a_page_that_claims_anothers_address_does_not_take_its_place() -> None:
    claim = replace(ONE, source="x.html", seller_name="mallory", date_saved="2030-01-01")
    groups = merge_snapshots([ONE, claim])
    assert [g.current.source for g in groups] == ["a.html", "x.html"]


HOME = replace(ONE, saved_from=ONE.url)
SITE = "https://stallrow.example"
PICTURE = (Photo("a.jpg", None, "0" * 64),)


@pytest.mark.parametrize(
    "claim",
    [
        replace(ONE, saved_from=f"{SITE}/item/99999"),
        replace(ONE, saved_from=f"{SITE}/item/99999", seller_name=None, title="Another"),
        replace(ONE, saved_from="https://other.example/item/40221"),
        replace(ONE, saved_from=f"{SITE}/s/today", seller_name=None),
        replace(ONE, saved_from=f"{SITE}/s/today", title="Another"),
        replace(ONE, saved_from=f"{SITE}/item/99999", url=None, listing_id="40221"),
        replace(ONE, saved_from=None, seller_name=None, title="Another"),
        replace(ONE, saved_from=None, seller_name="mallory"),
    ],
)
@pytest.mark.parametrize("is_first", [False, True])
def test_a_false_claim_hides_no_listing(claim: Listing, is_first: bool) -> None:
    claim = replace(
        claim, source="x.html", date_saved="2030-01-01", url=claim.url or claim.saved_from
    )
    groups = merge_snapshots([claim, HOME] if is_first else [HOME, claim])
    assert sorted(g.current.source for g in groups) == ["a.html", "x.html"]
    told = [p.source for p in false_claims(groups)]
    assert told == (["x.html"] if claim.url == ONE.url else [])


@pytest.mark.parametrize(
    "other",
    [
        replace(ONE, saved_from=f"{ONE.url}?utm_source=mail"),
        replace(ONE, saved_from="https://m.stallrow.example/item/40221", seller_name=None),
        replace(ONE, saved_from="https://www.stallrow.example/item/vennerby-12/40221"),
        replace(ONE, saved_from=f"{SITE}/s/today"),
        replace(ONE, saved_from=f"{SITE}/s/today", title="New words", photos=PICTURE),
        replace(ONE, saved_from=None),
        replace(ONE, saved_from=None, seller_name=None),
    ],
)
def test_ways_to_one_listing_stay_one(other: Listing) -> None:
    later = replace(other, source="b.html", date_saved="2026-11-08")
    groups = merge_snapshots([replace(HOME, photos=PICTURE), later])
    assert [(g.current.source, len(g.earlier)) for g in groups] == [("b.html", 1)]
    assert false_claims(groups) == ()


def test_a_page_saved_twice_from_elsewhere_is_one() -> None:
    claim = replace(ONE, saved_from=f"{SITE}/item/99999", source="x.html", seller_name=None)
    later = replace(claim, source="y.html", date_saved="2026-11-08")
    groups = merge_snapshots([claim, HOME, later])
    assert [(g.current.source, len(g.earlier)) for g in groups] == [("y.html", 1), ("a.html", 0)]
    assert {p.source for p in false_claims(groups)} == {"x.html", "y.html"}


ALIKE = Listing("", "a.html", title="Vennerby 12", description="Lens 48 mm.", seller_name="anna")


@pytest.mark.parametrize(
    ("other", "photo", "count"),
    [
        ("b.html", "q", 2),  # one text, two pieces
        ("b.html", "p", 1),
        ("b.eml", "q", 1),  # another form of saving may have stored the picture anew
    ],
)
def test_pieces_in_the_same_words_are_told_by_their_pictures(
    other: str, photo: str, count: int
) -> None:
    one = replace(ALIKE, photos=(Photo("p.jpg", None, "p"),))
    two = replace(ALIKE, source=other, photos=(Photo("q.jpg", None, photo),))
    assert len(merge_snapshots([one, two])) == count


@pytest.mark.parametrize("order", [1, -1])
def test_a_row_with_an_id_and_a_page_of_its_address_are_one(order: int) -> None:
    row = replace(ONE, id="k-7", source="all.jsonl", listing_id=None)
    page = replace(ONE, url="https://m.stallrow.example/item/40221", listing_id=None)
    (group,) = merge_snapshots([row, page][::order])
    assert group.current.id == "k-7"


def test_a_page_of_an_address_that_two_given_ids_share_stands_alone() -> None:
    rows = [replace(ONE, id=f"k-{n}", source="all.jsonl", line=n) for n in (1, 2)]
    assert len(merge_snapshots([*rows, replace(ONE, listing_id=None)])) == 3


def test_many_saves_of_one_text_cost_in_proportion_to_their_number() -> None:
    def work(count: int) -> int:
        rows = [Listing("", f"{n}.html", title="Lens 48 mm", description="a") for n in range(count)]
        return calls(lambda: merge_snapshots(rows))

    work(10)
    assert work(800) < 6 * work(200)
