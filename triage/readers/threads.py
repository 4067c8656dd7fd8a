"""Threads of a forum in which something is offered: the first post is the listing.

Later posts are other people's and are taken out. A thread is a listing only if its first post
states a price beside a label, or its title does, or the title says that something is for sale.
Names of parts come from data/zones.toml; common practice of forum software, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from triage.readers.addresses import is_profile, seller_in
from triage.readers.dates import is_recent, read_date
from triage.readers.facts import Amount, Fact
from triage.readers.labels import field_of_label
from triage.readers.markup import HtmlElement, classes_and_ids, drop
from triage.readers.phrases import mentions
from triage.readers.prices import find_money
from triage.readers.visible_facts import ORIGIN, line_facts, split_label, value_facts
from triage.readers.words import flat_text, text_lines
from triage.readers.zones import is_named, words_of_zone

_MONEY = ("price", "bid", "buy_now", "sold", "start_bid", "shipping")


@dataclass(frozen=True, eq=False)
class Thread:
    """The first post's text and what is known of it; `is_offer` where something is for sale."""

    content: HtmlElement
    facts: tuple[Fact, ...]
    is_offer: bool


def find_thread(body: HtmlElement, title: str, language: str) -> Thread | None:
    """Find the first post of a thread and take all later ones out of the page."""
    contents = _contents(body)
    if not contents:
        return None
    first = contents[0]
    post = _own_part(first, contents)
    author = next((e for e in post.iter() if _is_author(e)), None)
    if author is None:
        author = _bold_author(post, first)
    if author is None or (len(contents) == 1 and not _is_forum(first)):
        return None
    facts = [*_author_facts(author), *_date_facts(post, first, language)]
    for later in contents[1:]:
        drop(_own_part(later, contents))
    drop(_box_of(author, first))
    offered = _offer_facts(first, title, language)
    has_price = any(f.field in ("price", "bid", "sold", "buy_now") for f in offered)
    return Thread(first, (*facts, *offered), has_price)


def may_be_thread(root: HtmlElement) -> bool:
    """Say quickly whether any element of a page is named as the text of a post."""
    names = " ".join(classes_and_ids(root)).lower().replace("-", "").replace("_", "")
    return any(word in names for word in words_of_zone("post_text"))


def _contents(body: HtmlElement) -> list[HtmlElement]:
    """The innermost elements named as the text of a post, in page order."""
    named = [e for e in body.iter("div", "blockquote", "article", "td", "section", "span", "p")
             if is_named(e, "post_text")]  # fmt: skip
    outer = {a for e in named for a in e.iterancestors()}
    return [_inner(e) for e in named if e not in outer]


def _inner(element: HtmlElement) -> HtmlElement:
    """A part named "content" within the text of a post, beside its author and date."""
    for child in element.iterdescendants("div", "section"):
        if (child.get("class") or "").casefold().split()[:1] in (["content"], ["text"]):
            return child
    return element


def _own_part(content: HtmlElement, contents: list[HtmlElement]) -> HtmlElement:
    """The largest part about a post's text that holds no other post's."""
    others = {a for c in contents if c is not content for a in c.iterancestors()}
    own = content
    for ancestor in content.iterancestors():
        if ancestor in others or ancestor.tag in ("body", "html", "main"):
            break
        own = ancestor
    return own


def _is_author(element: HtmlElement) -> bool:
    if element.tag == "a" and is_profile(element.get("href") or "") and flat_text(element):
        return True
    return element.tag in ("a", "b", "span", "strong", "div", "h4") and (
        is_named(element, "post_author") and 0 < len(flat_text(element)) <= 40
    )


def _bold_author(post: HtmlElement, content: HtmlElement) -> HtmlElement | None:
    """Without a link or a class: the first name in bold beside the post's text."""
    within = set(content.iter())
    for element in post.iter("b", "strong", "h3", "h4", "h5", "dt"):
        text = flat_text(element)
        is_short = 0 < len(text) <= 40 and len(text.split()) <= 3 and ":" not in text
        if element not in within and is_short and any(c.isalpha() for c in text):
            return element if field_of_label(text) is None and not is_recent(text) else None
    return None


def _is_forum(content: HtmlElement) -> bool:
    return any(is_named(a, "forum") for a in content.iterancestors())


def _author_facts(author: HtmlElement) -> Iterator[Fact]:
    link = author if author.tag == "a" else next(iter(author.iter("a")), None)
    if link is not None and (handle := seller_in(link.get("href") or "")):
        yield Fact("seller_id", handle, ORIGIN, "the first post's author")
    yield Fact("seller_name", flat_text(author), ORIGIN, "the first post's author")


def _date_facts(post: HtmlElement, content: HtmlElement, language: str) -> Iterator[Fact]:
    """The date in a part of the post named so; the text of the post says none."""
    within = set(content.iter())
    for element in post.iter():
        if element in within or not isinstance(element.tag, str):
            continue
        if element.tag == "time" or is_named(element, "date", "post_author"):
            stated = read_date(element.get("datetime") or flat_text(element)[:90], language)
            if stated is not None:
                yield Fact("date_listed", stated.iso, ORIGIN, "the first post's date")
                return
    for element in post.iter("span", "div", "small", "td", "p", "i", "em", "dd"):
        text = flat_text(element) if element not in within and len(element) < 3 else ""
        if len(text) <= 50 and is_recent(text) and (stated := read_date(text, language)):
            yield Fact("date_listed", stated.iso, ORIGIN, "beside the first post's author")
            return


def _box_of(author: HtmlElement, content: HtmlElement) -> HtmlElement:
    """What stands about the author (name, picture, count of posts), without the post's text."""
    about_text = set(content.iterancestors())
    box = author
    for ancestor in author.iterancestors():
        if ancestor in about_text:
            break
        box = ancestor
    return box


_FOR_SALE = "for_sale"


def _offer_facts(content: HtmlElement, title: str, language: str) -> list[Fact]:
    """Price and shipping as the post labels them, else the title's amount, else the first."""
    facts: list[Fact] = []
    for line in text_lines(content).split("\n"):
        label, colon, _ = line.partition(":")
        found = split_label(line) if colon or find_money(line) else None
        if found is not None and found[0] in _MONEY:
            facts += value_facts(found[0], found[2], label, language)
        facts += [f for f in line_facts(line, language) if f.field in ("shipping", "status")]
    if any(f.field in ("price", "bid", "sold", "buy_now") for f in facts):
        return facts
    money = find_money(title, language)
    if not money and mentions(_FOR_SALE, title):
        money = find_money(text_lines(content)[:4000], language)
    if money:
        note = "the thread's title" if find_money(title, language) else "the first post"
        facts.append(Fact("price", Amount(money[0].amount, money[0].currency), ORIGIN, note))
    return facts


def is_wanted(title: str) -> bool:
    """Say whether a thread looks for a thing rather than offering one."""
    return (
        re.match(r"(?i)\W*(wtb|wanted|iso|suche|cherche|cerco|busco|gezocht|kupię)\b", title)
        is not None
    )


_NUMBER = re.compile(
    r"(?i)[?&;](?:t|tid|topic|topicid|threadid|thread_id)=(\d+)"
    r"|/(?:threads?|topics?|t)/(?:[^/?#]*[./-])?(\d+)(?:[/?#]|$)"
    r"|/(?:threads?|topics?|t)/[^/?#]+/(\d+)(?:[/?#]|$)"
)


def thread_number(address: str | None) -> str | None:
    """The number of a thread in its address.

    >>> thread_number("https://f.example/show.php?t=118"), thread_number("/threads/a-48-22.77/")
    ('118', '77')
    """
    match = _NUMBER.search(address or "")
    return next((g for g in match.groups() if g), None) if match else None
