"""What the seller says of a point: its value, whether it is said, denied or doubted.

Values are attached to the nearest part named; negation, doubt and words about other pieces
("copies have ...", "my other pair") count within their clause. Absent is a normal answer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from extractors.reading import guess_language
from extractors.records import Claimed, Span
from models.passages import Passage, clauses, sentences
from models.point_words import NUMBER, Facet, PointWords, number_of, topics
from models.wording import alternatives, begins_with, words_of

_REACH = 9.5  # words between a value and its part, commas counting for more
_COMMA = 3.0
_AFTER_FIRST = ("en", "de")  # languages in which the value stands before its part


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing said of a point; `facet` is "count", "number", "presence" or a facet's name.

    `replaced`: the part is said to be a later one; `worn`: it is said to be worn there.
    """

    point: str
    facet: str
    value: str
    claimed: Claimed
    span: Span
    replaced: bool = False
    worn: bool = False
    number: float | None = None
    lost: bool = False


@dataclass(frozen=True, slots=True)
class _Said:
    """A value found at a place, before its sign is known."""

    facet: str
    value: str
    start: int
    end: int
    topic_at: tuple[int, int] | None
    number: float | None = None


@dataclass(frozen=True, slots=True)
class Scene:
    """One sentence with the parts it names and what it may refer back to."""

    passage: Passage
    start: int
    end: int
    parts: tuple[tuple[str, int, int], ...]
    inherited: str | None
    following: str
    language: str

    @property
    def folded(self) -> str:
        """The sentence's folded text."""
        return self.passage.folded[self.start : self.end]


def scenes(found: Sequence[Passage]) -> tuple[Scene, ...]:
    """Every sentence of the listing with its parts; pronouns carry a part to the next sentence."""
    return tuple(scene for passage in found for scene in _scenes_of(passage))


def _scenes_of(passage: Passage) -> Iterator[Scene]:
    language = guess_language(passage.text)
    spans = list(sentences(passage.folded, passage.text))
    before: str | None = None
    for number, (start, end) in enumerate(spans):
        parts = _parts(passage.folded, start, end)
        following = ""
        if number + 1 < len(spans):
            following = passage.folded[spans[number + 1][0] : spans[number + 1][1]]
        carried = before if _refers_back(passage.folded[start:end]) else None
        yield Scene(passage, start, end, parts, carried, following, language)
        if parts:
            before = parts[-1][0]
        elif not carried:
            before = None


_BACK = re.compile(
    r"\W*(?:and |but )?(?:they|these|those|it|both|all|each|sie|es|beide|alle|ils|elles|il|elle|"
    r"sono|e|son|es|todos|tutti|no|yes|nein|ja|non|oui|si|none)\b"
)


def _refers_back(folded: str) -> bool:
    return _BACK.match(folded) is not None


def _parts(folded: str, start: int, end: int) -> tuple[tuple[str, int, int], ...]:
    """(part, start, end) of every part named, longest first at each place."""
    found: list[tuple[str, int, int]] = []
    for name, pattern in topics().items():
        found += [(name, m.start(), m.end()) for m in pattern.finditer(folded, start, end)]
    found.sort(key=lambda part: (part[1], -(part[2] - part[1])))
    kept: list[tuple[str, int, int]] = []
    for part in found:
        if not kept or part[1] >= kept[-1][2]:
            kept.append(part)
        elif part[2] - part[1] > kept[-1][2] - kept[-1][1]:
            kept[-1] = part
    # of two nouns side by side the second is the part: "acetate pads", "hinge screws"
    return tuple(
        part
        for number, part in enumerate(kept)
        if number + 1 == len(kept) or not _ADJACENT.fullmatch(folded, part[2], kept[number + 1][1])
    )


_ADJACENT = re.compile(r"[ -]")


def read_point(words: PointWords, told: Sequence[Scene]) -> tuple[Statement, ...]:
    """Everything the listing says of one point, in reading order, each with its sign."""
    found: list[Statement] = []
    for scene in told:
        own = _own_parts(words, scene)
        said = [*_counts(words, scene, own), *_numbers(words, scene, own)]
        said += [*_values(words, scene, own), *_presence(words, scene, own)]
        found += _without_denied([s for item in said if (s := _judge(words, scene, item))])
    return _without_repeats(found)


def _without_denied(said: list[Statement]) -> list[Statement]:
    """ "no core wire that I can see": where the part is denied, nothing else is said of it."""
    denied = any(s.facet == "presence" and s.claimed == "absent" for s in said)
    parts = sum(s.facet == "presence" for s in said)
    if not denied or parts > 1:
        return said
    return [s for s in said if s.facet == "presence" or s.claimed == "absent"]


def _own_parts(words: PointWords, scene: Scene) -> tuple[tuple[int, int], ...]:
    """Where the sentence names this point's part."""
    own = [(s, e) for name, s, e in scene.parts if name == words.topic]
    taken = [(s, e) for name, s, e in scene.parts if name != words.topic]
    for match in words.topics.finditer(scene.passage.folded, scene.start, scene.end):
        span = match.start(), match.end()
        inside = any(
            s <= span[0] and span[1] <= e and (e - s) > (span[1] - span[0]) for s, e in taken
        )
        # "plastic tips": the material of another part names no front
        of_next = words.topic == "front" and any(
            _ADJACENT.fullmatch(scene.passage.folded, span[1], s) for s, _ in taken
        )
        known = span in own or any(s <= span[0] < e for s, e in own)
        if not (known or inside or of_next):
            own.append(span)
    return tuple(sorted(own))


def _counts(words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...]) -> Iterator[_Said]:
    """ "seven barrels", "7-barrel", and a bare number said of the part in a label."""
    folded = scene.passage.folded
    for value, cue in words.count_cues:
        for match in cue.finditer(folded, scene.start, scene.end):
            yield _Said("count", value, match.start(), match.end(), None, float(value))
    if words.count is None:
        return
    pattern = re.compile(
        rf"(?<![\w.,/])({NUMBER})[\s-]*(?:(?:small|little|single|metal|silver|interlocking|visible)\s+)?"
        rf"(?:{_count_nouns(words, scene, own)})"
    )
    sums = list(_sums(words, scene, own))
    yield from sums
    found = list(pattern.finditer(folded, scene.start, scene.end))
    hits = [m for m in found if not any(s.start < m.end() and m.start() < s.end for s in sums)]
    for match in hits:
        number = number_of(match.group(1))
        if _counts_the_faulty(scene, match.end()) or _is_an_article(scene, match):
            continue
        if number is not None and number.is_integer() and 1 <= number <= 15:
            yield _Said("count", f"{number:g}", match.start(), match.end(), None, number)
            yield from _corrected(scene, match.end())
    if sums:
        return
    if not hits and (own or scene.inherited == words.topic):
        yield from _per_side(words, scene)
    if hits or not own:
        return
    yield from _of_that_many(words, scene, own)
    for match in _BARE_COUNT.finditer(folded, scene.start, scene.end):
        number = number_of(match.group(1))
        if number is not None and 1 <= number <= 15 and _is_label(scene, own[0]):
            yield _Said("count", f"{number:g}", match.start(1), match.end(1), own[0], number)
            return
    counted = re.compile(
        rf"{words.count.pattern}\s*(?:[:=]|count|number|is|are|x)*\s*({NUMBER})(?![\w.,]\d)"
    )
    for match in counted.finditer(folded, scene.start, scene.end):
        number = number_of(match.groups()[-1])
        if number is not None and 1 <= number <= 15:
            yield _Said("count", f"{number:g}", match.start(), match.end(), None, number)


def _is_an_article(scene: Scene, match: re.Match[str]) -> bool:
    """ "un rivet doré", "one rivet": some one of them, unless it is said to be the only one."""
    if number_of(match.group(1)) != 1 or match.group(1) in ("1", "single"):
        return False
    before = scene.passage.folded[max(scene.start, match.start() - 14) : match.start()]
    after = scene.passage.folded[match.end() : match.end() + 14]
    only = words_of("only_one")
    each = re.match(r"\W+(?:per|each|pro|je|par|a)\b", after)
    return not (only.search(before) or only.search(after) or each)


def _counts_the_faulty(scene: Scene, end: int) -> bool:
    """ "two joints are a bit loose" does not say how many there are."""
    until = min((s for _, s, _ in scene.parts if s >= end), default=scene.end)
    words = re.findall(r"\w+", scene.passage.folded[end:until])[:5]
    return any(words_of("fault_word").fullmatch(word) for word in words)


_SUM = rf"(?P<one>{NUMBER})\s*(?:\+|plus)\s*(?P<other>{NUMBER})[\s-]*"
_OF_FRONT = r"(?:front|frame|(?:the )?one side|vorder\w*|fassung|face|frontale|frente)"
_OF_TEMPLE = r"(?:temple|arm|side|other|bugel|branche|asta|varilla|patilla)"


def _sums(words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...]) -> Iterator[_Said]:
    """ "3 + 2 barrels", "three barrels on the front, two on the temple": five in all."""
    nouns = _count_nouns(words, scene, own)
    patterns = (
        rf"(?<![\w.,]){_SUM}(?:{nouns})",
        rf"(?<![\w.,])(?P<one>{NUMBER})[\s-]*(?:(?:{nouns})|pieces|parts|teile)[^.;]{{0,20}}\b{_OF_FRONT}\b"
        rf"[^.;]{{0,12}}?(?<!\w)(?P<other>{NUMBER})\b[^.;]{{0,25}}\b{_OF_TEMPLE}",
    )
    for pattern in patterns:
        for match in re.finditer(pattern, scene.passage.folded[scene.start : scene.end]):
            one, other = number_of(match["one"]), number_of(match["other"])
            if one is not None and other is not None and one + other <= 15:
                start, end = scene.start + match.start(), scene.start + match.end()
                yield _Said("count", f"{one + other:g}", start, end, None, one + other)
                return


def _count_nouns(words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...]) -> str:
    """What is counted; "rings" only where the sentence, or the one before, speaks of the part."""
    assert words.count is not None
    found = [words.count.pattern]
    if words.count_near is not None and (own or scene.inherited == words.topic):
        found.append(words.count_near.pattern)
    return "|".join(p.replace("(?<![a-z0-9])", "", 1) for p in found)


_OF_THAT_MANY = re.compile(
    rf"\s+(?:de|a|da|con|mit|zu|has|have|with|hat|haben|ont|ha|hanno|tiene|tienen|"
    rf"count(?: is| of|:)?|number(?: is|:)?|anzahl:?)\s+({NUMBER})"
    r"(?=\s*(?:[,.;)]|$))"
)


def _of_that_many(
    words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...]
) -> Iterator[_Said]:
    """ "charnière à cinq", "bisagra de cinco": the number counts what the part has."""
    for start, end in own if words.count_near is not None else ():
        match = _OF_THAT_MANY.match(scene.passage.folded, end, scene.end)
        number = number_of(match.group(1)) if match else None
        if match and number is not None and 1 <= number <= 15:
            yield _Said("count", f"{number:g}", start, match.end(), None, number)


_PER_SIDE = re.compile(
    rf"(?<![\w.,])({NUMBER})\s+(?P<of>\w+\s+)?"
    r"(?:per|on each|on either|to each|a|each|at each|je|pro|auf jeder|an jeder|par|de chaque|"
    r"sur chaque|a chaque|per ogni|su ogni|por|por cada|en cada|a cada)\s+"
    r"(?:front |outer )?(?:side|corner|hinge|plate|front|temple|arm|seite|ecke|cote|lato|lado)"
)


def _per_side(words: PointWords, scene: Scene) -> Iterator[_Said]:
    """ "three on each side" of a part named in this sentence or the last."""
    for match in _PER_SIDE.finditer(scene.passage.folded, scene.start, scene.end):
        number, of = number_of(match.group(1)), match["of"]
        before = [name for name, start, _ in scene.parts if start < match.start()]
        if before and before[-1] != words.topic:
            continue  # "7 barrels, arrow rivets, two a side" counts the rivets
        if of and not words.topics.search(of) and any(t.search(of) for t in topics().values()):
            continue  # "two studs to each hinge" counts no barrels
        if number is not None and 1 <= number <= 15:
            yield _Said("count", f"{number:g}", match.start(), match.end(1), None, number)


_CORRECTED = re.compile(
    rf"[^.;\n]{{0,12}}?\b(?:but|sondern|mais|ma|sino)\s+({NUMBER})\b(?![\s-]*(?:mm|cm|inch))"
)


def _corrected(scene: Scene, at: int) -> Iterator[_Said]:
    """The number after "but": "not five barrels but seven"."""
    match = _CORRECTED.match(scene.passage.folded, at, scene.end)
    number = number_of(match.group(1)) if match else None
    if match and number is not None:
        yield _Said("count", f"{number:g}", match.start(1), match.end(1), None, number)


_BARE_COUNT = re.compile(
    rf"[:=]\s*({NUMBER})(?!\s*(?:of|out of|/|von|der|sur|des|su|di|de)\b)"
    r"\s*(?:$|[,;.(x]|each\b|per\b)"
)


def _is_label(scene: Scene, part: tuple[int, int]) -> bool:
    rest = scene.passage.folded[part[1] : scene.end]
    return part[0] - scene.start < 25 and re.match(r"[\w\s]{0,15}[:=]", rest) is not None


def _numbers(words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...]) -> Iterator[_Said]:
    """A number with the point's own unit: "10 degrees"."""
    if words.number is None or not (own or scene.inherited == words.topic):
        return
    unit = words.number.pattern.replace("(?<![a-z0-9])", "", 1)
    pattern = re.compile(rf"(?<![\w.,])({NUMBER})(?:\s*(?:-|to|–)\s*({NUMBER}))?[\s-]*(?:{unit})")
    for match in pattern.finditer(scene.passage.folded, scene.start, scene.end):
        low = number_of(match.group(1))
        if low is not None and (not words.sized or _is_of_that_size(words, scene, own, match)):
            high = number_of(match.group(2)) if match.group(2) else low
            middle = (low + (high or low)) / 2
            yield _Said("number", f"{middle:g}", match.start(), match.end(), None, middle)


_SIZE_WORDS = {
    "width": r"wide|width|broad|breit\w*|larg\w+|anch\w+|deep|thick\w*",
    "height": r"high|height|tall|deep|hoch|hohe|haut\w*|alt[oa]|altezza|altura",
    "thickness": r"thick\w*|dick\w*|epais\w*|spess\w+|gruesos?|grosor",
    "length": r"long|length|lang\w*|longueur|lung\w+|larg[oa]",
    "diameter": r"diameter|across|durchmesser|diametre|diametro",
}


def _is_of_that_size(
    words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...], match: re.Match[str]
) -> bool:
    """A length of a part that is no size of the frame: its clause must name part and extent."""
    start, end = _clause_of(scene, match.start())
    clause = scene.passage.folded[start:end]
    extents = [p for key, p in _SIZE_WORDS.items() if key in words.point] or [r"\w"]
    return any(start <= s < end for s, _ in own) and any(
        re.search(rf"(?<!\w)(?:{p})", clause) for p in extents
    )


def _values(words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...]) -> Iterator[_Said]:
    folded = scene.passage.folded
    for facet in words.facets:
        taken: list[tuple[int, int]] = []
        hits = _facet_hits(facet, folded, scene.start, scene.end)
        special = facet.name.startswith("own:")
        for value, start, end in _without_bare_names(hits, own):
            if any(s < end and start < e for s, e in taken):
                continue
            taken.append((start, end))
            alone = any(
                pattern is not None
                and (pattern.search(folded, start, end) or pattern.match(folded, start))
                for pattern in (words.alone, words.own_cues)
            )
            # "tips dipped in plastic": a material is no part that it could be said of
            bare = words.bare and not _is_in_title(scene)
            parts = tuple(p for p in own if not (bare and _is_bare_part(scene, p)))
            if facet.name in words.also_facets:
                also = ((s, e) for name, s, e in scene.parts if name == words.also)
                parts = tuple(sorted({*own, *also}))
            part = _attach(words, scene, parts, start, end, special)
            fills = (words.bare or special) and _fills_its_clause(scene, start, end)
            alone = alone or fills
            if part is not None or alone:
                yield _Said(facet.name, value, start, end, part)


def _is_bare_part(scene: Scene, part: tuple[int, int]) -> bool:
    return scene.passage.folded[part[0] : part[1]] in ("acetate", "plastic")


def _fills_its_clause(scene: Scene, start: int, end: int) -> bool:
    """Alone between two commas, one word beside it at most ("Leichtes Titan,")."""
    left, right = _clause_of(scene, start)
    before, behind = scene.passage.folded[left:start], scene.passage.folded[end:right]
    behind = _JOINED.split(behind)[0]  # "acetate with metal hinges"
    right = end + len(behind)
    follows = scene.passage.folded[: scene.start].rstrip()[-1:] == ";"
    if follows or (scene.language in _AFTER_FIRST and _FILLING.sub(" ", behind).strip()):
        return False  # "steel spring"; and what stands behind ";" may go on about a part
    named = any(left <= s < right and not _is_bare_part(scene, (s, e)) for _, s, e in scene.parts)
    if _is_in_title(scene) and " " in scene.passage.folded[start:end] and not behind.strip():
        return True  # "... solid gold" at the end of a title
    most = 1 if _is_in_title(scene) or behind.strip(" .!") else 2  # "dark brown plastic"
    return not named and len(_FILLING.sub(" ", f"{before} {behind}").split()) <= most


def _is_in_title(scene: Scene) -> bool:
    return scene.passage.part == "text" and scene.start < scene.passage.title_end


_JOINED = re.compile(r"\b(?:with|mit|avec|con|and|und|et|e|y|w/)\b")
_FILLING = re.compile(
    r"\W+|\b(?:this|these|they|it|is|are|the|an?|in|of|made|from|all|and|but|"
    r"aus|ist|sind|sie|und|gefertigt|hergestellt|fabrique|fatto|fatta|hech[oa]|realizzat[oa]|en|est|sont|elles?|di|sono|e|de|es|son|y|est[aeo]s?|quest[aeio]|in)\b"
)


def _without_bare_names(
    hits: list[tuple[str, int, int]], own: tuple[tuple[int, int], ...]
) -> list[tuple[str, int, int]]:
    """A part's name that is a value too ("plaque") gives way to a value said of it."""
    named = [h for h in hits if (h[1], h[2]) in own]
    return [h for h in hits if h not in named] if len(named) < len(hits) else hits


def _facet_hits(facet: Facet, folded: str, start: int, end: int) -> list[tuple[str, int, int]]:
    hits = [
        (value, m.start(), m.end())
        for value, pattern in facet.values.items()
        for m in pattern.finditer(folded, start, end)
    ]
    return sorted(hits, key=lambda hit: (-(hit[2] - hit[1]), hit[1]))


def _attach(
    words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...], start: int, end: int,
    special: bool = False,
) -> tuple[int, int] | None:  # fmt: skip
    """The mention of this point's part that the value belongs to, or None if another is nearer.

    `special`: a value that only this point has, so that no other part can claim it.
    """
    best: tuple[float, tuple[int, int] | None] = (_REACH, None)
    rivals = [(s, e) for _, s, e in scene.parts if (s, e) not in own and not special]
    for part, mine in [*((p, True) for p in own), *((p, False) for p in rivals)]:
        if not mine and start <= part[0] and part[1] <= end:
            continue  # "on wire arms" is one value
        if part[0] <= start and end <= part[1]:
            if mine:
                return part
            if part[1] - part[0] > end - start and _is_one_word(scene, part):
                return None  # "Kunststoffpads" says nothing of the frame
            continue
        distance = _distance(scene, part, start, end)
        if distance < best[0] or (distance == best[0] and mine and best[1] is None):
            best = (distance, part if mine else None)
    if best[0] < _REACH:
        return best[1]
    label_end = scene.start - scene.passage.shift if scene.passage.part == "specific" else 0
    if scene.passage.part == "specific" and any(e <= label_end for _, e in own):
        return own[0]
    carried = scene.inherited is not None and scene.inherited == words.topic and not scene.parts
    return (start, start) if carried else None


def _is_one_word(scene: Scene, part: tuple[int, int]) -> bool:
    return re.fullmatch(r"\w+", scene.passage.folded[part[0] : part[1]]) is not None


def _distance(scene: Scene, part: tuple[int, int], start: int, end: int) -> float:
    """Words between a value and a part; a comma or bracket between makes it farther."""
    folded = scene.passage.folded
    follows = part[0] >= end
    between = folded[end : part[0]] if follows else folded[part[1] : start]
    count = len(re.findall(r"\w+", between)) + _COMMA * len(re.findall(r"[,;()]", between))
    if follows and re.search(
        r"\b(?:on|with|and|over|has|have|are|is|mit|und|avec|et|con|e|y)\b", between
    ):
        count += 2.0
    if not follows and re.match(
        r"\s*(?:[:=-]|is\b|are\b|were\b|in\b|sind\b|ist\b|sont\b|sono\b|son\b|en\b)", between
    ):
        count = max(0.0, count - 1.5)
    if not follows and _is_attribute(scene, part):
        count += 8.0
    if follows and folded[part[0] : part[1]].endswith("ed"):
        count += 4.0  # "a plate is riveted to it": the plate is no rivet
    prefers_following = scene.language in _AFTER_FIRST
    return count + (0.25 if follows != prefers_following else 0.0)


_PREPOSITION = re.compile(
    r"\b(?:on|of|at|in|inside|to|along|into|from|near|an|am|auf|im|in|von|sur|de|du|des|dans|su|sull[ae]?|"
    r"del(?:l[ae])?|dei|nel(?:l[ae])?|en|por)\s+(?:(?:the|each|both|every|its|my|der|den|dem|die|la|le|les|il|i|gli|las?|los|el|"
    r"left|right|front|outer|inner|upper)\s+){0,2}$|\b(?:dell|sull|nell|l)'$"
)


def _is_attribute(scene: Scene, part: tuple[int, int]) -> bool:
    """ "rivets on the front are round": the front only says which rivets."""
    before = scene.passage.folded[scene.start : part[0]]
    earlier = any(end < part[0] for _, _, end in scene.parts)
    return earlier and _PREPOSITION.search(before) is not None


def _presence(words: PointWords, scene: Scene, own: tuple[tuple[int, int], ...]) -> Iterator[_Said]:
    """The part itself, present or not: "no rivets", "with core wire"."""
    for part in own if words.topic != "front" else ():  # every frame has a front
        yield _Said("presence", "present", part[0], part[1], part)


# --- sign ------------------------------------------------------------------------------------


def _judge(words: PointWords, scene: Scene, said: _Said) -> Statement | None:
    """Give a value its sign; None where the sentence speaks of another piece."""
    clause = _clause_of(scene, said.start)
    if speaks_of_others(scene, clause, said.start) or is_on_packaging(scene, said.end):
        return None
    if words.topic in ("badge", "logo") and _is_of_a_case(scene, clause):
        return None
    if said.facet == "colour" and _is_aged(scene, clause):
        return None
    if said.facet != "presence" and _is_only_compared(scene, clause, said.start):
        return None
    claimed = sign(scene, clause, said.start, said.end, said.topic_at)
    if said.facet == "presence":
        claimed = _presence_sign(words, scene, clause, said, claimed)
    span = _widest(scene, said)
    return Statement(
        words.point,
        said.facet,
        said.value,
        claimed,
        span,
        is_replaced(scene, clause),
        words_of("worn").search(scene.folded) is not None,
        said.number,
        words_of("lost").search(scene.folded) is not None,
    )


def _is_of_a_case(scene: Scene, clause: tuple[int, int]) -> bool:
    """ "a metal badge adorns the case": a clause that names a case and no part of the frame."""
    named = {name for name, start, _ in scene.parts if clause[0] <= start < clause[1]}
    return "case" in named and named <= {"case", "badge", "logo"}


def _is_aged(scene: Scene, clause: tuple[int, int]) -> bool:
    """Tarnish and dirt colour a part; ", nearly black" goes on about it."""
    named = any(clause[0] <= s < clause[1] for _, s, _ in scene.parts)
    span = clause if named else (scene.start, clause[1])
    return words_of("aged").search(scene.passage.folded, *span) is not None


def is_on_packaging(scene: Scene, end: int) -> bool:
    """ "brass plate on the box": right behind stands what it is on, and that is no frame."""
    return re.match(
        r"(?:\W*\w+){0,2}?\W*(?:on|in|inside|of|auf|im|an|sur|dans|sul\w*|nel\w*|en|sobre|de)\W+"
        r"(?:(?:the|an?|its|der|dem|die|la|le|l'|il|el)\W+)?(?:\w+ )?"
        rf"(?:{alternatives('off_frame')})(?!\w)",
        scene.passage.folded[end : scene.end],
    ) is not None  # fmt: skip


def _is_only_compared(scene: Scene, clause: tuple[int, int], start: int) -> bool:
    """ "warmer than plastic", "plus léger que l'acier": said of no piece."""
    before = scene.passage.folded[max(clause[0], start - 40) : start]
    return re.search(rf"(?<!\w)(?:{alternatives('more_than')})\W*$", before) is not None


def _widest(scene: Scene, said: _Said) -> Span:
    start, end = said.start, said.end
    if said.topic_at and said.topic_at[1] > said.topic_at[0]:
        near_start, near_end = min(start, said.topic_at[0]), max(end, said.topic_at[1])
        if near_end - near_start <= 80:
            start, end = near_start, near_end
    return scene.passage.span(start, end)


def _clause_of(scene: Scene, at: int) -> tuple[int, int]:
    for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
        if clause.start <= at < clause.end:
            return clause.start, clause.end
    return scene.start, scene.end


def speaks_of_others(scene: Scene, clause: tuple[int, int], at: int | None = None) -> bool:
    """Whether what stands at `at` is said of other pieces: copies, another pair, what is usual."""
    folded = scene.passage.folded
    here = folded[clause[0] : clause[1]]
    at = clause[0] if at is None else at
    if any(
        _governs(here, m.start(), m.end(), at - clause[0])
        for m in words_of("other_piece").finditer(here)
    ):
        return True
    first = _clause_of(scene, scene.start)
    opening = folded[first[0] : first[1]]
    if clause[0] <= first[0] or not words_of("other_piece").search(opening):
        return False
    between = folded[first[0] : at]
    turned = re.search(
        r"\b(?:but|whereas|while|aber|mais|ma|pero|sondern)\b|[:?]\s*(?:no|nein|non|yes|ja|oui|si)\b",
        folded[max(first[0], first[1] - 6) : at],
    )
    return not turned and not words_of("this_piece").search(between)


def _governs(here: str, start: int, end: int, at: int) -> bool:
    """Whether a word for another piece rules over the value at `at` of the clause."""
    mine = words_of("this_piece")
    if start <= at:
        return mine.search(here[end:at]) is None
    compared = re.search(
        r"\b(?:unlike|than|not like|as opposed to|compared to|like|on)\W+(?:\w+\W+){0,2}$",
        here[:start],
    )
    begins = re.match(r"(?:unlike|as opposed to|compared|than)\b", here[start:end])
    if begins or (
        compared and not re.search(r"\b(?<!not )(?:like|on)\W+(?:\w+\W+){0,2}$", here[:start])
    ):
        return False
    return mine.search(here[:at]) is None


def sign(
    scene: Scene, clause: tuple[int, int], start: int, end: int, part: tuple[int, int] | None = None
) -> Claimed:
    """present, absent or unsure, by the words of the clause before and right after the value."""
    folded = scene.passage.folded
    first = min(start, part[0]) if part and clause[0] <= part[0] else start
    before = folded[max(clause[0], first - 60) : start]
    if is_doubted(scene, clause):
        return "unsure"
    if _is_denied(before) or _denied_after(folded[end : clause[1]]):
        return "absent"
    answer = _answer(scene)
    return answer or "present"


_CLOSED = re.compile(r"\w+ \w+\s?:")  # "not the Plata: gold rivets" denies no gold


_IT_IS_NOT = re.compile(r"\b(?:is|are|ist|sind|es|e|est) \w+:$")  # "the Plata it is not: gold ..."


def _is_denied(before: str) -> bool:
    """A negation among the last words before the value, not one that negates something else."""
    harmless = [(m.start(), m.end()) for m in words_of("not_negation").finditer(before)]
    for match in words_of("negation").finditer(before):
        if any(s <= match.start() < e for s, e in harmless):
            continue
        if _CLOSED.search(before[match.end() :]) or _IT_IS_NOT.search(before[: match.end() + 1]):
            continue
        if len(re.findall(r"\w+", before[match.end() :])) <= 4:
            return True
    return False


def _denied_after(after: str) -> bool:
    match = begins_with("negation_after").match(after.lstrip(" :,-"))
    return match is not None and len(after.strip()) - match.end() < 40


def is_doubted(scene: Scene, clause: tuple[int, int]) -> bool:
    """A word of doubt in the clause, or alone in a short one beside it or in the next sentence."""
    folded = scene.passage.folded
    if has_doubt(folded[clause[0] : clause[1]]):
        return True
    if words_of("taken_back").search(folded, scene.start, scene.end):
        return True
    if any(has_doubt(text) for text in _short_clauses_beside(scene, clause)):
        return True
    return _only_doubts(scene.following)


_OF_SOMETHING = re.compile(
    r"\b(?:if|whether|of|about|which|what|how|when|where|why|ob|welche\w*|wie|wann|was|von|si|quell?e?s?|"
    r"comment|quand|de|d|du|se|quale|quando|come|di|cual|cuando|como|sobre)\b"
)


def _only_doubts(sentence: str) -> bool:
    """ "Not sure, though" takes back the last sentence; "no idea of the age" does not."""
    words = len(re.findall(r"\w+", sentence))
    if not has_doubt(sentence) or words > 9:
        return False
    return words <= 3 or not (_OF_SOMETHING.search(sentence) or _has_own_matter(sentence))


def has_doubt(text: str) -> bool:
    """Whether folded words doubt; "looks right to me" does not."""
    if not words_of("doubt").search(text):
        return False
    rest = words_of("not_doubt").sub(" ", text)
    return words_of("doubt").search(rest) is not None


_SHORT_DOUBT = 6  # words; a longer clause has a matter of its own


def _short_clauses_beside(scene: Scene, clause: tuple[int, int]) -> Iterator[str]:
    """The short clause before, and those after it as long as they name no part and no number."""
    folded = scene.passage.folded
    around = list(clauses(folded, (scene.start, scene.end)))
    at = next((n for n, c in enumerate(around) if (c.start, c.end) == clause), None)
    if at is None:
        return
    texts = [folded[c.start : c.end] for c in around]
    for text in texts[max(0, at - 1) : at]:
        if len(re.findall(r"\w+", text)) <= _SHORT_DOUBT and not _has_own_matter(text):
            yield text
    joined = ""
    for text in texts[at + 1 : at + 3]:
        if _has_own_matter(text):
            break
        joined = " ".join(f"{joined} {text}".split())
        if len(re.findall(r"\w+", text)) <= _SHORT_DOUBT + 2:
            yield joined


_USE_OR_YEAR = re.compile(
    r"(?<!\w)\d\d(?:\d\d)?'?s(?!\w)|(?<!\w)(?:never|nie|jamais|mai|nunca) \w+|\b(?:19|20)\d\d\b"
)


def _has_own_matter(text: str) -> bool:
    """Whether folded words name a part, number or use, so that a doubt among them is of those."""
    if _USE_OR_YEAR.search(text):
        return True
    if re.search(rf"(?<!\w)(?:\d+|(?!(?:un|una|uno|une|ein|eine|one)\b){NUMBER})(?!\w)", text):
        return True
    return any(pattern.search(text) for pattern in topics().values())


def _answer(scene: Scene) -> Claimed | None:
    """A question answered in the next words; unanswered it is open."""
    if not scene.folded.rstrip().endswith("?"):
        return None
    answer = re.sub(r"^\W*(?:a|answer|antwort|reply)\s*[:.-]\s*", "", scene.following.strip())
    if re.match(r"(?:no|none|nein|keine|non|nope|not|nessun\w*|ninguna?)\b", answer):
        return "absent"
    if re.match(r"(?:yes|yep|ja|oui|si|sure)\b", answer):
        return "present"
    return "unsure"


def _denies_a_value(
    words: PointWords, folded: str, said: _Said, clause: tuple[int, int], before: str
) -> bool:
    """ "keine runden Nieten", "pas de rivets ronds": a value stands beside the denied part."""
    last = before[-25:].split()[-1:]
    after = folded[said.end : clause[1]].lstrip()
    ahead = re.match(r"[\w-]+", after)
    return any(
        (last and pattern.fullmatch(last[0])) or (ahead and pattern.fullmatch(ahead.group()))
        for facet in words.facets
        for value, pattern in facet.values.items()
        if value != words.presence  # "kein Draht sichtbar": none, then
    )


def _presence_sign(
    words: PointWords, scene: Scene, clause: tuple[int, int], said: _Said, claimed: Claimed
) -> Claimed:
    """A denied value ("not round rivets") denies no rivets: only a plain "no rivets" does."""
    if claimed != "absent":
        return claimed
    folded = scene.passage.folded
    before = folded[max(clause[0], said.start - 60) : said.start]
    denial = alternatives("plain_denial")
    if _denies_a_value(words, folded, said, clause, before):
        return "present"
    if _ASKS_FOR_ANY.search(scene.folded) and _answer(scene) == "absent":
        return "present" if _names_a_value(words, scene) else "absent"
    fault = alternatives("fault_word")
    listed = r"(?:\w+\s+(?:or|nor|oder|noch|ou|ni|o|ne|y|e)\s+(?:an?\s+|any\s+)?)?"
    plain_denial = re.search(
        rf"(?<!\w)(?:{denial})(?:\s+|(?<=')){listed}(?:(?!(?:{fault})\s)\w+\s+){{0,1}}$", before
    )
    if plain_denial or _denied_after(folded[said.end : clause[1]]):
        return "absent"
    # "the front is not riveted": of a thing done, the denial is of the thing
    is_verb = folded[said.start : said.end].endswith("ed")
    return "absent" if is_verb and _is_denied(before) else "present"


# "are the rivets gold?" asks for no rivets at all
_ASKS_FOR_ANY = re.compile(
    r"\b(?:(?:is|are|was|were) there|any|ha(?:s|ve)|with|gibt es|hat|haben|mit|y a-t-il|a-t-elle|"
    r"avec|il y a|ci sono|c'e|ha|hanno|con|hay|tienen?|llevan?|core|visible)\b"
    r"|^\W*(?:\w+ ){0,1}\w+\?"
)


def _names_a_value(words: PointWords, scene: Scene) -> bool:
    """ "Three barrel hinge? No." denies the number, "Round rivets? No." the shape."""
    folded = scene.folded
    values = (pattern for facet in words.facets for pattern in facet.values.values())
    counted = words.count is not None and re.search(rf"(?<!\w){NUMBER}(?!\w)", folded)
    return bool(counted) or any(pattern.search(folded) for pattern in values)


def is_replaced(scene: Scene, clause: tuple[int, int] | None = None) -> bool:
    """Whether the clause (or the sentence) says that the part is a later one."""
    folded = scene.passage.folded
    spans = [clause or (scene.start, scene.end)]
    texts = [folded[s:e] for s, e in spans]
    if words_of("replaced_later").search(scene.folded):
        texts.append(scene.folded)
    if _refers_back(scene.following):
        texts.append(scene.following)
    texts += _added_clause(scene, spans[0])
    texts += _clause_before(scene, spans[0])
    texts += _gone_on_from(scene, spans[0])
    return any(_says_replaced(text) for text in texts)


def _clause_before(scene: Scene, clause: tuple[int, int]) -> Iterator[str]:
    """The clause this one goes on from, naming no part: "the left arm is a later one, straight"."""
    folded = scene.passage.folded
    if any(clause[0] <= s < clause[1] for _, s, _ in scene.parts):
        return
    for before in clauses(folded, (scene.start, scene.end)):
        if clause[0] - 2 <= before.end <= clause[0]:
            yield folded[before.start : before.end]


def _gone_on_from(scene: Scene, clause: tuple[int, int]) -> Iterator[str]:
    """The clauses that a pronoun goes on from: "one arm is a replacement, it has ... but ..."."""
    folded = scene.passage.folded
    before = [c for c in clauses(folded, (scene.start, scene.end)) if c.start <= clause[0]]
    for at in range(len(before) - 1, 0, -1):
        if _PRONOUN.match(folded[before[at].start : before[at].end]):
            yield folded[before[at - 1].start : before[at - 1].end]


_PRONOUN = re.compile(
    r"\W*(?:and |und |et |e |y )?(?:it|they|that one|sie|es|die|elle|elles|ils|essa|quella|esa)\b"
)


def _added_clause(scene: Scene, clause: tuple[int, int]) -> Iterator[str]:
    """The next clause, where it names no part and opens with the change: ", put in by ..."."""
    folded = scene.passage.folded
    for after in clauses(folded, (scene.start, scene.end)):
        if not clause[1] <= after.start <= clause[1] + 2:
            continue
        text = _LINK.sub("", folded[after.start : after.end].lstrip())
        named = any(after.start <= s < after.end for _, s, _ in scene.parts)
        if not named and words_of("replaced").match(text) and not _AS_NEW.match(text):
            yield text


_LINK = re.compile(
    r"^(?:(?:it|this|that|they|which|one|sie|es|die|elle|il)\s+)?"
    r"(?:(?:is|was|are|were|has been|have been|comes?|ist|sind|est|sont|sono|es|son)\s+)?"
    r"(?:an? |the )?"
)
_AS_NEW = re.compile(r"(?:new|neu|neuf|neuve|nuov\w|nuev\w)\b(?!\s+(?:ones?|part))")


def _says_replaced(text: str) -> bool:
    """A word of change that is not denied; "never changed by the owner" tells none at all."""
    found = [m.start() for m in words_of("replaced").finditer(text)]
    return bool(found) and not any(_NOT_CHANGED.search(text[:at]) for at in found)


_NOT_CHANGED = re.compile(
    r"\bun-?$|\b(?:not?|never|nothing|isn'?t|aren'?t|nicht|nie|kein\w*|pas|jamais|non|mai|nunca|"
    r"without|as|like)\s+(?:\w+\s+){0,2}$"
)


def replaced_parts(told: Iterable[Scene]) -> dict[str, Span]:
    """Parts that the listing says were replaced or are not original, with the words."""
    found: dict[str, Span] = {}
    for scene in told:
        for clause in clauses(scene.passage.folded, (scene.start, scene.end)):
            text = scene.passage.folded[clause.start : clause.end]
            if not _says_replaced(text) or speaks_of_others(scene, (clause.start, clause.end)):
                continue
            inside = [p for p in scene.parts if clause.start <= p[1] < clause.end]
            for name, start, end in inside:
                found.setdefault(name, scene.passage.span(start, end))
            if not inside and scene.inherited:
                found.setdefault(scene.inherited, scene.passage.span(clause.start, clause.end))
            elif not inside and scene.parts:
                nearest = [p for p in scene.parts if p[1] < clause.start]
                if nearest:
                    found.setdefault(nearest[-1][0], scene.passage.span(*nearest[-1][1:]))
    return found


def _without_repeats(found: list[Statement]) -> tuple[Statement, ...]:
    """Repeats in title, text and specifics are one statement, the first one kept."""
    kept: dict[tuple[str, str, str], Statement] = {}
    for statement in found:
        key = (statement.facet, statement.value, statement.claimed)
        first = kept.setdefault(key, statement)
        if statement.replaced and not first.replaced:
            kept[key] = replace(first, replaced=True)
    return tuple(kept.values())
