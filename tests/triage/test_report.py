"""The report: complete in itself, inert, and exact about what the seller wrote."""

import base64
import hashlib
import os
import re
import shutil
import subprocess
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from extractors.records import Problem
from models.records import Finding, Question, Step
from tests.triage.made import ASSESSMENT, EVIDENCE, LISTING, RUN, span
from triage.report import make_report
from triage.run import Row, Run

HOSTILE = (
    '"><script>alert(1)</script><img src=https://tracker.example/x onerror=alert(1)>\u202e'
    "{{8191*7}}{% raw %}</style><link rel=stylesheet href=//tracker.example/y>"
)
EXPECTED = Path(__file__).parent / "expected"


class _Page(HTMLParser):
    """The elements of a page: tags with their attributes, in order."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.elements if name == tag]


def _hostile_run() -> Run:
    listing = replace(
        LISTING,
        id=HOSTILE,
        title=HOSTILE,
        description=HOSTILE,
        seller_name=HOSTILE,
        location=HOSTILE,
        url="javascript:alert(1)",
        specifics=((HOSTILE, HOSTILE),),
        answers=(HOSTILE,),
        hidden_text=HOSTILE,
        date_listed=HOSTILE,
    )
    finding = Finding(HOSTILE, HOSTILE, "conflicts", "hard", HOSTILE, HOSTILE, HOSTILE)
    assessment = replace(
        ASSESSMENT,
        reason=HOSTILE,
        findings=(finding,),
        steps=(Step(HOSTILE, 1.0),),
        questions=(Question(HOSTILE, HOSTILE),),
        reference=HOSTILE,
    )
    return replace(
        RUN,
        folder=HOSTILE,
        rows=(Row(1, listing, EVIDENCE, assessment),),
        problems=(Problem(HOSTILE, HOSTILE, HOSTILE, HOSTILE),),
        unsheeted=((HOSTILE, 1),),
    )


def test_hostile_strings_stay_inert() -> None:
    html = make_report(_hostile_run())
    page = _Page(html)
    assert not page.all("script")
    assert not [attrs for _, attrs in page.elements if any(key.startswith("on") for key in attrs)]
    assert all((img["src"] or "").startswith("data:image/jpeg;base64,") for img in page.all("img"))
    assert "\u202e" not in html
    assert "57337" not in html
    assert not page.all("link")


def test_nothing_but_fragments_and_data_is_referred_to() -> None:
    page = _Page(make_report(RUN))
    for tag, attrs in page.elements:
        for key in ("src", "href", "action", "data", "poster", "srcset", "background"):
            value = attrs.get(key)
            assert value is None or value.startswith(("#", "data:image/jpeg;base64,")), (tag, value)
        assert "style" not in attrs, "the policy would block it"


def test_the_policy_allows_the_one_style_sheet_and_data_pictures_only() -> None:
    html = make_report(RUN)
    (policy,) = (
        meta["content"] or ""
        for meta in _Page(html).all("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    )
    (css,) = re.findall(r"<style>(.*?)</style>", html, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(css.encode()).digest()).decode()
    assert policy.split("; ")[:3] == [
        "default-src 'none'",
        f"style-src 'sha256-{digest}'",
        "img-src data:",
    ]
    assert "unsafe" not in policy
    assert "url(" not in css.replace("url(#hatch)", "")


def test_every_link_inside_the_page_has_its_target_and_ids_are_unique() -> None:
    page = _Page(make_report(RUN))
    ids = [attrs["id"] for _, attrs in page.elements if attrs.get("id")]
    assert len(ids) == len(set(ids))
    assert {(a["href"] or "")[1:] for a in page.all("a")} <= set(ids)


def test_pictures_and_drawings_have_words_or_are_hidden_from_readers_of_words() -> None:
    page = _Page(make_report(RUN))
    assert all(img.get("alt") for img in page.all("img"))
    for svg in page.all("svg"):
        assert svg.get("aria-label") or svg.get("aria-hidden") or svg.get("preserveaspectratio")


def test_marks_hold_exactly_the_quoted_characters() -> None:
    html = make_report(RUN)
    assert re.search(r'<mark class="conflicts" title="[^"]*">49 mm</mark>', html)
    assert re.search(r'<mark class="undecided" title="[^"]*">18 mm</mark>', html)
    assert re.search(r'<mark class="read" title="[^"]*">Returns not accepted</mark>', html)


def test_a_quotation_across_the_end_of_the_title_is_marked_on_both_sides() -> None:
    across = replace(ASSESSMENT.findings[0], quoted=(span("frame\nLens"),))
    run = replace(RUN, rows=(Row(1, LISTING, EVIDENCE, replace(ASSESSMENT, findings=(across,))),))
    html = make_report(run)
    assert re.search(r">frame</mark>", html)
    assert re.search(r">Lens</mark>", html)


def test_shared_photos_stand_side_by_side_with_sellers_and_dates() -> None:
    html = make_report(RUN)
    pair = html[html.index('<div class="pair">') :]
    pair = pair[: pair.index("</section>")]
    for words in ("olde_lens_loft", "brass_and_horn", "2026-11-02", "2026-10-01", "seen first"):
        assert words in pair
    assert 'points="100,100 1500,100 1500,1100 100,1100"' in pair
    assert html.count('<div class="pair">') == 1, "drawn once, on the card that comes first"


def test_shared_photos_are_laid_over_each_other_by_their_matching_corners() -> None:
    html = make_report(RUN)
    (matrix,) = re.findall(r'transform="matrix\(([^)]*)\)"', html)
    a, b, c, d, e, f = map(float, matrix.split())
    for (x, y), (u, v) in zip(RUN.pairs[0].area_b, RUN.pairs[0].area_a, strict=True):
        assert (a * x + c * y + e, b * x + d * y + f) == pytest.approx((u, v), abs=0.5)


def test_one_seller_relisting_is_not_shown_as_sharing() -> None:
    same = replace(RUN.rows[1], listing=replace(RUN.rows[1].listing, seller_id="s-1"))
    html = make_report(replace(RUN, rows=(RUN.rows[0], same, RUN.rows[2])))
    assert '<div class="pair">' not in html


def test_pictures_keep_within_their_budget_and_the_rest_is_counted() -> None:
    size = len(RUN.thumbnails["a" * 64].jpeg)
    html = make_report(RUN, photo_bytes=size + size // 2)
    assert html.count("data:image/jpeg") == 1
    assert "1 photo in the folder, not shown here" in html


def test_a_report_that_travels_names_no_one_and_shows_no_photo() -> None:
    described = replace(
        LISTING,
        description=f"{LISTING.description} Ask olde_lens_loft, +45 20 30 40 50, a@b.example",
    )
    rows = (replace(RUN.rows[0], listing=described), *RUN.rows[1:])
    html = make_report(replace(RUN, rows=rows), ("people",))
    for word in (
        "olde_lens_loft",
        "brass_and_horn",
        "Aarhus",
        "market.example",
        "week/",
        "data:image",
    ):
        assert word not in html
    assert "20 30 40" not in html
    assert "b.example" not in html
    assert re.search(r'<mark class="conflicts" title="[^"]*">49 mm</mark>', html)
    assert "left out of this report" in html


def test_a_report_that_travels_leaves_out_details_that_name_a_seller() -> None:
    told = (*LISTING.specifics, ("Ansprechpartnerin", "Wanda Lenz"), ("Chi vende", "Wanda Lenz"))
    described = replace(
        LISTING, specifics=told, description=f"{LISTING.description} WANDA LENZ packs it."
    )
    rows = (replace(RUN.rows[0], listing=described), *RUN.rows[1:])
    html = make_report(replace(RUN, rows=rows), ("people",)).lower()
    assert "wanda" not in html
    assert "packs it" in html


def test_a_review_says_on_the_card_what_changed() -> None:
    since = {"L1": ("Changed", "seller name: olde_lens_loft → x", "price: 90 → 84.50")}
    html = make_report(replace(RUN, since=since))
    assert "price: 90 → 84.50" in html
    assert "olde_lens_loft" not in make_report(replace(RUN, since=since), ("people",))


def test_no_output_passes_a_verdict_on_a_piece_or_person() -> None:
    text = re.sub(r"<[^>]*>", " ", make_report(RUN).split("</style>")[1]).lower()
    for word in ("fake", "fraud", "scam", "counterfeit", "forger"):
        assert word not in text


def test_many_listings_are_folded_but_all_there() -> None:
    rows = tuple(
        replace(RUN.rows[1], rank=n, listing=replace(RUN.rows[1].listing, id=f"x{n}"))
        for n in range(1, 301)
    )
    html = make_report(replace(RUN, rows=rows, pairs=(), thumbnails={}))
    assert html.count('<article class="card"') == 300
    assert len(html) < 300 * 12_000


def _trimmed(html: str) -> str:
    """The report without its style sheet, its pictures' bytes and empty lines."""
    html = re.sub(r"<style>.*?</style>", "<style></style>", html, flags=re.DOTALL)
    html = re.sub(r"sha256-[\w+/=]+", "sha256-", html)
    html = re.sub(r"base64,[\w+/=]+", "base64,", html)
    return "\n".join(line for line in html.splitlines() if line.strip()) + "\n"


def test_the_whole_report_is_as_it_was_looked_at() -> None:
    assert _trimmed(make_report(RUN)) == (EXPECTED / "report.html").read_text(encoding="utf-8")


CHROMIUM = shutil.which("chromium")


@pytest.mark.browser
@pytest.mark.parametrize("run", [RUN, _hostile_run()], ids=["usual", "hostile"])
def test_a_browser_loads_it_without_requests_or_violations(run: Run, tmp_path: Path) -> None:
    if CHROMIUM is None:
        assert not os.environ.get("CI"), "Chromium must be there in CI"
        pytest.skip("needs Chromium")
    (tmp_path / "report.html").write_text(make_report(run), encoding="utf-8")
    log = tmp_path / "net.json"
    done = subprocess.run(
        [
            CHROMIUM,
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--enable-logging=stderr",
            "--v=0",
            f"--user-data-dir={tmp_path / 'profile'}",
            f"--log-net-log={log}",
            "--disable-background-networking",
            "--disable-component-update",
            "--dump-dom",
            (tmp_path / "report.html").as_uri(),
        ],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert "Frames to look at" in done.stdout
    assert "Content Security Policy" not in done.stderr
    assert "CONSOLE" not in done.stderr, done.stderr
    # the browser's own errands go to other hosts
    assert '"url":"https://tracker.example' not in log.read_text(errors="replace")
