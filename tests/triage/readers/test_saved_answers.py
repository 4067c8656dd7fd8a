"""Answers of services as a browser's network panel saves them: one piece in many shapes.

Made up after what such services do: query languages with connections, JSON:API 1.1, HAL, OData,
search engines, document stores, shops in several languages.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from extractors.records import Listing
from triage.readers import exports
from triage.readers.source import ReadResult, Source

ID = "271828182"
U = f"https://stall.example/a/{ID}"
P3 = [f"https://i.stall.example/p/100{n}.jpg" for n in (1, 2, 3)]
T = "Vennerby 12 round frame"
D = "First line of it.\nLens 48 mm, bridge 21 mm."
TRUTH: dict[str, Any] = {
    "title": T,
    "description": D,
    "price": Decimal("45.50"),
    "currency": "EUR",
    "price_kind": "fixed",
    "shipping": Decimal("4.90"),
    "listing_id": ID,
    "url": U,
    "seller_name": "old_panes",
    "seller_id": "8812",
    "date_listed": "2026-11-03",
    "specifics": {"Brand": "Vennerby", "Bridge": "21 mm"},
    "missing_photos": tuple(P3),
}
CASES: dict[str, tuple[Any, str, dict[str, Any]]] = {}


def case(name: str, value: Any, ext: str = "json", **other: Any) -> None:
    CASES[name] = (value, ext, other)


# 1 GraphQL with typename, edges, price object, images template
case(
    "graphql",
    {
        "data": {
            "viewer": {"id": "u1", "__typename": "Viewer"},
            "listing": {
                "__typename": "Listing",
                "id": "TGlzdGluZzoyNzE4MjgxODI=",
                "legacyId": ID,
                "headline": T,
                "body": {"__typename": "RichText", "raw": D, "html": "<p>x</p>"},
                "price": {
                    "__typename": "Money",
                    "amount": 4550,
                    "currency": {"code": "EUR", "minorUnitDigits": 2},
                },
                "delivery": {
                    "__typename": "Delivery",
                    "options": [
                        {"label": "Pick up", "price": None},
                        {
                            "label": "Parcel",
                            "price": {
                                "amount": 490,
                                "currency": {"code": "EUR", "minorUnitDigits": 2},
                            },
                        },
                    ],
                },
                "publishedAt": "2026-11-03T08:00:00Z",
                "canonicalUrl": U,
                "owner": {"__typename": "Member", "id": "8812", "nick": "old_panes"},
                "gallery": {
                    "__typename": "ImageConnection",
                    "edges": [{"node": {"id": i, "url": p}} for i, p in enumerate(P3)],
                },
                "attributes": {
                    "edges": [
                        {"node": {"label": "Brand", "value": "Vennerby"}},
                        {"node": {"label": "Bridge", "value": "21 mm"}},
                    ]
                },
            },
        }
    },
)
# 2 image ids with a template address
case(
    "imagetemplate",
    {
        "result": {
            "ad": {
                "adId": ID,
                "subject": T,
                "body": D,
                "price": "45,50 €",
                "shipping_price": "4,90 €",
                "link": U,
                "user": {"name": "old_panes", "uid": "8812"},
                "listTime": "2026-11-03 09:00:00",
                "params": [
                    {"key": "brand", "label": "Brand", "value": "Vennerby"},
                    {"key": "bridge", "label": "Bridge", "value": "21 mm"},
                ],
                "imageTemplate": "https://i.stall.example/p/{id}.jpg",
                "imageIds": ["1001", "1002", "1003"],
            }
        }
    },
)
# 3 images as objects with base + path
case(
    "imagebase",
    {
        "ad": {
            "adId": ID,
            "title": T,
            "description": D,
            "price": {"value": "45.50", "currency": "EUR"},
            "shippingCost": 4.9,
            "url": U,
            "seller": {"name": "old_panes", "id": "8812"},
            "createdAt": 1793696400,
            "images": {
                "baseUrl": "https://i.stall.example/p/",
                "files": ["1001.jpg", "1002.jpg", "1003.jpg"],
            },
            "attributes": {"Brand": "Vennerby", "Bridge": "21 mm"},
        }
    },
)
# 4 HAL
case(
    "hal",
    {
        "_embedded": {
            "listings": [
                {
                    "number": ID,
                    "title": T,
                    "text": D,
                    "price": {"amount": "45.50", "currency": "EUR"},
                    "postage": {"amount": "4.90", "currency": "EUR"},
                    "listed": "2026-11-03",
                    "_links": {
                        "self": {"href": "https://api.stall.example/v2/listings/271828182"},
                        "web": {"href": U},
                        "image": [{"href": p} for p in P3],
                    },
                    "_embedded": {
                        "seller": {
                            "number": "8812",
                            "displayName": "old_panes",
                            "_links": {
                                "self": {"href": "https://api.stall.example/v2/members/8812"}
                            },
                        },
                        "properties": [
                            {"name": "Brand", "value": "Vennerby"},
                            {"name": "Bridge", "value": "21 mm"},
                        ],
                    },
                }
            ]
        },
        "_links": {"self": {"href": "/x"}},
        "page": {"size": 20},
    },
)
# 5 OData
case(
    "odata",
    {
        "@odata.context": "https://api.stall.example/$metadata#Listings",
        "value": [
            {
                "@odata.id": "Listings(271828182)",
                "ListingId": 271828182,
                "Title": T,
                "Description": D,
                "Price": 45.5,
                "CurrencyCode": "EUR",
                "ShippingFee": 4.9,
                "PublishedOn": "2026-11-03T00:00:00+01:00",
                "WebUrl": U,
                "Seller@odata.navigationLink": "x",
                "Seller": {"Id": 8812, "UserName": "old_panes"},
                "Photos@odata.count": 3,
                "Photos": [
                    {"Order": 2, "Url": P3[1]},
                    {"Order": 1, "Url": P3[0]},
                    {"Order": 3, "Url": P3[2]},
                ],
                "Characteristics": [
                    {"Key": "Brand", "Value": "Vennerby"},
                    {"Key": "Bridge", "Value": "21 mm"},
                ],
            }
        ],
    },
)
# 6 columns
case(
    "columns",
    {
        "fields": [
            {"name": "item_no"},
            {"name": "title"},
            {"name": "description"},
            {"name": "price_eur"},
            {"name": "postage_eur"},
            {"name": "seller"},
            {"name": "seller_id"},
            {"name": "listed"},
            {"name": "link"},
            {"name": "photo_urls"},
            {"name": "Brand"},
            {"name": "Bridge"},
        ],
        "records": [
            [
                ID,
                T,
                D,
                "45.50",
                "4.90",
                "old_panes",
                "8812",
                "2026-11-03",
                U,
                " ".join(P3),
                "Vennerby",
                "21 mm",
            ]
        ],
    },
)
# 7 per-locale texts
case(
    "locales",
    {
        "items": [
            {
                "id": int(ID),
                "title": {"en": T, "de": "Vennerby 12 Rundbrille"},
                "description": {"en": D, "de": "Erste Zeile."},
                "price": {"EUR": 45.5},
                "shipping": {"EUR": 4.9},
                "url": {"en": U},
                "seller": {"id": 8812, "name": "old_panes"},
                "listed_at": "2026-11-03T00:00:00Z",
                "photos": P3,
                "specifics": [
                    {
                        "name": {"en": "Brand", "de": "Marke"},
                        "value": {"en": "Vennerby", "de": "Vennerby"},
                    },
                    {
                        "name": {"en": "Bridge", "de": "Steg"},
                        "value": {"en": "21 mm", "de": "21 mm"},
                    },
                ],
            }
        ]
    },
)
case(
    "localelist",
    {
        "items": [
            {
                "id": int(ID),
                "title": [
                    {"lang": "en", "value": T},
                    {"lang": "de", "value": "Vennerby 12 Rundbrille"},
                ],
                "description": [
                    {"lang": "en", "value": D},
                    {"lang": "de", "value": "Erste Zeile."},
                ],
                "price": 45.5,
                "currency": "EUR",
                "shipping": 4.9,
                "url": U,
                "seller": {"id": 8812, "name": "old_panes"},
                "listed_at": "2026-11-03T00:00:00Z",
                "photos": P3,
                "specifics": {"Brand": ["Vennerby"], "Bridge": ["21 mm"]},
            }
        ]
    },
)
# 8 minor units in yen-like
case(
    "yen",
    {
        "item": {
            "itemId": ID,
            "name": T,
            "explanation": D,
            "price": {"minor": 4800, "currency": "JPY"},
            "shipping": {"minor": 700, "currency": "JPY"},
            "url": U,
            "seller": {"id": "8812", "name": "old_panes"},
            "openedAt": "2026-11-03T00:00:00+09:00",
            "photoUrls": P3,
            "specs": ["Brand: Vennerby", "Bridge: 21 mm"],
        }
    },
    price=Decimal(4800),
    currency="JPY",
    shipping=Decimal(700),
)
# 9 specifics in nested groups
case(
    "groups",
    {
        "listing": {
            "id": ID,
            "title": T,
            "description": D,
            "price": {"gross": 45.5, "ccy": "EUR"},
            "shipping": {"cheapest": {"cost": {"gross": 4.9, "ccy": "EUR"}}},
            "permalink": U,
            "vendor": {"vendorId": "8812", "vendorName": "old_panes"},
            "firstOnline": "2026-11-03",
            "media": [{"kind": "photo", "src": p} for p in P3]
            + [{"kind": "video", "src": "https://i.stall.example/v/1.mp4"}],
            "sections": [
                {"heading": "Make", "rows": [{"term": "Brand", "definition": "Vennerby"}]},
                {"heading": "Sizes", "rows": [{"term": "Bridge", "definition": "21 mm"}]},
            ],
        }
    },
)
# 10 list of pairs
case(
    "pairs",
    {
        "listing": {
            "id": ID,
            "title": T,
            "description": D,
            "price": "EUR 45.50",
            "shipping": "EUR 4.90",
            "url": U,
            "seller": "old_panes",
            "sellerId": "8812",
            "date": "2026-11-03",
            "photos": P3,
            "details": [["Brand", "Vennerby"], ["Bridge", "21 mm"]],
        }
    },
)
# 11 dict of dict with label
case(
    "labelled",
    {
        "listing": {
            "id": ID,
            "title": T,
            "description": D,
            "price": 45.5,
            "currency": "EUR",
            "shipping": 4.9,
            "url": U,
            "seller": "old_panes",
            "sellerId": "8812",
            "date": "2026-11-03",
            "photos": P3,
            "attributes": {
                "brand": {"label": "Brand", "value": {"id": 5, "label": "Vennerby"}},
                "bridge": {"label": "Bridge", "value": {"id": 6, "label": "21 mm"}},
            },
        }
    },
)
# 12 parallel lists
case(
    "parallel",
    {
        "listing": {
            "id": ID,
            "title": T,
            "description": D,
            "price": 45.5,
            "currency": "EUR",
            "shipping": 4.9,
            "url": U,
            "seller": "old_panes",
            "sellerId": "8812",
            "date": "2026-11-03",
            "photos": P3,
            "attributeNames": ["Brand", "Bridge"],
            "attributeValues": ["Vennerby", "21 mm"],
        }
    },
)
# 13 a search answer with an envelope of hits
case(
    "hits",
    {
        "took": 3,
        "hits": {
            "total": {"value": 1},
            "hits": [
                {
                    "_index": "ads",
                    "_id": ID,
                    "_score": 1.0,
                    "_source": {
                        "title": T,
                        "text": D,
                        "price": {"cents": 4550, "currency": "EUR"},
                        "shipping": {"cents": 490, "currency": "EUR"},
                        "url": U,
                        "seller": {"nick": "old_panes", "no": "8812"},
                        "online_since": "2026-11-03",
                        "pictures": [
                            {"sizes": {"s": p.replace(".jpg", "_s.jpg"), "xl": p}} for p in P3
                        ],
                        "facts": {"Brand": "Vennerby", "Bridge": "21 mm"},
                    },
                    "highlight": {"title": ["<em>Vennerby</em>"]},
                }
            ],
        },
    },
)
# 14 JSON:API with included
case(
    "jsonapi",
    {
        "data": {
            "type": "listings",
            "id": ID,
            "attributes": {
                "title": T,
                "description": D,
                "price-cents": 4550,
                "currency": "EUR",
                "shipping-cents": 490,
                "published-at": "2026-11-03T00:00:00Z",
            },
            "relationships": {
                "seller": {"data": {"type": "members", "id": "8812"}},
                "photos": {"data": [{"type": "photos", "id": str(i)} for i in range(3)]},
                "properties": {
                    "data": [{"type": "props", "id": "1"}, {"type": "props", "id": "2"}]
                },
            },
            "links": {"self": "https://api.stall.example/l/1", "public": U},
        },
        "included": [{"type": "members", "id": "8812", "attributes": {"screen-name": "old_panes"}}]
        + [
            {
                "type": "photos",
                "id": str(i),
                "attributes": {"original-url": p, "thumb-url": p + "?w=80"},
            }
            for i, p in enumerate(P3)
        ]
        + [
            {"type": "props", "id": "1", "attributes": {"name": "Brand", "value": "Vennerby"}},
            {"type": "props", "id": "2", "attributes": {"name": "Bridge", "value": "21 mm"}},
        ],
    },
)
# 15 network panel with request url and response text
case(
    "panel",
    {
        "request": {"method": "GET", "url": "https://api.stall.example/l/271828182"},
        "response": {
            "status": 200,
            "body": json.dumps(
                {
                    "listing": {
                        "id": ID,
                        "title": T,
                        "description": D,
                        "price": {"amount": "45.50", "currency": "EUR"},
                        "shippingPrice": {"amount": "4.90", "currency": "EUR"},
                        "url": U,
                        "user": {"id": 8812, "login": "old_panes"},
                        "created_at_ts": 1793696400,
                        "photos": [
                            {"full_size_url": p, "url": p + "?s=3", "is_main": i == 0}
                            for i, p in enumerate(P3)
                        ],
                        "item_attributes": [
                            {"code": "brand", "data": {"title": "Brand", "value": "Vennerby"}},
                            {"code": "bridge", "data": {"title": "Bridge", "value": "21 mm"}},
                        ],
                    }
                }
            ),
        },
    },
)
# 16 JSON lines from a scraper
case(
    "scraper",
    json.dumps(
        {
            "_type": "item",
            "_scraped": "2026-11-20",
            "listing_url": U,
            "listing_title": T,
            "listing_description": D,
            "listing_price": "45,50",
            "listing_currency": "€",
            "listing_shipping": "+ 4,90 € Versand",
            "seller_username": "old_panes",
            "seller_profile_url": "https://stall.example/u/8812",
            "listing_date": "03.11.2026",
            "image_urls": P3,
            "images": [{"path": "full/abc.jpg", "url": P3[0]}],
            "item_specifics_raw": "Brand: Vennerby; Bridge: 21 mm",
        }
    )
    + "\n",
    "jsonl",
    seller_id=...,
    missing_photos=...,
)
# 17 dict keyed by id
case(
    "bykey",
    {
        "ads": {
            ID: {
                "title": T,
                "desc": D,
                "price": 45.5,
                "cur": "EUR",
                "ship": 4.9,
                "url": U,
                "seller": {"id": "8812", "name": "old_panes"},
                "listed": "2026-11-03T00:00:00Z",
                "pics": P3,
                "attrs": {"Brand": "Vennerby", "Bridge": "21 mm"},
            }
        },
        "order": [ID],
    },
)
# 18 Spanish shop API
case(
    "es",
    {
        "anuncio": {
            "codigo": ID,
            "titulo": T,
            "texto": D,
            "precio": {"importe": "45,50", "moneda": "EUR"},
            "gastosEnvio": {"importe": "4,90", "moneda": "EUR"},
            "enlace": U,
            "anunciante": {"codigo": "8812", "alias": "old_panes"},
            "fechaAlta": "03/11/2026",
            "galeria": [{"orden": i, "ruta": p} for i, p in enumerate(P3)],
            "ficha": [{"campo": "Brand", "dato": "Vennerby"}, {"campo": "Bridge", "dato": "21 mm"}],
        }
    },
)
# 19 Polish
case(
    "pl",
    {
        "ogloszenie": {
            "numer": ID,
            "tytul": T,
            "opis": D,
            "cena": {"kwota": "45,50", "waluta": "PLN"},
            "dostawa": [{"nazwa": "Paczka", "koszt": "4,90"}, {"nazwa": "Odbiór", "koszt": "0,00"}],
            "adres": U,
            "sprzedajacy": {"id": "8812", "nazwa": "old_panes"},
            "dodano": "03.11.2026",
            "zdjecia": P3,
            "parametry": [
                {"nazwa": "Brand", "wartosc": "Vennerby"},
                {"nazwa": "Bridge", "wartosc": "21 mm"},
            ],
        }
    },
    currency="PLN",
    shipping=...,
)
# 20 bids
case(
    "auction",
    {
        "lot": {
            "lotNumber": 14,
            "lotId": ID,
            "name": T,
            "description": D,
            "auction": {
                "currentBid": {"amount": 45.5, "currency": "EUR"},
                "startingBid": {"amount": 10, "currency": "EUR"},
                "bidsCount": 4,
                "endsAt": "2026-12-01T19:00:00Z",
            },
            "estimate": {"low": 80, "high": 120, "currency": "EUR"},
            "shipping": {"amount": 4.9},
            "url": U,
            "consignor": {"id": "8812", "name": "old_panes"},
            "listed": "2026-11-03",
            "images": [{"large": p, "small": p + "?s"} for p in P3],
            "details": "Brand: Vennerby\nBridge: 21 mm",
        }
    },
    price_kind="bid",
)
# 21 array of one listing, flat with prefixes
case(
    "prefixed",
    [
        {
            "offer_id": ID,
            "offer_title": T,
            "offer_text": D,
            "offer_price_amount": "45.50",
            "offer_price_currency": "EUR",
            "offer_shipping_amount": "4.90",
            "offer_url": U,
            "offer_seller_login": "old_panes",
            "offer_seller_id": "8812",
            "offer_created": "2026-11-03",
            "offer_image_1": P3[0],
            "offer_image_2": P3[1],
            "offer_image_3": P3[2],
            "offer_param_Brand": "Vennerby",
            "offer_param_Bridge": "21 mm",
        }
    ],
)
# 22 properties as list of single key dicts
case(
    "single",
    {
        "listing": {
            "id": ID,
            "title": T,
            "description": D,
            "price": 45.5,
            "currency": "EUR",
            "shipping": 4.9,
            "url": U,
            "seller": "old_panes",
            "sellerId": "8812",
            "date": "2026-11-03",
            "photos": P3,
            "properties": [{"Brand": "Vennerby"}, {"Bridge": "21 mm"}],
        }
    },
)
# 23 photos as dict position
case(
    "photodict",
    {
        "listing": {
            "id": ID,
            "title": T,
            "description": [
                {"type": "paragraph", "text": "First line of it."},
                {"type": "paragraph", "text": "Lens 48 mm, bridge 21 mm."},
            ],
            "price": {"raw": 45.5, "text": "45,50 €"},
            "shippingOptions": [
                {"carrier": "x", "price": {"raw": 7.9, "text": "7,90 €"}},
                {"carrier": "y", "price": {"raw": 4.9, "text": "4,90 €"}},
            ],
            "url": U,
            "seller": {"profile": {"id": "8812", "displayName": "old_panes"}},
            "date": "2026-11-03",
            "photos": {"0": {"url": P3[0]}, "1": {"url": P3[1]}, "2": {"url": P3[2]}},
            "properties": {
                "maker": {"title": "Brand", "values": ["Vennerby"]},
                "bridge": {"title": "Bridge", "values": ["21 mm"]},
            },
        }
    },
)
# 24 epoch ms, price as int string, photos comma, seller nested account
case(
    "epoch",
    {
        "payload": {
            "listing": {
                "listingId": int(ID),
                "titleText": T,
                "descriptionText": D,
                "priceAmount": "45.50",
                "priceCurrency": "EUR",
                "shippingAmount": "4.90",
                "publicUrl": U,
                "sellerInfo": {"account": {"accountId": "8812", "publicName": "old_panes"}},
                "createdOn": 1793696400000,
                "photoList": ",".join(P3),
                "attributeGroups": [
                    {
                        "groupName": "General",
                        "attributes": [
                            {"attributeName": "Brand", "attributeValue": "Vennerby"},
                            {"attributeName": "Bridge", "attributeValue": "21 mm"},
                        ],
                    }
                ],
            }
        }
    },
)


# 25 every value with its type
def fs(v: Any) -> Any:
    if isinstance(v, str):
        return {"stringValue": v}
    if isinstance(v, int):
        return {"integerValue": str(v)}
    if isinstance(v, float):
        return {"doubleValue": v}
    if isinstance(v, list):
        return {"arrayValue": {"values": [fs(i) for i in v]}}
    return {"mapValue": {"fields": {k: fs(i) for k, i in v.items()}}}


case(
    "typed",
    {
        "documents": [
            {
                "name": f"projects/x/listings/{ID}",
                "fields": {
                    k: fs(v)
                    for k, v in {
                        "listingId": ID,
                        "title": T,
                        "description": D,
                        "price": 45.5,
                        "currency": "EUR",
                        "shipping": 4.9,
                        "url": U,
                        "seller": {"id": "8812", "name": "old_panes"},
                        "listedAt": "2026-11-03",
                        "photos": P3,
                        "specs": {"Brand": "Vennerby", "Bridge": "21 mm"},
                    }.items()
                },
            }
        ]
    },
)


S = {"Brand": "Vennerby", "Bridge": "21 mm"}
OTHER: dict[str, Any] = {"seller_id": ..., "missing_photos": ("m/1.jpg", "m/2.jpg", "m/3.jpg")}
P3 = list(OTHER["missing_photos"])
case(
    "fr api",
    {
        "annonces": [
            {
                "reference": ID,
                "intitule": T,
                "corps": D,
                "tarif": {"montant": 45.5, "devise": "EUR"},
                "port": {"montant": 4.9, "devise": "EUR"},
                "auteur": {"pseudo": "old_panes"},
                "parution": "2026-11-03",
                "adresse": U,
                "clichés": [{"chemin": p} for p in P3],
                "criteres": [{"libelle": k, "valeur": v} for k, v in S.items()],
            }
        ]
    },
    **OTHER,
)
case(
    "de api",
    {
        "inserate": [
            {
                "nummer": ID,
                "ueberschrift": T,
                "text": D,
                "preis": {"betrag": "45,50", "waehrung": "EUR"},
                "versandkosten": {"betrag": "4,90", "waehrung": "EUR"},
                "anbieter": {"anzeigename": "old_panes"},
                "eingestelltAm": "03.11.2026",
                "link": U,
                "bilder": [{"datei": p, "reihenfolge": i} for i, p in enumerate(P3)],
                "eigenschaften": [{"bezeichnung": k, "wert": v} for k, v in S.items()],
            }
        ]
    },
    **OTHER,
)
case(
    "it jsonl",
    json.dumps(
        {
            "link": U,
            "nome": T,
            "costo": "45,50 euro",
            "sped": "4,90",
            "chi": "old_panes",
            "cod": ID,
            "desc": D,
            "img": P3,
            "scheda": S,
            "messo_il": "3/11/2026",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "es jsonl",
    json.dumps(
        {
            "enlace": U,
            "articulo": T,
            "importe": "45,50 €",
            "portes": "4,90 €",
            "vende": "old_panes",
            "num": ID,
            "detalle": D,
            "fotos": P3,
            "ficha": S,
            "publicado": "03/11/2026",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "nl jsonl",
    json.dumps(
        {
            "link": U,
            "kop": T,
            "vraagprijs": "€ 45,50",
            "bezorgkosten": "€ 4,90",
            "aanbieder": "old_panes",
            "advnr": ID,
            "omschrijving": D,
            "fotos": P3,
            "kenmerken": S,
            "geplaatst": "3 nov 2026",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "pl jsonl",
    json.dumps(
        {
            "link": U,
            "nazwa": T,
            "cena": "45,50 EUR",
            "dostawa": "4,90 EUR",
            "sprzedawca": "old_panes",
            "nr": ID,
            "opis": D,
            "zdjecia": P3,
            "cechy": S,
            "wystawiono": "2026-11-03",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "sv jsonl",
    json.dumps(
        {
            "lank": U,
            "rubrik": T,
            "pris": "45,50 EUR",
            "frakt": "4,90 EUR",
            "saljare": "old_panes",
            "annonsnr": ID,
            "beskrivning": D,
            "bilder": P3,
            "egenskaper": S,
            "upplagd": "2026-11-03",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "pt jsonl",
    json.dumps(
        {
            "ligacao": U,
            "nome": T,
            "preco": "45,50 €",
            "portes": "4,90 €",
            "vendedor": "old_panes",
            "ref": ID,
            "descricao": D,
            "fotos": P3,
            "caracteristicas": S,
            "publicado_em": "2026-11-03",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "ja jsonl",
    json.dumps(
        {
            "URL": U,
            "商品名": T,
            "価格": "4550円",
            "送料": "490円",
            "出品者": "old_panes",
            "商品ID": ID,
            "商品説明": D,
            "画像": P3,
            "詳細情報": S,
            "出品日": "2026年11月3日",
        }
    ),
    "jsonl",
    **OTHER,
    price=Decimal(4550),
    currency="JPY",
    shipping=Decimal(490),
)
case(
    "fr jsonl",
    json.dumps(
        {
            "lien": U,
            "objet": T,
            "prix": "45,50 €",
            "frais_port": "4,90 €",
            "vendeur": "old_panes",
            "num_annonce": ID,
            "descriptif": D,
            "photos": P3,
            "carac": S,
            "mise_en_ligne": "3 novembre 2026",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "de jsonl",
    json.dumps(
        {
            "adresse": U,
            "bezeichnung": T,
            "preis": "45,50 €",
            "porto": "4,90 €",
            "von": "old_panes",
            "anzeige_nr": ID,
            "beschr": D,
            "fotos": P3,
            "merkm": S,
            "online_seit": "3. November 2026",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "en jsonl",
    json.dumps(
        {
            "page": U,
            "name": T,
            "ask": "EUR 45.50",
            "post": "EUR 4.90",
            "who": "old_panes",
            "ref": ID,
            "blurb": D,
            "pics": P3,
            "bits": S,
            "put_up": "3 Nov 2026",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "crawl",
    json.dumps(
        {
            "request": {"url": U, "ts": "2026-11-20T10:00:00Z"},
            "item": {
                "title": T,
                "description": D,
                "price": "45.50",
                "currency": "EUR",
                "shipping": "4.90",
                "seller": "old_panes",
                "id": ID,
                "date": "2026-11-03",
                "photos": P3,
                "specs": S,
            },
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "crawl2",
    json.dumps(
        {
            "url": U,
            "fetched_at": "2026-11-20T10:00:00Z",
            "status": 200,
            "data": {
                "title": T,
                "description": D,
                "price": "45.50",
                "currency": "EUR",
                "shipping": "4.90",
                "seller": "old_panes",
                "id": ID,
                "date": "2026-11-03",
                "photos": P3,
                "specs": S,
            },
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "crawl3",
    json.dumps(
        {
            "url": U,
            "http_status": 200,
            "parsed": {
                "title": T,
                "description": D,
                "price": {"value": 45.5, "currency": "EUR"},
                "shipping": {"value": 4.9, "currency": "EUR"},
                "seller": {"name": "old_panes"},
                "listing_id": ID,
                "listed": "2026-11-03",
                "attributes": S,
            },
            "files": P3,
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "flatdots",
    json.dumps(
        {
            "listing.url": U,
            "listing.title": T,
            "listing.description": D,
            "listing.price.amount": "45.50",
            "listing.price.currency": "EUR",
            "listing.shipping.amount": "4.90",
            "listing.seller.name": "old_panes",
            "listing.id": ID,
            "listing.listed": "2026-11-03",
            "listing.photos": P3,
            "listing.specs.Brand": "Vennerby",
            "listing.specs.Bridge": "21 mm",
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "cents jsonl",
    json.dumps(
        {
            "u": U,
            "url": U,
            "title": T,
            "body": D,
            "price_minor": 4550,
            "ccy": "EUR",
            "ship_minor": 490,
            "seller": "old_panes",
            "ad": ID,
            "created": 1793700000,
            "img": P3,
            "attrs": S,
        }
    ),
    "jsonl",
    **OTHER,
)
case(
    "state sold",
    {
        "items": [
            {
                "id": ID,
                "title": T,
                "description": D,
                "price": "45.50",
                "currency": "EUR",
                "shipping": "4.90",
                "url": U,
                "seller": "old_panes",
                "listed": "2026-11-03",
                "photos": P3,
                "specs": S,
                "state": {"sold": True, "sold_at": "2026-11-10"},
            }
        ]
    },
    price_kind="sold",
    ended=True,
    **OTHER,
)


@pytest.mark.parametrize("name", CASES)
def test_one_piece_in_any_service_s_answer(name: str) -> None:
    value, ext, other = CASES[name]
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    source = Source(Path("/x"), f"a.{ext}", content=text.encode())
    (listing,) = sum(exports.read_json(source), ReadResult()).listings
    wanted = {k: v for k, v in (TRUTH | other).items() if v is not ...}
    got = {field: getattr(listing, field) for field in wanted}
    got["specifics"] = dict(got["specifics"])
    got["date_listed"] = str(got["date_listed"])[:10]
    assert got == wanted


def test_rows_beside_the_listing_and_its_owner_are_its_own() -> None:
    shop = {
        "listing": {"listing_id": "10877", "name": "Vennerby B 44", "price_minor": 8899},
        "shop": {"shop_id": 962936, "shop_name": "rosa_frames"},
        "fields": [["Maker", "Vennerby"], ["Eye size", "45 mm"]],
    }
    owned = {
        "reference": "64094",
        "libelle": "Mirovale 46",
        "description": "Charnière à cinq charnons.",
        "adresse_web": "https://stalls.example/item/64094",
        "tarif": {"valeur": 160.0, "monnaie": "EUR"},
        "proprietaire": {"identifiant": "557784", "pseudonyme": "rosa_lunettes"},
    }
    one, other = (_only_one(document) for document in ([shop], {"annonces": [owned]}))
    assert one.specifics == (("Maker", "Vennerby"), ("Eye size", "45 mm"))
    assert (one.seller_name, one.price) == ("rosa_frames", Decimal("88.99"))
    assert (other.seller_name, other.seller_id) == ("rosa_lunettes", "557784")


def _only_one(document: object) -> Listing:
    source = Source(Path("/x"), "a.json", content=json.dumps(document).encode())
    (listing,) = sum(exports.read_json(source), ReadResult()).listings
    return listing
