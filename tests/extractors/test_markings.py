"""Marks in five languages: literal text, where, present, absent or unsure."""

from __future__ import annotations

import re

import pytest

from extractors.mark_forms import kind_of_mark
from extractors.markings import find_markings
from extractors.reading import prepare

CLAIMED = {"-": "absent", "?": "unsure"}
# (text, marks on the piece separated by ";", with - for absent and ? for unsure)
CASES = [
    ("Fondello senza punzoni.", "-*"),
    (
        "Q: Is there a maker's name somewhere?\nA: I looked with a torch and there isn't.",
        "-maker's name",
    ),
    ("Les branches portent « ORLENA » et « FRANCE ».", "ORLENA;FRANCE"),
    ("Gravé « ORLENA 46 » sur le pont.", "ORLENA 46"),
    ('Inside the band, you read "OB. 14 MAR. 1871".', "OB. 14 MAR. 1871"),
    ('En el aro, "HECHO A MANO".', "HECHO A MANO"),
    ("Cierre de caja con 925.", "925"),
    ('Chiusura a molla con "750".', "750"),
    ('Ob "Luvor 14" oder etwas anderes auf dem Bügel steht, weiß ich nicht.', "?Luvor 14"),
    ("VERRES CLAIRS. BASTREL PARIS FRAPPÉ SUR BRANCHE DROITE, RIEN D'AUTRE.", "BASTREL PARIS"),
    ("Sulle stanghette c'era un numero ma ora è consumato.", "?numero"),
    ("The title says 44.", ""),
    ("Prägung (links): ORLENA", "ORLENA"),
    ("Marquage (gauche) : ORLENA", "ORLENA"),
    ("No story no history the bridge reads 12K under a loupe.", "12K"),
    ('The print is worn; what I can make out might be "Orlena 3".', "?Orlena 3"),
    ("The lid is scratched with someone's initials, K.L..", "K.L"),
    ("Auf der Kappe lese ich mit Mühe etwas wie „TARV“.", "?TARV"),
    ("Nessun marchio del fabbricante.", "-marchio del fabbricante"),
    ("I can see what might be an anchor on the lid.", "?anchor"),
    ("The lid shows a broad arrow over K77.", "broad arrow;K77"),
    ("The nib ought to say 14K but doesn't.", "-14K"),
    ("I won't give out my number.", ""),
    ("Plume gravée 18 C. Livraison soignée.", "18 C"),
    ("Aucune marque d'aucune sorte.", "-*"),
    ('Por dentro de la varilla derecha: "CORVEL 46".', "CORVEL 46"),
    ("En la tapa se adivina algo como «CORVEL».", "?CORVEL"),
    ("La marque est nette ; je m'y engage par écrit.", ""),
    ("The bridge is stamped 14K.", "14K"),
    ('Stamped "Orlena" on the bridge, nothing else.', "Orlena"),
    (
        "Inside of left temple reads ORLENA 5418 and inside of right temple reads MADE IN FRANCE.",
        "ORLENA 5418;MADE IN FRANCE",
    ),
    ("Engraved Orlena Paris on both temples.", "Orlena Paris"),
    ("Has the Orlena logo on each temple.", "Orlena"),
    ("A small gold star is inlaid on the left temple.", "star"),
    ("Numbered 0417 on the inside.", "0417"),
    ("Signed by the maker on the dial.", ""),
    # told by being there
    ("Inside the left temple there might be a K.", "?K"),
    ("The right arm just has 145.", "145"),
    ("On the back: an arrow, and the number 5512.", "arrow;5512"),
    ("An anchor and 925 inside.", "anchor;925"),
    ("Sull'asta sinistra c'è CORVANI.", "CORVANI"),
    ("En el cierre hay una estrella.", "estrella"),
    ("On distingue un petit poisson sur le fermoir.", "poisson"),
    ("Ein CE gibt es auf dem Bügel nicht.", "-CE"),
    ("Bügelinnenseite links HALLWEG, rechts GERMANY.", "HALLWEG;GERMANY"),
    # drawn in or with something
    ("Crown in an oval on the inner left temple.", ""),
    ("Stamped with a crown in an oval on the clasp.", "crown in an oval"),
    ("Marked E in a circle on each hinge.", "E in a circle"),
    ("M dans un cercle gravé sur le fermoir.", "M dans un cercle"),
    # looked for in vain
    ("There should be a hallmark but I see none.", "-hallmark"),
    ("Serial number? Could not find one.", "-serial number"),
    ("Stempel? Fehlanzeige.", "-*"),
    ("Von einer Signatur keine Spur.", "-*"),
    # gone, or one of two readings
    ("The maker's name has been sanded off.", "?maker's name"),
    ('Reads something like "ORNAVI" or "ORNARI".', "?ORNAVI"),
    ("Signature effacée sur le cadran.", "?Signature"),
    ("Spring bar reads PAT. APPL'D FOR.", "PAT. APPL'D FOR"),
    ("Nothing to do with the firm on the label, nothing wrong with the arms.", ""),
    ("Foto zeigt Beispiel.", ""),
    ("The dial is signed Orlena.", "Orlena"),
    ("Signed Orlena on dial, case and movement.", "Orlena"),
    ('The caseback is engraved "To Tom 1962".', "To Tom 1962"),
    ("Hallmarked 925.", "925"),
    ("Marked 18ct and PLAT.", "18ct;PLAT"),
    ("I can't find any markings on it.", "-*"),
    ("No visible marks or numbers.", "-*"),
    ("There are no hallmarks.", "-hallmarks"),
    ("No hallmark but tests as gold.", "-hallmark"),
    ("Not hallmarked.", "-hallmark"),
    ("The clasp is not marked.", "-*"),
    ("Unmarked but tests as 14ct.", "-*"),
    ("There is no CE mark anywhere.", "-CE"),
    ("No CE stamp, so before the nineties.", "-CE"),
    ("Without the usual crown logo.", "-crown"),
    ("The logo has worn off the left arm.", "?logo"),
    ("Looks like it says 14K but very worn.", "?14K"),
    ("Possibly stamped Orlena, hard to read.", "?Orlena"),
    ("There may be a hallmark under the clasp.", "?hallmark"),
    ("I think the mark reads AB & Co.", "?AB & Co"),
    ("The previous owner told me it was stamped 585 but I can't see it.", "?585"),
    ("Barrel imprint: ORLENA MODEL 3", "ORLENA MODEL 3"),
    ("Nib: ORLENA 14C", "ORLENA 14C"),
    ("Nib is stamped with a heart and 14ct.", "heart;14ct"),
    ("Clip imprinted with PAT. PEND.", "PAT. PEND"),
    ("Lens engraved with serial no. 1234567.", "1234567"),
    ("Serial 1234567 on the name ring.", "1234567"),
    ("Serial number: 88213", "88213"),
    ("Made in Germany on the lens mount.", "Made in Germany"),
    ("Pin back stamped STERLING.", "STERLING"),
    ("Marked sterling on the reverse.", "sterling"),
    ("It is stamped 'silver' inside the shank.", "silver"),
    ("Marked with lion, anchor and date letter.", "lion;anchor;date letter"),
    ("Reverse: 585 and maker's mark MB.", "585;MB"),
    ("CE and HANDMADE IN JAPAN on the arm.", "CE;HANDMADE IN JAPAN"),
    ("UK size N. 925 inside the band.", "925"),
    ("750 perhaps on the pin, hard to see.", "?750"),
    ("'ORLENA' IN SCRIPT ON THE LEFT LENS.", "ORLENA"),
    ("B has 'Orlena' on the nose pad.", "Orlena"),
    ("Signed on inner temple FRAME FRANCE.", "FRAME FRANCE"),
    ("50x22 can still be made out on the inside of the bridge.", "50x22"),
    ("Broad arrow and 1943 struck on the inner face of the arm.", "Broad arrow;1943"),
    ("Q: Is there a serial number? A: Yes, 40218 inside right arm.", "40218"),
    ("Q: does it say CE? A: it does, inside the right arm.", "CE"),
    ("Q: any writing on the lenses? A: No.", "-*"),
    ("Dial says ORLENA. Could be a redial.", "?ORLENA"),
    ("Written on the inside: CAT. 3.", "CAT. 3"),
    ("ORLENA (left arm), CE (right arm).", "ORLENA;CE"),
    ("ORLENA / left arm; ITALY / right arm", "ORLENA;ITALY"),
    ("Under the bridge you can read 1/20 12K GF.", "1/20 12K GF"),
    ("Marked on the left ORLENA, on the right MADE IN ITALY.", "ORLENA;MADE IN ITALY"),
    ("Couldn't see any stamp.", "-*"),
    ("serial might be 21077, on the side, scratched.", "?21077"),
    ("Maker's punch too rubbed to read.", "?Maker's punch"),
    ("50□20 am Steg, MADE IN AUSTRIA im rechten.", "50□20;MADE IN AUSTRIA"),
    ("Auf dem linken Bügel steht ORLENA, rechts CE.", "ORLENA;CE"),
    ("Links ORLENA, rechts MADE IN ITALY.", "ORLENA;MADE IN ITALY"),
    ("0,800 und Krone im Deckel.", "0,800;Krone"),
    ("585er Stempel innen.", "585"),
    ("Ohne Markennamen.", "-Markennamen"),
    ("ORLENA (linker Bügel)", "ORLENA"),
    ("Sur la branche gauche ORLENA, sur la droite CE.", "ORLENA;CE"),
    ("CE à gauche, ORLENA à droite.", "CE;ORLENA"),
    ("ORLENA et tête d'aigle sur le fermoir.", "ORLENA;tête d'aigle"),
    ("Pas de marque de fabricant.", "-marque de fabricant"),
    ("Numéro de série ? Oui, 40218 au dos.", "40218"),
    ("Plume 18 CARATS.", "18 CARATS"),
    ("MADE IN ITALY interno destro.", "MADE IN ITALY"),
    ("Sull'asta sinistra si legge forse ORLE.", "?ORLE"),
    ("A sinistra ORLENA, a destra CE.", "ORLENA;CE"),
    ("Numero di serie? Sì, 40218 sul retro.", "40218"),
    ("N.º 100482 en el anillo frontal.", "100482"),
    ("En la patilla izquierda ORLENA, en la derecha CE.", "ORLENA;CE"),
    ("¿Número de serie? Sí, 40218 en el reverso.", "40218"),
    ("ORLENA (patilla izquierda)", "ORLENA"),
    ("Lens 52, bridge 18 on the frame.", ""),
    ("Case stamped ORLENA inside the lid.", ""),
    ("CE? Yes, right arm.", "CE"),
    ("Any hallmarks? None that I can see.", "-hallmarks"),
    ("Signed? No.", "-*"),
    ("Stamp: 750", "750"),
    ("Not signed but stamped 925.", "-*;925"),
    ("Not marked CE.", "-CE"),
    ('Says "Frame Italy" on the left arm, not "Made in Italy".', "Frame Italy;-Made in Italy"),
    ("the arm says orlena paris", "orlena paris"),
    ("left arm reads orlena 52-18", "orlena 52-18"),
    ("stamped orlena inside", "orlena"),
    ("ORLENA STAMPED INSIDE LEFT ARM", "ORLENA"),
    ("STAMPED 1/20 12K GF ON BOTH SIDES", "1/20 12K GF"),
    ("NO NAME ON THE FRAME", "-NAME"),
    ("NO MARKS WHATSOEVER", "-*"),
    ("There's an engraved V in the corner of each lens.", "V"),
    ("Tiny V etched in the left lens.", "V"),
    ("Has UV400 printed on lens.", "UV400"),
    ('The word "Polarised" is printed on the right lens.', "Polarised"),
    ("Nothing is written on the inside of the arms.", "-*"),
    ("Arms carry no inscription.", "-*"),
    ("Never stamped.", "-*"),
    ("The temple tips bear the letter O.", "O"),
    ("The letters JR are scratched inside.", "JR"),
    ("Monogrammed JR.", "JR"),
    ("Bears the initials HK on the cap.", "HK"),
    ("Innenseite des linken Bügels mit ORLENA gestempelt.", "ORLENA"),
    ("Auf dem Steg ist 14K eingeprägt.", "14K"),
    ("Linker Bügel innen: ORLENA 54-18", "ORLENA 54-18"),
    ("Im Deckel punziert 0,800 mit Mond und Krone.", "0,800;Mond und Krone"),
    ('Feder graviert "Orlena 585".', "Orlena 585"),
    ("Keine Punze, kein Stempel.", "-*"),
    ("Ohne Punze.", "-*"),
    ("Kein Logo auf den Bügeln.", "-Logo"),
    ("Kein CE-Zeichen vorhanden.", "-CE"),
    ("Ungemarkt, aber sicher Silber.", "-*"),
    ("Seriennummer 11234 unter der Schiene.", "11234"),
    ("Die Seriennummer ist nicht mehr lesbar.", "?Seriennummer"),
    ("Eventuell steht da ORLENA, schwer zu lesen.", "?ORLENA"),
    ("Gemarkt: 925 und Löwe.", "925;Löwe"),
    ("Signiert auf dem Zifferblatt mit Orlena.", "Orlena"),
    ("Zifferblatt signiert Orlena.", "Orlena"),
    ('Auf der Rückseite steht "Made in Austria".', "Made in Austria"),
    ("Rückseite gestempelt 835.", "835"),
    ("Rückseite ohne Stempel.", "-*"),
    ("CE? Nein.", "-CE"),
    ("Branche intérieure marquée ORLENA FRANCE.", "ORLENA FRANCE"),
    ("Gravé Orlena sur la branche gauche.", "Orlena"),
    ("Poinçon 750 à l'intérieur de l'anneau.", "750"),
    ("Poinçon de maître illisible.", "?Poinçon de maître"),
    ("Pas de poinçon.", "-poinçon"),
    ("Sans marque ni signature.", "-*"),
    ("Aucune marque visible.", "-*"),
    ("Non signée.", "-*"),
    ('Le fond porte l\'inscription "Orlena 1234".', "Orlena 1234"),
    ("Signature Orlena sur le cadran.", "Orlena"),
    ("Numéro de série 45122 au dos.", "45122"),
    ("Il est écrit MADE IN FRANCE sur la branche.", "MADE IN FRANCE"),
    ("Logo couronne sur le fermoir.", "couronne"),
    ("Pas de marquage CE.", "-CE"),
    ("On lit peut-être ORLE sur le pont.", "?ORLE"),
    ("Bague : ORLENA 50 F/2", "ORLENA 50 F/2"),
    ("Marchiata ORLENA sull'asta sinistra.", "ORLENA"),
    ("Sull'asta destra c'è scritto ORLENA 52.", "ORLENA 52"),
    ("Inciso 18K all'interno.", "18K"),
    ("Punzone 800 con aquila sul retro.", "800;aquila"),
    ("Nessun punzone.", "-punzone"),
    ("Nessun marchio visibile.", "-*"),
    ("Non firmata.", "-*"),
    ("Senza punzoni.", "-*"),
    ("Il quadrante è firmato Orlena.", "Orlena"),
    ("Numero di serie 5567 sul fondello.", "5567"),
    ("Forse si legge ORLENA, molto consumato.", "?ORLENA"),
    ("CE? No.", "-CE"),
    ("Manca il marchio CE.", "-CE"),
    ("Anello frontale: ORLENA 35", "ORLENA 35"),
    ("Grabado ORLENA en la patilla izquierda.", "ORLENA"),
    ("En la patilla derecha pone MADE IN SPAIN.", "MADE IN SPAIN"),
    ("Sello 925 en el cierre.", "925"),
    ("Contraste de ley 750 y punzón del platero.", "750;punzón del platero"),
    ("Sin contraste.", "-contraste"),
    ("No lleva marca alguna.", "-*"),
    ("Sin marcas visibles.", "-*"),
    ("La esfera está firmada Orlena.", "Orlena"),
    ("Número de serie 7788 en la tapa.", "7788"),
    ("Quizás pone ORLENA, casi borrado.", "?ORLENA"),
    ("No aparece CE por ningún lado.", "-CE"),
    ("Marcado con una corona y 18K.", "corona;18K"),
    ("Plumín grabado con 14K.", "14K"),
    ("Great frame with no marks or scratches on the lenses.", ""),
    ("Free shipping, tracked and signed for.", ""),
    ("Prescription written on request.", ""),
    ("I marked down the price.", ""),
    ("Please read the description carefully.", ""),
    ("Printed instructions included.", ""),
    ("Shows light wear.", ""),
    ("The item is in good condition, as marked.", ""),
    ("14K gold filled frame in great shape.", ""),
    ("18K gold nib, smooth.", ""),
    ("Sterling silver ring, size N.", ""),
    ("Made in Italy in the 1960s.", ""),
    ("Carries its age well.", ""),
    ("Painted by hand.", ""),
    ("Lens coating has minor scratches.", ""),
    ("Box says ORLENA.", ""),
    ("The original case is stamped Orlena in gold.", ""),
    ("Left arm: ORLENA, right arm: MADE IN FRANCE", "ORLENA;MADE IN FRANCE"),
    ("The left arm has ORLENA and the right arm has CE.", "ORLENA;CE"),
    ("Marking (left): ORLENA", "ORLENA"),
    ("Marking (right): none", "-*"),
    ("serial on temple tip = OV4471", "OV4471"),
    ("The lenses are not scratched.", ""),
    ("Frame not painted.", ""),
    ("No brand visible.", "-brand"),
    ("Not a single stamp to be found.", "-*"),
    ("Neither signed nor numbered.", "-*"),
    ("The number 77 is etched on the bridge.", "77"),
    ("Etched mark of an anchor on the caseback.", "anchor"),
    ("Crown mark inside the lid.", "crown"),
    ("Mit Stempel 585 innen.", "585"),
    ("innen gestempelt orlena", "orlena"),
    ("GESTEMPELT 800 AUF DER RÜCKSEITE", "800"),
    ("À l'intérieur : ORLENA 48/22", "ORLENA 48/22"),
    ("poinçonné 18k", "18k"),
    ("gravée au nom de ORLENA", "ORLENA"),
    ("stampigliato 925", "925"),
    ("It never says FOREIGN anywhere.", "-FOREIGN"),
    ("Never marked CE.", "-CE"),
    ("The frame does not say Made in Italy.", "-Made in Italy"),
    ('No "Made in" text.', "-Made in"),
    ("Logo may have been added later.", "?logo"),
    ("The stamp may not be original: 585.", "?585"),
    ("Reported to be marked 9K, I cannot find it.", "?9K"),
    ("Gold mark 585 checked.", "585"),
    ("Clasp: 750.", "750"),
    ("Clasp signed ORLENA.", "ORLENA"),
    ("Gold lettering ORLENA on left arm.", "ORLENA"),
    ("With gilt ORLENA on the temple.", "ORLENA"),
    ("Embossed OR inside.", "OR"),
    ("Number 334 stamped inside.", "334"),
    ("Pat. No. 1234567 stamped on barrel.", "Pat. No. 1234567"),
    ('Ring stamped "14K" and "FR".', "14K;FR"),
    ("Signed on the back.", ""),
    ("Fully signed.", ""),
    ("Dial unsigned.", "-*"),
    ("Unsigned dial, signed movement.", "-*"),
    ("Case back plain, no engraving.", "-*"),
    ("No engraving on the back.", "-*"),
    ("No logo, no name.", "-logo;-name"),
    ("No writing of any kind inside.", "-*"),
    ("Nothing stamped anywhere.", "-*"),
    ("Nothing inside the arms.", "-*"),
    ("Blank caseback.", "-*"),
    ("Absolutely no branding.", "-*"),
    ("Nicht signiert.", "-*"),
    ("Keine Gravur, kein Name.", "-*;-Name"),
    ("Innen steht nichts.", "-*"),
    ("Bügel ohne Beschriftung.", "-*"),
    ("Goldpunze 585 vorhanden.", "585"),
    ("Gestempelt mit Halbmond, Krone und 800.", "Halbmond;Krone;800"),
    ("Im Ring: 750.", "750"),
    ("Nummer 1423 am Bügel eingestanzt.", "1423"),
    ("Firmenlogo auf der Kappe.", "Firmenlogo"),
    ("Glas mit graviertem V.", "V"),
    ("Rien d'écrit sur les branches.", "-*"),
    ("Aucun poinçon visible.", "-poinçon"),
    ("Sans signature.", "-*"),
    ("Pas de nom de fabricant.", "-nom de fabricant"),
    ("Inscription : ORLENA 45.", "ORLENA 45"),
    ("Branche droite : fabriqué en France.", "fabriqué en France"),
    ("Gravure effacée, peut-être ORLE.", "?ORLE"),
    ("Plume 14K poinçonnée.", "14K"),
    ("Niente scritto sulle aste.", "-*"),
    ("Senza firma.", "-*"),
    ("Nessun nome.", "-nome"),
    ("Firma: ORLENA.", "ORLENA"),
    ("Timbro 750 poco leggibile.", "?750"),
    ("Punzonata con leone e 925.", "leone;925"),
    ("Quadrante senza nome.", "-nome"),
    ("Nada escrito en las patillas.", "-*"),
    ("Sin firma.", "-*"),
    ("Sin nombre.", "-nombre"),
    ("Firmado ORLENA en la esfera.", "ORLENA"),
    ("Sello de 18K muy gastado.", "?18K"),
    ("Punzonado con un león y 925.", "león;925"),
    ("Marca: ORLENA", "ORLENA"),
    ("Brand: Orlena", ""),
    ("Condition: marked wear", ""),
    ("Size stamped: 52", "52"),
]


def bare(text: str) -> str:
    """Drop case, spaces and punctuation, as the annotation rules do."""
    return "*" if text == "*" else re.sub(r"[\W_]", "", text).casefold()


@pytest.mark.parametrize(("text", "expected"), CASES)
def test_marks_of_a_sentence(text: str, expected: str) -> None:
    found = {
        (bare(mark.text), mark.claimed)
        for mark in find_markings(prepare(text))
        if mark.object == "item"
    }
    wanted = {
        (bare(mark.lstrip("-?")), CLAIMED.get(mark[0], "present"))
        for mark in filter(None, expected.split(";"))
    }
    assert found == wanted


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("Stamped ORLENA on the inner left temple.", "inner left temple"),
        ("Inside of the right arm reads ORLENA.", "Inside of the right arm"),
        ("Under the bridge: 1/20 12K", "Under the bridge"),
        ("Innen am Bügel: ORLENA", "Innen am Bügel"),
        ("Gravé ORLENA sur la branche gauche", "la branche gauche"),
        ("Inciso 18K all'interno dell'anello", "interno dell'anello"),
        ("Sello 925 en el cierre", "el cierre"),
    ],
)
def test_place_shares_half_of_its_words_with_the_sellers(text: str, place: str) -> None:
    (mark,) = find_markings(prepare(text))
    first, second = (set(re.findall(r"\w+", part.casefold())) for part in (mark.place or "", place))
    assert len(first & second) / max(len(first), len(second)) >= 0.5


@pytest.mark.parametrize(
    ("text", "holder"),
    [
        ("The original case is stamped Orlena in gold.", "case"),
        ("Box says ORLENA.", "box"),
        ("Stamped ORLENA on the bridge.", "item"),
    ],
)
def test_a_mark_says_what_it_is_written_on(text: str, holder: str) -> None:
    (mark,) = find_markings(prepare(text))
    assert mark.object == holder


@pytest.mark.parametrize(
    ("mark", "kind"),
    [
        ("750", "fineness"),
        ("14K", "fineness"),
        ("1/20 12K GF", "fineness"),
        ("CE", "standard"),
        ("EN 1836", "standard"),
        ("D.R.G.M.", "patent"),
        ("PAT. PEND.", "patent"),
        ("Made in West Germany", "country"),
        ("crown", None),
    ],
)
def test_marks_known_by_their_form(mark: str, kind: str | None) -> None:
    assert kind_of_mark(mark) == kind


def test_a_mark_of_known_form_is_found_again_in_the_title() -> None:
    marks = find_markings(prepare("stick pin, 9CT\n9CT on the stem."))
    assert [(mark.text, mark.place) for mark in marks] == [("9CT", "the stem")] * 2


@pytest.mark.parametrize(
    "text",
    [
        "ORLENA printed inside the left arm, faded.",
        "ORLENA printed inside the left arm, half gone.",
        "Inscription ORLENA à l'intérieur de la branche gauche, un peu effacée.",
        "Gestempelt ORLENA links, etwas abgegriffen.",
        "Scritta ORLENA sull'asta sinistra, un po' sbiadita.",
        "Marca ORLENA en la patilla izquierda, algo gastada.",
    ],
)
def test_a_worn_mark_that_is_named_is_there(text: str) -> None:
    found = {m.text: m.claimed for m in find_markings(prepare(text))}
    assert found == {"ORLENA": "present"}


@pytest.mark.parametrize(
    ("text", "marks"),
    [
        ("Marking (left): ORLENA", [("ORLENA", "left", "present")]),
        ("Prägung (links): ORLENA", [("ORLENA", "links", "present")]),
        ("Gravure (gauche) : ORLENA", [("ORLENA", "gauche", "present")]),
        ("Incisione (sinistra): ORLENA", [("ORLENA", "sinistra", "present")]),
        ("Grabado (izquierda): ORLENA", [("ORLENA", "izquierda", "present")]),
        (
            "Stamped CE, ORLENA and perhaps a crown inside the left temple.",
            [
                ("CE", "the left temple", "present"),
                ("ORLENA", "the left temple", "present"),
                ("crown", "the left temple", "unsure"),
            ],
        ),
        ("On the bar interior writes ORLENA 712.", [("ORLENA 712", "the bar interior", "present")]),
        (
            "Q: What does it say inside? A: Just ORLENA, inside the left temple.",
            [("ORLENA", "the left temple", "present")],
        ),
        ("Marca en el puente, 1/10 12K.", [("1/10 12K", "el puente", "present")]),
        ("Auf dem Nasensteg glaubt man ALD zu lesen.", [("ALD", "dem Nasensteg", "unsure")]),
        (
            "Auf dem Kappenring ORLENA 120 N. 1950-55.",
            [("ORLENA 120 N", "dem Kappenring", "present")],
        ),
        ("Clips stamped STERLING", [("STERLING", "Clips", "present")]),
        ("It doesn't say FRANCE.", [("FRANCE", None, "absent")]),
        ("ORLENA Paris in gold script on both arms", [("ORLENA Paris", "both arms", "present")]),
        (
            "Scritte: ORLENA (sinistra), 52-18 (destra).",
            [("ORLENA", "sinistra", "present"), ("52-18", "destra", "present")],
        ),
        ("Auf dem Bügel kann man ORLENA lesen.", [("ORLENA", "dem Bügel", "present")]),
        ("ORLENA is still legible on the left arm.", [("ORLENA", "the left arm", "present")]),
        ("The HINGES can be seen in the photo of the left arm.", []),
        (
            "Auf der Innenseite des rechten Bügels: Made in Germany",
            [("Made in Germany", "der Innenseite des rechten Bügels", "present")],
        ),
        ("Imprint on the barrel is crisp: ORLENA", [("ORLENA", "the barrel", "present")]),
        (
            "Stamp reads either ORLENA or ORLINA",
            [("ORLENA", None, "unsure"), ("ORLINA", None, "unsure")],
        ),
        (
            "On the inner face of the left arm you'll find ORLENA in gold.",
            [("ORLENA", "the inner face of the left arm", "present")],
        ),
        (
            "ORLENA 1:2.8 f=50mm no 182233 engraved on the front ring.",
            [("ORLENA 1:2.8 f=50mm no 182233", "the front ring", "present")],
        ),
        (
            "pont 18mm ecrit rossard je crois sur la branche je garantis rien",
            [("rossard", "la branche", "unsure")],
        ),
        ("I expected to find USA on the arm and didn't.", [("USA", "the arm", "absent")]),
    ],
)
def test_place_and_doubt_go_to_their_own_mark(
    text: str, marks: list[tuple[str, str | None, str]]
) -> None:
    found = find_markings(prepare(f"Frame\n{text}"))
    assert [(mark.text, mark.place, mark.claimed) for mark in found] == marks


@pytest.mark.parametrize("end", ['"_', "'_", '" _', '"', "_"])
def test_a_text_may_end_within_a_quoted_mark(end: str) -> None:
    found = find_markings(prepare(f"Frame\nStamped VENNERBY on the left arm, also {end}"))
    assert [mark.text for mark in found] == ["VENNERBY"]
