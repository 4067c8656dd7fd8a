"""Inscriptions: literal text, how it is made, where it sits, roman or arabic, how often.

A missing inscription conflicts only where the sheet says always and wear cannot explain it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from rapidfuzz.distance import OSA

from extractors.folding import plain
from extractors.records import Claimed, Marking, Span
from models.checks.case import Case, rules_for
from models.checks.country import group_of
from models.checks.points import edition_fits, expected_text, is_near, strength_of
from models.passages import clause_at, clauses
from models.places import Place, clash, is_only_place, read_alignment, read_place, shared
from models.point_values import Scene, is_doubted, speaks_of_others
from models.point_words import facet, number_of
from models.records import Finding, Result
from models.sheet_records import Inscription, ReferenceSheet, Rule
from models.wording import begins_with, words_of

CHECK = "inscriptions"
CODES = tuple(
    (CHECK, result, strength)
    for result in ("agrees", "conflicts", "undecided", "not_stated")
    for strength in ("hard", "soft", "clue")
)

_SIDE_OF_POINT = {"inscription_left": ("side", "left"), "inscription_right": ("side", "right"),
                  "inscription_inside": ("surface", "inside"), "lens_mark": ("part", "lens"),
                  "bridge_mark": ("part", "bridge")}  # fmt: skip
_GENERIC = re.compile(
    r"(?:\*|(?:maker'?s |brand |model |company )?(?:name|names|logo|logos|signature|stamp|stamps|"
    r"stamping|marks?|markings?|inscriptions?|lettering|writing|print|engraving|text|brand|number|model))$"
)
_NAMED_MARK = re.compile(r"\b(?:logo|name|sign|brand|initial|monogram|letter|inscri|marked with)")
_ONLY_LOGO = re.compile(r"\blogos?\b")
_VANISHING = frozenset({"printed", "sticker"})
_VIEWER = re.compile(r"\bas you look|facing|viewer|from the front|as worn|when worn|looking at\b")


@dataclass(frozen=True, slots=True)
class Claim:
    """One mark the listing speaks of: its text (None: no text given), place, making, sign.

    `loose`: the place is only named somewhere in the sentence, and may be another thing's.
    """

    text: str | None
    place: Place
    how: frozenset[str]
    not_how: frozenset[str]
    claimed: Claimed
    span: Span
    words: str  # the clause, folded
    worn: bool
    on_lens: bool
    loose: bool = False


def check_inscriptions(case: Case) -> tuple[Finding, ...]:
    """One finding per inscription of the sheet."""
    if case.sheet is None:
        return ()
    rules = [*case.sheet.rules, *(case.edition.rules if case.edition else ())]
    points = dict.fromkeys(r.point for r in rules if r.inscription is not None)
    claims = tuple(_claims(case))
    findings = []
    for point in points:
        holding = rules_for(case, point)
        for rule in (holding.sure or holding.maybe)[:1]:
            finding = _check_rule(case, rule, claims)
            if not holding.sure and finding.result == "conflicts":
                finding = replace(finding, result="undecided")
            findings.append(_in_edition(case, finding, holding.editions, claims))
    return tuple(findings)


def _in_edition(
    case: Case, finding: Finding, editions: tuple[tuple[str, Rule], ...], claims: tuple[Claim, ...]
) -> Finding:
    if finding.result != "conflicts":
        return finding
    for name, rule in editions:
        if _is_right_there(case, rule, claims) and edition_fits(case, name):
            why = f"{finding.why}, but it would be right on the {name} edition"
            return replace(finding, result="undecided", why=why, explanations=())
    return finding


def _is_right_there(case: Case, rule: Rule, claims: tuple[Claim, ...]) -> bool:
    """Whether all that is said of the mark fits an edition's: text, making, place, numerals."""
    if rule.inscription is None or _check_rule(case, rule, claims).result != "agrees":
        return False
    texts = [c.text for c in claims if c.text and c.text != "*" and c.claimed == "present"]
    whole = {text_match(rule.inscription, text) for text in texts}
    return not texts or bool(whole & {"same", "numerals"})


# --- what the listing says -------------------------------------------------------------------


def _claims(case: Case) -> Iterator[Claim]:
    """Texts of the sheet that the seller gives, then other marks, then claims without a text."""
    texts = _sheet_texts(case)
    taken: list[tuple[str, int, int]] = []
    for scene in case.told:
        for bounds, claim in _text_claims(scene, texts):
            taken.append((f"{scene.passage.part}{scene.passage.key}", *bounds))
            yield _with_sign(case, claim, bounds)
    for marking in case.evidence.markings:
        found = _other_mark(case, marking, taken)
        if found is not None:
            where, mark = found
            taken.append(where)
            if mark is not None:
                yield mark
    for scene in case.told:
        for bounds, claim in _placed_texts(scene, taken):
            taken.append((f"{scene.passage.part}{scene.passage.key}", *bounds))
            yield claim
        yield from _textless(scene, taken)


_BARE_TEXT = re.compile(
    r"(?<!\w)(?:[A-Z][A-Z&.'-]*[A-Z](?: [A-Z][A-Z&.'-]*[A-Z])*|\d{3})(?![\w°%])"
)


def _placed_texts(
    scene: Scene, taken: list[tuple[str, int, int]]
) -> Iterator[tuple[tuple[int, int], Claim]]:
    """A place with a text and nothing else: "right arm: ORVIN", "605 inside the right arm"."""
    text = scene.passage.text
    if _is_in_title(scene) or text[scene.start : scene.end].isupper():
        return
    for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
        bounds = (clause.start, clause.end)
        found = list(_BARE_TEXT.finditer(text, *bounds))
        if len(found) != 1 or _is_taken(taken, scene, found[0].start()):
            continue
        start, end = found[0].span()
        rest = f"{text[clause.start : start]} {text[end : clause.end]}"
        place = read_place(rest)
        firm = {group for group, _ in place}
        if not {"part", "surface"} <= firm or not is_only_place(rest):
            continue
        told = (found[0].group(), start, end)
        claim = _clause_claim(scene, bounds, told, None, frozenset(), frozenset(), place)
        yield bounds, claim


def _is_taken(taken: list[tuple[str, int, int]], scene: Scene, at: int) -> bool:
    key = f"{scene.passage.part}{scene.passage.key}"
    return any(k == key and start <= at < end for k, start, end in taken)


def _with_sign(case: Case, claim: Claim, bounds: tuple[int, int]) -> Claim:
    """The extractor's reading of denial and doubt counts where it found the same mark there."""
    for marking in case.evidence.markings:
        for span in marking.quoted:
            same = (span.part, span.key) == (claim.span.part, claim.span.key)
            meets = same and span.start < claim.span.end and claim.span.start < span.end
            if meets and claim.claimed == "present" and marking.claimed != "present":
                return replace(claim, claimed=marking.claimed)
    return claim


def _other_mark(
    case: Case, marking: Marking, taken: list[tuple[str, int, int]]
) -> tuple[tuple[str, int, int], Claim | None] | None:
    """A mark the extractor found where no text of the sheet stands, and the clause it fills."""
    scene = _scene_of(case, marking)
    if scene is None or marking.object not in ("item", "lens", "", "unspecified"):
        return None
    at = marking.quoted[0].start - scene.passage.shift
    if _is_taken(taken, scene, at) or _is_only_a_place(marking.text):
        return None
    sentence = scene.passage.text[scene.start : scene.end]
    if (sentence.isupper() or sentence.islower()) and _MARK_WORD.search(plain(marking.text)):
        return None  # in a sentence of one case the words for a mark look like one
    where = (f"{scene.passage.part}{scene.passage.key}", *_clause(scene, at))
    return where, _claim_of(marking, scene)


def _is_only_a_place(text: str) -> bool:
    words = re.findall(r"[^\W\d_]+", text)
    return bool(words) and not text.isupper() and all(read_place(w) or len(w) < 4 for w in words)


def _text_claims(
    scene: Scene, texts: tuple[tuple[str, re.Pattern[str]], ...]
) -> Iterator[tuple[tuple[int, int], Claim]]:
    """Claims with a text of the sheet: "QH on the right lens", several in one clause apart."""
    for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
        bounds = (clause.start, clause.end)
        words = scene.passage.folded[clause.start : clause.end]
        if words_of("off_frame").search(words):
            continue
        hits = _texts_in(scene, bounds, texts)
        for number, (start, end) in enumerate(hits):
            until = hits[number + 1][0] if number + 1 < len(hits) else clause.end
            since = clause.start if number == 0 else start
            place, loose = _place_near(scene, bounds, (since, until), end)
            blank = _blanked(scene, hits)
            how, not_how = _methods(blank[since - scene.start : until - scene.start])
            if not how and len(hits) > 1:
                how, not_how = _methods(
                    blank[clause.start - scene.start : clause.end - scene.start]
                )
            if speaks_of_others(scene, bounds, start):
                continue
            if not how and not not_how and number == 0:
                how, not_how = _methods(_piece_before(scene, clause.start))
            if not how and not not_how and number + 1 == len(hits):
                how, not_how = _methods(_next_piece(scene, clause.end))
            marked = _MARK_WORD.search(words) or not_how or how
            spelled = _is_spelled_out(scene, start, end)
            if not marked and (not place or not spelled or _is_in_title(scene)):
                continue  # the model's name in a title or a plain sentence is no inscription
            told = (scene.passage.text[start:end], start, end)
            claim = _clause_claim(scene, bounds, told, None, how, not_how, place)
            yield bounds, replace(claim, loose=loose)


def _next_piece(scene: Scene, at: int) -> str:
    """A short clause right behind a mark's own: "COSTA (gold print)"."""
    for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
        text = scene.passage.folded[clause.start : clause.end]
        if at <= clause.start <= at + 2:
            return text if len(re.findall(r"\w+", text)) <= 4 else ""
    return ""


def _piece_before(scene: Scene, at: int) -> str:
    """A short clause right before a mark's own: "engraved, COSTA"."""
    for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
        text = scene.passage.folded[clause.start : clause.end]
        if clause.end <= at <= clause.end + 2:
            return text if len(re.findall(r"\w+", text)) <= 2 else ""
    return ""


def _blanked(scene: Scene, hits: list[tuple[int, int]]) -> str:
    """The sentence with the marks' own letters out of the way ("No. 12" denies nothing)."""
    text = scene.folded
    for start, end in hits:
        text = f"{text[: start - scene.start]}{'#' * (end - start)}{text[end - scene.start :]}"
    return text


def _is_spelled_out(scene: Scene, start: int, end: int) -> bool:
    """Capitals or quotes in a sentence that has small letters: read off the frame, not a name."""
    text = scene.passage.text
    quoted = text[max(0, start - 1) : start] in set("\"“‘'«„") and start > 0
    return quoted or (text[start:end].isupper() and not text[scene.start : scene.end].isupper())


def _place_near(
    scene: Scene, bounds: tuple[int, int], segment: tuple[int, int], text_end: int
) -> tuple[Place, bool]:
    """The place named after a mark, or before it, or beside its clause; else loosely, anywhere.

    "clear pads, ORLENZA stamped" puts no name on the pads; "on the left arm, ORLENZA stamped" does.
    """
    folded = scene.passage.folded
    beside = _places_beside(scene, bounds)
    pieces = (folded[text_end : segment[1]], folded[segment[0] : segment[1]], *beside)
    for piece in pieces:
        if _has_place(place := read_place(piece)):
            return place, False
    return (place, True) if _has_place(place := read_place(scene.folded)) else (frozenset(), False)


def _has_place(place: Place) -> bool:
    return any(group in ("side", "part", "surface") for group, _ in place)


def _places_beside(scene: Scene, bounds: tuple[int, int]) -> tuple[str, ...]:
    """The clauses right before and after that name a place and nothing else."""
    found = list(clauses(scene.passage.folded, (scene.start, scene.end)))
    texts = [scene.passage.folded[c.start : c.end] for c in found]
    at = next((n for n, c in enumerate(found) if (c.start, c.end) == bounds), None)
    if at is None:
        return ()
    return tuple(
        t for t in (*texts[max(0, at - 1) : at], *texts[at + 1 : at + 2]) if is_only_place(t)
    )


def _is_in_title(scene: Scene) -> bool:
    return scene.passage.part == "text" and scene.start < scene.passage.title_end


def _sheet_texts(case: Case) -> tuple[tuple[str, re.Pattern[str]], ...]:
    """The sheet's inscriptions as patterns over the seller's text, numerals either way.

    Capitals must stand for texts of up to three letters, so that "M" is no word.
    """
    assert case.sheet is not None
    rules = [*case.sheet.rules, *(r for e in case.sheet.editions for r in e.rules)]
    texts = dict.fromkeys(t for r in rules if r.inscription for t in r.inscription.text)
    has_capitals = any(c.isupper() for c in case.listing.text)
    return tuple((text, _text_pattern(text, has_capitals)) for text in texts)


def _text_pattern(text: str, has_capitals: bool = True) -> re.Pattern[str]:
    parts = []
    for token in re.findall(r"[^\W\d_]+|\d+", text):
        options = {token}
        if token.lower() in _ROMANS:
            options.add(str(_ROMANS.index(token.lower()) + 1))
        elif token.isdigit() and 1 <= int(token) <= len(_ROMANS):
            options.add(_ROMANS[int(token) - 1].upper())
        parts.append("(?:" + "|".join(map(re.escape, sorted(options))) + ")")
    letters = len(re.sub(r"\W", "", text))
    # in a listing all in small letters two will do, where a mark word stands beside them
    short = letters <= (3 if has_capitals else 1)
    return re.compile(r"(?<!\w)" + r"[\W_]{0,3}".join(parts) + r"(?!\w)", 0 if short else re.I)


def _scene_of(case: Case, marking: Marking) -> Scene | None:
    if not marking.quoted:
        return None
    span = marking.quoted[0]
    for scene in case.told:
        passage = scene.passage
        start = span.start - passage.shift
        if (
            passage.part == span.part
            and passage.key == span.key
            and scene.start <= start < scene.end
        ):
            return scene
    return None


def _claim_of(marking: Marking, scene: Scene) -> Claim | None:
    span = marking.quoted[0]
    at = span.start - scene.passage.shift
    start, end = _clause(scene, at)
    if speaks_of_others(scene, (start, end)):
        return None
    words = scene.passage.folded[start:end]
    if _OF_SIZES.search(words):
        return None
    where = f"{marking.place or ''} {'' if marking.place else words}"
    place, loose = read_place(where), False
    if not _has_place(place):
        beside = read_place(" ".join([where, *_places_beside(scene, (start, end))]))
        loose = not _has_place(beside)
        place = read_place(f"{where} {scene.folded}") if loose else beside
    how, not_how = _methods(words)
    claimed: Claimed = marking.claimed
    if claimed == "absent" and marking.text == "*":
        how, not_how = frozenset(), how | not_how
    if claimed == "present" and is_doubted(scene, (start, end)):
        claimed = "unsure"
    worn = _is_worn(scene.folded)
    on_lens = marking.object == "lens" or ("part", "lens") in place
    text = None if _GENERIC.match(plain(marking.text)) else marking.text
    return Claim(
        text or ("*" if claimed == "absent" and marking.text == "*" else None),
        place, how, not_how, claimed, span, words, worn, on_lens, loose,
    )  # fmt: skip


def _clause(scene: Scene, at: int) -> tuple[int, int]:
    sentence = (scene.start, scene.end)
    return clause_at(scene.passage.folded, sentence, at) or sentence


_NOTHING_WORN = re.compile(r"\b(?:nothing|nichts|rien|niente|nada)\b(?: \w+){0,3}? ?$")


def _is_worn(folded: str) -> bool:
    """Wear is told; "nothing has been polished off" tells none."""
    return any(
        not _NOTHING_WORN.search(folded[: m.start()]) for m in words_of("worn").finditer(folded)
    )


_ADDRESS = re.compile(r"www\.|https?:|\w@\w")
_OF_SIZES = re.compile(
    r"\b(?:size|sizes|measurement|grossen|taille|misura|talla)s?\s+(?:mark|print|stamp|num)"
)
_DENIED_MARK = re.compile(
    r"\b(?:no|without|never|kein\w*|sans|senza|sin|not any)\s+(?:\w+\s+){0,2}$"
)
_DENIED_METHOD = re.compile(
    r"\b(?:not|never|isn'?t|rather than|instead of|nicht|statt|pas|non|no)\s+(?:\w+\s+){0,2}$"
)
_MARK_WORD = re.compile(
    r"\b(?:inscription|lettering|signature|signed|logo|name|stamp(?:ed|ing)?|sigl[ae]|signatur|punze|script|writing|engraving|"
    r"numerals?|mark(?:ed|ings?)?|schriftzug|beschriftung|gravur|stempel|schrift|inscriptions?|"
    r"gravure|marquage|scritta|incisione|marchio|firma|inscripcion|grabado|marca)\b"
)


def _textless(scene: Scene, taken: list[tuple[str, int, int]]) -> Iterator[Claim]:
    """Claims without a text: "the lettering inside the left temple is only printed"."""
    for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
        bounds = (clause.start, clause.end)
        words = scene.passage.folded[clause.start : clause.end]
        key = f"{scene.passage.part}{scene.passage.key}"
        if any(k == key and s < clause.end and clause.start < e for k, s, e in taken):
            continue
        match = _MARK_WORD.search(words)
        how, not_how = _methods(words)
        place, numerals = read_place(words), re.search(r"\bnumerals?\b", words)
        denied = words_of("no_mark").search(words) is not None and not how - _denied_how(words)
        nothing = denied and words_of("nothing").search(words) is not None
        placed = place or numerals or (match and (denied or how or not_how))
        if not (match or how or not_how or nothing) or not placed:
            continue
        if not match and _is_of_a_part(scene, bounds):
            continue
        bare = _CODE.sub(" ", scene.passage.text[clause.start : clause.end])
        if words_of("off_frame").search(words) or re.search(r"\d\d", bare):
            continue  # a print of sizes is no inscription
        if _ADDRESS.search(words) or (how == {"sticker"} and not match):
            continue  # an address is a mark of its own, and a sticker is stuck on something
        if speaks_of_others(scene, bounds, clause.start + (match.start() if match else 0)):
            continue
        told = _other_text(scene, bounds)
        claim = _clause_claim(scene, bounds, told, match, how, not_how, place)
        if denied and told is None:
            said: Claimed = "absent" if claim.claimed == "present" else claim.claimed
            not_how = _denied_how(words)
            claim = replace(claim, claimed=said, how=frozenset(), not_how=not_how)
        yield claim


# "GX 22" is written; "52-18" is a print of sizes
_CODE = re.compile(r"(?<!\w)[A-Z]{1,4}[ .-]?\d{1,4}(?!\w)")

_NO_PLACE = frozenset(
    {"pad", "rivet", "screw", "hinge", "core", "badge", "joint", "damage", "stud", "tip"}
)


def _is_of_a_part(scene: Scene, bounds: tuple[int, int]) -> bool:
    """ "pads moulded into the bridge": how a part is made, no mark."""
    return any(n in _NO_PLACE and bounds[0] <= s < bounds[1] for n, s, _ in scene.parts)


_WRITTEN = re.compile(r"[\"“”'‘’«»]\w[^\"“”'‘’«»\n]{0,30}[\"“”'‘’«»]|(?<!\w)[A-Z][A-Z0-9]+(?!\w)")


def _denied_how(words: str) -> frozenset[str]:
    """Ways of making that only say what is not there: "nothing stamped", "no engraving"."""
    nothing = words_of("no_mark").search(words)
    said, _ = _methods(words[nothing.start() :] if nothing else "")
    return said


def _other_text(scene: Scene, bounds: tuple[int, int]) -> tuple[str, int, int] | None:
    """A text of its own that is none of the sheet's: another mark is meant."""
    sentence = scene.passage.text[scene.start : scene.end]
    match = None if sentence.isupper() else _WRITTEN.search(scene.passage.text, *bounds)
    return (match.group().strip("\"“”'‘’«»"), match.start(), match.end()) if match else None


# a number of the model behind its name; a size, a year or a count is none
_NUMERAL = r" (?:I{2,3}|I[VX]|VI{1,3}|[1-9](?![\w.,°%/-]|\s*(?:mm|cm|[x×]|\d)))(?!\w)"
_NUMERAL_BEHIND = {False: re.compile(_NUMERAL), True: re.compile(_NUMERAL, re.I)}


def _texts_in(
    scene: Scene, bounds: tuple[int, int], texts: tuple[tuple[str, re.Pattern[str]], ...]
) -> list[tuple[int, int]]:
    """Where texts of the sheet stand in a clause, the longer first, none within another."""
    found: list[tuple[int, int]] = []
    in_small = scene.passage.text[scene.start : scene.end].islower()
    for _, pattern in sorted(texts, key=lambda pair: -len(pair[0])):
        for match in pattern.finditer(scene.passage.text, *bounds):
            if _is_in_address(scene, match.start(), match.end()):
                continue
            if not any(s < match.end() and match.start() < e for s, e in found):
                behind = _NUMERAL_BEHIND[in_small].match(scene.passage.text, match.end(), bounds[1])
                found.append((match.start(), behind.end() if behind else match.end()))
    if in_small and not found:
        found = _near_in_small(scene, bounds, texts)
    return sorted(found)


def _is_in_address(scene: Scene, start: int, end: int) -> bool:
    """ "www.orlenza.example": part of a web or mail address."""
    text = scene.passage.text
    behind = re.match(r"\.\w", text[end : end + 2]) is not None
    return (
        behind or re.search(r"(?:www\.|//|@)[\w.-]*$", text[max(0, start - 30) : start]) is not None
    )


def _near_in_small(
    scene: Scene, bounds: tuple[int, int], texts: tuple[tuple[str, re.Pattern[str]], ...]
) -> list[tuple[int, int]]:
    """Where small letters hide the marks: words beside a way of making that come near a text."""
    words = list(re.finditer(r"[a-z]+|\d+", scene.passage.folded[bounds[0] : bounds[1]]))
    if not _methods(scene.passage.folded[bounds[0] : bounds[1]])[0]:
        return []
    for text, _ in texts:
        wanted = _tokens(text)
        for at in range(len(words) - len(wanted) + 1):
            run = words[at : at + len(wanted)]
            said = " ".join(m.group() for m in run)
            near = OSA.distance(said, " ".join(wanted)) <= max(1, len("".join(wanted)) // 3)
            if len("".join(wanted)) >= 5 and near:
                return [(bounds[0] + run[0].start(), bounds[0] + run[-1].end())]
    return []


def _clause_claim(
    scene: Scene, bounds: tuple[int, int], told: tuple[str, int, int] | None,
    match: re.Match[str] | None, how: frozenset[str], not_how: frozenset[str], place: Place,
) -> Claim:  # fmt: skip
    words = scene.passage.folded[bounds[0] : bounds[1]]
    start = told[1] if told else bounds[0] + (match.start() if match else 0)
    end = told[2] if told else bounds[1]
    before = scene.passage.folded[bounds[0] : start]
    denied = bool(_DENIED_MARK.search(before)) or bool(
        begins_with("negation_after").match(scene.passage.folded[end : bounds[1]].lstrip(" :,-"))
    )
    if told is None and match is not None:
        after = scene.passage.folded[bounds[0] + match.end() : bounds[1]]
        denied = denied or words_of("ends_missing").search(after) is not None
    unsure = is_doubted(scene, bounds)
    claimed: Claimed = "unsure" if unsure else "absent" if denied else "present"
    span = scene.passage.span(start, end)
    worn = _is_worn(scene.folded)
    text = told[0] if told else None
    return Claim(text, place, how, not_how, claimed, span, words, worn, ("part", "lens") in place)


def _methods(words: str) -> tuple[frozenset[str], frozenset[str]]:
    """Ways of making named in a clause, and those it denies ("printed, not stamped")."""
    said: set[str] = set()
    denied: set[str] = set()
    for value, pattern in facet("method").values.items():
        for match in pattern.finditer(words):
            before = words[max(0, match.start() - 22) : match.start()]
            is_denied = _DENIED_METHOD.search(before)
            (denied if is_denied else said).add(value)
    return frozenset(said - denied), frozenset(denied)


# --- judging ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Vote:
    result: Result
    claim: Claim
    why: str
    stated: str


def _check_rule(case: Case, rule: Rule, claims: tuple[Claim, ...]) -> Finding:
    assert rule.inscription is not None
    place = place_of(rule)
    votes = [v for claim in claims for v in _votes(case, rule, rule.inscription, place, claim)]
    vote = _weigh(votes)
    return _finding(case, rule, vote)


def _weigh(votes: list[_Vote]) -> _Vote | None:
    for result in ("conflicts", "undecided", "agrees"):
        chosen = next((v for v in votes if v.result == result), None)
        if chosen is not None:
            if result == "undecided" and not chosen.stated:
                continue
            return chosen
    return votes[0] if votes else None


def place_of(rule: Rule) -> Place:
    """The place features of an inscription: those of its `where`, and of the point's name."""
    assert rule.inscription is not None
    place = read_place(" ".join(rule.inscription.where))
    if hint := _SIDE_OF_POINT.get(rule.point):
        if not any(group == hint[0] for group, _ in place):
            place |= {hint}
        if hint[0] in ("side", "surface") and not any(g == "part" for g, _ in place):
            place |= {("part", "temple")}
    return place


def _votes(
    case: Case, rule: Rule, inscription: Inscription, place: Place, claim: Claim
) -> Iterator[_Vote]:
    match = text_match(inscription, claim.text) if claim.text and claim.text != "*" else None
    if not claim.place and claim.text is None and (claim.how or claim.not_how) and _is_lone(case):
        claim = replace(claim, place=place)  # the only inscription there is must be meant
    same_place = clash(place, claim.place) is None and shared(place, claim.place) >= min(
        2, len(place)
    )
    if "any" in rule.never:
        if same_place or match:
            yield from _forbidden(case, rule, claim)
        return
    if claim.claimed == "absent" and (claim.text in (None, "*") or not claim.how):
        if claim.text in (None, "*") and not _may_deny(inscription, claim):
            return
        if match or (claim.text in (None, "*") and _covers(claim, place)):
            yield _absence(case, rule, claim)
        return
    if match is None and claim.text is None and inscription.numerals and not claim.place:
        yield from _numerals(inscription, claim, match)
    if match is None and claim.claimed == "present" and _is_text_of_another(case, rule, claim):
        yield _Vote("conflicts", claim, "", claim.text or "")
    near = same_place or (
        ("part", "lens") in claim.place and clash(place, claim.place) is None and not claim.loose
    )
    if match is None and near and _stands_instead(case, rule, place, claim):
        yield _Vote("conflicts", claim, "", claim.text or "")
    if match is None and not (same_place and claim.text is None):
        return
    if match == "near" and _is_spelled_right_elsewhere(case, inscription, claim):
        yield _Vote("conflicts", claim, "", claim.text or "")
    if claim.claimed == "unsure":
        yield _Vote("undecided", claim, "the seller is not sure of it", claim.text or "")
        return
    if claim.text is None and claim.worn:
        yield _Vote("undecided", claim, "it is said to be worn", "worn")
        return
    yield from _details(rule, inscription, place, claim, match)


def _may_deny(inscription: Inscription, claim: Claim) -> bool:
    """Nothing printed denies no stamping, nothing engraved may deny it."""
    made = {c for h in inscription.how if (c := facet("method").canonical(h))}
    near = (is_near("method", one, other) for one in claim.not_how for other in made)
    return not made or not claim.not_how or bool(made & claim.not_how) or any(near)


def _is_text_of_another(case: Case, rule: Rule, claim: Claim) -> bool:
    """The whole text that this same point has on the plain model, or on another edition."""
    assert case.sheet is not None
    rules = [*case.sheet.rules, *(r for e in case.sheet.editions for r in e.rules)]
    same = {
        r.point
        for r in rules
        if r.inscription and claim.text and text_match(r.inscription, claim.text) == "same"
    }
    return same == {rule.point}


def _stands_instead(case: Case, rule: Rule, place: Place, claim: Claim) -> bool:
    """Whether another text is said to stand just where the sheet has one of its kind, always.

    A frame carries more than one text, so only a word in capitals for a word counts, and that
    only where the listing gives the sheet's text nowhere. Countries, marks, places, materials,
    colours and sizes are texts that a frame may have besides.
    """
    assert case.sheet is not None
    assert rule.inscription is not None
    text = claim.text or ""
    if _is_other_sign(rule, place, claim):
        return not case.has_other_lenses
    if (
        claim.claimed != "present"
        or claim.loose
        or rule.force != "always"
        or not place <= claim.place | read_place(claim.words)
    ):
        return False
    if not _is_word_in_capitals(text) or not all(map(_is_word_in_capitals, rule.inscription.text)):
        return False
    known = [*_names_of(case.sheet), *(t for t, _ in _sheet_texts(case))]
    if any(t in case.listing.text for t in rule.inscription.text):
        return False
    return not any(_shares_a_word(text, name) for name in known) and not _is_besides(text)


def _is_other_sign(rule: Rule, place: Place, claim: Claim) -> bool:
    """Two or three letters on a lens, as many as the sheet's own sign there: "CX" for "CH"."""
    assert rule.inscription is not None
    text, signs = claim.text or "", rule.inscription.text
    if claim.claimed != "present" or rule.force != "always" or ("part", "lens") not in place:
        return False
    short = all(re.fullmatch(r"[A-Z]{2,3}", sign) for sign in (text, *signs))
    return (
        bool(signs)
        and short
        and all(len(text) == len(sign) for sign in signs)
        and (words_of("written_besides").search(plain(text)) is None)
    )


def _is_word_in_capitals(text: str) -> bool:
    """ "LISK", "CORVAN LONDON": a name stamped or printed, no letters of a code."""
    return (
        text.isupper()
        and re.fullmatch(r"[^\W\d_]{4,}(?:[ &'’.-]+[^\W\d_]+){0,2}", text) is not None
    )


def _names_of(sheet: ReferenceSheet) -> tuple[str, ...]:
    editions = (n for e in sheet.editions for n in (e.name, *e.aliases))
    return (sheet.maker, sheet.name, *sheet.aliases, *editions, *sheet.marks_belong)


def _shares_a_word(text: str, other: str) -> bool:
    mine, theirs = ({t for t in _tokens(x) if len(t) > 2} for x in (text, other))
    return bool(mine & theirs)


def _is_besides(text: str) -> bool:
    """Words that many frames carry beside their name: of origin, material, colour, law, trade."""
    folded = words_of("written_where").sub(" ", plain(text))
    if not re.search(r"[a-z]{4}", folded) or any(group_of(w) for w in (folded, *folded.split())):
        return True
    coloured = facet("colour").canonical(folded) or facet("material").canonical(folded)
    return bool(coloured) or words_of("written_besides").search(folded) is not None


def _is_spelled_right_elsewhere(case: Case, inscription: Inscription, claim: Claim) -> bool:
    """Whether a text read off in capitals is a letter off, and written right elsewhere."""
    if claim.claimed != "present" or not _is_word_in_capitals(claim.text or ""):
        return False
    right = {t for wanted in inscription.text for t in _tokens(wanted) if len(t) > 3}
    wrong = set(_tokens(claim.text or "")) - right
    missed = right - set(_tokens(claim.text or ""))
    has_small = any(c.islower() for c in case.listing.text)
    return has_small and bool(wrong) and bool(missed) and missed <= set(_tokens(case.listing.text))


def _is_lone(case: Case) -> bool:
    """Whether the sheet knows of one inscription only."""
    assert case.sheet is not None
    return sum(rule.inscription is not None for rule in case.sheet.rules) == 1


def _covers(claim: Claim, place: Place) -> bool:
    """A general "no stamps" covers every mark on the frame, a placed one only its place."""
    if not claim.place:
        if _ONLY_LOGO.search(claim.words) and not _MARK_WORD.search(
            _ONLY_LOGO.sub("", claim.words)
        ):
            return False  # "no badge, no logo" speaks of metal on the outside
        return ("part", "lens") not in place or claim.on_lens
    return clash(place, claim.place) is None and shared(place, claim.place) >= 1


def _forbidden(case: Case, rule: Rule, claim: Claim) -> Iterator[_Vote]:
    stated = claim.text or "a mark"
    if claim.text is None and not claim.how and not _NAMED_MARK.search(claim.words):
        return  # "a small mark on the lens" may be a scratch
    if claim.claimed == "present":
        if claim.on_lens and case.has_other_lenses:
            yield _Vote("undecided", claim, "the lenses are said to be later ones", stated)
        else:
            yield _Vote("conflicts", claim, "", stated)
    elif claim.claimed == "absent":
        yield _Vote("agrees", claim, "", "none")


def _absence(case: Case, rule: Rule, claim: Claim) -> _Vote:
    stated = "none"
    if not rule.values or rule.force != "always":
        return _Vote("undecided", claim, "it is not on every piece", stated)
    if ("part", "lens") in place_of(rule) and case.has_other_lenses:
        return _Vote("undecided", claim, "the lenses are said to be later ones", stated)
    if wear_explains(rule, claim.worn):
        reason = rule.harmless[0] if rule.harmless else "print and paint wear away"
        return _Vote("undecided", claim, f"wear may explain it ({reason})", stated)
    return _Vote("conflicts", claim, "", stated)


def wear_explains(rule: Rule, said_worn: bool) -> bool:
    """Whether wear can make this inscription vanish: as the sheet says, else by how it is made."""
    if rule.wear == "can vanish" or said_worn:
        return True
    if rule.wear == "stays":
        return False
    assert rule.inscription is not None
    made = {facet("method").canonical(h) for h in rule.inscription.how}
    return bool(made & _VANISHING)


def text_match(inscription: Inscription, text: str) -> str | None:
    """ "same", "numerals" (differs only roman/arabic), "part", "near", or None.

    >>> text_match(Inscription(text=("TAVOY II",)), "Tavoy 2")
    'numerals'
    """
    said = _tokens(text)
    for wanted in inscription.text:
        tokens = _tokens(wanted)
        if "".join(tokens) == "".join(said):
            return "same"
        if _as_arabic(tokens) == _as_arabic(said):
            return "numerals"
        if _contains(said, tokens):
            return "other number" if _numbers_of(said) != _numbers_of(tokens) else "same"
    for wanted in inscription.text:
        tokens = _tokens(wanted)
        if _contains(_as_arabic(said), _as_arabic(tokens)):
            return "numerals"
        if _differs_in_number(said, tokens) or _differs_in_gold(text, wanted):
            return "other number"
        if _contains(tokens, said):
            return "part"
        if _is_near_text("".join(said), "".join(tokens)):
            return "near"
    if any(_is_other_word(text, wanted) for wanted in inscription.text):
        return "other word"
    return None


def _numbers_of(tokens: list[str]) -> list[str]:
    """The numerals in reading order, the first token apart: a lone "I" or "V" may be a letter."""
    return [t for t in _as_arabic(tokens[1:]) if t.isdigit() and len(t) < 3]


def _is_other_word(text: str, wanted: str) -> bool:
    """Capitals that imitate the sheet's word, too far off for a typing slip ("BP" for "PB")."""
    said, true = ("".join(_tokens(t)) for t in (text, wanted))
    if (
        not (text.isupper() or text.islower())
        or len(said) != len(true)
        or _numbers_of(_tokens(text))
    ):
        return False
    if len(true) <= 3:
        return said != true and sorted(said) == sorted(true)
    return len(true) >= 7 and 1 < OSA.distance(said, true) <= len(true) // 3


def _differs_in_number(said: list[str], wanted: list[str]) -> bool:
    """The same words with another numeral: "TAVOY III" for "TAVOY II" is no typing slip."""
    mine, theirs = _numbers_of(said), _numbers_of(wanted)
    if mine == theirs or not theirs or not mine:
        return False
    words, others = ([t for t in _as_arabic(x) if not t.isdigit()] for x in (said, wanted))
    return words == others


_GOLD = re.compile(r"\b(\d{1,2}) ?(?:k|kt|ct|karat)\b")


def _differs_in_gold(text: str, wanted: str) -> bool:
    """The same maker's name beside another karat: "ORLENZA 14K" for "ORLENZA 12K GF"."""
    mine, theirs = (_GOLD.findall(plain(t)) for t in (text, wanted))
    names = [next((w for w in _tokens(t) if len(w) > 3), "") for t in (text, wanted)]
    return bool(mine and theirs) and mine != theirs and names[0] == names[1] != ""


def _tokens(text: str) -> list[str]:
    return re.findall(r"[a-z]+|\d+", plain(text))


def _contains(longer: list[str], shorter: list[str]) -> bool:
    return (
        any(longer[i : i + len(shorter)] == shorter for i in range(len(longer) - len(shorter) + 1))
        if shorter
        else False
    )


_NUMERALS = "i,ii,iii,iv,v,vi,vii,viii,ix,x,xi,xii,xiii,xiv,xv,xvi,xvii,xviii,xix,xx"
_ROMANS = _NUMERALS.split(",")


def _as_arabic(tokens: list[str]) -> list[str]:
    return [str(_ROMANS.index(t) + 1) if t in _ROMANS else _long_roman(t) or t for t in tokens]


_ROMAN = re.compile(r"m{0,3}(cm|cd|d?c{0,3})(xc|xl|l?x{0,3})(ix|iv|v?i{0,3})")
_LETTERS = {"i": 1, "v": 5, "x": 10, "l": 50, "c": 100, "d": 500, "m": 1000}


def _long_roman(token: str) -> str | None:
    """A roman number of four letters or more as arabic ("dciv"); shorter ones may be words."""
    if len(token) < 4 or not _ROMAN.fullmatch(token):
        return None
    values = [_LETTERS[c] for c in token]
    signed = (-v if v < after else v for v, after in zip(values, [*values[1:], 0], strict=True))
    return str(sum(signed))


def _is_near_text(said: str, wanted: str) -> bool:
    if wanted.isdigit() and said.isdigit() and len(said) == len(wanted) == 3:
        return OSA.distance(said, wanted) == 1  # "605" for "604"
    if len(wanted) < 4:
        return False
    return int(OSA.distance(said, wanted)) <= (1 if len(wanted) < 9 else 2)


def _details(
    rule: Rule, inscription: Inscription, place: Place, claim: Claim, match: str | None
) -> Iterator[_Vote]:
    text = claim.text or ""
    yield from _numerals(inscription, claim, match)
    if match in ("other number", "other word"):
        yield _Vote("conflicts", claim, "", text)
    if (
        match == "part"
        and _numbers_of(_tokens(" ".join(inscription.text[:1])))
        and not (_numbers_of(_tokens(text)))
    ):
        yield _Vote("undecided", claim, "the number that belongs to it is not given", text)
    if match == "near":
        digits = re.sub(r"\D", "", text) != re.sub(r"\D", "", " ".join(inscription.text))
        why = "the seller may have mistyped it"
        yield _Vote("conflicts" if digits else "undecided", claim, "" if digits else why, text)
    if match != "part":
        yield from _making(inscription, claim)
    yield from _placing(inscription, place, claim, match)
    yield from _often(inscription, claim)
    yield from _aligning(inscription, claim)
    if match in ("same", "part") or (match is None and claim.how):
        stated = text or " or ".join(sorted(claim.how)) or "present"
        if match is not None or inscription.how:
            yield _Vote("agrees", claim, "", stated)


def _numerals(inscription: Inscription, claim: Claim, match: str | None) -> Iterator[_Vote]:
    kind = inscription.numerals
    named = {k for k in ("roman", "arabic") if re.search(rf"\b{k}\b", claim.words)}
    if kind and named and kind not in named:
        yield _Vote("conflicts", claim, "", f"{named.pop()} numerals")
    elif kind and kind in named:
        yield _Vote("agrees", claim, "", f"{kind} numerals")
    elif match == "numerals":
        result: Result = "conflicts" if kind else "undecided"
        yield _Vote(
            result,
            claim,
            "" if kind else "the seller may have written the number his own way",
            claim.text or "",
        )


def _making(inscription: Inscription, claim: Claim) -> Iterator[_Vote]:
    methods = facet("method")
    wanted = {c for h in inscription.how if (c := methods.canonical(h))}
    if not wanted or not (claim.how or claim.not_how):
        return
    stated = " and ".join(sorted(claim.how)) or "not " + " or ".join(sorted(claim.not_how))
    if claim.how & wanted:
        yield _Vote("agrees", claim, "", stated)
    elif claim.how:
        near = any(is_near("method", h, w) for h in claim.how for w in wanted) and not (
            claim.not_how & wanted
        )
        yield _Vote(
            "undecided" if near else "conflicts",
            claim,
            "sellers call the one by the other's name" if near else "",
            stated,
        )
    elif claim.not_how & wanted:
        yield _Vote("conflicts", claim, "", stated)


def _placing(
    inscription: Inscription, place: Place, claim: Claim, match: str | None
) -> Iterator[_Vote]:
    if claim.loose:
        return
    stated = " ".join(v for _, v in sorted(claim.place))
    said = claim.place
    if ("side", "both") in said:
        said |= {("side", "left"), ("side", "right")}
    for forbidden in inscription.not_where:
        wrong = read_place(forbidden)
        if wrong and wrong <= said and not wrong <= place:
            yield _Vote("conflicts", claim, "", forbidden)
            return
    group = clash(place, claim.place)
    if group is None or match not in ("same", "numerals", "near"):
        return
    if group == "side" and _VIEWER.search(claim.words):
        yield _Vote("undecided", claim, "left and right may be the viewer's", stated)
    else:
        yield _Vote("conflicts", claim, "", stated)


def _often(inscription: Inscription, claim: Claim) -> Iterator[_Vote]:
    if inscription.how_often is None:
        return
    both = ("side", "both") in claim.place
    match = re.search(
        r"\b(once|twice|three times|one side only|only one|(\w+) times)\b", claim.words
    )
    count = (
        {"once": 1.0, "twice": 2.0, "one side only": 1.0, "only one": 1.0}.get(match.group(1))
        if match
        else None
    )
    if match and count is None and match.group(2):
        count = number_of(match.group(2))
    stated = count if count is not None else 2.0 if both else None
    if stated is not None and stated != inscription.how_often:
        yield _Vote("conflicts", claim, "", "on both" if both else f"{stated:g} times")


def _aligning(inscription: Inscription, claim: Claim) -> Iterator[_Vote]:
    wanted = read_alignment(inscription.aligned)
    said = read_alignment(claim.words)
    anchors = set(re.findall(r"[a-z]{4,}", plain(inscription.aligned)))
    if not wanted or not said or not anchors & set(re.findall(r"[a-z]{4,}", claim.words)):
        return
    if wanted & said:
        yield _Vote("agrees", claim, "", " ".join(sorted(said)))
    else:
        yield _Vote("conflicts", claim, "", " ".join(sorted(said)))


# --- words -----------------------------------------------------------------------------------


def expected_inscription(rule: Rule) -> str:
    """The sheet's inscription as a dealer would say it."""
    found = rule.inscription
    assert found is not None
    if "any" in rule.never:
        return "no mark of any kind"
    parts = [" or ".join(f"“{t}”" for t in found.text)] if found.text else []
    parts += [" or ".join(found.how)] if found.how else []
    parts += [" or ".join(found.where)] if found.where else []
    parts += [f"{found.numerals} numerals"] if found.numerals else []
    parts += [found.aligned] if found.aligned else []
    parts += [f"never {' or '.join(found.not_where)}"] if found.not_where else []
    return ", ".join(parts) or expected_text(rule)


def _finding(case: Case, rule: Rule, vote: _Vote | None) -> Finding:
    expected, name = expected_inscription(rule), rule.point.replace("_", " ")
    strength = strength_of(rule)
    if vote is None:
        why = f"{name}: not stated; the sheet has {expected}"
        return Finding(
            CHECK,
            rule.point,
            "not_stated",
            strength,
            why,
            expected=expected,
            source=rule.source or None,
        )
    quote = " ".join(vote.claim.span.text.split())
    result: Result = vote.result
    if result == "conflicts" and rule.sure == "guess":
        result, vote = "undecided", replace(vote, why="the sheet itself is not sure of this point")
    said = f"{name}: the seller writes “{quote}”"
    said += f" ({vote.stated})" if vote.stated and plain(vote.stated) not in plain(quote) else ""
    why = {
        "agrees": f"{said}, as the sheet has it ({expected})",
        "conflicts": f"{said}; the sheet has {expected}",
        "undecided": f"{said}; the sheet has {expected}, but {vote.why}",
    }[result]
    explanations: tuple[str, ...] = ()
    if result == "conflicts":
        explanations = ("a temple or lens changed later", "the seller's loose wording")
        if vote.stated == "none":
            explanations = ("the seller may have overlooked it",)
    return Finding(
        CHECK, rule.point, result, strength, why, stated=vote.stated or None, expected=expected,
        quoted=(vote.claim.span,), source=rule.source or None, explanations=explanations,
    )  # fmt: skip
