"""What exports and notes call their fields: names as people write them, in five languages.

The rules were written with a third of these names in view, the rest came after (and of those the
ones that no rule can tell became rows of data/field_names.csv).
"""

from __future__ import annotations

import pytest

from triage.readers.field_names import field_of

NAMES = {
    "title": """
        Item title; Name; Product title; Ad title; Headline; Item name; Artikelname;
        Artikeltitel; Angebotstitel; Überschrift; Anzeigentitel; Titre de l'annonce;
        Désignation; Intitulé; Libellé; Titolo annuncio; Nome oggetto; Oggetto;
        Titolo dell'annuncio; Título del anuncio; Nombre del artículo; Artículo; Objet;
        Titel der Anzeige
    """,
    "description": """
        Text; Item text; Full description; Long description; Body text; Listing text;
        Seller's description; Artikeltext; Beschreibung des Artikels; Anzeigentext;
        Texte de l'annonce; Descriptif; Description de l'objet; Descrizione oggetto;
        Descrizione dell'oggetto; Testo dell'annuncio; Descripción del artículo;
        Texto del anuncio
    """,
    "price": """
        Asking; Price (EUR); Price EUR; Price_EUR; price_gbp; Price incl. VAT; Current price;
        Preis (EUR); Preis in EUR; Preis in €; Prix (EUR); Prix en €; Prix TTC; Prezzo (EUR);
        Prezzo in euro; Precio (EUR); Precio en euros; Amount; Verkaufspreis; Price (USD)
    """,
    "bid": """
        Start price; Startpreis; Höchstgebot; Mise à prix; Enchère; Base d'asta; Offerta;
        Precio de salida; Puja; Starting bid; Current bid (EUR); Aktuelles Gebot
    """,
    "sold": """
        Final bid; Winning bid; Endpreis; Prix final; Prezzo finale; Precio final; Sold price;
        Sold for
    """,
    "buy_now": """
        BIN price; Buy it now price; Sofortkaufpreis; Buy-now; buyNowPrice; buy_it_now
    """,
    "shipping": """
        Postage cost; Shipping fee; Delivery fee; Shipping (EUR); Versandkosten (EUR);
        Versandpreis; Frais d'envoi; Port; Spese di spedizione; Gastos de envío;
        Coste del envío; Postage; shippingCost; Shipping cost (EUR); Porto
    """,
    "seller_name": """
        Merchant; Sold by; Vendor name; Store; Store name; Shop; Anbietername; Verkäufername;
        Nome del venditore; Nombre de vendedor; Seller; sellerName; Verkäufer; Nom du vendeur
    """,
    "seller_id": """
        Seller ID; sellerId; Verkäufer-Nr; Verkäufer-ID; Id vendeur; ID venditore;
        ID del vendedor; seller no; seller.id; Seller number
    """,
    "seller_feedback": """
        Feedback score; Seller feedback score; Seller feedback; Bewertungen; Évaluations;
        Feedback; Valoraciones
    """,
    "location": """
        City; Region; Item location; Ships from; Ort; PLZ/Ort; Standort; Ville; Localité; Lieu;
        Località; Città; Luogo oggetto; Ciudad; Localidad; Provincia; Town; Artikelort
    """,
    "date_listed": """
        Listed; Listing date; Date of listing; Published on; Created on; Start; Date added;
        Listed at; posted_at; created_at; Eingestellt; Eingestellt am; Angebotsbeginn;
        Erstellt am; Veröffentlicht am; Datum; Date d'annonce; Date de mise en ligne;
        Date d'ajout; Publié le; Data di inserimento; Data pubblicazione; Inserito il;
        Data inizio; Fecha de publicación; Fecha de alta; Publicado; Fecha de inicio; listedOn;
        Einstelldatum; dateListed
    """,
    "ends_at": """
        End date; Ends; Auction end; Closing; ended_at; Laufzeitende; Auktionsende; Endet;
        Fin de l'enchère; Date de fin; Data fine; Fine asta; Fecha fin; Fin de la subasta;
        endTime; Ends at
    """,
    "listing_id": """
        Item ID; Listing ID; Auction number; SKU; Article no.; Artikel-ID; Artikelnr.;
        Angebots-ID; Inserat-Nr.; Anzeigen-Nr; N° annonce; N° d'annonce; Numero annuncio;
        N. oggetto; ID oggetto; Codice; Número de anuncio; N.º de anuncio; Nº artículo;
        ID del artículo; listingId; itemNumber; Artikelnummer
    """,
    "url": """
        Link; Item URL; Web link; Source URL; URL; Internetadresse; Lien; Adresse (URL);
        Indirizzo; Enlace; Dirección; Web page; itemUrl; Weblink; Page URL; listing_url
    """,
    "photos": """
        Images; Image names; Photo 1; picture files; photo_paths; image_paths; photo list;
        Photo(s); Bilder; Bilddateien; Fotodateien; Foto 1; Fichiers photos; Noms des photos;
        File foto; Immagini; Nomi foto; Archivos de foto; Imágenes; Fotos; photoFiles;
        imageFiles; Bild 1; image1; Photo names; Nombres de fotos; Bildnamen
    """,
    "date_saved": """
        Saved at; saved_at; Retrieved; scraped at; captured; retrieved_at; accessed;
        Gespeichert am; Abgerufen am; Enregistré le; Sauvegardé le; Salvato il; Guardado el;
        saved on; Date saved
    """,
    "ended": """
        Status; Is sold; Ended; Beendet; Statut; Terminée; Finalizado; availability; Available
    """,
    "quantity": """
        Qty; Quantity; Stück; Menge; Quantité; Quantità; Cantidad; Anzahl; Stückzahl
    """,
    "returns": """
        Returns; Rücknahme; Rückgabe; Retours acceptés; Reso; Restituzioni; Devoluciones;
        Return policy; Returns accepted
    """,
    "currency": """
        Currency; currency_code; Währung; Devise; Valuta; Moneda; Divisa; priceCurrency
    """,
    "price_kind": """
        Price type; Price kind; priceKind; Listing type; Sale format; Format; Verkaufsformat;
        Angebotsformat; Preisart; Type de vente; Tipo di vendita; Tipo de venta;
        Selling format
    """,
    "offers_accepted": """
        Best offer; Offers; offersAccepted; Accepts offers; Preisvorschlag; VB; Verhandelbar;
        Négociable; Trattabile; Negociable
    """,
    "specifics": """
        Item specifics; Specifics; Attributes; Merkmale; Artikelmerkmale; Caractéristiques;
        Caratteristiche; Características; item_specifics
    """,
}
OTHERS = """
    Bridge; Lens width; Temple length; Brand; Model; Colour; Condition; Zustand; Marke;
    Material; Era; Size; Größe; Case included; Country of manufacture; Made in; Style; Gender;
    Lens colour; Hinges; Markings; Number of hinges; Code on temple; Temple code;
    Frame number; Model number; Year; Decade; Serial number; Reference number; Original price;
    Date of manufacture; Modèle; Taglia; Pont; Ponte; Puente; Numero di modello; Modellnummer;
    EAN; MPN; Type; Department; Features; Shape; Length; Farbe; Place of origin; Product type;
    Farbcode; Number; No; Code; Ref; Stegbreite; Bügellänge; Weight
"""


def split(names: str) -> list[str]:
    return [" ".join(name.split()) for name in names.split(";")]


@pytest.mark.parametrize(
    ("name", "field"), [(name, field) for field, names in NAMES.items() for name in split(names)]
)
def test_names_of_fields(name: str, field: str) -> None:
    assert field_of(name) == field


@pytest.mark.parametrize("name", split(OTHERS))
def test_names_of_specifics_are_no_fields(name: str) -> None:
    assert field_of(name) is None
