"""Which parts of a mail belong to one listing, however the mail sets its cards.

The layouts are those that mail programs can show: tables, boxes, lists, lines.
"""

from __future__ import annotations

import re
from urllib.parse import quote

import pytest

from triage.readers.cards import Card, find_cards, is_call, landing
from triage.readers.markup import parse_html

GOODS = (
    ("Vennerby 12 round frame, 1960s", "https://stallrow.example/a/70011", "35,50 €", "p0"),
    ("Monture Gantreux ovale années 50", "https://stallrow.example/a/70012", "120 €", "p1"),
    ("Ostelino Sonnenbrille 52-18", "https://stallrow.example/a/70013", "1.250,00 €", "p2"),
    ("Mirovale “Delphin” occhiali", "https://stallrow.example/a/70014", "€ 48", "p3"),
)
HEAD = """<html lang="{lang}"><body><table width="600"><tr><td><a href="https://stallrow.example/">
<img src="cid:logo" alt="Stallrow market" width="140" height="40"></a></td></tr>
<tr><td><h1>Fresh in the cabinet this week</h1><p>Four pieces that match what you look for.</p></td>
</tr><tr><td>"""
FOOT = """</td></tr><tr><td><p>Save 20 € on your next order with the code AUTUMN:
<a href="https://stallrow.example/vouchers">Shop now</a></p>
<p>Free delivery above 50 € all week long</p>
<div><a href="https://stallrow.example/c/sun"><img src="cid:c1"></a><h3>All sunglasses here</h3>
<p>from 20 €</p><a href="https://stallrow.example/c/sun">Discover</a></div>
<p><a href="https://stallrow.example/app">Get the app</a> |
<a href="https://stallrow.example/unsubscribe?u=5">Unsubscribe from these mails</a> |
<a href="https://social.example/stallrow">Follow us</a></p></td></tr></table></body></html>"""

# how one card is written; "{n}" counts the cards
CARDS = {
    "call link below": """<div style="padding:8px"><a href="{url}"><img src="cid:{pic}"></a>
<p style="font-weight:bold">{title}</p><p>{price}</p><p><a href="{url}">Voir l’annonce</a></p>
</div>""",
    "heading and button": """<table><tr><td align="center"><img src="cid:{pic}"><h3>{title}</h3>
<p>{price}</p><a href="{url}">Shop now</a></td></tr></table>""",
    "all in one link": """<a href="{url}" style="display:block"><img src="cid:{pic}">
<div class="t">{title}</div><div class="amount">{price}</div></a>""",
    "picture at the left": """<table><tr><td><a href="{url}?pos=i"><img src="cid:{pic}"></a></td>
<td><a href="{url}?pos=t">{title}</a><br>{price}<br>Verkäufer: anna{n}</td></tr></table>""",
    "price before the title": """<div><img src="cid:{pic}"><div>{price}</div>
<div><b>{title}</b></div>
<div><a href="{url}">Jetzt ansehen</a></div></div>""",
    "old price struck": """<div><a href="{url}"><img src="cid:{pic}"></a><h4>{title}</h4>
<p><s>999 €</s> <b>{price}</b></p><a href="{url}">Scopri</a></div>""",
    "lines": """<p><a href="{url}"><img src="cid:{pic}"></a><br><b>{title}</b><br>{price}<br>
<a href="{url}">Ver anuncio</a></p>""",
    "title in the picture's name": """<div><a href="{url}"><img src="cid:{pic}" alt="{title}"></a>
<p>{price}</p><a href="{url}">Bekijk</a></div>""",
    "list": """<ul><li><a href="{url}"><img src="cid:{pic}"> {title}</a> <span>{price}</span></li>
</ul>""",
    "title and price in one link": """<div><a href="{url}"><img src="cid:{pic}"></a>
<a href="{url}">{title} – {price}</a></div>""",
    "small things beside": """<div><span>New today</span><a href="{url}"><img src="cid:{pic}"></a>
<div>Brussels</div><a href="{url}"><strong>{title}</strong></a><div>{price}</div>
<div>+ 4,90 € shipping</div><a href="{url}&watch=1">Watch</a>
<a href="{url}">View item</a></div>""",
    "cut title": """<div><a href="{url}" title="{title}"><img src="cid:{pic}"></a>
<a href="{url}">{short}…</a><p>{price}</p></div>""",
}
# how cards follow one another without a box about each
FLAT = {
    "rules between": '<img src="cid:{pic}"><p><b>{title}</b></p><p>{price}</p>'
    '<p><a href="{url}">See it</a></p><hr>',
    "pictures first": '<p><a href="{url}"><img src="cid:{pic}"></a></p><h3>{title}</h3>'
    '<p class="a">{price}</p><p class="b"><a href="{url}">Bid now</a></p>',
    "titles first": '<h2>{title}</h2><a href="{url}"><img src="cid:{pic}"></a><div>{price}</div>'
    '<a href="{url}">Zum Angebot</a>',
}


def cards_of(html: str) -> list[Card]:
    root = parse_html(html)
    assert root is not None
    return find_cards(root)


def written(card: str, redirect: str = "{url}") -> list[str]:
    made = []
    for n, (title, url, price, pic) in enumerate(GOODS):
        url = redirect.format(url=url, quoted=quote(url, safe=""))
        made.append(card.format(n=n, title=title, url=url, price=price, pic=pic, short=title[:20]))
    return made


def check(cards: list[Card]) -> None:
    told = [one.title.partition(" – ")[0] for one in cards]
    assert told == [title for title, *_ in GOODS]
    assert [re.split("[?&]", one.address)[0] for one in cards] == [url for _, url, *_ in GOODS]
    pictures = [
        [i.get("src") for part in one.parts for i in part.iter("img") if i.get("src")]
        for one in cards
    ]
    assert pictures == [[f"cid:{pic}"] for *_, pic in GOODS]


@pytest.mark.parametrize("card", CARDS.values(), ids=CARDS)
@pytest.mark.parametrize(
    "frame",
    ["{}", "<div>{}</div>", "<center><table><tr><td>{}</td></tr></table></center>"],
    ids=["bare", "box", "table"],
)
def test_each_box_is_a_card(card: str, frame: str) -> None:
    check(cards_of(HEAD.format(lang="en") + frame.format("".join(written(card))) + FOOT))


@pytest.mark.parametrize("card", CARDS.values(), ids=CARDS)
def test_cards_two_in_a_row(card: str) -> None:
    a, b, c, d = (f"<td>{one}</td>" for one in written(card))
    rows = f"<table><tr>{a}{b}</tr><tr>{c}{d}</tr></table>"
    check(cards_of(HEAD.format(lang="en") + rows + FOOT))


@pytest.mark.parametrize("card", FLAT.values(), ids=FLAT)
@pytest.mark.parametrize("intro", ["", "<p>Hello, look what came in for you.</p>"])
def test_cards_one_after_the_other(card: str, intro: str) -> None:
    check(cards_of(HEAD.format(lang="en") + intro + "".join(written(card)) + FOOT))


@pytest.mark.parametrize("per_row", [2, 4])
def test_cards_set_in_rows_of_a_table(per_row: int) -> None:
    rows = []
    for at in range(0, len(GOODS), per_row):
        some = GOODS[at : at + per_row]
        picture, call = '<a href="{1}"><img src="cid:{3}"></a>', '<a href="{1}">Buy now</a>'
        for cell in (picture, "<b>{0}</b>", "{2}", call):
            rows.append("<tr>" + "".join(f"<td>{cell.format(*one)}</td>" for one in some) + "</tr>")
    check(cards_of(HEAD.format(lang="en") + f"<table>{''.join(rows)}</table>" + FOOT))


@pytest.mark.parametrize(
    "redirect",
    [
        "https://click.stallrow.example/r?to={quoted}&amp;id=5",
        "https://mail.example/ls/click?upn=x7&amp;url={quoted}",
        "https://mail.example/CL0/{quoted}/1/0100",
        "{url}?utm_source=alert&amp;utm_campaign=al",
    ],
)
@pytest.mark.parametrize("card", CARDS.values(), ids=CARDS)
def test_counted_links_lead_to_the_listing(card: str, redirect: str) -> None:
    if "?pos" in card or "&watch" in card:  # these count for themselves
        redirect = "{url}"
    check(cards_of(HEAD.format(lang="en") + "".join(written(card, redirect)) + FOOT))


@pytest.mark.parametrize(
    "html",
    [
        FOOT,
        "<p>Frames from 20 €</p><a href='https://s.example/c/1'>Shop now</a>",
        "<ul><li><a href='https://s.example/help/12'>How we ship your frames</a></li></ul>",
        "<h2>Your order of two frames</h2><p>Total 85,00 €</p>",
        "<p>No price here</p><a href='https://s.example/a/70011'>Vennerby 12 round frame</a>",
    ],
)
def test_what_is_no_piece_is_no_card(html: str) -> None:
    assert cards_of(f"<html><body>{html}</body></html>") == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("Voir l’annonce", True), ("Jetzt ansehen »", True), ("Shop now", True), ("Scopri", True),
        ("Ver anuncio", True), ("Bekijk nu", True), ("Zum Angebot", True), ("→ View item", True),
        ("Découvrir", True), ("Zobacz ofertę", True), ("Kup teraz", True), ("Vedi l'oggetto", True),
        ("Vennerby round", False), ("View-Tex frame", False), ("Monture écaille", False),
        ("Shopkeeper’s spectacles 1930s", False), ("See-through acetate frame", False),
    ],
)  # fmt: skip
def test_calls_are_no_titles(text: str, told: bool) -> None:
    assert is_call(text) is told


@pytest.mark.parametrize(
    "address", ["mailto:a@b.example", "#top", "javascript:void(0)", "cid:1", "tel:12", ""]
)
def test_other_addresses_lead_nowhere(address: str) -> None:
    assert landing(address) is None
