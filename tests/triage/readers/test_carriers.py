"""The same listing, with the same photos in the same order, out of every carrier."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from tests.triage.readers.saving import PHOTOS, SAVES, URL, zipped
from triage.containment import Supervisor
from triage.readers.folder import Reading, read_folder
from triage.readers.source import Unreadable, photo_bytes

DIGESTS = [hashlib.sha256(data).hexdigest() for data in PHOTOS.values()]
CASES = {**SAVES, **{f"zip of {name}": zipped(save) for name, save in SAVES.items()}}


def read(root: Path) -> Reading:
    with Supervisor(0) as supervisor:
        return read_folder(root, supervisor)


@pytest.mark.parametrize("save", CASES.values(), ids=CASES.keys())
def test_same_listing_out_of_every_carrier(save: Callable[[Path], None], tmp_path: Path) -> None:
    save(tmp_path)
    reading = read(tmp_path)
    assert reading.problems == ()
    (listing,) = reading.listings
    assert listing.title == "Vennerby 12 – round frame"
    assert listing.description == "Lens 48 mm.\nBridge 21 mm."
    assert (listing.price, listing.currency) == (Decimal("85.00"), "EUR")
    assert (listing.seller_name, listing.listing_id, listing.url) == ("anna", "40221", URL)
    assert [photo.sha256 for photo in listing.photos] == DIGESTS
    assert listing.missing_photos == ()
    assert [photo_bytes(tmp_path, p) for p in listing.photos] == list(PHOTOS.values())


@pytest.mark.parametrize("name", ["MHTML", "mail", "WARC", "WARC, gzip", "WACZ", "HAR"])
def test_the_carrier_tells_when_it_was_saved(name: str, tmp_path: Path) -> None:
    SAVES[name](tmp_path)
    (listing,) = read(tmp_path).listings
    assert (listing.date_saved or "")[:16] == "2026-11-12T17:30"


def test_a_changed_photo_is_noticed(tmp_path: Path) -> None:
    SAVES["loose note"](tmp_path)
    (listing,) = read(tmp_path).listings
    (tmp_path / listing.photos[0].path).write_bytes(b"\xff\xd8\xff other")
    with pytest.raises(Unreadable, match="changed"):
        photo_bytes(tmp_path, listing.photos[0])


def test_the_same_in_worker_processes(tmp_path: Path) -> None:
    for number, (name, save) in enumerate(SAVES.items()):
        (tmp_path / str(number)).mkdir()
        save(tmp_path / str(number))
        assert name
    here = read(tmp_path)
    with Supervisor(2, [tmp_path]) as supervisor:
        there = read_folder(tmp_path, supervisor)
    assert (there.listings, there.problems) == (here.listings, here.problems)
    assert len(there.listings) == len(SAVES)
