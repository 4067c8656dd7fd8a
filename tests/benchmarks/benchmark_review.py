"""Time a review of 500 listings against a store of 20,000 listings and 100,000 photos.

`python -m tests.benchmarks.benchmark_review [FOLDER]`. Prints seconds, the store's size, and as a
peer the time of comparing the same photos' looks with all stored ones, one by one in numpy; then
the time to look 2,500 photos up among 200,000, and how the database goes about it. Seconds are of
the processor, so that what else runs on the machine does not count.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from extractors.records import Listing
from tests.evaluation.simulated_weeks import Week, simulate
from triage.recognition import SAME_PICTURE_BITS
from triage.review import add_week, review
from triage.store import Store, open_store
from triage.week import entered_about
from triage.workspace import Workspace

WEEKS, SIZE, PHOTOS_EACH = 40, 500, 5


def _big_week(number: int) -> Week:
    """A week of 500 listings from several small markets, with further photos each."""
    rng = random.Random(number)
    listings: list[Listing] = []
    looks: dict[str, bytes] = {}
    for market in range(10):
        week = simulate(number * 100 + market, weeks=1, size=50)[0]
        looks |= week.looks
        for listing in week.listings:
            extra = max(0, PHOTOS_EACH - len(listing.photos))
            added = []
            for _ in range(extra):
                sha = f"{rng.getrandbits(256):064x}"
                looks[sha] = rng.randbytes(32)
                added.append(replace(listing.photos[0], sha256=sha))
            listings.append(
                replace(
                    listing,
                    id=f"{market}-{listing.id}",
                    source=f"{market}/{listing.source}",
                    photos=(*listing.photos, *added),
                    date_saved=f"2025-{1 + number // 4:02}-{1 + 7 * (number % 4):02}",
                )
            )
    return Week(f"week-{number}", tuple(listings), looks, {}, frozenset())


def main(folder: Path) -> None:
    """Fill a store week by week, then time the last week."""
    path = folder / "memory.db"
    with open_store(path) as store:
        for number in range(WEEKS):
            week = _big_week(number)
            add_week(store, week.path, week.listings, week.looks)
        again = _big_week(WEEKS - 1)
        last = replace(again, path="this week")
        listings = [replace(x, date_saved="2026-11-20") for x in last.listings]
        start = time.process_time()
        folder = add_week(store, last.path, listings, last.looks, stored=lambda _: {})
        added = time.process_time() - start
        found = review(store, folder)
        ours = time.process_time() - start
        everything = np.frombuffer(
            b"".join(row["look"] for row in _looks(store)), np.uint8
        ).reshape(-1, 32)
        start = time.process_time()
        for look in list(last.looks.values()):
            (np.bitwise_count(everything ^ np.frombuffer(look, np.uint8)).sum(1) <= 10).nonzero()
        peer = time.process_time() - start
        rank = time.process_time()
        with Workspace(path) as space:
            entered_about(space, folder)
        rank = time.process_time() - rank
        size = path.stat().st_size / 1e6
        print(
            f"added and linked {added:.1f} s, matched with earlier sellers' pictures {rank:.1f} s"
        )
        _look_up_among(store, last, 200_000)
    print(f"listings reviewed {len(listings)}, rows {len(found)}")
    print(f"stored photos {len(everything)}, store {size:.0f} MB")
    print(f"review {ours:.1f} s; every look beside every other {peer:.1f} s ({peer / ours:.1f}x)")


def _look_up_among(store: Store, week: Week, photos: int) -> None:
    """Time looking this week's photos up after filling the store up to so many."""
    rng = random.Random(1)
    more = {f"{n:064x}": rng.randbytes(32) for n in range(photos - len(store.photo_digests()))}
    store.add_known_pictures("filling", more)
    start = time.process_time()
    found = sum(len(store.near_photos(sha, SAME_PICTURE_BITS)) for sha in week.looks)
    seconds = time.process_time() - start
    plan = store._db.execute(
        "EXPLAIN QUERY PLAN SELECT p.sha256, p.look FROM photo_band b JOIN photo p"
        " ON p.id = b.photo_id WHERE b.band = 1 AND b.value = 2 LIMIT 9"
    ).fetchall()
    print(f"{len(week.looks)} photos among {len(store.photo_digests())}: {seconds:.1f} s,"
          f" {found} found; {'; '.join(row[-1] for row in plan)}")  # fmt: skip


def _looks(store):  # type: ignore[no-untyped-def]
    for record in store.dump():
        if record["table"] == "photo" and record["look"]:
            yield {"look": bytes.fromhex(record["look"])}


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as place:
            main(Path(place))
