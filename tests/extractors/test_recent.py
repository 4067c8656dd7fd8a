"""What is kept of texts that come again: from the second time on, and never more than allowed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from extractors.recent import Recent


def test_a_text_is_worked_out_at_its_second_coming_and_then_known() -> None:
    asked: list[str] = []
    kept: Recent[int] = Recent(most=10, characters=100)
    assert [kept.recall("line", lambda text: asked.append(text) or len(text)) for _ in "abc"] == [
        None,
        4,
        4,
    ]
    assert asked == ["line"]


def test_what_came_of_late_is_known_and_what_did_not_is_forgotten() -> None:
    kept: Recent[int] = Recent(most=3, characters=100)
    for text in ("often", "once", "often", "b", "c", "often", "d", "e", "often", "f", "g"):
        kept.recall(text, len)
    assert kept.recall("often", lambda _: -1) == 5
    assert kept.recall("once", len) is None


@given(st.lists(st.text(max_size=30), max_size=60))
def test_no_more_is_held_than_allowed(texts: list[str]) -> None:
    kept: Recent[str] = Recent(most=5, characters=40)
    for text in texts:
        assert kept.recall(text, str.upper) in (None, text.upper())
        assert len(kept) <= 10
    kept.clear()
    assert len(kept) == 0
