"""Country: "made in ..." against the country of the sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator

from extractors.folding import plain
from extractors.records import Span
from models.checks.case import Case
from models.passages import clauses
from models.point_values import sign, speaks_of_others
from models.records import Finding, Result
from models.wording import words_of

CHECK = "country"
CODES = (
    (CHECK, "agrees", "soft"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "undecided", "soft"),
)

# names of one place, or one within the other; a seller's "Germany" stands for West Germany
_SAME = (
    ("england", "united kingdom", "uk", "great britain", "britain", "gb", "english", "british", "grossbritannien", "angleterre", "royaume-uni", "inghilterra", "inglaterra", "scotland", "wales"),
    ("west germany", "germany", "w germany", "w. germany", "western germany", "federal republic of germany", "brd", "frg", "deutschland", "westdeutschland", "allemagne", "germania", "alemania", "german"),
    ("east germany", "gdr", "ddr", "german democratic republic"),
    ("france", "frankreich", "francia", "french"),
    ("italy", "italia", "italien", "italie", "italian"),
    ("japan", "japon", "giappone", "japanese", "occupied japan", "nippon"),
    ("usa", "u.s.a.", "united states", "us", "america", "american", "u.s."),
    ("austria", "osterreich", "autriche"),
    ("spain", "spanien", "espagne", "spagna", "espana"),
    ("switzerland", "swiss", "schweiz", "suisse", "svizzera", "suiza"),
    ("china", "prc", "p.r.c.", "p.r. china", "chine", "cina"),
    ("hong kong", "british hong kong"),
    ("taiwan", "r.o.c."),
    ("denmark", "danmark"), ("sweden", "sverige"), ("czechoslovakia",), ("czech republic",), ("slovenia",), ("croatia",), ("vietnam",), ("philippines",), ("yugoslavia",), ("hungary",),
    ("belgium", "belgique"), ("netherlands", "holland"), ("korea", "south korea"), ("thailand",), ("india",),
    ("poland",), ("portugal",), ("ireland",), ("israel",), ("canada",), ("mexico",), ("brazil",), ("ussr", "soviet union"),
)  # fmt: skip
_NAMES = "|".join(sorted((re.escape(n) for group in _SAME for n in group), key=len, reverse=True))
_MADE_IN = re.compile(
    rf"\b(?:made in|hand ?made in|manufactured in|hergestellt in|fabrique(?:es?)? en|fatto in|prodott\w in|hecho en|fabricad\w+ en|frame)\s+(?:the\s+)?({_NAMES})(?![a-z])"
)
_LABEL = re.compile(r"country|made in|manufacture|land|pays|paese|pais|origin|herkunft")
_BARE = re.compile(rf"\b({_NAMES})(?![a-z])")


def group_of(name: str) -> tuple[str, ...] | None:
    """All names of the country, or None for one that is not listed."""
    return next((group for group in _SAME if plain(name).strip() in group), None)


def check_country(case: Case) -> tuple[Finding, ...]:
    """One finding where the listing says in which country the frame was made."""
    if case.sheet is None or not case.sheet.country:
        return ()
    wanted = {group_of(c) for c in case.sheet.country}
    wanted |= {
        group_of(m.removeprefix("Made in ").removeprefix("made in "))
        for m in case.sheet.marks_belong
    }
    if not wanted - {None}:
        return ()
    told = list(_told(case))
    if not told:
        return ()
    agreeing = [t for t in told if group_of(t[0]) in wanted]
    name, span, unsure, firm = (agreeing or told)[0]
    expected = " or ".join(case.sheet.country)
    result: Result = "agrees" if agreeing else "conflicts" if firm and not unsure else "undecided"
    if result == "conflicts" and (case.says("reissue") or _of_edition(case)):
        result = "undecided"
    why = {
        "agrees": f"country: the seller writes “{span.text}”, as the sheet has it ({expected})",
        "conflicts": f"country: the seller writes “{span.text}”; the sheet has {expected}",
        "undecided": f"country: the seller writes “{span.text}”; the sheet has {expected}, but it is not said to be marked so",
    }[result]
    return (
        Finding(CHECK, "country", result, "soft", why, stated=name, expected=expected, quoted=(span,),
                source=case.sheet.source or None,
                explanations=("the lens, case or a later licence maker may be meant",) if result == "conflicts" else ()),
    )  # fmt: skip


def _of_edition(case: Case) -> bool:
    """Some edition is known by its country: the plain sheet's country does not bind it."""
    assert case.sheet is not None
    return any(c.subject == "country" for e in case.sheet.editions for c in e.known_by)


def _told(case: Case) -> Iterator[tuple[str, Span, bool, bool]]:
    """(country, words, unsure, firm): firm where it is written on the frame or said outright."""
    for scene in case.told:
        if scene.passage.part == "specific":
            label = scene.passage.folded[: -scene.passage.shift]
            if _LABEL.search(label) and (
                match := _BARE.search(scene.passage.folded, -scene.passage.shift)
            ):
                yield match.group(1), scene.passage.span(match.start(), match.end()), False, False
            continue
        for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
            bounds = (clause.start, clause.end)
            for match in _MADE_IN.finditer(scene.passage.folded, *bounds):
                text = scene.passage.folded[clause.start : clause.end]
                if speaks_of_others(scene, bounds) or words_of("off_frame").search(text):
                    continue
                if words_of("on_lens").search(text):
                    continue
                claimed = sign(scene, bounds, match.start(), match.end())
                if claimed != "absent":
                    yield (
                        match.group(1),
                        scene.passage.span(match.start(), match.end()),
                        claimed == "unsure",
                        True,
                    )
