"""Pictures and descriptions that other sellers use: who, where first, by which date, how strong."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.records import Evidence, Listing, Photo
from models.checks.corpus import Corpus, Examined
from models.checks.photo_reuse import check_photo_reuse
from models.checks.text_reuse import check_text_reuse
from models.resolve import Resolution


@dataclass(frozen=True)
class FakePair:
    a: str
    b: str
    answer: str = "copy"
    changes: tuple[str, ...] = ("mirrored",)


def _listing(key: str, seller: str | None = None, **fields: object) -> Listing:
    photos = (Photo(f"{key}/1.jpg", None, key), Photo(f"{key}/2.jpg", None, key + "2"))
    return Listing(key, f"{key}.html", seller_id=seller, photos=photos, **fields)  # type: ignore[arg-type]


def _corpus(
    *listings: Listing, pairs: tuple[FakePair, ...] = (), claims: dict[str, str] | None = None
) -> Corpus:
    claims = claims or {}
    return Corpus(
        tuple(Examined(x, Evidence(x.id), Resolution(claims.get(x.id)), ()) for x in listings),
        pairs,
    )


PAIR = FakePair("a/1.jpg", "b/1.jpg")


def test_another_sellers_picture_is_a_finding_on_both_listings() -> None:
    found = check_photo_reuse(_corpus(_listing("a", "ann"), _listing("b", "bob"), pairs=(PAIR,)))
    assert {key: findings[0].about for key, findings in found.items()} == {"a": ("b",), "b": ("a",)}
    (finding,) = found["a"]
    assert finding.why.startswith("1 of 2 photos is also shown by 1 other seller")
    assert "mirrored" in finding.why
    assert [(span.part, span.key) for span in finding.quoted] == [("photo", "a/1.jpg")]
    assert finding.explanations


def test_the_same_seller_relisting_is_no_finding() -> None:
    assert (
        check_photo_reuse(_corpus(_listing("a", "ann"), _listing("b", "ann"), pairs=(PAIR,))) == {}
    )


@pytest.mark.parametrize("answer", ["same_piece", "alike", "shared_overlay"])
def test_other_answers_than_copy_are_no_finding(answer: str) -> None:
    pairs = (FakePair("a/1.jpg", "b/1.jpg", answer),)
    assert check_photo_reuse(_corpus(_listing("a", "ann"), _listing("b", "bob"), pairs=pairs)) == {}


def test_the_later_listing_weighs_more_than_the_first() -> None:
    first = _listing("a", "ann", date_listed="2026-03-01", date_saved="2026-05-01")
    second = _listing("b", "bob", date_listed="2026-04-11", date_saved="2026-04-12")
    found = check_photo_reuse(_corpus(first, second, pairs=(PAIR,)))
    assert found["a"][0].strength == "clue"
    assert found["b"][0].strength == "hard"
    assert "seen earliest in listing a, listed 2026-03-01" in found["b"][0].why
    assert "seen earliest in this listing" in found["a"][0].why


def test_a_saved_date_says_less_than_a_listed_one() -> None:
    first = _listing("a", "ann", date_saved="2026-03-01")
    second = _listing("b", "bob", date_saved="2026-04-11")
    found = check_photo_reuse(_corpus(first, second, pairs=(PAIR,)))
    assert found["b"][0].strength == "soft"
    assert "saved 2026-03-01" in found["b"][0].why


def test_no_dates_are_said_to_be_missing() -> None:
    found = check_photo_reuse(_corpus(_listing("a", "ann"), _listing("b", "bob"), pairs=(PAIR,)))
    assert "no date says which was first" in found["a"][0].why
    assert found["a"][0].strength == "soft"


def test_one_picture_for_two_references_is_firm() -> None:
    corpus = _corpus(
        _listing("a", "ann"),
        _listing("b", "bob"),
        pairs=(PAIR,),
        claims={"a": "halm", "b": "kvist"},
    )
    found = check_photo_reuse(corpus)
    assert found["a"][0].strength == found["b"][0].strength == "hard"
    assert "another reference" in found["a"][0].why


def test_a_picture_that_many_show_looks_like_a_catalogue_picture() -> None:
    listings = [_listing(key, f"seller {key}") for key in "abcde"]
    pairs = tuple(
        FakePair(f"{a}/1.jpg", f"{b}/1.jpg")
        for i, a in enumerate("abcde")
        for b in "abcde"[i + 1 :]
    )
    (finding,) = check_photo_reuse(_corpus(*listings, pairs=pairs))["a"]
    assert finding.strength == "clue"
    assert "catalogue" in finding.explanations[0]
    assert finding.about == ("b", "c", "d", "e")


def test_the_other_reference_is_named() -> None:
    claims = {"a": "halm", "b": "kvist"}
    corpus = _corpus(_listing("a", "ann"), _listing("b", "bob"), pairs=(PAIR,), claims=claims)
    (finding,) = check_photo_reuse(corpus)["a"]
    assert "for another reference (kvist in listing b)" in finding.why


def test_a_known_catalogue_picture_is_a_weaker_finding_of_its_own() -> None:
    corpus = replace(_corpus(_listing("a", "ann")), known={"a": "spring catalogue"})
    (finding,) = check_photo_reuse(corpus)["a"]
    assert (finding.check, finding.result, finding.strength) == (
        "catalogue_picture",
        "undecided",
        "clue",
    )
    assert finding.why.startswith("1 of 2 photos are catalogue pictures that you know (spring cat")
    assert "the other photos may show the piece" in finding.why
    assert finding.about == ()
    assert finding.explanations


def test_a_listing_of_nothing_but_catalogue_pictures_shows_no_piece() -> None:
    corpus = replace(_corpus(_listing("a", "ann")), known={"a": "spring", "a2": "spring"})
    (finding,) = check_photo_reuse(corpus)["a"]
    assert "no photo shows the piece itself" in finding.why


def test_two_sellers_with_one_known_catalogue_picture_are_a_clue_only() -> None:
    first = _listing("a", "ann", date_listed="2026-03-01")
    second = _listing("b", "bob", date_listed="2026-04-11")
    known = {"a": "spring", "b": "spring"}
    corpus = replace(
        _corpus(first, second, pairs=(PAIR,), claims={"a": "halm", "b": "kvist"}), known=known
    )
    shared, catalogue = check_photo_reuse(corpus)["b"]
    assert (shared.check, shared.strength) == ("photo_reuse", "clue")
    assert "catalogue" in shared.explanations[0]
    assert catalogue.check == "catalogue_picture"


def test_a_picture_in_hundreds_of_listings_costs_few_pairs_and_is_a_clue() -> None:
    listings = [replace(_listing(f"l{n}", f"seller {n}"), photos=SHARED) for n in range(300)]
    found = check_photo_reuse(_corpus(*listings, pairs=(FakePair("all.jpg", "all.jpg"),)))
    assert len(found) == 300
    assert {findings[0].strength for findings in found.values()} == {"clue"}
    assert "catalogue" in found["l7"][0].explanations[0]
    assert sum(len(findings[0].about) for findings in found.values()) < 1000


SHARED = (Photo("all.jpg", None, "all"),)


def test_unnamed_sellers_are_a_clue_only() -> None:
    found = check_photo_reuse(_corpus(_listing("a"), _listing("b"), pairs=(PAIR,)))
    assert found["a"][0].strength == "clue"
    assert "not named" in found["a"][0].explanations[0]


def test_no_output_accuses() -> None:
    found = check_photo_reuse(_corpus(_listing("a", "ann"), _listing("b", "bob"), pairs=(PAIR,)))
    text = " ".join([found["a"][0].why, *found["a"][0].explanations]).lower()
    assert not any(word in text for word in ("fake", "fraud", "scam", "stolen", "counterfeit"))


OWN = (
    "Bought by my grandfather in a small shop by the harbour and worn on Sundays only. "
    "The left arm carries the number in gold, slightly rubbed where the thumb holds it. "
    "Hinges close with the firm click that these have when nobody has bent them."
)
SHOP = (
    "We ship worldwide within two business days by tracked and insured parcel. "
    "Payment by bank transfer or card, returns within fourteen days of delivery please. "
    "Thank you for visiting our shop and feel free to message us with any questions."
)


def _texts(one: str, other: str, **sellers: str) -> Corpus:
    return _corpus(
        _listing("a", sellers.get("a", "ann"), title="Halm", description=one),
        _listing("b", sellers.get("b", "bob"), title="Halm 52", description=other),
    )


def test_a_copied_description_is_firm_and_quotes_the_words() -> None:
    found = check_text_reuse(_texts(OWN + "\n" + SHOP, "Nice ones.\n" + OWN))
    (finding,) = found["b"]
    assert (finding.strength, finding.about) == ("hard", ("a",))
    (span,) = finding.quoted
    assert "Halm 52\nNice ones.\n" + OWN == "Halm 52\nNice ones.\n" + OWN
    assert ("Halm 52\nNice ones.\n" + OWN)[span.start : span.end] == span.text
    assert len(span.text) > 40


def test_shop_phrases_alone_are_no_finding() -> None:
    assert (
        check_text_reuse(_texts(SHOP + " Round metal frame.", SHOP + " Square horn frame.")) == {}
    )


def test_half_a_description_is_less() -> None:
    half = OWN[: OWN.index("Hinges")]
    other = half + " Lenses are new plano ones that the optician in our street put in last month."
    rest = " Comes in the blue case with a cloth that has nothing printed on it at all anywhere."
    found = check_text_reuse(_texts(OWN + rest, other))
    assert found["a"][0].strength == "soft"


def test_the_same_seller_may_repeat_a_description() -> None:
    assert check_text_reuse(_texts(OWN, OWN, a="ann", b="ann")) == {}


def test_what_a_seller_writes_under_every_piece_is_discounted() -> None:
    listings = [_listing(f"s{n}", "ann", description=OWN) for n in range(3)]
    corpus = _corpus(*listings, _listing("z", "zoe", description="Honest frame, worn, clean."))
    assert check_text_reuse(corpus) == {}


def test_short_common_words_are_no_finding() -> None:
    assert (
        check_text_reuse(_texts("Vintage frame, good condition.", "Vintage frame, good condition."))
        == {}
    )


@dataclass(frozen=True)
class PlacedPair(FakePair):
    area_a: tuple[tuple[float, float], ...] = ((0, 0), (100, 0), (100, 100), (0, 100))
    area_b: tuple[tuple[float, float], ...] = ((0, 0), (100, 0), (100, 100), (0, 100))


SMALL, LARGE = ((0, 0), (60, 0), (60, 60), (0, 60)), ((0, 0), (100, 0), (100, 100), (0, 100))
EARLIER, LATER = "2026-03-01", "2026-04-11"
ORIGINS = [  # what is listed later here: its changes, its detail, and how firmly it borrowed
    ("cropped since", ("cropped to 80 %",), LARGE, LARGE, "hard"),
    ("only saved again", ("saved again", "resized to 80 %"), LARGE, LARGE, "soft"),
    ("cropped, but in more detail here", ("cropped to 80 %",), SMALL, LARGE, "soft"),
    ("cropped and coarser here", ("cropped to 80 %",), LARGE, SMALL, "hard"),
]


@pytest.mark.parametrize(("name", "changes", "there", "here", "strength"), ORIGINS)
def test_who_had_the_picture_first_is_read_off_dates_changes_and_detail(
    name: str, changes: tuple[str, ...], there: tuple, here: tuple, strength: str
) -> None:
    first, second = (
        _listing("a", "ann", date_listed=EARLIER),
        _listing("b", "bob", date_listed=LATER),
    )
    pair = PlacedPair("a/1.jpg", "b/1.jpg", changes=changes, area_a=there, area_b=here)
    found = check_photo_reuse(_corpus(first, second, pairs=(pair,)))
    assert found["b"][0].strength == strength


def test_the_first_with_the_finer_picture_is_hardly_the_borrower() -> None:
    first, second = (
        _listing("a", "ann", date_listed=EARLIER),
        _listing("b", "bob", date_listed=LATER),
    )
    pair = PlacedPair("a/1.jpg", "b/1.jpg", area_a=LARGE, area_b=SMALL)
    assert check_photo_reuse(_corpus(first, second, pairs=(pair,)))["a"][0].strength == "clue"


def test_words_that_were_here_first_weigh_less() -> None:
    words = (
        "I found this pair in the drawer of a writing desk that came from a house by the sea, with "
        "a note in it that nobody could read, and the left arm still bends as if it were new."
    )
    first = replace(_listing("a", "ann", date_listed=EARLIER), description=words)
    second = replace(_listing("b", "bob", date_listed=LATER), description=words)
    found = check_text_reuse(_corpus(first, second))
    assert (found["a"][0].strength, found["b"][0].strength) == ("soft", "hard")


FRAME_TEXT = " ".join(f"word{n}" for n in range(60)) + " "
MARKET = [
    _listing(f"l{n}", f"s{n % 7}" if n % 4 else None, date_listed=f"2026-11-{n + 1:02}" if n % 3
    else None, description=FRAME_TEXT + f"piece {n} of a drawer " * (n % 3))
    for n in range(12)
]  # fmt: skip
PAIRS = [
    FakePair(f"l{a}/1.jpg", f"l{b}/{1 + a % 2}.jpg") for a in range(8) for b in range(a, 12, 3)
]


@given(st.permutations(MARKET), st.permutations(PAIRS))
def test_the_order_of_listings_and_pairs_changes_no_finding(
    listings: list[Listing], pairs: list[FakePair]
) -> None:
    for check in (check_photo_reuse, check_text_reuse):
        told = check(_corpus(*MARKET, pairs=tuple(PAIRS)))
        assert len(told) > 3
        assert check(_corpus(*listings, pairs=tuple(pairs))) == told
