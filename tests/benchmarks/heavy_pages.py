"""Heavy listing pages: a made page of the intake templates in all that sites put around one.

Each `BUILDS` entry gives a page of 300 kB to 2 MB: menus of thousands of links, walls of cards,
facets with counts, comment threads, option lists, tables, state JSON, translations, style sheets,
drawings, pictures as text. What the page is about stays as made, so its gold still holds.
"""

from __future__ import annotations

import base64
import json
import random
from collections.abc import Callable
from dataclasses import replace

from tests.evaluation.intake import templates_kept, templates_second, templates_written
from tests.evaluation.intake.goods import LANGUAGES, make_goods
from tests.evaluation.intake.made import Made

NOUNS = ("lamp", "chair", "frame", "camera", "radio", "clock", "coat", "table", "globe", "vase",
         "Brille", "Lampe", "montre", "cadre", "orologio", "reloj", "cuadro", "Uhr")  # fmt: skip
ADJECTIVES = ("old", "round", "green", "small", "oak", "brass", "rare", "plain", "Danish", "worn",
              "braun", "rouge", "vecchio", "azul", "gross", "petit")  # fmt: skip
FACETS = ("Colour", "Material", "Size", "Brand", "Condition", "Year", "Farbe", "Marque", "Taglia",
          "Seller type", "Location", "Delivery")  # fmt: skip


def _words(rng: random.Random, count: int) -> str:
    return " ".join(rng.choice(ADJECTIVES if n % 2 else NOUNS) for n in range(count))


def _sentence(rng: random.Random) -> str:
    return f"{_words(rng, rng.randrange(5, 16)).capitalize()}. "


def _amount(rng: random.Random) -> str:
    value = rng.randrange(200, 60000) / 100
    shown = (f"${value:,.2f}", f"€{value:.2f}", f"{value:.2f} €".replace(".", ","), f"£{value:.2f}")
    return rng.choice(shown)


def menu(rng: random.Random, count: int = 3000) -> str:
    """Flyout menus of nested lists."""
    groups = "".join(
        f'<li class="flyout__item"><a class="flyout__link js-track" data-pos="{n}" '
        f'href="/cat/{_words(rng, 2).replace(" ", "-")}/{n}?ref=menu">{_words(rng, 2)}</a></li>'
        for n in range(count)
    )
    return f'<header class="site-head"><ul class="flyout">{groups}</ul></header>'


def directory(rng: random.Random, count: int = 2500) -> str:
    """Link lists outside of any named part: a directory of searches."""
    rows = "".join(
        f'<div class="t4"><a href="/s/{n}-{rng.randrange(10**6)}">{_words(rng, 3)}</a></div>'
        for n in range(count)
    )
    return f'<div class="q9">{rows}</div>'


def cards(rng: random.Random, count: int = 500) -> str:
    """A wall of other listings with pictures, prices, sellers."""
    made = "".join(
        f'<div class="tile tile--{n % 3}"><a href="/itm/{700000 + n}?hash=x{n}"><div class="im">'
        f'<img alt="" loading="lazy" src="https://img.shop.example/{n}/s-l225.jpg" srcset='
        f'"https://img.shop.example/{n}/s-l225.jpg 1x, https://img.shop.example/{n}/s-l500.jpg 2x">'
        f'</div><span class="tt">{_words(rng, 6)}</span></a><div class="pp"><span>{_amount(rng)}'
        f"</span> <s>{_amount(rng)}</s></div><div>+{_amount(rng)} shipping</div>"
        f"<div>{rng.randrange(9999)} sold</div></div>"
        for n in range(count)
    )
    return f'<div class="row-wall">{made}</div>'


def facets(rng: random.Random, count: int = 2500) -> str:
    """Filter boxes: label-like short lines with counts."""
    rows = "".join(
        f'<label class="fx"><input type="checkbox" name="f{n}"><span class="fx-l">'
        f"{rng.choice(FACETS)}: {_words(rng, 2)}</span><span class='fx-c'>({rng.randrange(9999)})"
        f"</span></label>"
        for n in range(count)
    )
    return f'<form action="/s">{rows}</form>'


def lines(rng: random.Random, count: int = 4000) -> str:
    """Short lines, many of them labels with values."""
    rows = "".join(
        f"<p>{rng.choice(FACETS)} {_words(rng, 1)}: {_words(rng, 2)} {rng.randrange(99)}</p>"
        if n % 3
        else f'<div class="x{n % 7}"><b>{_words(rng, 1)}</b> {_sentence(rng)}</div>'
        for n in range(count)
    )
    return f'<div class="stack">{rows}</div>'


def comments(rng: random.Random, count: int = 900) -> str:
    """A long thread of remarks with names and days."""
    rows = "".join(
        f'<li class="c" id="c{n}"><div class="c-h"><a href="/u/user{rng.randrange(999)}">'
        f"user{rng.randrange(999)}</a> · <time>{rng.randrange(1, 28)}.{rng.randrange(1, 12)}.2026"
        f"</time> · ★ {rng.randrange(10, 50) / 10}</div><div class='c-b'><p>"
        f"{''.join(_sentence(rng) for _ in range(3))}</p></div></li>"
        for n in range(count)
    )
    return f'<section class="feedback-list"><ul>{rows}</ul></section>'


def options(rng: random.Random, count: int = 4000) -> str:
    """Selects with the countries and towns of the world, several times."""
    rows = "".join(f'<option value="{n}">{_words(rng, 2)}</option>' for n in range(count))
    return f'<div><select name="place">{rows}</select></div>'


def table(rng: random.Random, count: int = 1200) -> str:
    """A table of past sales with prices, as auction houses show."""
    rows = "".join(
        f"<tr><td>{rng.randrange(1, 28)}.0{rng.randrange(1, 9)}.2025</td><td><a href='/lot/{n}'>"
        f"{_words(rng, 4)}</a></td><td>{_amount(rng)}</td><td>Lot {n}</td></tr>"
        for n in range(count)
    )
    return f"<h3>Archive</h3><table class='past'>{rows}</table>"


def drawings(rng: random.Random, count: int = 400) -> str:
    """Icons drawn in place, a sprite sheet among them."""
    path = "M" + " ".join(f"{rng.randrange(64)}.{rng.randrange(99)}" for _ in range(120))
    rows = "".join(
        f'<symbol id="i{n}" viewBox="0 0 24 24"><title>icon {n}</title><path d="{path}"/></symbol>'
        for n in range(count)
    )
    return f'<svg style="display:none" xmlns="http://www.w3.org/2000/svg">{rows}</svg>'


def wrapped(rng: random.Random, count: int = 1500) -> str:
    """Boxes within boxes with long class names, as component libraries make them."""
    rows = "".join(
        f'<div class="{_utility(rng)}"><div class="{_utility(rng)}"><div class="{_utility(rng)}">'
        f'<span class="{_utility(rng)}">{_words(rng, 2)}</span></div></div></div>'
        for n in range(count)
    )
    return f"<div id='__app'>{rows}</div>"


_UTILITIES = ("flex", "mt-2", "px-4", "md:w-1/2", "text-sm", "font-bold", "items-center",
              "rounded", "hover:shadow", "bg-slate-50", "css-1q2w3e", "grid")  # fmt: skip


def _utility(rng: random.Random) -> str:
    return " ".join(rng.sample(_UTILITIES, 6)) + f" css-{rng.randrange(400):x}"


def marked_up(rng: random.Random, count: int = 250) -> str:
    """Other listings in microdata."""
    rows = "".join(
        f'<li itemprop="itemListElement" itemscope itemtype="https://schema.org/Product">'
        f'<a itemprop="url" href="/p/{n}"><span itemprop="name">{_words(rng, 5)}</span></a>'
        f'<div itemprop="offers" itemscope itemtype="https://schema.org/Offer"><meta '
        f'itemprop="priceCurrency" content="EUR"><span itemprop="price" content="{n}.50">{n},50 €'
        f"</span></div></li>"
        for n in range(count)
    )
    return (
        f'<div itemscope itemtype="https://schema.org/ItemList"><h2>More</h2><ul>{rows}</ul></div>'
    )


# --- in the head ---------------------------------------------------------------------------------


def sheet(rng: random.Random, count: int = 6000) -> str:
    rules = "".join(
        f".css-{n:x}{{display:flex;color:#{rng.randrange(0xFFFFFF):06x};margin:{n % 9}px}}"
        f"@media (min-width:600px){{.css-{n:x}{{padding:{n % 5}em}}}}"
        for n in range(count)
    )
    return f"<style>{rules}</style>"


def state(rng: random.Random, count: int = 900) -> str:
    """Hydration data: hundreds of other listings and settings."""
    rows = [
        {
            "id": 10**6 + n,
            "title": _words(rng, 6),
            "price": {"amount": rng.randrange(999), "currencyCode": "EUR"},
            "images": [{"url": f"https://img.shop.example/{n}/{k}.jpg"} for k in range(4)],
            "seller": {"id": n, "name": f"user{n}", "rating": 4.5},
            "flags": {f"flag{k}": bool(k % 2) for k in range(8)},
            "text": "".join(_sentence(rng) for _ in range(2)),
        }
        for n in range(count)
    ]
    data = {"props": {"pageProps": {"feed": {"recommendations": rows}, "experiments": rows[:40]}}}
    return f'<script id="__STATE__" type="application/json">{json.dumps(data)}</script>'


def assigned(rng: random.Random, count: int = 700) -> str:
    """Several big objects given to names by scripts, with bare keys."""
    rows = ",".join(
        f"{{id:{n},name:'{_words(rng, 5)}',price:{rng.randrange(999)},on:!0,tags:['a','b'],"
        f"link:'/itm/{n}'}}"
        for n in range(count)
    )
    texts = json.dumps({f"key.{n}.title": _words(rng, 4) for n in range(3000)})
    return (
        f"<script>window.__FEED__ = {{items:[{rows}]}};(function(){{var a=1;}})();</script>"
        f"<script>window.cfg = {texts};</script>"
    )


def program(rng: random.Random, count: int = 9000) -> str:
    """A packed script, in the page."""
    code = "".join(
        f"function f{n}(e,t){{return e.title&&(t=e.name),{{a:[t,{n}],b:'x{n}'}}}}"
        for n in range(count)
    )
    return f"<script>!function(){{{code}}}();</script>"


def linked_list(rng: random.Random, count: int = 400) -> str:
    """JSON-LD of a list of other products."""
    rows = [
        {
            "@type": "ListItem",
            "position": n,
            "item": {
                "@type": "Product",
                "name": _words(rng, 6),
                "image": f"https://img.shop.example/{n}.jpg",
                "offers": {"@type": "Offer", "price": rng.randrange(999), "priceCurrency": "EUR"},
            },
        }
        for n in range(count)
    ]
    data = {"@context": "https://schema.org", "@type": "ItemList", "itemListElement": rows}
    return f'<script type="application/ld+json">{json.dumps(data, indent=1)}</script>'


def pictures(rng: random.Random, count: int = 12) -> str:
    """Pictures of the chrome as data addresses, as savers into one file leave them."""
    rows = "".join(
        f'<img class="icon" alt="" src="data:image/png;base64,'
        f'{base64.b64encode(rng.randbytes(40000)).decode()}">'
        for _ in range(count)
    )
    return f"<div class='brandbar'>{rows}</div>"


Part = Callable[[random.Random], str]


def several(part: Callable[[random.Random, int], str], count: int, times: int) -> Part:
    """The same part in several boxes, each too short to be told from a listing's own by length."""
    return lambda rng: "".join(part(rng, count) for _ in range(times))


# name -> what stands before and after the listing, and in the head
BUILDS: dict[str, tuple[tuple[Part, ...], tuple[Part, ...], tuple[Part, ...]]] = {
    "menu": ((menu,), (), (sheet,)),
    "directory": ((), (directory, directory), ()),
    "cards": ((), (cards,), (sheet,)),
    "facets": ((facets,), (), ()),
    "lines": ((), (lines,), ()),
    "comments": ((), (comments,), ()),
    "options": ((options, options), (), (program,)),
    "table": ((), (table, table), ()),
    "drawings": ((drawings,), (), (sheet,)),
    "wrapped": ((wrapped,), (wrapped,), ()),
    "marked up": ((), (marked_up, marked_up, marked_up), ()),
    "state": ((), (), (state,)),
    "assigned": ((), (), (assigned, assigned)),
    "program": ((), (), (program, program)),
    "linked list": ((), (), (linked_list, linked_list, linked_list)),
    "pictures": ((), (pictures,), ()),
    "mixed": ((menu, drawings), (cards, comments), (sheet, assigned)),
    "crowded": ((menu, facets), (cards, directory, lines), (program,)),
    "short walls": (
        (several(menu, 60, 20), several(facets, 60, 20)),
        (several(cards, 60, 4), several(directory, 60, 20), several(lines, 100, 4)),
        (program,),
    ),
}
TEMPLATES = (
    templates_written.linked, templates_written.plain, templates_second.TEMPLATES[0],
    templates_second.TEMPLATES[3], templates_kept.TEMPLATES[0],
)  # fmt: skip


def make_heavy(build: str, number: int = 0) -> Made:
    """A page of one build about a listing of one of the templates; the same for the same number."""
    rng = random.Random(f"{build}-{number}")
    template = TEMPLATES[(number + len(build)) % len(TEMPLATES)]
    made = template(rng, make_goods(rng, LANGUAGES[number % len(LANGUAGES)]))
    before, after, head = ("".join(p(rng) for p in parts) for parts in BUILDS[build])
    page = made.html
    start = page.index(">", page.index("<body")) + 1
    page = page[:start] + before + page[start:]
    end = page.rindex("</body>")
    page = page[:end] + after + page[end:]
    page = page.replace("</head>", head + "</head>", 1)
    return replace(made, html=page)
