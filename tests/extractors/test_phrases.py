"""Key phrases of the seven classes in five languages; negated ones are none."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.phrases import find_key_phrases
from extractors.reading import prepare

# (text, class or "none")
CASES = [
    ("First to pay takes it.", "urgency"),
    ("I've had three people asking already.", "urgency"),
    ("Buy before Sunday or pay the new price.", "urgency"),
    ("If not sold by Friday I'll take it down.", "urgency"),
    ("Once it's gone, it's gone.", "urgency"),
    ("Once it's gone to you I forget about it.", "none"),
    ("Wer zuerst bezahlt, bekommt sie.", "urgency"),
    ("Si no se venden hoy las retiro.", "urgency"),
    ("Se non si vende entro domenica lo ritiro.", "urgency"),
    ("J'ai déjà plusieurs personnes intéressées.", "urgency"),
    ("Mando un par igual al de la foto.", "stock_text"),
    ("The picture is of an identical pair.", "stock_text"),
    ("Das Foto zeigt ein baugleiches Stück.", "stock_text"),
    ("Je prendrai volontiers une photo du fermoir.", "more_photos_offered"),
    ("Fotografo volentieri la cerniera.", "more_photos_offered"),
    ("Fotografiere gern, was Sie sehen wollen.", "more_photos_offered"),
    ("We do not accept that you send it back.", "returns_refused"),
    ("La merce venduta non si cambia.", "returns_refused"),
    ("La mercancía no se devuelve.", "returns_refused"),
    ("Je n'accepte ni chèque ni carte.", "none"),
    ("On peut me téléphoner le soir.", "off_platform_contact"),
    ("Rispondo al telefono dopo le otto.", "off_platform_contact"),
    ("Transfer to my account please, no cards.", "off_platform_payment"),
    ("dm on @specsbarn", "off_platform_contact"),
    ("PM for more pics.", "more_photos_offered"),
    ("More photos? Just ask.", "more_photos_offered"),
    ("nothing written on them anywhere sold as seen", "returns_refused"),
    ("Überweisung biete ich nicht an.", "none"),
    ("Bank transfer I do not accept.", "none"),
    ("Bank transfer only no cards.", "off_platform_payment"),
    ("Le bon de caisse d'origine part avec.", "provenance_offered"),
    ("j'en ai encore 2 après c'est fini", "urgency"),
    ("Nur ein kleiner Kratzer.", "none"),
    ("Returns? No.", "returns_refused"),
    ("No returns.", "returns_refused"),
    ("Sorry, no returns or refunds.", "returns_refused"),
    ("I do not accept returns on vintage items.", "returns_refused"),
    ("All sales are final.", "returns_refused"),
    ("Sold as seen.", "returns_refused"),
    ("Sold as is, no returns", "returns_refused"),
    ("Returns will not be accepted.", "returns_refused"),
    ("We can't offer refunds.", "returns_refused"),
    ("Please note that I won't take it back.", "returns_refused"),
    ("No refunds once posted.", "returns_refused"),
    ("NO RETURNS NO REFUNDS", "returns_refused"),
    ("Keine Rücknahme.", "returns_refused"),
    ("Privatverkauf, keine Garantie, keine Rücknahme, kein Umtausch.", "returns_refused"),
    ("Rückgabe ausgeschlossen.", "returns_refused"),
    ("Gekauft wie gesehen.", "returns_refused"),
    ("Ein Umtausch ist leider nicht möglich.", "returns_refused"),
    ("Wir nehmen nichts zurück.", "returns_refused"),
    ("Pas de retour possible.", "returns_refused"),
    ("Ni repris ni échangé.", "returns_refused"),
    ("Vendu en l'état, sans retour.", "returns_refused"),
    ("Aucun remboursement ne sera accepté.", "returns_refused"),
    ("Vente ferme et définitive.", "returns_refused"),
    ("Non si accettano resi.", "returns_refused"),
    ("Visto e piaciuto.", "returns_refused"),
    ("Nessun rimborso.", "returns_refused"),
    ("Vendita definitiva, niente resi.", "returns_refused"),
    ("No se aceptan devoluciones.", "returns_refused"),
    ("Sin devolución.", "returns_refused"),
    ("Venta final.", "returns_refused"),
    ("Se vende tal cual, sin cambios.", "returns_refused"),
    ("Returns accepted within 14 days.", "none"),
    ("You may return it for any reason.", "none"),
    ("30 day returns.", "none"),
    ("Rückgabe innerhalb 14 Tagen möglich.", "none"),
    ("Retours acceptés.", "none"),
    ("Resi accettati.", "none"),
    ("Se aceptan devoluciones.", "none"),
    ("No problem with returns.", "none"),
    ("Friends and family payment only.", "off_platform_payment"),
    ("Please pay as friends & family.", "off_platform_payment"),
    ("Bank transfer preferred.", "off_platform_payment"),
    ("Wire transfer only please.", "off_platform_payment"),
    ("I take crypto too.", "off_platform_payment"),
    ("Pay with gift cards.", "off_platform_payment"),
    ("Cash or transfer only.", "off_platform_payment"),
    ("Pay me directly and save the fees.", "off_platform_payment"),
    ("Send the money as a gift.", "off_platform_payment"),
    ("Zahlung nur per Überweisung.", "off_platform_payment"),
    ("Bitte als Freunde und Familie zahlen.", "off_platform_payment"),
    ("Geld bitte an Freunde senden.", "off_platform_payment"),
    ("Paiement par virement.", "off_platform_payment"),
    ("Paiement entre proches.", "off_platform_payment"),
    ("Pagamento solo bonifico.", "off_platform_payment"),
    ("Pagamento tra amici.", "off_platform_payment"),
    ("Pago por transferencia bancaria.", "off_platform_payment"),
    ("Pago como amigos y familiares.", "off_platform_payment"),
    ("I do not accept friends and family.", "none"),
    ("No bank transfers.", "none"),
    ("Bank transfer is not possible.", "none"),
    ("Keine Überweisung.", "none"),
    ("Pas de virement.", "none"),
    ("Niente bonifico.", "none"),
    ("No acepto transferencia.", "none"),
    ("A lovely gift for a friend.", "none"),
    ("Makes a great gift.", "none"),
    ("Call me on 0161 496 0011.", "off_platform_contact"),
    ("Text 07700 900123 for details.", "off_platform_contact"),
    ("Email me at framefan@example.org", "off_platform_contact"),
    ("Message me on the chat app.", "off_platform_contact"),
    ("Find me on social media as framefan.", "off_platform_contact"),
    ("DM me for a deal on my page.", "off_platform_contact"),
    ("Ruf mich an: 030 5550 1234.", "off_platform_contact"),
    ("Schreib mir per Mail.", "off_platform_contact"),
    ("Einfach anrufen.", "off_platform_contact"),
    ("Appelez-moi au 01 99 00 11 22.", "off_platform_contact"),
    ("Contactez-moi par mail.", "off_platform_contact"),
    ("Chiamami al 02 5550 1234.", "off_platform_contact"),
    ("Scrivetemi via email.", "off_platform_contact"),
    ("Llámame al 600 100 200.", "off_platform_contact"),
    ("Escríbeme por correo.", "off_platform_contact"),
    ("Please message me through the site.", "none"),
    ("Contact me if you have questions.", "none"),
    ("Ask any questions.", "none"),
    ("No phone calls please.", "none"),
    ("Serial number 4455 1122.", "none"),
    ("Only two left!", "urgency"),
    ("Hurry, ends tonight.", "urgency"),
    ("Don't miss this one.", "urgency"),
    ("Last chance.", "urgency"),
    ("Grab them before they're gone.", "urgency"),
    ("First come first served.", "urgency"),
    ("Must sell this week.", "urgency"),
    ("Nur noch heute!", "urgency"),
    ("Schnell zugreifen.", "urgency"),
    ("Letzte Chance.", "urgency"),
    ("Nur noch 2 Stück.", "urgency"),
    ("Dernière chance.", "urgency"),
    ("Plus que deux en stock.", "urgency"),
    ("Dépêchez-vous.", "urgency"),
    ("Ultimo pezzo!", "urgency"),
    ("Affrettatevi.", "urgency"),
    ("Solo per oggi.", "urgency"),
    ("Última oportunidad.", "urgency"),
    ("¡Date prisa!", "urgency"),
    ("Quedan dos.", "urgency"),
    ("No rush.", "none"),
    ("No hurry to pay.", "none"),
    ("Take your time.", "none"),
    ("Left temple straight.", "none"),
    ("Two lenses included.", "none"),
    ("Stock photo.", "stock_text"),
    ("Generic picture used.", "stock_text"),
    ("Item may differ from picture.", "stock_text"),
    ("You may receive a similar one.", "stock_text"),
    ("Photo for illustration purposes.", "stock_text"),
    ("Symbolbild.", "stock_text"),
    ("Abbildung ähnlich.", "stock_text"),
    ("Photo non contractuelle.", "stock_text"),
    ("Image d'illustration.", "stock_text"),
    ("Foto indicativa.", "stock_text"),
    ("Immagine a scopo illustrativo.", "stock_text"),
    ("Foto orientativa.", "stock_text"),
    ("Imagen de archivo.", "stock_text"),
    ("El artículo puede variar.", "stock_text"),
    ("Photos are of the actual item.", "none"),
    ("Colours may look darker on screen.", "none"),
    ("See photos.", "none"),
    ("No stock photos used.", "none"),
    ("Original receipt included.", "provenance_offered"),
    ("Comes with the bill of sale.", "provenance_offered"),
    ("I have the original invoice.", "provenance_offered"),
    ("Warranty card included.", "provenance_offered"),
    ("A letter from the family comes with it.", "provenance_offered"),
    ("Originalrechnung liegt bei.", "provenance_offered"),
    ("Mit Kaufbeleg von 1968.", "provenance_offered"),
    ("Avec la facture d'origine.", "provenance_offered"),
    ("Facture fournie.", "provenance_offered"),
    ("Con scontrino originale.", "provenance_offered"),
    ("Fattura inclusa.", "provenance_offered"),
    ("Con factura original.", "provenance_offered"),
    ("Se entrega con el recibo.", "provenance_offered"),
    ("No receipt.", "none"),
    ("Sorry, no receipt or papers.", "none"),
    ("Receipt lost.", "none"),
    ("Keine Rechnung.", "none"),
    ("Pas de facture.", "none"),
    ("Senza scontrino.", "none"),
    ("Sin factura.", "none"),
    ("I will send an invoice after the sale.", "none"),
    ("More photos on request.", "more_photos_offered"),
    ("Happy to send more pictures.", "more_photos_offered"),
    ("Ask for extra photos.", "more_photos_offered"),
    ("Can take more pics if needed.", "more_photos_offered"),
    ("Weitere Fotos auf Anfrage.", "more_photos_offered"),
    ("Gerne schicke ich mehr Bilder.", "more_photos_offered"),
    ("Plus de photos sur demande.", "more_photos_offered"),
    ("Je peux envoyer d'autres photos.", "more_photos_offered"),
    ("Altre foto su richiesta.", "more_photos_offered"),
    ("Posso inviare altre foto.", "more_photos_offered"),
    ("Más fotos si las pide.", "more_photos_offered"),
    ("Puedo enviar más fotos.", "more_photos_offered"),
    ("No more photos available.", "none"),
    ("See all photos.", "none"),
    ("More photos below.", "none"),
    ("Is nice. Not accept return.", "returns_refused"),
    ("no se devuelve", "returns_refused"),
    ("KEINE FÄLSCHUNG / NUR NOCH HEUTE ZU DEM PREIS", "urgency"),
    ("verkauft ist verkauft", "returns_refused"),
    ("More pics no problem", "more_photos_offered"),
    ("Won't be about for long", "urgency"),
    ("Offers end tonight", "urgency"),
    ("Text if interested", "off_platform_contact"),
    ("Comes with a note from my mother who wore them", "provenance_offered"),
    ("Photo off the web", "stock_text"),
    ("Scontrino dell'ottico incluso", "provenance_offered"),
    ("guasap 600 00 12 34", "off_platform_contact"),
    ("NUR NOCH HEUTE ZU DEM PREIS", "urgency"),
    ("Solo oggi a questo prezzo", "urgency"),
]


@pytest.mark.parametrize(("text", "name"), CASES)
def test_class_of_a_phrase(text: str, name: str) -> None:
    found = [phrase.phrase_class for phrase in find_key_phrases(prepare(text))]
    assert found == ([] if name == "none" else [name])


def test_mail_addresses_and_numbers_are_contact_off_the_platform() -> None:
    found = find_key_phrases(prepare("ask at frames@example.org or 0161 496 0011"))
    assert {phrase.phrase_class for phrase in found} == {"off_platform_contact"}


def test_a_swapped_letter_does_not_hide_a_phrase() -> None:
    (phrase,) = find_key_phrases(prepare("Retunrs not acecpted."))
    assert phrase.phrase_class == "returns_refused"


@pytest.mark.parametrize(
    ("text", "classes"),
    [
        ("Returns no problem.", []),
        ("Refunds no trouble within 14 days", []),
        ("No returns, no problem if you ask first", ["returns_refused"]),
        ("Zurücknehmen möchte ich sie nicht", ["returns_refused"]),
        ("Yo no tomo la mercancía de vuelta", ["returns_refused"]),
        ("Erreichbar über SMS unter altglas_7", ["off_platform_contact"]),
        ("Handynummer gebe ich auf Anfrage raus", ["off_platform_contact"]),
        ("Joignable par SMS", ["off_platform_contact"]),
        ("A signal coat button", []),
    ],
)
def test_returns_that_are_no_trouble_and_contact_by_messenger(
    text: str, classes: list[str]
) -> None:
    found = find_key_phrases(prepare(f"Frame\n{text}"))
    assert [phrase.phrase_class for phrase in found] == classes


@pytest.mark.parametrize(
    "text",
    [
        "Je réponds vite et j'emballe bien.",
        "Il y en a eu plus de cent, je photographie tout.",
        "Voyez aussi mes autres annonces.",
        "Aujourd'hui je déménage dans plus petit.",
        "La vedevano fin dall'ultima fila, prima che fosse pulita.",
        "Non sono più disponibili altri colori.",
        "Me oían desde la última fila.",
        "Se envía en caja de cartón con un paño.",
        "Envío por correo certificado los lunes.",
        "Son de color claro y suelen llamar la atención.",
        "Wer zwei Sachen nimmt, zahlt nur einmal Porto.",
    ],
)
def test_a_common_word_alone_is_no_phrase(text: str) -> None:
    assert not find_key_phrases(prepare(f"Frame\n{text}"))


ROWS = [
    line.split("|")
    for line in (Path(__file__).parent / "cases" / "phrases.txt").read_text("utf-8").splitlines()
    if not line.startswith("#")
]
LEAST = 0.94  # share of all sentences; measured when written 0.97


def test_most_ways_to_say_a_phrase_are_heard() -> None:
    right = sum(
        {found.phrase_class for found in find_key_phrases(prepare(f"Kestvane frame\n{text}"))}
        == set(expected.split())
        for _, _, text, expected in ROWS
    )
    assert right >= LEAST * len(ROWS)


def test_most_phrases_that_nothing_was_written_for_are_heard() -> None:
    lines = (Path(__file__).parent / "cases" / "phrases_unseen.txt").read_text("utf-8").splitlines()
    told = wrong = missed = 0
    for _, text, expected in (line.split("|") for line in lines[1:]):
        found = {one.phrase_class for one in find_key_phrases(prepare(f"Kestvane frame\n{text}"))}
        told += len(found & {expected})
        wrong += len(found - {expected})
        missed += len({expected} - found - {""})
    assert told >= 0.8 * (told + missed)  # .84 when written; by the list alone .70
    assert told >= 0.95 * (told + wrong)  # 1.0 when written


@pytest.mark.parametrize(
    ("text", "classes"),
    [
        ("Q: would you take a bank transfer? A: no, only through here", []),
        ("Vite, je pars en vacances samedi.", ["urgency"]),
        ("Message me on the chat app for a quick yes/no.", ["off_platform_contact"]),
        ("Contactez-moi par la messagerie du site.", []),
        ("Payment through the site only, no transfers.", []),
        ("Hablemos por mensajería, aquí no.", ["off_platform_contact"]),
        ("In the hurry of a big town it was lost.", []),
        ("Hurry, it is the last I have.", ["urgency"]),
        ("My friends and family love these frames.", []),
        ("Friends and family please.", ["off_platform_payment"]),
        ("Nur wenige Tage getragen.", []),
        ("Nur noch wenige Tage.", ["urgency"]),
        ("One left arm is longer than the right.", []),
        ("One left in stock.", ["urgency"]),
        ("More pics no problem just ask.", ["more_photos_offered"]),
        ("Returns: none. Refunds no problem if damaged in the post.", ["returns_refused"]),
    ],
)
def test_what_a_phrase_speaks_of_is_told(text: str, classes: list[str]) -> None:
    found = find_key_phrases(prepare(f"Frame\n{text}"))
    assert [phrase.phrase_class for phrase in found] == classes
