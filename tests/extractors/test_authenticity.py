"""Wording on authenticity: scope of negation and doubt, and what "original" belongs to."""

from __future__ import annotations

from pathlib import Path

import pytest

from extractors.authenticity import find_authenticity
from extractors.reading import prepare

# (text, label); each stands under a title that names the maker
CASES = [
    ("These are not Tarvell, just a similar shape.", "disclaimed"),
    ("Non sono Tarvell.", "disclaimed"),
    ("Tank style watch.", "disclaimed"),
    ("I make no claim that it is a Tarvell.", "hedged"),
    ("Sold as a Tarvell when I bought it.", "hedged"),
    ("Según mi abuelo era un Tarvell.", "hedged"),
    ('The print is worn; what I can make out might be "Tarvell 3".', "none"),
    ("May or may not be Tarvell.", "hedged"),
    ("I believe they're right, bought from the original family.", "hedged"),
    ("Could be a copy, could be right, price reflects that.", "hedged"),
    ("Sold to us as Tarvell; we could not substantiate this.", "hedged"),
    ("A guy swore they were real but idk.", "hedged"),
    ("Ob sie echt ist, kann ich nicht sagen, daher als Replika-Verdacht.", "hedged"),
    ("Könnte ein Nachbau sein, kenne mich nicht aus.", "hedged"),
    ("Je ne sais pas si c'est une vraie.", "hedged"),
    ("Non so se sia originale.", "hedged"),
    ("No sé si es original.", "hedged"),
    ("Q: real Tarvell? A: no mate.", "disclaimed"),
    ("Neuware, nur im Stil von Tarvell.", "disclaimed"),
    ("Pay today and I knock off 10%", "none"),
    ("100% genuine Tarvell frames, bought in the boutique.", "asserted"),
    ("These are authentic. No fakes here.", "asserted"),
    ("Original Tarvell from the 60s.", "asserted"),
    ("Guaranteed original Tarvell.", "asserted"),
    ("Real Tarvell, not one of those copies.", "asserted"),
    ("I guarantee they are genuine or your money back.", "asserted"),
    ("If it turns out not to be genuine you get a full refund.", "asserted"),
    ("An original Tarvell pen, not a reproduction.", "asserted"),
    ("Absolutely authentic vintage Tarvell.", "asserted"),
    ("Authenticity guaranteed.", "asserted"),
    ("This is the real thing.", "asserted"),
    ("Echte Tarvell aus den 60ern.", "asserted"),
    ("Garantiert original Tarvell.", "asserted"),
    ("Keine Kopie, keine Fälschung.", "asserted"),
    ("Originale Tarvell Brille", "asserted"),
    ("Tarvell, 100% Original", "asserted"),
    ("Véritables Tarvell, authenticité garantie.", "asserted"),
    ("Ce n'est pas une copie.", "asserted"),
    ("Lunettes Tarvell originales", "asserted"),
    ("Tarvell authentique", "asserted"),
    ("Tarvell autentico, non è una replica.", "asserted"),
    ("Occhiali originali Tarvell", "asserted"),
    ("Originale al 100%", "asserted"),
    ("Tarvell auténtico, nada de copias.", "asserted"),
    ("Son originales Tarvell", "asserted"),
    ("No es una imitación.", "asserted"),
    ("Comes in its original case.", "none"),
    ("Original lenses still fitted.", "none"),
    ("With original receipt and box.", "none"),
    ("In original condition.", "none"),
    ("Genuine leather case included.", "none"),
    ("Genuine horn rims.", "none"),
    ("Real gold, tested.", "none"),
    ("Echtes Horn, kein Kunststoff.", "none"),
    ("Mit originalem Etui.", "none"),
    ("Étui d'origine, verres d'origine.", "none"),
    ("Custodia originale, lenti originali.", "none"),
    ("Estuche original y cristales originales.", "none"),
    ("A genuine bargain from a genuine seller.", "none"),
    ("Faux tortoiseshell frame.", "none"),
    ("Imitation leather case.", "none"),
    ("Fake rivets, decorative only.", "none"),
    ("Probably from the 1950s.", "none"),
    ("I think the lenses are glass.", "none"),
    ("Maybe 18K, I have not tested it.", "none"),
    ("Possibly worn once.", "none"),
    ("I believe the strap has been replaced.", "none"),
    ("Vermutlich aus den 50ern.", "none"),
    ("Peut-être des années 50.", "none"),
    ("Forse anni 50.", "none"),
    ("Quizás de los 50.", "none"),
    ("1950s style frame.", "none"),
    ("Aviator style sunglasses.", "none"),
    ("Cat eye look, very sixties inspired.", "none"),
    ("Style années 60.", "none"),
    ("Official reissue by Tarvell, 2010.", "none"),
    ("Nice Tarvell glasses, used.", "none"),
    ("Copy of the optician's receipt included.", "none"),
    ("Original patina, never polished.", "none"),
    ("I believe these are Tarvell.", "hedged"),
    ("I think this is a Tarvell but not sure.", "hedged"),
    ("Probably Tarvell.", "hedged"),
    ("Could be a Tarvell.", "hedged"),
    ("Attributed to Tarvell.", "hedged"),
    ("Sold to me as Tarvell.", "hedged"),
    ("I can't verify that they are genuine.", "hedged"),
    ("I cannot guarantee authenticity.", "hedged"),
    ("No idea if they are real.", "hedged"),
    ("Not sure if genuine.", "hedged"),
    ("Said to be Tarvell, no proof.", "hedged"),
    ("My grandfather always said they were Tarvell.", "hedged"),
    ("Likely a Tarvell, judge for yourself.", "hedged"),
    ("Maker unknown, possibly Tarvell.", "hedged"),
    ("I am no expert, they may be genuine.", "hedged"),
    ("Supposedly Tarvell.", "hedged"),
    ("They were sold to me as genuine, but who knows.", "hedged"),
    ("Genuine? I don't know.", "hedged"),
    ("Vermutlich Tarvell.", "hedged"),
    ("Soll eine Tarvell sein.", "hedged"),
    ("Angeblich von Tarvell.", "hedged"),
    ("Ich kann die Echtheit nicht garantieren.", "hedged"),
    ("Wurde mir als Tarvell verkauft.", "hedged"),
    ("Bin nicht sicher, ob es eine Tarvell ist.", "hedged"),
    ("Wohl eine Tarvell, ohne Gewähr.", "hedged"),
    ("Probablement Tarvell.", "hedged"),
    ("Je pense que ce sont des Tarvell.", "hedged"),
    ("Vendues comme Tarvell, je ne garantis rien.", "hedged"),
    ("Attribuées à Tarvell.", "hedged"),
    ("Je ne peux pas garantir l'authenticité.", "hedged"),
    ("Serait un Tarvell selon ma tante.", "hedged"),
    ("Credo siano Tarvell.", "hedged"),
    ("Probabilmente Tarvell.", "hedged"),
    ("Attribuiti a Tarvell.", "hedged"),
    ("Non posso garantire l'autenticità.", "hedged"),
    ("Mi è stato venduto come Tarvell.", "hedged"),
    ("Dovrebbe essere un Tarvell.", "hedged"),
    ("Creo que es Tarvell.", "hedged"),
    ("Posiblemente Tarvell.", "hedged"),
    ("Atribuidas a Tarvell.", "hedged"),
    ("No puedo garantizar su autenticidad.", "hedged"),
    ("Me las vendieron como Tarvell.", "hedged"),
    ("Parece un Tarvell, no estoy seguro.", "hedged"),
    ("Tarvell style sunglasses.", "disclaimed"),
    ("Inspired by Tarvell.", "disclaimed"),
    ("In the style of Tarvell.", "disclaimed"),
    ("Replica of the Tarvell Pilot.", "disclaimed"),
    ("Not a genuine Tarvell.", "disclaimed"),
    ("These are not real Tarvell.", "disclaimed"),
    ("Homage watch.", "disclaimed"),
    ("A copy, priced accordingly.", "disclaimed"),
    ("Tarvell type frame, no name.", "disclaimed"),
    ("Unbranded frames similar to Tarvell.", "disclaimed"),
    ("Looks like a Tarvell but it isn't one.", "disclaimed"),
    ("Fake, sold as such.", "disclaimed"),
    ("Reproduction of a Georgian ring.", "disclaimed"),
    ("Not authentic.", "disclaimed"),
    ("I do not claim these are authentic.", "disclaimed"),
    ("Tarvell-inspired shades.", "disclaimed"),
    ("Kein Original, Nachbau.", "disclaimed"),
    ("Im Stil von Tarvell.", "disclaimed"),
    ("Tarvell-ähnliche Brille.", "disclaimed"),
    ("Replika.", "disclaimed"),
    ("Nicht echt.", "disclaimed"),
    ("Brille à la Tarvell", "disclaimed"),
    ("Inspiration Tarvell, fabrication récente.", "disclaimed"),
    ("Style Tarvell.", "disclaimed"),
    ("Réplique de Tarvell.", "disclaimed"),
    ("Ce ne sont pas des originales.", "disclaimed"),
    ("Façon Tarvell.", "disclaimed"),
    ("Stile Tarvell.", "disclaimed"),
    ("Replica Tarvell.", "disclaimed"),
    ("Non originali.", "disclaimed"),
    ("Ispirati a Tarvell.", "disclaimed"),
    ("Tipo Tarvell.", "disclaimed"),
    ("Estilo Tarvell.", "disclaimed"),
    ("Inspiradas en Tarvell.", "disclaimed"),
    ("Réplica, no original.", "disclaimed"),
    ("No son auténticas.", "disclaimed"),
    ("Imitación de Tarvell.", "disclaimed"),
    ("Bought as genuine but I have no paperwork to prove it", "hedged"),
    ("Als Original gekauft, Nachweis habe ich keinen", "hedged"),
    ("Vielleicht Tarvell, sicher bin ich nicht.", "hedged"),
    ("Wahrscheinlich echt", "hedged"),
    ("soll Tarvell sein", "hedged"),
    ("Comprato come autentico, ma non ho documenti per provarlo", "hedged"),
    ("Compradas como auténticas, pero no tengo papeles que lo prueben", "hedged"),
    ("peut etre de la marque je garantis rien", "hedged"),
]


def test_a_name_in_a_text_without_capitals_is_one() -> None:
    found = find_authenticity(prepare("brille\nneu gemacht im stil von grauwitz"))
    assert found.label == "disclaimed"


@pytest.mark.parametrize(("text", "label"), CASES)
def test_label_of_a_sentence(text: str, label: str) -> None:
    assert find_authenticity(prepare(f"Tarvell frame\n{text}")).label == label


@pytest.mark.parametrize("title", ["ART DECO STYLE RING, COSTUME", "tank style ladies watch"])
def test_a_style_that_is_no_word_of_a_list_disclaims(title: str) -> None:
    assert find_authenticity(prepare(f"{title}\nNice piece.")).label == "disclaimed"


@pytest.mark.parametrize("title", ["Tarvell?", "are these Tarvell?", "Tarvell (?) pen"])
def test_a_name_put_in_question_in_the_title_is_a_doubt(title: str) -> None:
    assert find_authenticity(prepare(f"{title}\nNice piece.")).label == "hedged"


def test_the_strongest_caution_wins() -> None:
    text = "Tarvell frame\nGenuine Tarvell. I think it is Tarvell. It is a replica."
    assert find_authenticity(prepare(text)).label == "disclaimed"
    assert find_authenticity(prepare(text.replace(" It is a replica.", ""))).label == "hedged"


def test_the_words_that_gave_the_label_are_quoted() -> None:
    found = find_authenticity(prepare("Tarvell frame\nAuthenticity guaranteed by us."))
    assert [span.text for span in found.quoted] == ["Authenticity guaranteed"]


ROWS = [
    line.split("|")
    for line in (Path(__file__).parent / "cases" / "makers.txt").read_text("utf-8").splitlines()
    if not line.startswith("#")
]
KEPT = [row for row in ROWS if int(row[0]) % 2 == 0]
LEAST = 0.85  # share of the listings kept back; measured when written 0.90


def label_of(text: str) -> str:
    """Give the label of a title and a description parted by a written line break."""
    return find_authenticity(prepare(text.replace("\\n", "\n"))).label


@pytest.mark.parametrize(("text", "expected"), [row[2:] for row in ROWS if row not in KEPT])
def test_label_of_a_listing_is_that_of_the_piece(text: str, expected: str) -> None:
    assert label_of(text) == expected


def test_most_listings_kept_back_are_labelled_right() -> None:
    assert sum(label_of(text) == expected for _, _, text, expected in KEPT) >= LEAST * len(KEPT)


PLAIN = {
    "en": "Frame for collectors\nRound frame, 48 mm wide.",
    "de": "Brille für Sammler\nRunde Fassung, 48 mm breit.",
    "fr": "Lunettes de collection\nMonture ronde, 48 mm de large.",
    "it": "Occhiali da collezione\nMontatura tonda, larga 48 mm.",
    "es": "Gafas de colección\nMontura redonda, 48 mm de ancho.",
}
SENTENCES = [
    line.split("|")
    for line in (Path(__file__).parent / "cases" / "authenticity.txt")
    .read_text("utf-8")
    .splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(("label", "language", "sentence"), SENTENCES)
def test_label_of_what_is_said_of_the_maker(label: str, language: str, sentence: str) -> None:
    found = find_authenticity(prepare(f"{PLAIN[language]} {sentence}"))
    assert found.label == label
