"""A refusal of more photos is heard in five languages; offers and other negations are none."""

import pytest

from extractors.records import Evidence, KeyPhrase, Listing
from models.features import signs_of
from models.refusals import refuses_photos
from models.weights import load_weights

REFUSED = [
    ("No further photos, please do not ask.", "No further photos"),
    ("Nice frame. I can't take any more pictures.", "can't take any more pictures"),
    ("Please don't ask for more pics.", "don't ask for more pics"),
    ("The photos are all I have.", "photos are all I have"),
    ("These are the only pictures I have.", "These are the only pictures I have"),
    ("Weitere Fotos kann ich leider nicht machen.", "Weitere Fotos kann ich leider nicht"),
    ("Keine weiteren Bilder.", "Keine weiteren Bilder"),
    ("Je ne peux pas faire d'autres photos.", "ne peux pas faire d'autres photos"),
    ("Pas d’autres photos.", "Pas d’autres photos"),
    ("Non posso fare altre foto.", "Non posso fare altre foto"),
    ("Niente altre foto", "Niente altre foto"),
    ("No puedo hacer más fotos.", "No puedo hacer más fotos"),
    ("pas d'autres photos disponibles - envoi soigné", "pas d'autres photos"),
    ("No questions about sizes please.", "No questions about sizes"),
    ("I have no time to measure.", "have no time to measure"),
    ("Bitte keine Fragen nach Maßen.", "keine Fragen nach Maßen"),
    ("Pas de questions sur les mesures.", "Pas de questions sur les mesures"),
    ("Non misuro.", "Non misuro"),
    ("No tengo tiempo para medir.", "No tengo tiempo para medir"),
]
NOT_REFUSED = [
    "More photos on request.",
    "No more photos needed, I think.",
    "Happy to send more pictures.",
    "I do not want to sell it without good pictures.",
    "Weitere Fotos schicke ich gern, wenn Sie nicht sicher sind.",
    "Keine Kratzer, weitere Bilder auf Anfrage.",
    "D'autres photos sur demande, pas de rayures.",
    "Pas de photos floues, tout est net.",
    "Altre foto su richiesta, non fumatori.",
    "Más fotos si las pides, no hay grietas.",
    "No other marks; photos show all.",
    "No questions left open? Then buy.",
    "They do not measure up to the first ones.",
    "Any questions about sizes, please ask.",
    "",
]


@pytest.mark.parametrize(("text", "words"), REFUSED)
def test_a_refusal_is_quoted(text, words):
    assert refuses_photos(text) == words


@pytest.mark.parametrize("text", NOT_REFUSED)
def test_offers_and_other_negations_refuse_nothing(text):
    assert refuses_photos(text) == ""


def test_who_refuses_photos_is_not_heard_as_offering_them():
    evidence = Evidence("a", key_phrases=(KeyPhrase("more_photos_offered", ()),))
    listing = Listing("a", "a.txt", description="No puedo hacer más fotos.")
    signs = signs_of(listing, evidence, (), None, (), load_weights())
    assert [sign.weight.code for sign in signs] == ["wording.photos_refused"]
    assert "No puedo hacer más fotos" in signs[0].label
