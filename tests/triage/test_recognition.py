"""Pieces known again over forms of saving, new names and cut pictures."""

from __future__ import annotations

import hashlib
import io
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from extractors.photos.fingerprint import fingerprint
from extractors.records import Listing, Photo
from tests.demo.render import FrameLook, Scene, photograph
from tests.evaluation.evaluate_saved_weeks import STATES, score_seeds
from triage.carriers import are_saved_alike, form_of
from triage.review import Reviewed, Week, add_weeks, review
from triage.store import Store, open_store

TEXT = "Found in a shop that closed. Lens 47 mm, bridge 21 mm. Five barrel hinges, no cracks."
PAGE = Listing(
    id="a", source="77120045.html", title="Halm Oda honey frame", description=TEXT,
    url="https://stallrow.example/item/77120045/halm-oda-honey-frame", listing_id="77120045",
    seller_name="attic", price=Decimal(90), currency="GBP", price_kind="bid", ended=False,
    photos=(Photo("a.jpg", None, "sha-1"), Photo("b.jpg", None, "sha-2")),
)  # fmt: skip
NOTE = replace(
    PAGE, id="b", source="halm/note.txt", url=None, listing_id=None, price_kind="fixed", ended=None
)
MAIL = replace(PAGE, id="b", source="halm.eml", price_kind="fixed", ended=None)
OTHERS = (Photo("x.jpg", None, "sha-8"), Photo("y.jpg", None, "sha-9"))


def _review(before: Iterable[Listing], after: Iterable[Listing], store: Store) -> list[Reviewed]:
    weeks = [
        Week(name, name, [replace(x, date_saved=day) for x in listings], {})
        for name, day, listings in (("1", "2026-01-01", before), ("2", "2026-01-08", after))
    ]
    return [r for r in review(store, add_weeks(store, weeks)[1]) if r.state != "not_seen"]


CASES = [
    ("a mail without the text", MAIL, "unchanged", (), {"description": ""}),
    ("a mail with words around", MAIL, "unchanged", (),
        {"description": f"Forwarded to you. {TEXT} Sent from the market."}),
    ("a mail with a corrected size", MAIL, "changed", ("description",),
        {"description": TEXT.replace("47 mm", "49 mm")}),
    ("a mail with a slip put right", MAIL, "changed", ("description",),
        {"description": f"Hello. {TEXT.replace('hinges', 'hinge')} Bye."}),
    ("a mail with the text cut short", MAIL, "unchanged", (), {"description": f"{TEXT[:60]}…"}),
    ("a mail with a size measured again", MAIL, "changed", ("description",),
        {"description": f"{TEXT} Measured again: the bridge is 23 mm."}),
    ("a mail of another price", MAIL, "changed", ("price",), {"price": Decimal(80)}),
    ("a mail that says it sold", MAIL, "sold", ("price_kind",), {"price_kind": "sold"}),
    ("a note without a number", NOTE, "unchanged", (), {}),
    ("a note with the number alone", NOTE, "unchanged", (),
        {"listing_id": "77120045", "photos": ()}),
    ("a note of another title", NOTE, "changed", ("title",), {"title": "HONEY SPECTACLES"}),
    ("a new title in the address", PAGE, "changed", ("title",),
        {"title": "Honey glasses", "url": "https://stallrow.example/item/77120045/honey-glasses"}),
    ("the address with and without www", PAGE, "unchanged", (),
        {"url": "https://www.stallrow.example/item/77120045"}),
    ("the first page of a site is no address", PAGE, "new", (),
        {"url": "https://stallrow.example/", "listing_id": None, "title": "Brass telescope",
         "description": "For a ship.", "photos": OTHERS, "seller_name": "deck"}),
    ("a short number on a note is no number", NOTE, "new", (),
        {"listing_id": "12", "photos": OTHERS, "title": "Brass telescope", "description": ""}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "form", "state", "changed", "fields"), CASES)
def test_state_over_forms_of_saving(
    name: str, form: Listing, state: str, changed: tuple[str, ...], fields: dict[str, object]
) -> None:
    with open_store(None) as store:
        (row,) = _review([PAGE], [replace(form, id="b", **fields)], store)  # type: ignore[arg-type]
    assert (row.state, row.changed) == (state, changed), name


def test_what_one_form_does_not_say_is_not_back_again() -> None:
    over = replace(PAGE, ended=True)
    with open_store(None) as store:
        (row,) = _review([over], [MAIL], store)
    assert row.state == "unchanged"


def _numbered(number: int, **more: object) -> Listing:
    whole = 77120000 + number
    return replace(
        PAGE,
        id=f"n{number}",
        source=f"{whole}.html",
        url=f"https://stallrow.example/item/{whole}",
        listing_id=f"{whole}",
        title=f"Halm piece {number} " + "abcdefgh"[number] * 5,
        description=f"Its own text, number {number}: " + "klmnopqr"[number] * 9,
        photos=(Photo("a.jpg", None, f"sha-{number}"),),
        **more,  # type: ignore[arg-type]
    )


def test_a_shop_that_renames_itself_is_the_same_seller() -> None:
    before = [_numbered(n, seller_name="attic") for n in (1, 2, 3)]
    after = [_numbered(n, seller_name="attic & daughter") for n in (1, 2)]
    relisted = replace(
        _numbered(5, seller_name="attic & daughter"),
        title=before[2].title, description=before[2].description, photos=before[2].photos,
    )  # fmt: skip
    before.append(replace(_numbered(4), seller_name="attic", photos=(), description=""))
    rewritten = replace(before[3], title="Halm frame, old", seller_name="attic & daughter")
    with open_store(None) as store:
        rows = {r.id: r for r in _review(before, [*after, relisted, rewritten], store)}
    assert {r.state for r in rows.values()} == {"changed", "back"}
    assert rows["n5"].state == "back"
    assert rows["n5"].asks_about is None
    assert rows["n4"].changed == ("title", "seller_name")


@pytest.mark.parametrize(("left", "state"), [(0, "changed"), (1, "new")])
def test_a_shop_that_renames_itself_without_numbers(left: int, state: str) -> None:
    """All under a new name is the shop; while something is left under the old, it is borrowed."""
    before = [replace(_numbered(n), url=None, listing_id=None) for n in (1, 2, 3)]
    after = [replace(x, id=f"new {x.id}", seller_name="attic & daughter") for x in before[left:]]
    with open_store(None) as store:
        rows = _review(before, [*before[:left], *after], store)
    assert {r.state for r in rows if r.listing.seller_name != "attic"} == {state}


BARE = replace(PAGE, photos=(), ended=True)
ANEW = replace(PAGE, id="b", url="https://stallrow.example/item/88120045", listing_id="88120045",
               photos=())  # fmt: skip


@pytest.mark.parametrize(
    ("before", "after", "state"),
    [
        ([BARE], ANEW, "back"),
        ([replace(BARE, ended=False)], ANEW, "new"),  # asked
        ([BARE, replace(BARE, id="c", url=f"{PAGE.url}/2", listing_id="2")], ANEW, "new"),
        ([BARE], replace(ANEW, title="Tavo Crest wine"), "new"),
        ([BARE], replace(ANEW, seller_name="cellar"), "new"),
    ],
)
def test_words_alone_say_that_a_piece_is_back(
    before: list[Listing], after: Listing, state: str
) -> None:
    with open_store(None) as store:
        (row,) = _review(before, [after], store)
    assert row.state == state


OTHER = {"title": "Tavo Crest wine spectacles", "description": "Scratched. Width 139 mm. No case."}


@pytest.mark.parametrize(
    ("fields", "continues", "asks"),
    [
        ({"title": "Halm frame, look", "description": ""}, True, False),  # the price holds
        ({"title": "Look at this", "description": ""}, True, False),
        ({"title": "Look at this", "description": "Three rivets, red case."}, False, True),
        ({**OTHER, "price": Decimal(40)}, False, False),
        ({**OTHER, "seller_name": "cellar"}, False, False),
    ],
)
def test_one_number_without_pictures(
    fields: dict[str, object], continues: bool, asks: bool
) -> None:
    first = replace(PAGE, photos=(), description="Five barrels.")
    with open_store(None) as store:
        (row,) = _review([first], [replace(first, **fields)], store)  # type: ignore[arg-type]
    assert (row.continues is not None, row.asks_about is not None) == (continues, asks)


def test_one_number_with_a_picture_that_others_borrowed() -> None:
    first = replace(PAGE, description="")
    others = [
        replace(first, id=f"o{n}", url=None, listing_id=f"9112004{n}", seller_name=f"quick {n}")
        for n in range(3)
    ]
    after = replace(first, title="Beautiful shades")
    with open_store(None) as store:
        rows = {r.id: r for r in _review([first, *others], [after, *others], store)}
    assert rows["a"].changed == ("title",)


def test_the_very_words_with_other_pictures_are_asked_about() -> None:
    again = replace(_numbered(2), title=PAGE.title, description=TEXT, photos=OTHERS)
    with open_store(None) as store:
        (row,) = _review([replace(PAGE, ended=True)], [again], store)
    assert (row.state, row.asks_about) == ("new", "a")


def test_forms_of_saving() -> None:
    assert form_of(replace(PAGE, source="all.zip", member="x/77.mhtml")) == "page"
    assert are_saved_alike(PAGE, replace(PAGE, source="77.htm"))
    assert not are_saved_alike(PAGE, MAIL)


# --- cut pictures --------------------------------------------------------------------------------


class _Shelf:
    """Drawn photos and their fingerprints, by SHA-256."""

    def __init__(self) -> None:
        self.made: dict[str, bytes] = {}
        self.looks: dict[str, bytes] = {}

    def add(
        self, seed: int, cut: float = 0.0, look: FrameLook | None = None, scale: float = 1.0
    ) -> Photo:
        view = ("front", "three_quarter")[seed % 2]
        scene = Scene(ground="wood", seed=seed, width=360, height=270)
        image = photograph(look or FrameLook(lens_width=44 + seed % 9), view, scene)  # type: ignore[arg-type]
        w, h = image.size
        image = image.crop((round(cut * w), round(cut * h), w, h - round(cut * h)))
        image = image.resize((round(image.width * scale), round(image.height * scale)))
        out = io.BytesIO()
        image.save(out, "JPEG", quality=80)
        sha = hashlib.sha256(out.getvalue()).hexdigest()
        found = fingerprint(out.getvalue())
        self.made[sha], self.looks[sha] = found.to_bytes(), bytes.fromhex(found.phash)
        return Photo(f"{sha[:6]}.jpg", None, sha)

    def stored(self, shas: Iterable[str]) -> dict[str, bytes]:
        return {sha: self.made[sha] for sha in shas if sha in self.made}

    def review(self, before: list[Listing], after: list[Listing], known: bool) -> dict[str, str]:
        weeks = [
            Week("1", "1", [replace(x, date_saved="2026-01-01") for x in before], self.looks),
            Week("2", "2", [replace(x, date_saved="2026-01-08") for x in after], self.looks),
        ]
        with open_store(None) as store:
            _, folder = add_weeks(store, weeks, self.stored if known else lambda _: {})
            return {r.id: r.state for r in review(store, folder)}


def test_a_relisting_with_cut_pictures_is_back_again() -> None:
    shelf = _Shelf()
    photos = tuple(shelf.add(seed) for seed in (2, 3))
    cut = tuple(shelf.add(seed, cut=0.08) for seed in (2, 3))
    before = replace(PAGE, ended=True, photos=photos)
    again = replace(_numbered(2), id="b", title=f"NEW LISTING {PAGE.title}", photos=cut)
    assert shelf.review([before], [again], known=True)["b"] == "back"
    assert shelf.review([before], [again], known=False)["b"] == "new"


def test_pictures_cut_by_the_site_are_no_change() -> None:
    shelf = _Shelf()
    before = replace(PAGE, photos=(shelf.add(4),))
    after = replace(PAGE, photos=(shelf.add(4, cut=0.08),))
    assert shelf.review([before], [after], known=True)["a"] == "unchanged"
    assert shelf.review([before], [after], known=False)["a"] == "changed"


@pytest.mark.parametrize("scale", [0.5, 0.3, 0.15])
def test_pictures_stored_much_smaller_are_no_change(scale: float) -> None:
    shelf = _Shelf()
    before = replace(PAGE, photos=(shelf.add(4), shelf.add(5)))
    after = replace(PAGE, photos=(shelf.add(4, scale=scale), shelf.add(5, scale=scale)))
    assert shelf.review([before], [after], known=True)["a"] == "unchanged"


@pytest.mark.parametrize("scale", [1.0, 0.15])
def test_other_pictures_stored_much_smaller_are_a_change(scale: float) -> None:
    shelf = _Shelf()
    before = replace(PAGE, photos=(shelf.add(4),))
    after = replace(PAGE, photos=(shelf.add(24, scale=scale),))
    assert shelf.review([before], [after], known=True)["a"] == "changed"


@pytest.mark.parametrize(("seed", "state"), [(30, "back"), (70, "new")])
def test_pieces_of_a_line_up_are_told_apart_by_cut_pictures(seed: int, state: str) -> None:
    """Six of one reference on one table: one listed anew is known by its picture, if it is it."""
    shelf = _Shelf()
    look = FrameLook(colour="black")
    before = [
        replace(_numbered(n), title=PAGE.title, description=TEXT, ended=n == 3,
                photos=(shelf.add(10 * n, look=look),))
        for n in (1, 2, 3)
    ]  # fmt: skip
    again = replace(
        _numbered(7), title=PAGE.title, description=TEXT, photos=(shelf.add(seed, 0.08, look),)
    )
    assert shelf.review(before, [*before[:2], again], known=True)["n7"] == state


@pytest.mark.parametrize(
    ("ended", "seen_too", "state"), [(True, False, "back"), (False, True, "new")]
)
def test_cut_pictures_with_another_seller_in_other_words(
    ended: bool, seen_too: bool, state: str
) -> None:
    """After a sale the piece is back; while the first is still for sale they are borrowed."""
    shelf = _Shelf()
    photos = tuple(shelf.add(seed) for seed in (12, 13))
    first = replace(PAGE, ended=ended, photos=photos)
    cut = tuple(shelf.add(seed, cut=0.08) for seed in (12, 13))
    other = replace(
        _numbered(6, seller_name="cellar"), title="Old honey spectacles",
        description="From a drawer, sold as they are.", photos=cut,
    )  # fmt: skip
    assert shelf.review([first], [first, other][not seen_too :], known=True)["n6"] == state


@pytest.mark.slow
def test_a_market_of_saved_files_is_read_rightly(tmp_path: Path) -> None:
    counts: Counter[tuple[str, str]] = Counter()
    faults = score_seeds([90], tmp_path, counts, weeks=2, size=16)
    assert counts["pairs", "wrong"] == 0, faults
    assert counts["stray", "wrong"] == counts["stray", "missed"] == 0, faults
    right = sum(counts[state, "right"] for state in STATES)
    assert right >= 0.9 * (right + sum(counts[state, "missed"] for state in STATES)), faults


BOX = Photo("box.jpg", None, "sha-box")
MINE = replace(PAGE, photos=(Photo("a.jpg", None, "sha-1"), BOX), ended=True)
UNLIKE = [
    ("a number that went to another item of one title", PAGE, "new",
        {"description": "Lens 52 mm, bridge 17 mm. Three barrel hinges, cracked.",
         "price": Decimal(140), "photos": OTHERS}),
    ("a number that went to another item on the same table", PAGE, "new",
        {"title": "Tavo Crest wine", "description": "Scratched. Width 139 mm. Bought years ago.",
         "photos": (Photo("z.jpg", None, "sha-z"), BOX)}),
    ("a number that went to another seller's piece of one title, in a mail without text", MAIL,
        "new", {"description": "", "seller_name": "cellar", "photos": OTHERS}),
    ("a new number, another piece on the same table", PAGE, "new",
        {"url": "https://stallrow.example/item/99120045", "listing_id": "99120045",
         "title": "Tavo Crest wine, large", "description": "Scratched at the tips. Width 139 mm.",
         "photos": (Photo("z.jpg", None, "sha-z"), BOX)}),
    ("another seller with one picture of two", PAGE, "new",
        {"url": "https://stallrow.example/item/99120045", "listing_id": "99120045",
         "seller_name": "cellar", "title": "Tavo Crest wine, large", "description": "Width 139 mm.",
         "photos": (Photo("z.jpg", None, "sha-z"), BOX)}),
    ("a new number, the same piece with a picture left out", PAGE, "back",
        {"url": "https://stallrow.example/item/99120045", "listing_id": "99120045",
         "title": "NEW Halm Oda honey frame", "photos": (Photo("a.jpg", None, "sha-1"),)}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "form", "state", "fields"), UNLIKE)
def test_little_in_common_is_no_piece_back_again(
    name: str, form: Listing, state: str, fields: dict[str, object]
) -> None:
    with open_store(None) as store:
        (row,) = _review([MINE], [replace(form, id="b", **fields)], store)  # type: ignore[arg-type]
    assert row.state == state, name
