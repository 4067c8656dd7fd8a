"""Invented listings with their photos, and the words of five languages to write them with."""

from __future__ import annotations

import io
import random
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from PIL import Image, ImageDraw

LANGUAGES = ("en", "de", "fr", "it", "es")
MAKERS = ("Vennerby", "Gantreux", "Ostelino", "Mirovale", "Tavoy", "Quillon", "Bressard", "Halvorn")
MODELS = ("Harrow", "Lantern", "Regatta", "Merrin", "Solano", "Kestrel", "Dorsey", "Pallas")

NOUNS = {
    "en": ["spectacle frame", "sunglasses", "eyeglasses"],
    "de": ["Brillenfassung", "Sonnenbrille", "Brillengestell"],
    "fr": ["monture de lunettes", "lunettes de soleil", "monture"],
    "it": ["montatura per occhiali", "occhiali da sole", "montatura"],
    "es": ["montura de gafas", "gafas de sol", "montura"],
}
SENTENCES = {
    "en": [
        "Lens width {a} mm, bridge {b} mm, temples {c} mm.",
        "Stamped {m} inside the left temple.",
        "Seven-barrel hinges, all screws tight.",
        "Light scratches on the lenses, no cracks.",
        "Comes from my uncle's estate; sold as seen.",
        "Please look at the photos & ask before buying.",
        "Postage at cost, I'm happy to combine.",
    ],
    "de": [
        "Glasbreite {a} mm, Steg {b} mm, Bügel {c} mm.",
        "Gestempelt {m} auf der Innenseite des linken Bügels.",
        "Siebengliedrige Scharniere, alle Schrauben fest.",
        "Leichte Kratzer auf den Gläsern, keine Risse.",
        "Aus einem Nachlass; Privatverkauf, keine Rücknahme.",
        "Bitte Fotos ansehen & vor dem Kauf fragen.",
        "Größe fällt normal aus, für schmale Gesichter.",
    ],
    "fr": [
        "Largeur du verre {a} mm, pont {b} mm, branches {c} mm.",
        "Gravé {m} à l'intérieur de la branche gauche.",
        "Charnières à sept charnons, vis bien serrées.",
        "Légères rayures sur les verres, aucune fissure.",
        "Provient d'une succession ; vendu en l'état.",
        "Merci de regarder les photos & de poser vos questions.",
        "État d'usage très correct pour l'âge.",
    ],
    "it": [
        "Larghezza lente {a} mm, ponte {b} mm, aste {c} mm.",
        "Inciso {m} all'interno dell'asta sinistra.",
        "Cerniere a sette elementi, viti ben strette.",
        "Lievi graffi sulle lenti, nessuna crepa.",
        "Proviene da un'eredità; venduto come visto.",
        "Guardate le foto & chiedete prima di comprare.",
        "Condizioni buone per l'età, qualità d'epoca.",
    ],
    "es": [
        "Ancho de lente {a} mm, puente {b} mm, patillas {c} mm.",
        "Grabado {m} en el interior de la patilla izquierda.",
        "Bisagras de siete piezas, tornillos firmes.",
        "Ligeros arañazos en las lentes, sin grietas.",
        "Procede de una herencia; se vende como está.",
        "Mire las fotos & pregunte antes de comprar.",
        "Tamaño pequeño, año desconocido, muy bonito.",
    ],
}
SPECIFICS = {
    "en": [("Brand", None), ("Colour", "Brown"), ("Material", "Acetate"), ("Lens width", "{a} mm"), ("Bridge", "{b} mm"), ("Condition", "Used"), ("Country of origin", "Austria")],
    "de": [("Marke", None), ("Farbe", "Braun"), ("Material", "Acetat"), ("Glasbreite", "{a} mm"), ("Steg", "{b} mm"), ("Zustand", "Gebraucht"), ("Herstellungsland", "Österreich")],
    "fr": [("Marque", None), ("Couleur", "Écaille"), ("Matière", "Acétate"), ("Largeur du verre", "{a} mm"), ("Pont", "{b} mm"), ("État", "Occasion"), ("Pays d'origine", "Autriche")],
    "it": [("Marca", None), ("Colore", "Marrone"), ("Materiale", "Acetato"), ("Larghezza lente", "{a} mm"), ("Ponte", "{b} mm"), ("Condizione", "Usato"), ("Paese di produzione", "Austria")],
    "es": [("Marca", None), ("Color", "Marrón"), ("Material", "Acetato"), ("Ancho de lente", "{a} mm"), ("Puente", "{b} mm"), ("Estado", "Usado"), ("País de origen", "Austria")],
}  # fmt: skip
MONTHS = {
    "en": ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"],
    "de": ["Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober", "November", "Dezember"],
    "fr": ["janvier", "février", "mars", "avril", "mai", "juin", "juillet", "août", "septembre", "octobre", "novembre", "décembre"],
    "it": ["gennaio", "febbraio", "marzo", "aprile", "maggio", "giugno", "luglio", "agosto", "settembre", "ottobre", "novembre", "dicembre"],
    "es": ["enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"],
}  # fmt: skip
CURRENCIES = {
    "en": ["GBP", "USD", "EUR"],
    "de": ["EUR", "CHF"],
    "fr": ["EUR", "CHF"],
    "it": ["EUR"],
    "es": ["EUR"],
}
SIGNS = {"GBP": "£", "USD": "$", "EUR": "€", "CHF": "CHF"}
HANDLES = (
    "oldframes_22",
    "brillen-keller",
    "lunetier77",
    "vetrina.antica",
    "gafas_viejas",
    "attic_optics",
    "nordlicht-optik",
    "marche_gris",
    "optical.loft",
    "frames4you",
)
NAMES = (
    "Attic Optics",
    "Brillenkeller Jona",
    "Lunetier du Port",
    "Vetrina Antica",
    "Gafas de Ayer",
    "Marta K.",
    "Nordlicht Optik",
    "The Frame Loft",
    "Paul & Söhne",
    "Optique d'Avant",
)
PLACES = ("Lower Wick, Kent", "4020 Linz", "Lyon", "Trieste", "Cádiz", "Basel", "Leeds")


@dataclass(frozen=True)
class Goods:
    """One invented listing; what a template shows of it is up to the template."""

    language: str
    title: str
    lines: tuple[str, ...]
    specifics: tuple[tuple[str, str], ...]
    price: Decimal
    currency: str
    kind: str
    buy_now: Decimal | None
    shipping: Decimal
    ended: bool
    bids: int
    seller_id: str
    seller_name: str
    listing_id: str
    host: str
    slug: str
    listed: date
    ends: datetime
    place: str
    photos: tuple[bytes, ...] = field(repr=False)

    @property
    def url(self) -> str:
        return f"https://{self.host}/item/{self.slug}/{self.listing_id}"


def make_goods(rng: random.Random, language: str, photos: bool = True) -> Goods:
    a, b, c = rng.randint(42, 58), rng.randint(14, 24), rng.choice([135, 140, 145])
    maker, model = rng.choice(MAKERS), rng.choice(MODELS)
    noun = rng.choice(NOUNS[language])
    title = f"{maker} {model} {noun} {a}-{b} {rng.choice(['NOS', '1950s', 'ca. 1962', 'vintage', 'No. 7'])}"
    words = {"a": a, "b": b, "c": c, "m": maker.upper()}
    lines = [s.format(**words) for s in rng.sample(SENTENCES[language], rng.randint(3, 6))]
    rows = rng.sample(SPECIFICS[language], rng.randint(3, 6))
    specifics = tuple((k, (v or maker).format(**words)) for k, v in rows)
    price = Decimal(
        rng.choice([rng.randint(8, 95), rng.randint(100, 990), rng.randint(1000, 2400)])
    )
    price += Decimal(rng.choice(["0.00", "0.50", "0.95", "0.00"]))
    kind = rng.choice(["fixed", "fixed", "fixed", "bid", "bid", "sold"])
    number = rng.randrange(len(HANDLES))
    listed = date(2026, rng.randint(1, 10), rng.randint(1, 28))
    count = rng.randint(2, 6)
    return Goods(
        language, title, tuple(lines), specifics, price, rng.choice(CURRENCIES[language]), kind,
        price + 60 if kind == "bid" and rng.random() < 0.5 else None,
        Decimal(rng.choice(["0", "4.90", "6.50", "12.00"])), kind == "sold" or rng.random() < 0.15,
        rng.randint(1, 14), HANDLES[number], NAMES[number], str(rng.randint(10**8, 10**10)),
        rng.choice(["www.stallrow.example", "budenzeile.example", "marche.quai.example", "it.bancarella.example"]),
        "-".join(title.lower().replace(".", "").split()[:4]), listed,
        datetime(listed.year, listed.month, listed.day, 18, 30) + timedelta(days=10), rng.choice(PLACES),
        tuple(make_photo(rng) for _ in range(count)) if photos else (),
    )  # fmt: skip


def make_photo(rng: random.Random, size: tuple[int, int] = (640, 480)) -> bytes:
    """A picture unlike any other: grounds, ovals and lines in random places."""
    image = Image.new("RGB", size, tuple(rng.randint(60, 240) for _ in range(3)))
    draw = ImageDraw.Draw(image)
    for _ in range(14):
        x, y = rng.randrange(size[0]), rng.randrange(size[1])
        box = (x, y, x + rng.randint(20, 300), y + rng.randint(20, 260))
        draw.ellipse(box, fill=tuple(rng.randint(0, 255) for _ in range(3)))
        draw.line((x, y, rng.randrange(size[0]), rng.randrange(size[1])), fill=0, width=5)
    return encode(image)


def encode(image: Image.Image, form: str = "JPEG") -> bytes:
    out = io.BytesIO()
    image.save(out, form, quality=82)
    return out.getvalue()


def thumbnail(photo: bytes, side: int) -> bytes:
    image = Image.open(io.BytesIO(photo))
    image.thumbnail((side, side))
    return encode(image)


def money(amount: Decimal, currency: str, language: str, style: int = 0) -> str:
    """Write an amount as sites of a language do."""
    whole, cents = f"{amount:.2f}".split(".")
    grouped = f"{int(whole):,}"
    if language == "en":
        sign = {"USD": ["$", "US $"][style % 2]}.get(currency, SIGNS[currency])
        return f"{sign}{grouped}.{cents}"
    if currency == "CHF":
        return f"CHF {grouped.replace(',', '’')}.{cents}" if style % 2 else f"{whole}.{cents} CHF"
    mark = {"de": ".", "fr": "\u202f", "it": ".", "es": "."}[language]
    text = f"{grouped.replace(',', mark)},{cents}"
    return f"EUR {text}" if style % 3 == 1 else f"{text} €"


def day(when: date, language: str, style: int = 0) -> str:
    month = MONTHS[language][when.month - 1]
    if language == "en":
        return [f"{when.day} {month} {when.year}", f"{month[:3]} {when.day}, {when.year}"][
            style % 2
        ]
    if style % 2:
        mark = "." if language == "de" else "/"
        return f"{when.day:02}{mark}{when.month:02}{mark}{when.year}"
    return {
        "de": f"{when.day}. {month} {when.year}",
        "fr": f"{when.day} {month} {when.year}",
        "it": f"{when.day} {month} {when.year}",
        "es": f"{when.day} de {month} de {when.year}",
    }[language]
