"""What the risk may and may not do: sums, caps, causes, silence and the groups."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extractors.records import Authenticity, Condition, Evidence, KeyPhrase, Listing
from models.features import signs_of
from models.order import GROUPS, place_among, rank
from models.outlook import Outlook, look_ahead
from models.records import Assessment, Candidate, Finding
from models.risk import add_up, assess, probability, starting_model
from models.sheet_records import Combination, Dimension, ReferenceSheet, Rule, Sizes
from models.weights import load_weights

WEIGHTS = load_weights()
SIZES = ("lens_width", "bridge", "temple_length")
BUILD = ("hinge_barrels", "screw_slot", "rivet_shape", "core_wire", "nose_pads")
SHEET = ReferenceSheet(
    id="maker-model",
    name="Maker Model",
    sizes=Sizes((Combination("one", tuple(Dimension(n, 40, 40, 1) for n in SIZES)),)),
    rules=tuple(Rule(point=name, values=("x",), question=f"How is the {name}?") for name in BUILD),
)
POINTS = SHEET.points
EVIDENCE = Evidence("a")


@dataclass(frozen=True)
class Known:
    """A resolution as the ranker sees it."""

    reference: str | None = "maker-model"
    edition: str | None = None
    candidates: tuple[Candidate, ...] = ()


def finding(point: str, result: str, strength: str = "hard", cause: str | None = None) -> Finding:
    check = "measurements" if point in SIZES else "points"
    return Finding(check, point, result, strength, "", cause=cause)  # type: ignore[arg-type]


def fill(**results: str) -> tuple[Finding, ...]:
    """Findings for every point of the sheet, not stated where nothing is given."""
    return tuple(finding(point, results.get(point, "not_stated")) for point in POINTS)


def stated(findings: tuple[Finding, ...]) -> float:
    said = {f.point for f in findings if f.result in ("agrees", "conflicts", "undecided")}
    return len(said & set(POINTS)) / len(POINTS)


def judge(
    findings: tuple[Finding, ...],
    evidence: Evidence = EVIDENCE,
    known: Known | None = None,
    shares: tuple[str, ...] = (),
) -> Assessment:
    known = known or Known()
    sheet = SHEET if known.reference else None
    complete = stated(findings) if sheet else None
    return assess(
        Listing("a", "a.txt"), evidence, known, findings, complete, WEIGHTS,
        sheet=sheet, shares_photo_with=shares, language="en",
    )  # fmt: skip


ALL_AGREE = fill(**dict.fromkeys(POINTS, "agrees"))

results = st.sampled_from(["agrees", "conflicts", "undecided", "not_stated", "no_reference"])
strengths = st.sampled_from(["hard", "soft", "clue"])
one_finding = st.builds(
    Finding,
    check=st.sampled_from(["measurements", "points", "marks", "dates", "something_new"]),
    point=st.sampled_from([*POINTS, "mark_date", "made_up"]),
    result=results,
    strength=strengths,
    why=st.just(""),
    cause=st.sampled_from([None, None, "unit", "year"]),
)
some_findings = st.lists(one_finding, max_size=14).map(tuple)
some_wording = st.builds(
    Evidence,
    id=st.just("a"),
    authenticity=st.sampled_from(
        [Authenticity(label) for label in ("none", "asserted", "hedged", "disclaimed")]
    ),
    key_phrases=st.lists(
        st.sampled_from(["urgency", "returns_refused", "provenance_offered", "stock_text"]).map(
            lambda name: KeyPhrase(name, ())
        ),
        max_size=4,
    ).map(tuple),
)


@settings(deadline=None)
@given(some_findings, some_wording)
def test_steps_add_up_to_the_score_shown(findings, evidence):
    made = judge(findings, evidence)
    assert abs(sum(step.log_odds for step in made.steps) - made.score) < 1e-9
    assert abs(made.risk - probability(made.score)) < 1e-12
    assert made.interval[0] <= made.risk <= made.interval[1]


def test_a_listing_that_says_nothing_keeps_the_starting_share():
    made = judge(fill())
    assert made.risk == pytest.approx(WEIGHTS.prior.share)
    assert made.next_step == "cannot_say"
    assert "not measured" in made.steps[0].name


def test_agreement_in_words_lowers_risk_a_little_and_never_more_than_the_cap():
    start = WEIGHTS.prior.log_odds
    some = judge(fill(lens_width="agrees", bridge="agrees", hinge_barrels="agrees"))
    cap = WEIGHTS.families["favour"].cap
    assert start - cap <= judge(ALL_AGREE).score < some.score < start


def test_of_two_well_described_pieces_the_better_described_comes_first():
    most = fill(**dict.fromkeys(POINTS[:-1], "agrees"))
    assert judge(ALL_AGREE).risk < judge(most).risk


def test_conflicts_carry_the_weight():
    one = judge(fill(**{**dict.fromkeys(POINTS, "agrees"), "hinge_barrels": "conflicts"}))
    assert one.risk > 0.3 > judge(ALL_AGREE).risk


def test_findings_of_one_cause_count_once():
    alone = judge((finding("bridge", "conflicts", cause="unit"),))
    three = judge(tuple(finding(point, "conflicts", cause="unit") for point in SIZES))
    assert three.score == pytest.approx(alone.score)


def test_what_counts_together_is_shown_as_a_step():
    made = judge(fill(bridge="conflicts", lens_width="conflicts", temple_length="conflicts"))
    taken = [s for s in made.steps if s.name == "several sizes count together: part taken back"]
    assert [step.log_odds < 0 for step in taken] == [True]


NONE_FITS = fill(**dict.fromkeys(SIZES, "conflicts"))


def test_a_piece_none_of_whose_sizes_fits_is_left_and_asked_about_its_sizes_first():
    one_cause = tuple(replace(f, cause="sizes") if f.point in SIZES else f for f in NONE_FITS)
    for findings in (NONE_FITS, one_cause):
        made = judge(findings)
        assert made.next_step == "leave"
        assert "no stated size is on the sheet's complete list" in made.reason
        first = made.questions[0]
        assert "lens width, bridge, temple length" in first.text
        assert [q.point for q in made.questions].count("bridge") == 0
    assert "lens width, bridge and temple length not as on the sheet" in made.reason


@pytest.mark.parametrize(
    ("name", "changed"),
    [
        ("one of them fits", {"result": "agrees"}),
        ("one is open", {"result": "undecided"}),
        ("the sheet is not sure", {"strength": "soft"}),
        ("one slip explains it", {"cause": "unit"}),
    ],
)
def test_sizes_that_miss_the_sheet_only_in_part_or_by_a_slip_weigh_less(name, changed):
    findings = tuple(
        replace(f, **changed) if f.point == "bridge" else replace(f, cause="sizes")
        for f in NONE_FITS
    )
    steps = judge(findings).steps
    assert not any("complete list" in step.name for step in steps)
    assert judge(findings).score < judge(NONE_FITS).score


@settings(deadline=None)
@given(some_findings, some_wording)
def test_reasons_name_only_what_tells_of_the_listing(findings, evidence):
    reason = judge(findings, evidence).reason
    assert "taken back" not in reason
    assert "share" not in reason


OVER = [
    ({"ended": True}, "leave", "Ended, no longer on offer."),
    ({"price_kind": "sold"}, "leave", "Sold, no longer on offer."),
    ({"ended": None}, "look", None),
    ({"ended": False}, "look", None),
]


@pytest.mark.parametrize(("fields", "group", "reason"), OVER)
def test_what_is_over_is_ranked_last_with_nothing_to_do(fields, group, reason):
    def made(name: str, findings: tuple[Finding, ...], **more: object) -> Assessment:
        return assess(
            Listing(name, "a.txt", **more), EVIDENCE, Known(), findings, stated(findings), WEIGHTS,
            sheet=SHEET, language="en",
        )  # fmt: skip

    best = made("best", ALL_AGREE, **fields)
    assert best.next_step == group
    assert reason in (None, best.reason)
    worst = made("worst", NONE_FITS)
    last = rank([best, worst])[-1].id
    assert last == ("best" if reason else "worst")
    assert not (reason and best.questions)


@pytest.mark.parametrize("family", sorted(WEIGHTS.families))
def test_no_family_ever_exceeds_its_cap(family):
    rows = [row for row in WEIGHTS.rows.values() if row.family == family and row.log_odds]
    for row in rows:
        check, *rest = row.code.split(".")
        result = next((part for part in rest if part in ("agrees", "conflicts")), None)
        if result is None:  # wording and facts are no findings and count once by nature
            continue
        strength = rest[-1] if rest[-1] in ("hard", "soft", "clue") else "soft"
        point = rest[0] if rest[0] != result else None
        many = tuple(Finding(check, point or f"point_{n}", result, strength, "") for n in range(20))
        score = judge(many).score - WEIGHTS.prior.log_odds
        assert abs(score) <= WEIGHTS.families[family].cap + 1e-9


def test_a_phrase_said_three_times_counts_once():
    phrase = KeyPhrase("urgency", ())
    once = judge(fill(), Evidence("a", key_phrases=(phrase,)))
    thrice = judge(fill(), Evidence("a", key_phrases=(phrase,) * 3))
    assert once.score == thrice.score > WEIGHTS.prior.log_odds


@settings(max_examples=300, deadline=None)
@given(some_findings, some_wording, st.data())
def test_removing_a_statement_never_lifts_a_listing_into_look(findings, evidence, data):
    before = judge(findings, evidence)
    if not findings:
        return
    index = data.draw(st.integers(0, len(findings) - 1))
    silent = replace(findings[index], result="not_stated")
    kept = data.draw(st.booleans())
    after = findings[:index] + ((silent,) if kept else ()) + findings[index + 1 :]
    fewer = replace(
        evidence,
        key_phrases=evidence.key_phrases[1:],
        authenticity=data.draw(st.sampled_from([evidence.authenticity, Authenticity()])),
    )
    now = judge(after, fewer if data.draw(st.booleans()) else evidence)
    assert now.next_step != "look" or before.next_step == "look"


@settings(deadline=None)
@given(some_findings, st.data())
def test_removing_an_agreement_never_lowers_the_risk(findings, data):
    agreeing = [i for i, f in enumerate(findings) if f.result == "agrees" and not f.cause]
    if not agreeing:
        return
    index = data.draw(st.sampled_from(agreeing))
    after = (*findings[:index], replace(findings[index], result="not_stated"))
    after += findings[index + 1 :]
    assert judge(after).score >= judge(findings).score - 1e-9


def test_little_said_is_wider_than_much_said():
    def width(made: Assessment) -> float:
        low, high = (math.log(p / (1 - p)) for p in made.interval)
        return high - low

    assert width(judge(fill())) > width(judge(ALL_AGREE))


GROUP_CASES = [
    ("everything agrees", ALL_AGREE, Known(), (), "look"),
    ("half agrees", fill(**dict.fromkeys(POINTS[:4], "agrees")), Known(), (), "look"),
    ("two points agree", fill(lens_width="agrees", bridge="agrees"), Known(), (), "ask"),
    ("one point agrees", fill(bridge="agrees"), Known(), (), "cannot_say"),
    ("nothing stated", fill(), Known(), (), "cannot_say"),
    ("no reference", (), Known(None), (), "no_sheet"),
    ("two candidates", (), Known(None, None, (Candidate("x", ""), Candidate("y", ""))), (),
     "cannot_say"),
    ("two firm conflicts", fill(hinge_barrels="conflicts", rivet_shape="conflicts"), Known(), (),
     "leave"),
    ("all agrees, borrowed pictures", ALL_AGREE, Known(), ("b",), "ask"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "findings", "known", "shares", "group"), GROUP_CASES)
def test_group(name, findings, known, shares, group):
    assert judge(findings, known=known, shares=shares).next_step == group


FIRST = Finding("photo_reuse", "photos", "conflicts", "clue", "")
TAKEN = Finding("photo_reuse", "photos", "conflicts", "hard", "")


def test_who_showed_the_pictures_first_may_still_be_looked_at():
    assert judge((*ALL_AGREE, FIRST), shares=("b",)).next_step == "look"
    assert judge((*ALL_AGREE, TAKEN), shares=("b",)).next_step != "look"


def test_a_shared_picture_counts_once_whether_a_check_has_judged_it_or_not():
    plain, judged = judge(fill(), shares=("b",)), judge((*fill(), TAKEN), shares=("b",))
    assert WEIGHTS.prior.log_odds < plain.score < judged.score
    assert judged.score == pytest.approx(judge((*fill(), TAKEN)).score)


def test_order_is_by_group_then_risk_and_does_not_depend_on_the_order_given():
    made = [judge(c[1], known=c[2], shares=c[3]) for c in GROUP_CASES]
    made = [replace(a, id=f"{i}") for i, a in enumerate(made)]
    ordered = rank(made)
    assert ordered == rank(reversed(made))
    places = [GROUPS.index(a.stands_with or a.next_step) for a in ordered]
    assert places == sorted(places)
    looks = [a.risk for a in ordered if a.next_step == "look"]
    assert looks == sorted(looks)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(some_findings, some_wording), min_size=2, max_size=6))
def test_what_is_in_conflict_never_stands_before_a_lower_risk_worth_a_look_or_a_question(drawn):
    ordered = rank(replace(judge(f, e), id=f"{n}") for n, (f, e) in enumerate(drawn))
    for place, one in enumerate(ordered):
        against = [f for f in one.findings if f.result == "conflicts" and f.strength != "clue"]
        if one.next_step == "look" and against:
            later = [a for a in ordered[place:] if a.next_step in ("look", "ask")]
            assert all(a.risk >= one.risk - 1e-9 for a in later)


def test_the_well_told_piece_in_conflict_stands_among_those_to_ask_and_a_heavy_one_last():
    half = dict.fromkeys(POINTS, "agrees")
    worth_asking = judge(fill(lens_width="agrees", bridge="agrees"))
    doubtful = judge(fill(**{**half, "hinge_barrels": "conflicts"}))
    heavy = judge(fill(**{**half, "hinge_barrels": "conflicts", "screw_slot": "conflicts"}))
    silent, clean = judge(fill()), judge(ALL_AGREE)
    made = {"clean": clean, "ask": worth_asking, "doubt": doubtful, "silent": silent}
    made["heavy"] = heavy
    assert {a.next_step for a in (doubtful, heavy)} == {"look"}
    ordered = rank(replace(a, id=name) for name, a in made.items())
    assert [a.id for a in ordered] == ["clean", "ask", "doubt", "silent", "heavy"]


def test_a_clue_is_told_as_a_caution_not_as_a_conflict():
    price = Finding("price", "price", "conflicts", "clue", "")
    made = judge((*ALL_AGREE, FIRST, price), shares=("b",))
    assert made.next_step == "look"
    assert "nothing conflicts, though others show its pictures too and the price is low" in (
        made.reason
    )


def test_listings_chosen_for_a_look_come_first_of_all():
    made = [judge(c[1], known=c[2], shares=c[3]) for c in GROUP_CASES]
    made = [replace(a, id=f"{i}") for i, a in enumerate(made)]
    ordered = [a.id for a in rank(made, first=("1", "0"))]
    assert ordered[:2] == ["1", "0"]
    assert sorted(ordered[2:]) == sorted(a.id for a in rank(made)[2:])


@pytest.mark.parametrize("case", GROUP_CASES, ids=lambda case: case[0])
def test_reason_is_one_sentence_that_judges_nobody(case):
    reason = judge(case[1], known=case[2], shares=case[3]).reason
    assert reason.endswith(".")
    assert reason.count(". ") == 0
    assert not any(word in reason.lower() for word in ("fake", "fraud", "scam", "counterfeit"))


def test_buyers_own_starting_share_moves_every_listing_alike():
    low, high = starting_model(WEIGHTS, 0.1), starting_model(WEIGHTS, 0.4)
    assert low.coefficients == high.coefficients
    assert high.intercept - low.intercept == pytest.approx(math.log(6))


def outlook(findings: tuple[Finding, ...]):
    made = judge(findings)
    listing = Listing("a", "a.txt")
    return made, look_ahead(listing, EVIDENCE, made, WEIGHTS, starting_model(WEIGHTS), SHEET)


def test_outlook_names_the_point_that_would_move_the_risk_most_and_is_exact():
    results = {**dict.fromkeys(POINTS, "agrees"), "hinge_barrels": "not_stated"}
    made, found = outlook(fill(**results))
    then = judge(fill(**{**results, "hinge_barrels": "conflicts"}))
    assert found.point == "hinge_barrels"
    assert found.risk > made.risk
    # all agreement keeps its room, as the share of points told is held
    assert found.risk == pytest.approx(then.risk, abs=0.02)


def test_outlook_of_a_conflict_is_that_it_may_turn_out_to_fit():
    made, found = outlook(fill(hinge_barrels="conflicts", bridge="agrees"))
    assert found.point == "hinge_barrels"
    assert "after all" in found.says
    assert found.risk < made.risk


def test_an_outlook_that_moves_no_figure_shown_is_left_out():
    build = dict.fromkeys(BUILD, "conflicts")
    listing = Listing("a", "a.txt")
    made = replace(judge(fill(**build)), risk=0.999)
    heavy = replace(made, findings=tuple(f for f in made.findings if f.point in BUILD) * 3)
    found = look_ahead(listing, EVIDENCE, heavy, WEIGHTS, starting_model(WEIGHTS), SHEET)
    assert found is None or f"{found.risk:.2f}" != "1.00"


def test_nothing_open_has_no_outlook():
    assert outlook(ALL_AGREE)[1] is None


def test_buyers_own_share_for_a_reference_is_a_step_of_its_own():
    own = replace(WEIGHTS, prior=replace(WEIGHTS.prior, by_reference={"maker-model": 0.5}))
    made = assess(
        Listing("a", "a.txt"), EVIDENCE, Known(), fill(), 0.0, own, sheet=SHEET, language="en"
    )
    assert made.risk == pytest.approx(0.5)
    assert any("your own share" in step.name for step in made.steps)


def test_buyers_own_share_for_a_market_goes_by_the_host_of_the_address():
    own = replace(WEIGHTS, prior=replace(WEIGHTS.prior, by_source={"market.example": 0.05}))
    listing = Listing("a", "a.txt", url="https://market.example/item/1")
    made = assess(listing, EVIDENCE, Known(), fill(), 0.0, own, sheet=SHEET, language="en")
    assert made.risk == pytest.approx(0.05)


def test_add_up_does_not_lose_small_steps():
    made = judge(ALL_AGREE)
    assert add_up(made.steps) == made.score


def test_the_place_that_a_turned_point_would_bring_is_told_and_exact():
    made = [replace(judge(c[1], known=c[2], shares=c[3]), id=f"{i}")
            for i, c in enumerate(GROUP_CASES)]  # fmt: skip
    for number, one in enumerate(rank(made), 1):
        assert place_among(one, made) == number
    turned = replace(judge(fill(hinge_barrels="conflicts")), id="0")
    ordered = rank([turned, *made[1:]])
    assert place_among(turned, made) == 1 + [a.id for a in ordered].index("0")
    told = Outlook("bridge", 0.5, "If so, the risk would rise.").with_places(3, 31)
    assert told == "If so, the risk would rise, and its place would fall from 3 to 31."


def test_a_lowish_price_is_a_light_sign_that_keeps_no_piece_from_a_look():
    low = Finding("price", "price", "undecided", "clue", "")
    far = Finding("price", "price", "conflicts", "clue", "")
    plain, lowish, cheap = (judge((*ALL_AGREE, *more)) for more in ((), (low,), (far,)))
    assert plain.score < lowish.score < cheap.score
    assert plain.next_step == lowish.next_step == cheap.next_step == "look"
    assert lowish.stands_with is None


def both_ways(point: str) -> Finding:
    return replace(finding(point, "undecided"), also_agrees=True)


@pytest.mark.parametrize("agreeing", range(len(POINTS)))
def test_leaving_out_the_odd_one_of_two_statements_never_lifts_into_look(agreeing):
    told = fill(**dict.fromkeys(POINTS[:agreeing], "agrees"))
    twice = (*told[:agreeing], both_ways(POINTS[agreeing]), *told[agreeing + 1 :])
    once = fill(**dict.fromkeys(POINTS[: agreeing + 1], "agrees"))
    assert (judge(once).next_step == "look") == (judge(twice).next_step == "look")
    assert judge(twice).risk > judge(once).risk


def test_a_point_said_both_ways_is_named_and_weighs_as_one_slip():
    twice = judge((*ALL_AGREE[:-1], both_ways(POINTS[-1])))
    assert twice.reason.endswith("look first at nose pads, in conflict.")
    assert [s.log_odds for s in twice.steps if "exclude each other" in s.name] == [0.6]
    assert twice.stands_with == "ask"


def test_a_fault_named_speaks_a_little_for_the_piece_and_its_absence_says_nothing():
    def risk(*claims: str) -> float:
        told = tuple(Condition("crack", claim, None, ()) for claim in claims)  # type: ignore[arg-type]
        return judge(ALL_AGREE, replace(EVIDENCE, conditions=told)).risk

    assert risk("present", "present") == risk("present") < risk()
    assert risk("absent") == risk("unsure") == risk()


def test_outlook_of_a_point_said_both_ways_is_that_it_may_turn_out_not_to_fit():
    findings = (*ALL_AGREE[:-1], both_ways(POINTS[-1]))
    seen = judge(findings)
    told = look_ahead(
        Listing("a", "a.txt"), EVIDENCE, seen, WEIGHTS, starting_model(WEIGHTS), SHEET
    )
    assert told is not None
    assert told.point == POINTS[-1]
    assert told.risk > seen.risk


RULER_OFF = "the sheet has 46 mm, but a ruler may be out by that much"


@pytest.mark.parametrize(
    ("results", "told"),
    [
        (("undecided",), False),
        (("undecided", "undecided"), True),
        (("undecided", "conflicts"), True),
        (("undecided", "agrees"), False),
        (("conflicts", "conflicts"), False),
    ],
)
def test_a_size_a_little_off_tells_only_beside_another_that_is_off(results, told):
    points = ("lens_width", "bridge")
    findings = [
        Finding("measurements", point, result, "hard", RULER_OFF, near=True)
        for point, result in zip(points, results, strict=False)
    ]
    signs = signs_of(Listing("a", "a"), Evidence("a"), findings, 0.5, (), load_weights())
    assert ("sizes.several_near" in {sign.weight.code for sign in signs}) == told


def test_plain_wear_is_no_fault_told_and_a_fault_beside_flawless_neither():
    def codes(kind, part, *findings):
        evidence = Evidence("a", conditions=(Condition(kind, "present", part, ()),))
        signs = signs_of(Listing("a", "a"), evidence, findings, 0.5, (), load_weights())
        return {sign.weight.code for sign in signs}

    flawless = Finding("itself", "flawless", "conflicts", "soft", "")
    assert "wording.fault_named" not in codes("scratches", None)
    assert "wording.fault_named" in codes("scratches", "lenses")
    assert "wording.fault_named" in codes("crack", None)
    assert codes("crack", None, flawless) == {"itself.flawless.conflicts.soft"}


@given(share=st.floats(0.0, 0.2), faults=st.integers(0, 3), agreeing=st.integers(0, 2))
def test_with_little_said_nothing_comes_below_what_is_known_of_none(share, faults, agreeing):
    conditions = tuple(Condition("crack", "present", "front", ()) for _ in range(faults))
    phrases = tuple(KeyPhrase(c, ()) for c in ("provenance_offered", "more_photos_offered"))
    evidence = Evidence("a", conditions=conditions, key_phrases=phrases)
    findings = [Finding("points", p, "agrees", "hard", "") for p in BUILD[:agreeing]]
    listing = Listing("a", "a", returns="14 days")
    told = assess(listing, evidence, Known(), findings, share, WEIGHTS)
    none = assess(Listing("b", "b"), EVIDENCE, Known(), (), 0.0, WEIGHTS)
    assert told.score >= none.score - 1e-9


def test_points_against_a_listing_that_end_alike_are_told_in_one_clause():
    reason = judge(tuple(finding(point, "conflicts", "soft") for point in BUILD)).reason
    told = "core wire, hinge barrels and nose pads not as on the sheet, which is not sure of them"
    assert reason == f"Speaks against it: {told}."


@pytest.mark.parametrize(
    ("whys", "begins"),
    [
        (("named only in comparison: “Maker Model”",), "Named only in comparison: “Maker Model”,"),
        (("the maker is named, the model is not",) * 2, "The maker is named, the model is not,"),
        (("named as “Maker”",) * 2, "It might be one of several references,"),
        (("named as “One”", "named as “Two”"), "It might be one of several references,"),
    ],
)
def test_the_reason_says_why_it_is_not_known_which_reference_it_is(whys, begins):
    candidates = tuple(Candidate(f"sheet-{n}", why) for n, why in enumerate(whys))
    made = assess(
        Listing("a", "a.txt", "t", ""), EVIDENCE, Known(None, None, candidates), (), None, WEIGHTS
    )
    assert made.next_step == "cannot_say"
    assert made.reason.startswith(begins)
