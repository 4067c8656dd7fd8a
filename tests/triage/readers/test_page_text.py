"""Bytes to text, tags to lines, JSON of the wild, and what is too much to parse."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.readers.bounds import check_markup
from triage.readers.encoding import decode_page
from triage.readers.markup import parse_html
from triage.readers.page import can_read
from triage.readers.source import Unreadable
from triage.readers.tolerant_json import load_json
from triage.readers.words import text_lines

TEXT = "Brille für Größe 48 – Écaille"

# WHATWG HTML, 13.2.3.2 and Encoding, 4.2 (labels) and 6 (byte order marks)
ENCODED = [
    (b"\xef\xbb\xbf<meta charset=latin1>" + TEXT.encode(), None),
    (b"\xff\xfe" + TEXT.encode("utf-16-le"), None),
    (b"\xfe\xff" + TEXT.encode("utf-16-be"), None),
    (b"<meta charset='utf-8'>" + TEXT.encode(), None),
    (
        b"<meta http-equiv=Content-Type content='text/html; charset=ISO-8859-1'>"
        + TEXT.encode("cp1252"),
        None,
    ),
    (b"<meta charset=utf-16>" + TEXT.encode(), None),
    (TEXT.encode("cp1252"), "windows-1252"),
    (TEXT.encode("cp1252"), None),
    (TEXT.encode(), None),
    (b"<!-- <meta charset=shift_jis> --><meta charset=utf-8>" + TEXT.encode(), None),
]


@pytest.mark.parametrize(("data", "declared"), ENCODED)
def test_pages_decode_by_the_standard(data: bytes, declared: str | None) -> None:
    assert decode_page(data, declared).endswith(TEXT)


@pytest.mark.parametrize(
    ("language", "encoding", "text"),
    [
        ("ru", "cp1251", "Оправа для очков"),
        ("el", "iso-8859-7", "Σκελετός"),
        ("pl", "iso-8859-2", "źrenica"),
    ],
)
def test_undeclared_pages_follow_their_language(language: str, encoding: str, text: str) -> None:
    page = f'<html lang="{language}"><p>{text}'.encode(encoding)
    assert decode_page(page).endswith(text)


@pytest.mark.parametrize(
    ("text", "encoding", "declared", "meta"),
    [
        (TEXT, "utf-8", "windows-1252", ""),
        (TEXT, "utf-8", "iso-8859-1", "<meta charset=utf-8>"),
        ("黒縁メガネ 鼈甲", "utf-8", "shift_jis", ""),
        ("黒縁メガネ 鼈甲", "cp932", "utf-8", "<meta charset=shift_jis>"),
        ("źrenica żółta", "iso-8859-2", "utf-8", "<meta charset=iso-8859-2>"),
    ],
)
def test_a_carrier_that_declares_what_its_bytes_are_not(
    text: str, encoding: str, declared: str, meta: str
) -> None:
    assert decode_page(f"{meta}<p>{text}".encode(encoding), declared).endswith(text)


@given(st.binary(max_size=300))
def test_any_bytes_decode(data: bytes) -> None:
    decode_page(data)


@pytest.mark.parametrize(
    ("html", "lines"),
    [
        ("<div>a</div>\n<div>b <b>c</b></div>", "a\nb c"),
        ("<p>a</p><p>b</p>", "a\n\nb"),
        ("a<br>b<br><br>c", "a\nb\n\nc"),
        (
            "<table><tr><th>Lens</th><td>48</td></tr><tr><th>Bridge</th><td>20</td></tr></table>",
            "Lens\t48\nBridge\t20",
        ),
        ("<ul><li>a<li>b</ul>", "a\nb"),
        ("<pre>a\nb</pre>", "a\nb"),
        ("<p>a\nb</p>", "a b"),
        ("a<script>x()</script>b<style>p{}</style>", "ab"),
    ],
)
def test_lines_are_those_a_reader_sees(html: str, lines: str) -> None:
    root = parse_html(f"<body>{html}</body>")
    assert root is not None
    assert text_lines(root) == lines


def test_deep_nesting_keeps_its_text() -> None:
    root = parse_html("<div>" * 1500 + "deep" + "</div>" * 1500 + "after")
    assert root is not None
    assert text_lines(root) == "deep\nafter"


def test_nesting_that_the_parser_would_cut_off_is_said() -> None:
    with pytest.raises(Unreadable):
        parse_html("<div>" * 3000 + "deep" + "</div>" * 3000 + "after")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ('{"a": [1, 2,], /* x */ "b": "c",}', {"a": [1, 2], "b": "c"}),
        ('{"u": "https://a.example//b"} // end', {"u": "https://a.example//b"}),
        ('<![CDATA[{"a": 1}]]>', {"a": 1}),
        ("{&quot;a&quot;: &quot;b&quot;}", {"a": "b"}),
        ('{"a": "x\ny"}', {"a": "x\ny"}),
        ('{"a": 1, "a": 2}', {"a": [1, 2]}),
        ('{"a": 1e999}', {"a": None}),
        ("[" * 500 + "]" * 500, None),
        ("nonsense", None),
    ],
)
def test_json_of_the_wild_is_read(text: str, value: object) -> None:
    assert load_json(text) == value


@given(st.text(alphabet='{}[]",:/*\\ab1 \n', max_size=80))
def test_any_json_like_text_is_survived(text: str) -> None:
    load_json(text)


@pytest.mark.parametrize(
    "data",
    [
        b"<p " + b" ".join(b"a%d=1" % n for n in range(30_000)) + b">",
        b"<b>" * 700_000,
        b"<i>" * 80_000,
    ],
)
def test_markup_beyond_all_bounds_is_refused(data: bytes) -> None:
    with pytest.raises(Unreadable):
        check_markup(data)


def test_a_page_of_too_many_tags_is_told_how_many_are_read() -> None:
    with pytest.raises(Unreadable, match="has 700,000 tags, more than the 600,000 that are read"):
        check_markup(b"<b>" * 700_000)


def test_a_long_data_address_is_within_bounds() -> None:
    check_markup(b'<img src="data:image/png;base64,' + b"A" * 3_000_000 + b'">')


@pytest.mark.parametrize(
    ("head", "name", "is_page"),
    [
        (b"<!DOCTYPE html><html>", "x", True),
        (b"\n<!-- saved from url=(0023)https://a.example/ -->", "x.html", True),
        (b"\xff\xfe<\0h\0t\0m\0l\0>\0", "page.htm", True),
        (b"plain text, 3 < 4", "note.txt", False),
        (b'{"a": "<html>"}', "x.json", False),
        (b"<?xml version='1.0'?><feed>", "feed.xml", False),
    ],
)
def test_pages_are_known_by_name_or_first_tags(head: bytes, name: str, is_page: bool) -> None:
    assert can_read(head, name) is is_page
