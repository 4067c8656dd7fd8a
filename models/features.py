"""From findings and wording to named amounts: what the risk model sees of a listing.

A sign is one finding (or one cue of the seller's wording) that has a row of weights. Signs of one
cause count once. Within a family each further sign counts less, and the family has a cap; how much
less is settled by the starting weights alone, so the amounts do not move when outcomes move the
weights and the score stays a plain sum.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from extractors.records import Condition, Evidence, KeyPhrase, Listing
from models.order import name_several
from models.records import Finding
from models.refusals import refuses_photos
from models.returns import returns_of
from models.weights import Family, Weight, Weights

SILENT = frozenset({"not_stated"})
WEIGHED = frozenset({"agrees", "conflicts", "not_stated"})
SEVERAL_SIZES = 2  # sizes that miss the sheet; one alone is a slip
SEVERAL = 3  # pieces on offer; two may be a pair, or a slip
PHOTOS_REFUSED, PHOTOS_OFFERED = "wording.photos_refused", "wording.more_photos_offered"
FAULT_NAMED = "fault_named"  # the cue; whatever fault it is
WEAR = frozenset({"scratches", "worn_print"})  # on everything old; a fault where its place is told
FLAWLESS = "flawless"  # the point of a text that calls the piece without fault all the same
RETURNS_REFUSED, RETURNS_OFFERED = "returns_refused", "returns_offered"
SAID_BOTH_WAYS = "itself.conflicts.soft"
MOST_QUOTED = 60  # characters of a seller's words in the name of a step
# completeness up to which nothing speaks for a piece, and from which agreement may use all of its
# small cap: with little said a listing never comes below those of which nothing is known
LITTLE_STATED, FULLY_STATED = 0.2, 0.6


@dataclass(frozen=True, slots=True)
class Sign:
    """One thing that weighs: its row, what the step is called, and how much of it counts.

    `full` is its amount alone (1, or a share of the points for silence); `amount` is what is left
    of it beside the others of its family.
    """

    weight: Weight
    label: str
    full: float = 1.0
    amount: float = 1.0
    cause: str | None = None
    point: str = ""
    together: str = ""  # the step that what is taken back goes to


def signs_of(
    listing: Listing,
    evidence: Evidence | None,
    findings: Sequence[Finding],
    completeness: float | None,
    shares_photo_with: Sequence[str],
    weights: Weights,
) -> tuple[Sign, ...]:
    """Everything of one listing that weighs, with the amounts that count."""
    facts = facts_of(listing, findings, shares_photo_with)
    found = find_signs(findings, _with_returns(listing, evidence), weights, facts)
    signs = _refusing_photos(listing.text, found, weights)
    return weigh_together(signs, weights, completeness)


def find_signs(
    findings: Sequence[Finding],
    evidence: Evidence | None,
    weights: Weights,
    facts: Iterable[str] = (),
) -> tuple[Sign, ...]:
    """List the signs of one listing, heaviest first, each cause once.

    `facts` are codes of signs that stand outside findings and wording (see `facts_of`).
    """
    found = [*_finding_signs(findings, weights), *_wording_signs(evidence, findings, weights)]
    found += [Sign(row, label(row, ""), cause=row.code) for row in _rows(facts, weights)]
    found = _naming_all_points(found)
    heaviest = sorted(found, key=_heaviest_first)
    kept: dict[tuple[str, str], Sign] = {}
    for number, sign in enumerate(heaviest):
        key = ("cause", sign.cause) if sign.cause else ("sign", f"{number}")
        kept.setdefault(key, sign)
    return tuple(kept.values())


def _with_returns(listing: Listing, evidence: Evidence | None) -> Evidence | None:
    """The evidence with one answer on returns, by the market's field and the seller's words."""
    if evidence is None:
        return None
    answer = returns_of(listing, evidence)
    kept = [p for p in evidence.key_phrases if p.phrase_class != RETURNS_REFUSED]
    if answer != "not said":
        kept.append(KeyPhrase(RETURNS_OFFERED if answer == "offered" else RETURNS_REFUSED, ()))
    return replace(evidence, key_phrases=tuple(kept))


def _naming_all_points(signs: Sequence[Sign]) -> list[Sign]:
    """The signs, those of one cause and row naming the points of all, as they count once."""
    points: dict[tuple[str | None, str], list[str]] = {}
    for sign in signs:
        points.setdefault((sign.cause, sign.weight.code), []).append(sign.point)
    return [
        replace(sign, label=label(sign.weight, name_several(points[sign.cause, sign.weight.code])))
        if sign.cause and sign.point
        else sign
        for sign in signs
    ]


def _refusing_photos(text: str, signs: Sequence[Sign], weights: Weights) -> tuple[Sign, ...]:
    """The signs with a refusal of photos among them; who refuses them does not offer them too."""
    row, words = weights.rows.get(PHOTOS_REFUSED), refuses_photos(text)
    if row is None or not words:
        return tuple(signs)
    kept = [sign for sign in signs if sign.weight.code != PHOTOS_OFFERED]
    kept.append(Sign(row, label(row, words[:MOST_QUOTED]), cause=row.code))
    return tuple(sorted(kept, key=_heaviest_first))


def _heaviest_first(sign: Sign) -> tuple[float, str]:
    return -abs(sign.weight.log_odds), sign.label


def _finding_signs(findings: Iterable[Finding], weights: Weights) -> list[Sign]:
    findings = tuple(findings)
    points = sum(finding.result != "no_reference" for finding in findings)
    signs = []
    for finding in findings:
        row = _row_of(finding, weights)
        if row is None:
            continue
        share = 1.0 / points if finding.result in SILENT else 1.0
        signs.append(
            Sign(row, label(row, finding.point), share, share, finding.cause, finding.point)
        )
    return signs


def _row_of(finding: Finding, weights: Weights) -> Weight | None:
    """What a finding is weighed by; a point said both ways speaks for neither, but for haste.

    Where the one of the two is excused (a reissue, old stock) it does not speak for haste either.
    """
    if finding.also_agrees:
        return weights.rows.get(SAID_BOTH_WAYS) if finding.strength != "clue" else None
    return weights.find(finding) if finding.result in WEIGHED else None


def _wording_signs(
    evidence: Evidence | None, findings: Sequence[Finding], weights: Weights
) -> list[Sign]:
    """Wording that a check has already judged is left to that check."""
    if evidence is None:
        return []
    judged = {finding.point for finding in findings}
    cues = {phrase.phrase_class for phrase in evidence.key_phrases}
    cues.add(evidence.authenticity.label)
    called_flawless = any(f.point == FLAWLESS and f.result == "conflicts" for f in findings)
    if any(_is_fault(state) for state in evidence.conditions) and not called_flawless:
        cues.add(FAULT_NAMED)
    rows = _rows((f"wording.{cue}" for cue in sorted(cues - judged)), weights)
    return [Sign(row, label(row, ""), cause=row.code) for row in rows]


def _is_fault(state: Condition) -> bool:
    """Whether a state gives something away: signs of use are on everything old."""
    return state.claimed == "present" and (state.kind not in WEAR or state.part is not None)


def is_borrowed(findings: Sequence[Finding], shares_photo_with: Sequence[str]) -> bool:
    """Whether the pictures may be another seller's.

    Not so where the check of photos gives no more than a clue: this listing showed them first, or
    many show them, as they do a catalogue's.
    """
    judged = [f for f in findings if f.check == "photo_reuse" and f.result == "conflicts"]
    return bool(shares_photo_with) and not any(f.strength == "clue" for f in judged)


def _rows(codes: Iterable[str], weights: Weights) -> list[Weight]:
    return [weights.rows[code] for code in codes if code in weights.rows]


def facts_of(
    listing: Listing, findings: Sequence[Finding], shares_photo_with: Sequence[str]
) -> tuple[str, ...]:
    """Name what speaks by itself: sizes together, the seller's other listings, a lowish price ...

    A shared picture that a check has already judged (innocent or not) is left to that check.
    """
    facts = ["sizes.none_fits"] if no_size_fits(findings) else []
    if several_are_off(findings):
        facts.append("sizes.several_near")
    left_open = [f for f in findings if f.result == "undecided"]
    facts += [f"seller.others.{f.strength}" for f in left_open if f.check == "seller"]
    facts += [f"itself.{f.point}.undecided" for f in left_open if f.check == "itself"]
    if any(f.check == "price" for f in left_open):
        facts.append("price.somewhat_low")  # low, though not so far that it is in conflict
    if (listing.quantity or 1) >= SEVERAL:
        facts.append("listing.several_offered")
    if shares_photo_with and not any(f.check == "photo_reuse" for f in findings):
        facts.append("photos.shared")
    return tuple(facts)


def no_size_fits(findings: Sequence[Finding]) -> bool:
    """Whether several sizes are stated and each is firmly off a list that the sheet is sure of.

    A size left open speaks for none of the two; one slip behind all of them (a unit) is none.
    """
    stated = [f for f in findings if f.check == "measurements" and f.result not in SILENT]
    stated = [f for f in stated if f.result != "no_reference"]
    return len({f.point for f in stated}) >= SEVERAL_SIZES and all(
        f.result == "conflicts" and f.strength == "hard" and _is_no_slip(f.cause) for f in stated
    )


def several_are_off(findings: Sequence[Finding]) -> bool:
    """Whether a size is a little off, and another is off too: one alone is a slip of the ruler."""
    left = [f for f in findings if f.result == "undecided" and f.strength == "hard"]
    near = {f.point for f in left if f.near}
    wrong = {f.point for f in findings if f.check == "measurements" and f.result == "conflicts"}
    return bool(near) and len(near | wrong) >= SEVERAL_SIZES


def _is_no_slip(cause: str | None) -> bool:
    return cause in (None, "sizes") or str(cause).startswith("measures_as:")


def label(row: Weight, point: str) -> str:
    """Call a step by what it is about.

    >>> from models.weights import load_weights
    >>> label(load_weights().rows["any.conflicts.hard"], "hinge_barrels")
    'hinge barrels not as on the sheet'
    """
    return (row.says or "{point}").replace("{point}", point.replace("_", " "))


def weigh_together(
    signs: Sequence[Sign], weights: Weights, completeness: float | None
) -> tuple[Sign, ...]:
    """Set each sign's amount: full for the heaviest of a family, less for more of the same."""
    out: list[Sign] = []
    for name in weights.families:
        members = [sign for sign in signs if sign.weight.family == name]
        out.extend(_share_out(members, weights.families[name], _room(name, completeness)))
    return tuple(out)


def _room(family: str, completeness: float | None) -> float:
    """What speaks for a piece may use its cap only in step with how much of the sheet is stated."""
    if family not in ("favour", "candour"):
        return 1.0
    beyond = ((completeness or 0.0) - LITTLE_STATED) / (FULLY_STATED - LITTLE_STATED)
    return min(1.0, max(0.0, beyond))


def _share_out(members: Sequence[Sign], family: Family, room: float) -> list[Sign]:
    left = [sign.full * (family.further if i else 1.0) for i, sign in enumerate(members)]
    total = sum(abs(s.weight.log_odds) * a for s, a in zip(members, left, strict=True))
    scale = family.held(total, room) / total if total else 1.0
    return [
        replace(s, amount=a * scale, together=family.together)
        for s, a in zip(members, left, strict=True)
    ]


def amounts(signs: Iterable[Sign]) -> Mapping[str, float]:
    """Add the amounts up by code: the named feature vector of one listing."""
    vector: dict[str, float] = {}
    for sign in signs:
        vector[sign.weight.code] = vector.get(sign.weight.code, 0.0) + sign.amount
    return vector
