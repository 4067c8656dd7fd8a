"""JSON (RFC 8259), JSON Lines and CSV (RFC 4180 and what spreadsheets write)."""

from __future__ import annotations

import contextlib
import csv
import hashlib
import io
import json
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extractors.records import Listing
from triage.readers import exports
from triage.readers.source import ReadResult, Source, Unreadable

GIF = b"GIF89a\x01\0\x01\0\0\0\0;"


def read_csv(data: bytes, name: str = "a.csv") -> ReadResult:
    source = Source(Path("/x"), name, content=data)
    return sum(exports.read_csv(source), ReadResult())


def read_json(text: str, name: str = "a.json") -> ReadResult:
    source = Source(Path("/x"), name, content=text.encode("utf-8", "surrogatepass"))
    return sum(exports.read_json(source), ReadResult())


def only(result: ReadResult) -> Listing:
    (listing,) = result.listings
    return listing


ROW = {"title": "Frame, black", "price": "1.234,50 €", "seller": "anna", "description": "a\nb"}


@pytest.mark.parametrize("delimiter", list(",;\t|:^~§"))
@pytest.mark.parametrize("quote", ['"', "'"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_any_table_reads_alike(delimiter: str, quote: str, encoding: str) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, quotechar=quote, lineterminator="\r\n")
    writer.writerows([list(ROW), list(ROW.values())])
    listing = only(read_csv(out.getvalue().encode(encoding)))
    assert listing.title == "Frame, black"
    assert (listing.price, listing.currency) == (Decimal("1234.50"), "EUR")
    assert listing.seller_name == "anna"
    assert listing.description == "a\nb"
    assert listing.line == 2


@pytest.mark.parametrize(
    ("clause", "text", "title"),
    [
        ("RFC 4180, 2.2: no line break at the end", "title,price\nFrame,1", "Frame"),
        ("RFC 4180, 2.4: spaces belong to the field", "title,price\n Frame ,1\n", " Frame "),
        ("RFC 4180, 2.5: all quoted", '"title","price"\r\n"Frame","1"\r\n', "Frame"),
        ("RFC 4180, 2.6: break in a field", 'title,price\r\n"Fra\r\nme",1\r\n', "Fra\nme"),
        ("RFC 4180, 2.7: doubled quote", 'title,price\r\n"a ""b"" c",1\r\n', 'a "b" c'),
        ("a spreadsheet's hint line", "sep=;\r\ntitle;price\r\nFrame;1\r\n", "Frame"),
        ("lines above the header", "My list\n\ntitle;price\nFrame;1\n", "Frame"),
    ],
)
def test_csv_clauses(clause: str, text: str, title: str) -> None:
    assert only(read_csv(text.encode())).title == title, clause


@pytest.mark.parametrize(
    "header",
    [
        "Titel;Preis;Währung;Verkäufer;Beschreibung;Artikelstandort",
        "Titre;Prix;Devise;Vendeur;Description;Lieu",
        "Titolo;Prezzo;Valuta;Venditore;Descrizione;Luogo",
        "Título;Precio;Moneda;Vendedor;Descripción;Ubicación",
        "TITLE;PRICE;CURRENCY;SELLER_NAME;DESCRIPTION;ITEM LOCATION",
    ],
)
def test_columns_named_in_five_languages(header: str) -> None:
    listing = only(read_csv(f"{header}\nFrame;85,50;EUR;anna;text;Linz\n".encode()))
    assert (listing.title, listing.price, listing.currency) == ("Frame", Decimal("85.50"), "EUR")
    assert (listing.seller_name, listing.description, listing.location) == ("anna", "text", "Linz")


def test_unknown_columns_become_specifics() -> None:
    listing = only(read_csv(b"title,price,Bridge,Colour\nFrame,1,21 mm,\n"))
    assert listing.specifics == (("Bridge", "21 mm"),)


def test_field_of_many_megabytes() -> None:  # the library's own limit is 128 KiB
    text = "x" * 3_000_000
    assert len(only(read_csv(f'title,description\nF,"{text}"\n'.encode())).description) == len(text)


def test_open_quote_costs_its_row_alone() -> None:
    rows = "".join(f"Frame {n},{n}\n" for n in range(4_000))
    result = read_csv(f'title,price\n"broken,1\n{rows}'.encode())
    assert len(result.listings) == 4_000
    assert "line 2" in result.problems[0].what


@pytest.mark.parametrize("mark", ["\x0b", "\x1c", "\u2028", "\x85"])
def test_only_line_ends_end_a_row(mark: str) -> None:  # found by fuzzing
    listing = only(read_csv(f"made{mark}by hand\ntitle;price\nFr{mark}ame;1\n".encode()))
    assert (listing.title, listing.line) == (f"Fr{mark}ame", 3)


def test_divider_in_an_unquoted_price() -> None:
    listing = only(read_csv(b"title,price,currency\nFrame,85,50,EUR\n"))
    assert (listing.price, listing.currency) == (Decimal("85.50"), "EUR")


def test_table_of_something_else_is_refused() -> None:
    with pytest.raises(Unreadable):
        read_csv(b"name,age\nAnna,12\n")


def test_photos_in_a_cell_in_order(tmp_path: Path) -> None:
    (tmp_path / "pics").mkdir()
    for name in ("b 1.gif", "a.gif"):
        (tmp_path / "pics" / name).write_bytes(GIF + name.encode())
    (tmp_path / "l.csv").write_text("title,photos\nF,pics/b 1.gif|pics/a.gif|pics/none.gif\n")
    result = sum(exports.read_csv(Source(tmp_path, "l.csv")), ReadResult())
    assert [p.path for p in only(result).photos] == ["pics/b 1.gif", "pics/a.gif"]
    assert only(result).missing_photos == ("pics/none.gif",)


def test_photo_name_that_leads_out_is_missing(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "secret.gif").write_bytes(GIF)
    record = {"title": "F", "description": "d", "photos": ["../secret.gif", "/etc/passwd"]}
    (tmp_path / "in" / "l.json").write_text(json.dumps(record))
    listing = only(sum(exports.read_json(Source(tmp_path / "in", "l.json")), ReadResult()))
    assert listing.photos == ()
    assert listing.missing_photos == ("../secret.gif", "/etc/passwd")


STAGE = {
    "id": "L7",
    "title": " Frame ",
    "description": "one  \r\n\n\n two",
    "specifics": {"Bridge": "21 mm"},
    "price": "85.00",
    "currency": "EUR",
    "price_kind": "bid",
    "buy_now": "120.00",
    "shipping": "4.90",
    "offers_accepted": True,
    "returns": "none",
    "quantity": 2,
    "ended": False,
    "ends_at": "2026-12-01T10:00:00Z",
    "seller_id": "s1",
    "seller_name": "Anna",
    "seller_feedback": "99 %",
    "location": "Linz",
    "date_listed": "2026-11-01",
    "url": "https://stallrow.example/7",
    "listing_id": "777",
    "answers": ["It is 21 mm."],
    "hidden_text": None,
    "photos": [],
    "missing_photos": ["gone.jpg"],
    "origins": {"title": ["x"]},
}


def test_own_records_read_back_unchanged() -> None:
    other = json.dumps({**STAGE, "id": "L8"})
    result = read_json(f"{json.dumps(STAGE)}\n\n{other}\n", "listings.jsonl")
    first, second = result.listings
    assert (first.id, first.line, second.id, second.line) == ("L7", 1, "L8", 3)
    assert (first.title, first.description) == (STAGE["title"], STAGE["description"])
    assert (first.price, first.currency, first.price_kind) == (Decimal("85.00"), "EUR", "bid")
    assert (first.buy_now, first.shipping) == (Decimal("120.00"), Decimal("4.90"))
    assert (first.offers_accepted, first.ended, first.quantity) == (True, False, 2)
    assert (first.listing_id, first.seller_id, first.seller_name) == ("777", "s1", "Anna")
    assert (first.date_listed, first.ends_at) == ("2026-11-01", "2026-12-01T10:00:00Z")
    assert first.answers == ("It is 21 mm.",)
    assert first.specifics == (("Bridge", "21 mm"),)
    assert first.missing_photos == ("gone.jpg",)
    assert not result.problems


@pytest.mark.parametrize(
    ("key", "stated", "answers"),
    [
        ("answers", [{"question": "Any cracks?", "answer": "None."}], ("None.",)),
        ("answers", {"q": "Any cracks?", "a": "None."}, ("None.",)),
        ("qa", [{"question": "How wide is it?", "answer": "21 mm"}], ("How wide is it? 21 mm",)),
        ("Q&A", [{"question": "Is it 20 mm?", "answer": "21 mm"}], ("21 mm",)),
        ("answers", ["Old.", {"question": "Whose?", "reply": "Mine."}], ("Old.", "Mine.")),
        ("Fragen und Antworten", [{"Frage": "Wie alt?", "Antwort": "Sehr."}], ("Sehr.",)),
        (
            "questions",
            [{"@type": "Question", "name": "Cracks?", "acceptedAnswer": {"text": "None."}}],
            ("None.",),
        ),
        ("questions", [{"question": "Any cracks?", "answer": None}], ()),
    ],
)
def test_answers_beside_their_questions(key: str, stated: object, answers: tuple[str, ...]) -> None:
    value = {"title": "Frame", "price": 85, key: stated}
    (listing,) = read_json(json.dumps(value), "listing.json").listings
    assert listing.answers == answers


SCHEMA = {
    "@context": "https://schema.org",
    "@type": "Product",
    "name": "Frame 50",
    "description": "text",
    "sku": "A-1",
    "image": [{"@type": "ImageObject", "contentUrl": "a.jpg"}],
    "offers": {
        "@type": "Offer",
        "price": 85.1,
        "priceCurrency": "GBP",
        "availability": "https://schema.org/SoldOut",
        "seller": {"@type": "Person", "name": "Anna"},
    },
    "additionalProperty": [{"@type": "PropertyValue", "name": "Bridge", "value": 21}],
    "isRelatedTo": {"name": "Other", "offers": {"price": 1}},
}


@pytest.mark.parametrize(
    "value",
    [SCHEMA, [SCHEMA], {"@graph": [SCHEMA]}, {"total": 1, "page": {"items": [SCHEMA]}}],
    ids=["object", "array", "graph", "nested"],
)
def test_schema_org_terms(value: object) -> None:
    listing = only(read_json(json.dumps(value)))
    assert (listing.title, listing.listing_id) == ("Frame 50", "A-1")
    assert (listing.price, listing.currency, listing.ended) == (Decimal("85.1"), "GBP", True)
    assert listing.seller_name == "Anna"
    assert ("Bridge", "21") in listing.specifics
    assert listing.missing_photos == ("a.jpg",)


@pytest.mark.parametrize(
    "text",
    [
        '{"name": "left-pad", "version": "1.0", "description": "pads"}',
        "[1, 2, 3]",
        "{}",
        "null",
        "[" * 5_000,
        '{"a":' * 5_000,
    ],
)
def test_json_of_something_else_is_refused(text: str) -> None:
    with pytest.raises(Unreadable):
        read_json(text)


def test_damaged_line_costs_itself_alone() -> None:
    lines = ['{"title": "A", "id": "1"}', '{"title": ', "[[]]", '{"title": "B", "id": "2"}']
    result = read_json("\n".join(lines), "a.jsonl")
    assert [one.title for one in result.listings] == ["A", "B"]
    assert [p.what.split(":")[0] for p in result.problems] == ["line 2", "line 3"]


def test_line_beyond_the_limit_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exports, "MAX_LINE", 100)
    result = read_json('{"title": "' + "x" * 500 + '"}\n{"title": "B", "id": "2"}\n', "a.jsonl")
    assert [(one.title, one.line) for one in result.listings] == [("B", 2)]
    assert "line 1" in result.problems[0].what


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e999", "9" * 5_000])
def test_numbers_out_of_reason_are_no_price(number: str) -> None:
    listing = only(read_json(f'{{"title": "A", "id": "1", "price": {number}}}'))
    assert listing.price is None


def test_equal_keys_are_told() -> None:
    result = read_json('{"title": "A", "id": "1", "price": "5", "price": "6"}')
    assert only(result).price == Decimal(5)
    assert "'price' twice" in result.problems[0].what


@given(st.text(max_size=60), st.text(max_size=200))
def test_json_text_comes_back_exactly(title: str, description: str) -> None:
    record = {"id": "1", "title": title, "description": description}
    result = read_json(json.dumps(record), "a.jsonl")
    if title.strip() or description.strip():
        listing = only(result)
        assert listing.title == (title if title.strip() else "")
        assert listing.description == (description if description.strip() else "")


# a row of dashes is a rule between rows, no listing
_cell = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=40).filter(
    lambda cell: cell.strip(" :") == "" or bool(cell.strip(" :-"))
)


@given(st.lists(st.tuples(_cell, _cell), min_size=1, max_size=5), st.sampled_from(",;\t|"))
def test_csv_text_comes_back_exactly(rows: list[tuple[str, str]], delimiter: str) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerows([("title", "description"), *rows])
    result = read_csv(out.getvalue().encode("utf-8"))
    kept = [(a if a.strip() else "", b if b.strip() else "") for a, b in rows]
    assert [(one.title, one.description) for one in result.listings] == [
        pair for pair in kept if any(pair)
    ]


@given(st.binary(max_size=400))
def test_bytes_of_any_kind_end_in_a_result_or_unreadable(data: bytes) -> None:
    for read in (exports.read_csv, exports.read_json):
        with contextlib.suppress(Unreadable):
            list(read(Source(Path("/x"), "a", content=data)))


def csv_listing(header: str, row: str) -> Listing:
    return only(read_csv(f"{header}\n{row}\n".encode()))


@pytest.mark.parametrize(
    ("header", "cell", "kind", "price"),
    [
        ("price", "85.00", "fixed", "85.00"),
        ("current bid", "85", "bid", "85"),
        ("Aktuelles Gebot", "85,00 €", "bid", "85.00"),
        ("sold for", "EUR 85", "sold", "85"),
        ("price", "1", "fixed", "1"),
        ("price", "1.234", "fixed", "1234"),
        ("Preis", "1.234,5", "fixed", "1234.5"),
        ("price", "CHF 1’200.–", "fixed", "1200"),
    ],
)
def test_price_and_its_kind(header: str, cell: str, kind: str, price: str) -> None:
    listing = csv_listing(f"title;{header}", f"F;{cell}")
    assert (listing.price_kind, listing.price) == (kind, Decimal(price))


@pytest.mark.parametrize(
    ("cell", "shipping"), [("4,90 €", "4.90"), ("free", "0"), ("kostenlos", "0"), ("", None)]
)
def test_shipping(cell: str, shipping: str | None) -> None:
    listing = csv_listing("title;price;shipping", f"F;1;{cell}")
    assert listing.shipping == (None if shipping is None else Decimal(shipping))


@pytest.mark.parametrize(
    ("header", "cell", "date"),
    [
        ("date listed", "2026-11-03", "2026-11-03"),
        ("Datum", "03.11.2026", "2026-11-03"),
        ("Mise en ligne", "03/11/2026", "2026-11-03"),
        ("Pubblicato il", "3 novembre 2026", "2026-11-03"),
        ("date listed", "13/11/2026", "2026-11-13"),
    ],
)
def test_dates(header: str, cell: str, date: str) -> None:
    assert csv_listing(f"title;price;{header}", f"F;1;{cell}").date_listed == date


@pytest.mark.parametrize(
    ("cell", "ended"),
    [("true", True), ("no", False), ("beendet", True), ("active", False), ("perhaps", None)],
)
def test_ended(cell: str, ended: bool | None) -> None:
    assert csv_listing("title;price;status", f"F;1;{cell}").ended is ended


def test_numbered_photo_columns() -> None:
    listing = csv_listing("title;photo_1;photo_2;Foto 3", "F;a.jpg;b.jpg;c.jpg")
    assert listing.missing_photos == ("a.jpg", "b.jpg", "c.jpg")


@pytest.mark.parametrize(
    "cell",
    [
        "Bridge: 21 mm; Lens: 48 mm",
        "Bridge=21 mm|Lens=48 mm",
        '{"Bridge": "21 mm", "Lens": "48 mm"}',
    ],
)
def test_specifics_packed_in_one_cell(cell: str) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([["title", "price", "item specifics"], ["F", "1", cell]])
    listing = only(read_csv(out.getvalue().encode()))
    assert listing.specifics == (("Bridge", "21 mm"), ("Lens", "48 mm"))


def test_address_is_canonical_and_tells_the_id() -> None:
    url = "https://stallrow.example/item/77123?utm_source=mail"
    listing = csv_listing("title;price;url", f"F;1;{url}")
    assert (listing.url, listing.listing_id) == ("https://stallrow.example/item/77123", "77123")


def test_parts_of_a_schema_org_value_are_no_specifics() -> None:
    value = {
        **SCHEMA,
        "brand": {"@type": "Brand", "name": "Vennerby"},
        "image": {"@type": "ImageObject", "contentUrl": "a.jpg", "width": 900, "caption": "x"},
        "dimensions": {"lens_width": 48},
    }
    listing = only(read_json(json.dumps(value)))
    assert dict(listing.specifics) == {"brand": "Vennerby", "Bridge": "21", "lens_width": "48"}


def test_offer_with_its_item() -> None:
    offer = {
        "@type": "Offer",
        "price": "85",
        "priceCurrency": "EUR",
        "seller": {"name": "Anna", "@id": "https://stallrow.example/usr/anna77"},
        "itemOffered": {"@type": "Product", "name": "Frame", "description": "text"},
    }
    listing = only(read_json(json.dumps(offer)))
    assert (listing.title, listing.description, listing.price) == ("Frame", "text", Decimal(85))
    assert (listing.seller_name, listing.seller_id) == ("Anna", "anna77")


@pytest.mark.parametrize(
    ("stored", "named"),
    [
        ("IMG_1.JPG", "img_1.jpg"),
        ("photos/a.gif", "a.gif"),
        ("pics/a.gif", "pics\\a.gif"),
        ("caf\u0065\u0301.gif", "caf\u00e9.gif"),
        ("a b.gif", "a%20b.gif"),
        ("images/a.gif", "https://x.example/i/a.gif"),
    ],
)
def test_photo_names_as_people_and_systems_write_them(
    stored: str, named: str, tmp_path: Path
) -> None:
    (tmp_path / stored).parent.mkdir(exist_ok=True)
    (tmp_path / stored).write_bytes(GIF)
    (tmp_path / "l.json").write_text(json.dumps({"title": "F", "id": "1", "photos": [named]}))
    result = sum(exports.read_json(Source(tmp_path, "l.json")), ReadResult())
    found = only(result).photos
    assert [p.path for p in found] == [stored]


def test_own_photos_are_taken_over(tmp_path: Path) -> None:
    (tmp_path / "a.gif").write_bytes(GIF)
    own = [
        {"path": "a.gif", "member": None, "sha256": "0" * 64},
        {"path": "b.gif", "member": None, "sha256": "1" * 64},
        {"path": "week.zip", "member": "c.gif", "sha256": "2" * 64},
    ]
    (tmp_path / "l.jsonl").write_text(json.dumps({"title": "F", "id": "1", "photos": own}))
    listing = only(sum(exports.read_json(Source(tmp_path, "l.jsonl")), ReadResult()))
    assert [(p.path, p.member) for p in listing.photos] == [("a.gif", None), ("week.zip", "c.gif")]
    assert listing.photos[0].sha256 == hashlib.sha256(GIF).hexdigest()
    assert listing.missing_photos == ("b.gif",)


NESTED = {
    "fr": (
        '{"annonce": {"titre": "Monture", "prix": {"montant": "60.50", "devise": "EUR"}, '
        '"frais_de_port": {"montant": "5"}, "vendeur": {"pseudo": "anna", "id": "12"}, '
        '"caracteristiques": [{"nom": "Pont", "valeur": "21 mm"}]}}'
    ),
    "de": (
        '{"titel": "Fassung", "preis": {"betrag": 60.5, "waehrung": "EUR"}, '
        '"versandkosten": {"betrag": 5}, "verkaeufer": {"name": "anna", "id": "12"}, '
        '"merkmale": [{"bezeichnung": "Pont", "wert": "21 mm"}]}'
    ),
    "it": (
        '{"dati": {"titolo": "Montatura", "prezzo": {"importo": 60.5, "valuta": "EUR"}, '
        '"spedizione": {"importo": 5}, "venditore": {"nome": "anna", "codice": "12"}, '
        '"caratteristiche": [{"nome": "Pont", "valore": "21 mm"}]}}'
    ),
    "es": (
        '{"titulo": "Montura", "precio": {"importe": 60.5, "moneda": "EUR"}, '
        '"envio": {"importe": 5}, "vendedor": {"nombre": "anna", "id": "12"}, '
        '"caracteristicas": [{"nombre": "Pont", "valor": "21 mm"}]}'
    ),
    "en": (
        '{"title": "Frame", "price_cents": 6050, "currency_code": "EUR", "shipping_fee": 5, '
        '"owner": {"nick": "anna", "uid": "12"}, '
        '"attributes": [{"key_label": "Pont", "value_label": "21 mm"}]}'
    ),
}


@pytest.mark.parametrize("text", NESTED.values(), ids=NESTED.keys())
def test_values_inside_objects_in_five_languages(text: str) -> None:
    (listing,) = read_json(text).listings
    assert (listing.price, listing.currency) == (Decimal("60.50"), "EUR")
    assert listing.shipping == 5
    assert (listing.seller_name, listing.seller_id) == ("anna", "12")
    assert listing.specifics == (("Pont", "21 mm"),)


def test_bids_in_an_object_of_their_own() -> None:
    bidding = {
        "startingBid": {"amount": 40.0, "currency": "GBP"},
        "currentBid": {"amount": 65.0, "currency": "GBP"},
        "buyItNow": {"amount": 98.0, "currency": "GBP"},
        "endTime": "2089-12-11T20:24:00Z",
    }
    value = {"lotNumber": 12, "itemId": "270491", "title": "Frame", "bidding": bidding}
    (listing,) = read_json(json.dumps(value)).listings
    assert (listing.price, listing.price_kind, listing.buy_now) == (65, "bid", 98)
    assert (listing.currency, listing.listing_id, listing.ended) == ("GBP", "270491", False)


@pytest.mark.parametrize(
    ("key", "value", "field", "read"),
    [
        ("descriptionHtml", "<p>48 mm</p><p>21 mm</p>", "description", "48 mm\n\n21 mm"),
        ("is_active", True, "ended", False),
        ("isAvailable", False, "ended", True),
        ("venduto", "no", "ended", False),
        ("price_pence", 3590, "price", Decimal("35.90")),
        ("id", "88123", "listing_id", "88123"),
        ("pics", [{"order": 0, "local_path": "x.jpg"}], "missing_photos", ("x.jpg",)),
        ("photos", [{"fichier": "x.jpg"}], "missing_photos", ("x.jpg",)),
    ],
)
def test_values_under_everyday_names(key: str, value: object, field: str, read: object) -> None:
    known = {"title": "Frame", "seller": "anna", key: value}
    (listing,) = read_json(json.dumps(known)).listings
    assert getattr(listing, field) == read
    assert listing.specifics == ()


FRAMES = [{"title": f"Frame {n}", "price": f"{60 + n} EUR", "seller": "anna"} for n in range(3)]


@pytest.mark.parametrize(
    "value",
    [
        {"88120": FRAMES[0], "88121": FRAMES[1], "88122": FRAMES[2]},
        {"listings": {"byId": {"88120": FRAMES[0], "88121": FRAMES[1], "88122": FRAMES[2]}}},
        {"title": "My list", "seller": {"name": "x"}, "results": FRAMES},
        {"columns": ["title", "price", "seller"], "rows": [list(f.values()) for f in FRAMES]},
        [["title", "price", "seller"], *(list(f.values()) for f in FRAMES)],
        {key: [f[key] for f in FRAMES] for key in ("title", "price", "seller")},
        {"saved": [{"savedAt": "2026-11-03", "note": "nice", "ad": f} for f in FRAMES]},
        {"weeks": [{"week": 1, "items": FRAMES[:2]}, {"week": 2, "items": FRAMES[2:]}]},
    ],
)
def test_listings_in_any_arrangement(value: object) -> None:
    found = read_json(json.dumps(value)).listings
    assert [(f.title, f.price, f.seller_name) for f in found] == [
        (f"Frame {n}", 60 + n, "anna") for n in range(3)
    ]
    assert all(f.specifics == () for f in found)


@pytest.mark.parametrize(
    "price", ["NaN", "n/a", "None", "-", "VB", "Preis auf Anfrage", "à débattre"]
)
def test_a_price_said_not_to_be_given_loses_no_listing_and_is_no_problem(price: str) -> None:
    told = {"title": "Frame", "price": price, "seller": "ann", "description": "Lens 48 mm."}
    table = f"title;price;seller;description\nFrame;{price};ann;Lens 48 mm.\n"
    for found in (read_json(json.dumps([told])), read_csv(table.encode())):
        assert (only(found).title, only(found).price) == ("Frame", None)
        assert found.problems == ()


def test_a_list_of_words_is_no_listing_for_a_word_that_means_no_price() -> None:
    with pytest.raises(Unreadable):
        read_json(json.dumps({"title": "Titel", "price": "Preis", "seller": "Verkäufer"}))
