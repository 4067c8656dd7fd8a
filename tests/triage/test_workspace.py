"""The memory as the buyer uses it: pointing at listings, entering, undoing, taking out."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

import pytest

from extractors.errors import UserError
from extractors.records import Listing, Photo
from models.records import Assessment, Finding, Step
from tests.evaluation.simulated_weeks import simulate
from triage.journal import outcome_body, step_body
from triage.workspace import Workspace

WEEK = simulate(11, weeks=1, size=30)[0]


def _assessment(identity: str, number: int) -> Assessment:
    conflict = Finding("points", "rivet_shape", "conflicts", "hard", "another shape", cause="r")
    return Assessment(
        identity, 0.3, (0.1, 0.6), -0.85, (Step("start", -0.85),), 0.5, "ask", "why",
        findings=(conflict,) if number % 2 else (),
    )  # fmt: skip


@pytest.fixture
def space(tmp_path: Path):  # type: ignore[no-untyped-def]
    with Workspace(tmp_path / "memory.db") as space:
        folder = space.add_week(WEEK.path, WEEK.listings, WEEK.looks)
        seen = [_assessment(x.id, n) for n, x in enumerate(WEEK.listings)]
        space.store.add_assessments(folder, seen, "weights")
        yield space


def test_listings_are_named_by_rank_range_id_or_beginning(space: Workspace) -> None:
    assert [c.rank for c in space.choose(["2-4", "7"])] == [2, 3, 4, 7]
    first = WEEK.listings[0].id
    assert [c.snapshot.listing.id for c in space.choose([first])] == [first]
    assert [c.snapshot.listing.id for c in space.choose([WEEK.listings[0].source])] == [first]
    with pytest.raises(UserError, match="names no listing"):
        space.choose(["nothing like it"])
    with pytest.raises(UserError, match="fits"):
        space.choose(["w0"])


def test_many_are_entered_together_and_undone_together(space: Workspace) -> None:
    batch = space.enter("step", space.choose(["1-3"]), step_body("write", "2026-12-01"))
    snapshots = space.store.snapshots(space.latest())
    assert sum(s.step == "write" for s in space.standing_of(snapshots).values()) == 3
    assert space.undo() == (batch, 3)
    assert all(s.step is None for s in space.standing_of(snapshots).values())


def test_outcomes_carry_what_the_buyer_saw(space: Workspace) -> None:
    space.enter("outcome", space.choose(["2"]), outcome_body("a copy", paid="120", chance=0.1))
    space.enter("outcome", space.choose(["1"]), outcome_body("not bought"))
    (outcome,) = space.outcomes()
    assert outcome.bad
    assert outcome.probability == 0.1
    assert outcome.score == -0.85
    assert outcome.rank == 2
    # ln(.6 / .4) - ln(.1 / .9) over twice 1.6449: a 90 % interval from .1 to .6
    assert outcome.spread == pytest.approx(0.7911, abs=1e-4)
    assert any("points" in code or "conflicts" in code for code in outcome.amounts)
    space.undo()
    space.undo()
    assert space.outcomes() == ()


def test_export_and_import_are_equal_with_photos(space: Workspace, tmp_path: Path) -> None:
    data = b"the bytes of a photo"
    photo = Photo("a.jpg", None, hashlib.sha256(data).hexdigest())
    assert space.keep_photos([(photo, data)]) == 1
    assert space.keep_photos([(photo, data)]) == 0
    space.export(tmp_path / "out")
    with Workspace(tmp_path / "other" / "memory.db") as other:
        other.take_in(tmp_path / "out")
        assert list(other.store.dump()) == list(space.store.dump())
        assert other.verify() == ()
        assert other.photo_folder is not None
        (kept,) = other.photo_folder.glob("??/*")
        kept.write_bytes(b"damaged")
        assert other.verify() == (f"photo {photo.sha256} is damaged",)


def test_a_changed_export_is_refused(space: Workspace, tmp_path: Path) -> None:
    space.export(tmp_path / "out")
    with (tmp_path / "out" / "store.jsonl").open("a") as out:
        out.write("{}\n")
    with Workspace(None) as other, pytest.raises(UserError, match="not as it was exported"):
        other.take_in(tmp_path / "out")


def test_an_export_can_leave_sellers_out(space: Workspace, tmp_path: Path) -> None:
    space.export(tmp_path / "out", leave_out_sellers=True)
    text = (tmp_path / "out" / "store.jsonl").read_text()
    assert not [x.seller_name for x in WEEK.listings if x.seller_name and x.seller_name in text]


LABELS = ("Seller", "Verkäuferin", "Vendu par", "Contatto", "Vendedor", "Who", "Contact")


@pytest.mark.parametrize("label", LABELS)
def test_an_export_without_sellers_names_them_nowhere(label: str, tmp_path: Path) -> None:
    told = Listing(
        "a", "a.html", title="Halm by Attic Rose", description="Ask ATTIC ROSE, a@attic.example.",
        specifics=((label, "Attic Rose"), ("Bridge", "20 mm")), seller_id="rose-77",
    )  # fmt: skip
    with Workspace(tmp_path / "memory.db") as space:
        folder = space.add_week("week", [told], {})
        seen = replace(_assessment("a", 1), reason="Attic Rose says so.")
        space.store.add_assessments(folder, [seen], "weights")
        space.enter("note", space.choose(["1"]), {"text": "rose-77 is slow"})
        space.export(tmp_path / "out", leave_out_sellers=True)
    text = (tmp_path / "out" / "store.jsonl").read_text().lower()
    assert not [x for x in ("attic rose", "rose-77", "attic.example") if x in text]
    assert "20 mm" in text
    with Workspace(None) as other:
        other.take_in(tmp_path / "out")
        assert other.latest().path == "week"


@pytest.mark.parametrize("name", ["ATTIC rose", "attic Rose", "Rose-77"])
def test_a_seller_is_forgotten_by_name_or_id_in_any_case(name: str) -> None:
    told = Listing("a", "a.html", seller_name="Attic Rose", seller_id="rose-77")
    other = Listing("b", "b.html", seller_name="Someone else")
    with Workspace(None) as space:
        space.add_week("week", [told, other], {})
        assert space.forget_seller(name).snapshots == 1
        assert "rose" not in str(list(space.store.dump())).lower()


def test_forgetting_before_a_date_takes_kept_photos_too(space: Workspace) -> None:
    data = b"bytes"
    photo = Photo("a.jpg", None, hashlib.sha256(data).hexdigest())
    space.keep_photos([(photo, data)])
    assert space.forget_before("2030-01-01") == len(WEEK.listings)
    assert space.photo_folder is not None
    assert not list(space.photo_folder.glob("??/*"))
    with pytest.raises(UserError, match="Nothing was reviewed"):
        space.latest()
