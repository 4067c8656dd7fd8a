"""Returns offered and refused, by the market's field and in the seller's words."""

import pytest

from extractors.catalogue import extract
from extractors.records import Listing
from models.features import signs_of
from models.returns import returns_of
from models.weights import load_weights

OFFERED = [
    "Returns accepted within 30 days.",
    "If you are not happy with it, just send it back.",
    "You can return it within two weeks.",
    "Money back if it is not right.",
    "Rückgabe ist innerhalb von 14 Tagen möglich.",
    "Wenn sie nicht passt, nehme ich sie gern zurück.",
    "Retours acceptés sous 14 jours.",
    "Si elle ne convient pas, je la reprends.",
    "Se non piace, rimborso completo.",
    "Si no te gusta, te devuelvo el dinero.",
    "Acepto devoluciones.",
]
REFUSED = [
    "No returns.",
    "I do not accept returns.",
    "Returns are not accepted.",
    "Sold without warranty or returns.",
    "Keine Rücknahme.",
    "Rückgabe ist nicht möglich.",
    "Vente ferme.",
    "Nessun reso.",
    "No se aceptan devoluciones.",
]
NOT_SAID = ["", "Return postage tracked.", "The arms return to their place.", "Back in my shop."]
FIELDS = [
    ("14 days", "offered"),
    ("No returns", "refused"),
    ("Returns not accepted", "refused"),
    ("Rückgabe innerhalb von 30 Tagen", "offered"),
    ("Keine Rücknahme", "refused"),
    ("Pas de retour", "refused"),
    ("30 giorni", "offered"),
    ("Sin devoluciones", "refused"),
    ("see description", "not said"),
]
CASES = [
    *((text, "offered") for text in OFFERED),
    *((text, "refused") for text in REFUSED),
    *((text, "not said") for text in NOT_SAID),
]


def _listing(text: str, field: str | None = None) -> Listing:
    return Listing("1", "x", "Vennerby 318", text, returns=field)


@pytest.mark.parametrize(("text", "answer"), CASES, ids=[text for text, _ in CASES])
def test_words_on_returns_are_read(text, answer):
    listing = _listing(text)
    assert returns_of(listing, extract(listing)) == answer


@pytest.mark.parametrize(("field", "answer"), FIELDS)
def test_the_field_on_returns_is_read(field, answer):
    assert returns_of(_listing("A frame.", field), None) == answer


def test_field_and_words_that_differ_say_nothing():
    listing = _listing("No returns.", "14 days")
    assert returns_of(listing, extract(listing)) == "not said"


@pytest.mark.parametrize(
    ("field", "code"),
    [("No returns", "wording.returns_refused"), ("14 days", "wording.returns_offered")],
)
def test_returns_are_weighed(field, code):
    listing = _listing("A frame.", field)
    signs = signs_of(listing, extract(listing), (), 0.6, (), load_weights())
    assert code in {sign.weight.code for sign in signs}
