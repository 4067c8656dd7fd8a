"""The tree takes what saved pages hold."""

from __future__ import annotations

import pytest
from lxml import etree

from triage.readers.markup import drop, parse_html


@pytest.mark.parametrize(
    "mark", ["\0", "\x01", "\x0b", "\x1b", "\x1f", "\ufffe", "&#1;", "&#27;", "&#x1B;"]
)
def test_control_characters_do_not_stop_a_page(mark: str) -> None:  # found by fuzzing
    root = parse_html(f"<html><body><p>a</p><b>x</b>left{mark}over</body></html>")
    assert root is not None
    (bold,) = root.iter("b")
    drop(bold)
    assert "leftover" in etree.tostring(root, encoding="unicode", method="text")


def test_other_character_references_stay() -> None:
    root = parse_html("<html><body>&#10;&#13;&#128;&#x1F453;&#233;&#311;</body></html>")
    assert root is not None
    assert (root.findtext("body") or "").strip() == "€👓éķ"
