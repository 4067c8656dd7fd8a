"""Exactly the quoted characters are marked, however quotations lie across each other."""

import re
from html import unescape

from hypothesis import given
from hypothesis import strategies as st

from triage.quotes import Note, cut, gather, marked, seemly

READ = Note("read", "read as lens width")
CONFLICT = Note("conflicts", "Conflicts: lens width", 1)


def _unmarked(html: str) -> str:
    """The text of the page without tags and without the finding numbers."""
    return unescape(re.sub(r"<a [^>]*>\d+</a>|<[^>]*>", "", html))


def test_a_quotation_is_marked_to_the_character() -> None:
    html = marked("lens 49 mm wide", gather([(5, 10, CONFLICT)]), "c1")
    assert html == (
        'lens <mark class="conflicts" title="Conflicts: lens width">49 mm</mark>'
        '<a class="note" href="#c1f1" aria-label="finding 1">1</a> wide'
    )


def test_a_conflict_outranks_what_else_is_said_of_the_same_words() -> None:
    html = marked("49 mm", gather([(0, 5, READ), (0, 5, CONFLICT)]), "c1")
    assert html.count("<mark") == 1
    assert 'class="conflicts"' in html
    assert "read as lens width" in html


def test_inner_quotations_nest() -> None:
    html = marked("a 49 mm lens", gather([(2, 12, CONFLICT), (2, 7, READ)]), "c1")
    inner = '<mark class="read" title="read as lens width">49 mm</mark>'
    assert f'lens width">{inner} lens</mark>' in html


def test_markup_in_text_and_notes_stays_inert() -> None:
    note = Note("read", '"><script>x</script>')
    html = marked("<b>&amp;</b>", gather([(0, 3, note)]), "c1")
    assert "<script>" not in html
    assert "&lt;b&gt;" in html
    assert "&amp;amp;" in html


def test_parts_are_cut_out_of_the_whole_text() -> None:
    quotes = gather([(0, 4, READ), (3, 9, CONFLICT)])
    assert [(q.start, q.end) for q in cut(quotes, 5, 12)] == [(0, 4)]
    assert [(q.start, q.end) for q in cut(quotes, 0, 4)] == [(0, 4), (3, 4)]


def test_control_characters_are_replaced_one_for_one() -> None:
    assert seemly("a\x1b[2J\u202eb\nc\t") == "a�[2J�b\nc\t"


_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)
_SPANS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), max_size=8)


@given(text=_TEXT, spans=_SPANS)
def test_marking_never_changes_the_text_and_marks_what_was_quoted(
    text: str, spans: list[tuple[int, int]]
) -> None:
    spans = [(min(a, b, len(text)), min(max(a, b), len(text))) for a, b in spans]
    notes = [(a, b, Note("read", str(n), n)) for n, (a, b) in enumerate(spans)]
    html = marked(text, gather(notes), "c1")
    assert _unmarked(html) == seemly(text)
    assert html.count("<mark") == html.count("</mark>")
    inside = set()
    place, depth = 0, 0
    for piece in re.split(r"(<[^>]*>)", re.sub(r"<a [^>]*>\d+</a>", "", html)):
        if piece.startswith("<"):
            depth += -1 if piece.startswith("</") else 1
            continue
        length = len(unescape(piece))
        if depth:
            inside |= set(range(place, place + length))
        place += length
    assert inside == {n for a, b in spans for n in range(a, b)}
