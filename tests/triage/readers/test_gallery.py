"""The photos of a listing: its gallery and nothing else, in order, in the best stored form."""
# ruff: noqa: E501 (samples of markup are easier to read on one line)

from __future__ import annotations

import hashlib

import pytest

from tests.triage.readers.pages import one, picture
from triage.readers.gallery import picture_key

BASE = "https://stallrow.example/item/"
HEAD = "<html lang=en><body><h1>Round frame</h1><p>Price: £5.00</p><p>Seller: Ada</p>"


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def found(html: str, **files: bytes) -> list[str]:
    return [p.sha256 for p in one(HEAD + html, {BASE + k: v for k, v in files.items()}).photos]


def files(count: int, small: int = 0) -> dict[str, bytes]:
    large = {f"p{n}.jpg": picture(n) for n in range(count)}
    return large | {f"p{n}_thumb.jpg": picture(n, 100, 75) for n in range(count) if small}


ORDER = [sha(picture(n)) for n in range(3)]

GALLERIES = [
    # an img each
    '<div class="gallery"><img src="p0.jpg"><img src="p1.jpg"><img src="p2.jpg"></div>',
    # WHATWG HTML, 4.8.4.2.1: srcset with widths
    '<div class="photos">' + "".join(f'<img src="p{n}_thumb.jpg" srcset="p{n}_thumb.jpg 100w, p{n}.jpg 400w">' for n in range(3)) + "</div>",
    # 4.8.1: picture with sources
    '<div class="photos">' + "".join(f'<picture><source srcset="p{n}.jpg 2x, p{n}_thumb.jpg 1x"><img src="p{n}_thumb.jpg"></picture>' for n in range(3)) + "</div>",
    # lazy: a placeholder, the address in data-*, again in noscript
    '<div class="slider">' + "".join(f'<img src="data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7" data-src="p{n}.jpg"><noscript><img src="p{n}.jpg"></noscript>' for n in range(3)) + "</div>",
    # thumbnails that link to the large ones
    '<div class="lotgallery"><a href="p0.jpg"><img src="p0.jpg"></a>' + "".join(f'<a href="p{n}.jpg"><img src="p{n}_thumb.jpg"></a>' for n in range(3)) + "</div>",
    # saved while the third was on show: the strip tells the order
    '<div class="viewer"><img src="p2.jpg"></div><div class="thumbs">' + "".join(f'<img src="p{n}_thumb.jpg" data-full="p{n}.jpg">' for n in range(3)) + "</div>",
    # an endless carousel repeats its ends
    '<div class="carousel"><div class="slide clone"><img src="p2.jpg"></div>' + "".join(f'<div class="slide"><img src="p{n}.jpg"></div>' for n in range(3)) + '<div class="slide clone"><img src="p0.jpg"></div></div>',
    # backgrounds
    '<div class="swiper">' + "".join(f"<div style=\"background-image: url('p{n}.jpg')\"></div>" for n in range(3)) + "</div>",
    # no gallery named at all
    '<table><tr><td><img src="p0.jpg"><br><img src="p1.jpg"><br><img src="p2.jpg"></td></tr></table>',
]  # fmt: skip


@pytest.mark.parametrize("html", GALLERIES)
def test_each_picture_comes_once_and_in_order(html: str) -> None:
    assert found(html, **files(3, small=1)) == ORDER


def test_thumbnails_with_names_of_their_own_are_merged_by_sight() -> None:
    names = {
        "x1.jpg": picture(0),
        "y7.jpg": picture(1),
        "q.jpg": picture(0, 100, 75),
        "r.jpg": picture(1, 100, 75),
    }
    html = '<div class="thumbs"><img src="q.jpg"><img src="r.jpg"></div><div class="images"><img src="x1.jpg"><img src="y7.jpg"></div>'
    assert found(html, **names) == ORDER[:2]


OTHERS = [
    '<img class="logo" src="o.jpg">',
    '<div class="seller-box"><img class="avatar" src="o.jpg"></div>',
    '<div class="similar-items"><a href="/item/2"><img src="o.jpg"></a></div>',
    '<h2>You may also like</h2><div><a href="/item/2"><img src="o.jpg"> other</a></div>',
    '<a href="/item/777"><img src="o.jpg"></a>',
    '<nav><img src="o.jpg"></nav>',
    '<img src="icon.png" width="16" height="16">',
]


@pytest.mark.parametrize("other", OTHERS)
def test_pictures_of_other_things_are_left_out(other: str) -> None:
    html = f'{other}<div class="gallery"><img src="p0.jpg"><img src="p1.jpg"></div>{other}'
    assert (
        found(html, **files(2), **{"o.jpg": picture(40), "icon.png": picture(41, 16, 16)})
        == ORDER[:2]
    )


def test_structured_data_orders_pictures_that_no_gallery_holds() -> None:
    block = '<script type="application/ld+json">{"@type":"Product","name":"Round frame","image":["p1.jpg",{"@type":"ImageObject","contentUrl":"p0.jpg"}]}</script>'
    assert found(block, **files(2)) == [ORDER[1], ORDER[0]]


def test_a_picture_named_but_not_stored_is_said() -> None:
    listing = one(
        HEAD + '<div class="gallery"><img src="p0.jpg"><img src="p1.jpg"></div>',
        {BASE + "p0.jpg": picture(0)},
    )
    assert [p.sha256 for p in listing.photos] == ORDER[:1]
    assert listing.missing_photos == ("p1.jpg",)


def test_pictures_in_the_page_itself_are_photos() -> None:
    import base64

    address = "data:image/jpeg;base64," + base64.b64encode(picture(0)).decode()
    listing = one(HEAD + f'<div class="gallery"><img src="{address}"></div>')
    assert [p.sha256 for p in listing.photos] == ORDER[:1]
    assert listing.photos[0].member == f"part:0!data:{ORDER[0][:16]}"


@pytest.mark.parametrize(
    ("one_size", "other_size"),
    [
        ("a/frame-3_thumb.jpg", "https://i.example/l/frame-3.jpg?w=900"),
        ("https://i.example/g/aXk3/s-l64.jpg", "https://i.example/g/aXk3/s-l1600.webp"),
        ("x/IMG_1001-150x150.jpg", "x/IMG_1001.jpg"),
        ("x/7f@2x.jpg", "x/7f.jpg"),
    ],
)
def test_sizes_of_a_picture_share_a_key(one_size: str, other_size: str) -> None:
    assert picture_key(one_size) == picture_key(other_size) is not None


def test_numbers_that_tell_pictures_apart_stay() -> None:
    names = ["IMG_100.jpg", "IMG_120.jpg", "p1.jpg", "p2.jpg", "a(1).jpg", "a.jpg"]
    assert len({picture_key(n) for n in names}) == len(names)


def test_a_stored_stand_in_does_not_make_one_picture_of_all() -> None:
    slide = '<li><img src="static/placeholder.png" data-original="p{0}.jpg"></li>'
    html = '<ul class="bilder">' + "".join(map(slide.format, range(3))) + "</ul>"
    stand_in = {"static/placeholder.png": picture(9, 60, 60)}
    assert found(html, **files(3), **stand_in) == ORDER


@pytest.mark.parametrize(
    "other",
    [
        '<div itemscope itemtype="https://schema.org/ItemList"><div itemprop="itemListElement"'
        ' itemscope itemtype="https://schema.org/Product"><img itemprop="image" src="p1.jpg"></div></div>',
        '<div itemprop="seller" itemscope itemtype="https://schema.org/Person">'
        '<img itemprop="image" src="p1.jpg"><b itemprop="name">rosa</b></div>',
        '<div itemprop="isRelatedTo" itemscope itemtype="https://schema.org/Product">'
        '<img itemprop="image" src="p1.jpg"></div>',
    ],
)  # fmt: skip
def test_an_image_of_another_item_is_no_photo(other: str) -> None:  # HTML, 5.2.2
    own = '<img itemprop="image" src="p0.jpg"><img itemprop="image" src="p2.jpg">'
    html = f'<div itemscope itemtype="https://schema.org/Product">{own}{other}</div>'
    assert found(html, **files(3)) == [ORDER[0], ORDER[2]]


def photos_of(body: str, files: dict[str, bytes]) -> list[str]:
    page = f"<html><body><h1>Frame Gantreux 48-22</h1><p class=price>£60.00</p>{body}<p>Seller: rosa</p></body></html>"
    names = {sha(data): name for name, data in files.items()}
    return [names[p.sha256] for p in one(page, files).photos]


BIG = {f"https://i.example/{n}/700.jpg": picture(n, 640, 480) for n in range(3)}
SMALL = {f"https://i.example/{n}/80.jpg": picture(n, 80, 60) for n in range(3)}


def test_thumbnails_whose_larger_form_is_not_stored_stay() -> None:
    rail = "".join(
        f'<a href="#" data-full="https://i.example/{n}/700.jpg"><img src="https://i.example/{n}/80.jpg"></a>'
        for n in range(3)
    )
    files = dict([*list(BIG.items())[:1], *SMALL.items()])
    body = f'<div class="main"><img src="https://i.example/0/700.jpg"></div><div>{rail}</div>'
    assert photos_of(body, files) == [
        "https://i.example/0/700.jpg", "https://i.example/1/80.jpg", "https://i.example/2/80.jpg",
    ]  # fmt: skip


def test_larger_forms_in_a_closed_dialog_are_taken() -> None:
    small = {f"s{n}.jpg": picture(n, 160, 120) for n in range(3)}
    large = {f"b{n}x.jpg": picture(n, 640, 480) for n in range(3)}
    gallery = "".join(f'<img src="{name}">' for name in small)
    dialog = "".join(f'<img src="{name}">' for name in large)
    body = f'<div class="gallery">{gallery}</div><dialog>{dialog}</dialog>'
    assert photos_of(body, small | large) == list(large)


@pytest.mark.parametrize("mixed", [False, True])
def test_two_rows_of_one_length_are_put_together_in_order(mixed: bool) -> None:
    # the second small form looks unlike its picture
    large = {f"l{n}q.jpg": picture(n, 640, 480) for n in range(3)}
    small = {
        "t-aa.jpg": picture(0, 80, 60),
        "t-bb.jpg": picture(41, 80, 60),
        "t-cc.jpg": picture(2, 80, 60),
    }
    tags = [f'<img src="{name}">' for name in (*large, *small)]
    if mixed:
        tags = [tag for pair in zip(tags[:3], tags[3:], strict=True) for tag in pair]
    assert photos_of(f'<div class="gallery">{"".join(tags)}</div>', large | small) == list(large)


def test_an_address_without_an_ending_in_a_data_attribute_counts() -> None:
    files = {
        "https://i.example/a/0?rule=59": picture(0, 200, 150),
        "https://i.example/a/0?rule=75": picture(0, 640, 480),
    }
    body = '<div class="gallery"><img src="https://i.example/a/0?rule=59" data-imgsrc="https://i.example/a/0?rule=75"></div>'
    assert photos_of(body, files) == ["https://i.example/a/0?rule=75"]


def test_marks_of_size_between_points_name_one_picture() -> None:
    assert picture_key("https://i.example/71ab._SS40_.jpg") == picture_key(
        "https://i.example/71ab._SX679_.jpg"
    )
