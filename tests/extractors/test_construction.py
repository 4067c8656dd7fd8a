"""Construction claims: kind, claimed and normal value, in five languages."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from extractors.construction import find_features
from extractors.reading import prepare

SIGNS = {"present": "+", "absent": "-", "unsure": "?"}
# (text, claims as kind, then + present, - absent, ? unsure, then the value if it is checked)
CASES = [
    ("Four/three: 4/3 barrel hinge.", "hinge+7"),
    ("Hinges 5/10, screws fine.", ""),
    ("The screws are the old straight-slot type.", "screws+slot"),
    ("Ein Name steht nirgends die Gläser sind aus Kunststoff", "lens_material+plastic"),
    ("Curl-round-the-ear temples.", "temple_style+cable"),
    ("Plaquettes liège.", "nose_pads+"),
    ("Nadel mit Sicherungshaken.", "clasp+"),
    ("Cinco anillas en la bisagra.", "hinge+5"),
    ("Not a lever filler but a vacuum filler.", "filling_system+"),
    ("curl sides no pads just a plain bridge", "temple_style+ nose_pads-"),
    ("Lenti plastica non vetro.", "lens_material+"),
    ("Spring-loaded central hinge.", "hinge+"),
    ("Gläser wohl Kunststoff.", "lens_material?"),
    ("Seven barrel hinges throughout.", "hinge+7"),
    ("Hinges have 5 barrels each.", "hinge+5"),
    ("Three-knuckle hinge, tight.", "hinge+3"),
    ("Hinges work well and are tight.", ""),
    ("No spring hinges.", "hinge-"),
    ("Spring hinges, I think.", "hinge?"),
    ("It has not got spring hinges.", "hinge-"),
    ("Riveted hinges with slotted screws.", "rivets+ screws+slot"),
    ("Diamond-shaped rivets on the front.", "rivets+lozenge"),
    ("Two rivets per side.", "rivets+2"),
    ("No rivets.", "rivets-"),
    ("The rivets look original.", "rivets+"),
    ("Screws are Phillips.", "screws+cross"),
    ("Flat-head screws, not Phillips.", "screws+slot"),
    ("One screw missing.", ""),
    ("Wire core visible in both temples.", "core_wire+"),
    ("No wire core.", "core_wire-"),
    ("Arms without core wire.", "core_wire-"),
    ("Adjustable silicone nose pads.", "nose_pads+"),
    ("No nose pads.", "nose_pads-"),
    ("Nose pads need replacing.", ""),
    ("Mineral glass lenses.", "lens_material+glass"),
    ("Lenses are plastic.", "lens_material+plastic"),
    ("Not glass lenses.", "lens_material-glass"),
    ("Probably glass lenses.", "lens_material?glass"),
    ("Lenses scratched.", ""),
    ("Cable temples.", "temple_style+cable"),
    ("Straight arms.", "temple_style+straight"),
    ("Lever filler, new sac.", "filling_system+lever"),
    ("Converts to eyedropper.", "filling_system+eyedropper"),
    ("Takes international cartridges.", "filling_system+cartridge"),
    ("Piston works smoothly.", ""),
    ("Automatic movement, running well.", "movement+automatic"),
    ("17 jewel manual wind.", "movement+manual"),
    ("Mechanical watch.", ""),
    ("Quartz, new battery.", "movement+quartz"),
    ("Movement runs fine.", ""),
    ("Sapphire crystal.", "crystal+sapphire"),
    ("Acrylic crystal has scratches.", "crystal+acrylic"),
    ("Crystal is clean.", ""),
    ("Eight aperture blades, snappy and oil free.", "aperture_blades+8"),
    ("10-blade diaphragm.", "aperture_blades+10"),
    ("Aperture blades dry.", ""),
    ("Lobster clasp.", "clasp+"),
    ("Clasp works.", ""),
    ("Without clasp.", "clasp-"),
    ("Scharniere 7-teilig.", "hinge+7"),
    ("Fünffach-Scharniere.", "hinge+5"),
    ("Keine Nieten.", "rivets-"),
    ("Bügel mit Metalleinlage.", "core_wire+"),
    ("Mineralglas.", "lens_material+glass"),
    ("Kreuzschlitzschrauben.", "screws+cross"),
    ("Geschraubte Nasenpads.", "nose_pads+screwed"),
    ("Handaufzugswerk, 15 Steine.", "movement+manual movement+15"),
    ("Saphirglas.", "crystal+sapphire"),
    ("Hebelfüller.", "filling_system+lever"),
    ("Sechs Blendenlamellen.", "aperture_blades+6"),
    ("Karabinerverschluss.", "clasp+"),
    ("Gespinstbügel.", "temple_style+cable"),
    ("Charnières 5 charnons.", "hinge+5"),
    ("Sans rivets.", "rivets-"),
    ("Branches avec âme métallique.", "core_wire+"),
    ("Verres minéraux.", "lens_material+glass"),
    ("Vis fendues.", "screws+slot"),
    ("Plaquettes en verre.", "nose_pads+"),
    ("Mouvement automatique.", "movement+automatic"),
    ("Verre saphir.", "crystal+sapphire"),
    ("Remplissage à levier.", "filling_system+lever"),
    ("Diaphragme à 10 lames.", "aperture_blades+10"),
    ("Fermoir mousqueton.", "clasp+"),
    ("Cerniere a sette elementi.", "hinge+7"),
    ("Senza rivetti.", "rivets-"),
    ("Anima in metallo visibile.", "core_wire+"),
    ("Lenti in cristallo.", "lens_material+glass"),
    ("Viti a croce.", "screws+cross"),
    ("Naselli regolabili.", "nose_pads+adjustable"),
    ("Carica automatica.", "movement+automatic"),
    ("Vetro zaffiro.", "crystal+sapphire"),
    ("Caricamento a levetta.", "filling_system+lever"),
    ("Diaframma con 8 lamelle.", "aperture_blades+8"),
    ("Chiusura a moschettone.", "clasp+"),
    ("Bisagras de siete anillas.", "hinge+7"),
    ("Sin remaches.", "rivets-"),
    ("Alma metálica vista.", "core_wire+"),
    ("Lentes de cristal.", "lens_material+glass"),
    ("Tornillos de estrella.", "screws+cross"),
    ("Plaquetas ajustables.", "nose_pads+adjustable"),
    ("Cuerda manual.", "movement+manual"),
    ("Cristal de zafiro.", "crystal+sapphire"),
    ("Carga por palanca.", "filling_system+lever"),
    ("Diafragma de 8 palas.", "aperture_blades+8"),
    ("Cierre de mosquetón.", "clasp+"),
    ("The hinge is a five barrel riveted type.", "hinge+5 rivets+"),
    ("Hinge: 5 barrel", "hinge+5"),
    ("Rivets: none", "rivets-"),
    ("Core wire: yes", "core_wire+"),
    ("Nose pads: none", "nose_pads-"),
    ("Lens: glass", "lens_material+glass"),
    ("Pinned hinges with real rivets, not glued ones.", "hinge+ rivets+"),
    ("The barrel of the pen is black.", ""),
    ("Box clasp and safety chain.", "clasp+ clasp+"),
    ("Screw-back earrings, push clasp.", "clasp+ clasp+"),
    ("Fold-over clasp on bracelet.", "clasp+"),
    ("Folding hinge at the bridge.", "hinge+"),
    ("Hidden hinges.", "hinge+hidden"),
    ("Steel core running through the arms.", "core_wire+"),
    ("Metal running through the temples.", "core_wire+"),
    ("You can see the wire through the acetate.", "core_wire+"),
    ("Hook temples, curled behind the ear.", "temple_style+cable"),
    ("Skull temples.", "temple_style+skull"),
    ("21 jewels.", "movement+21"),
    ("Self winding, 25 jewels.", "movement+automatic movement+25"),
    ("Winds by hand.", "movement+manual"),
    ("Winds up by hand.", "movement+manual"),
    ("Drei-Rollen-Scharnier.", "hinge+"),
    ("Visserie cruciforme.", "screws+cross"),
    ("Viteria a croce.", "screws+cross"),
    ("Charnières ressort.", "hinge+spring"),
    ("Solo ritiro a mano.", ""),
    ("Glass crystal, no chips.", "crystal+glass"),
    ("Fills with a button.", "filling_system+button"),
    ("Vacuum filler.", "filling_system+vacuum"),
    ("Fills by twisting the piston.", "filling_system+piston"),
]


@pytest.mark.parametrize(("text", "expected"), CASES)
def test_construction_claims(text: str, expected: str) -> None:
    found = [
        (feature.kind + SIGNS[feature.claimed], feature.value or "")
        for feature in find_features(prepare(text))
    ]
    wanted = [re.fullmatch(r"([a-z_]+[-+?])(.*)", claim) for claim in expected.split()]
    assert sorted(kind for kind, _ in found) == sorted(m[1] for m in wanted if m)
    for match in wanted:
        assert match is not None
        assert not match[2] or (match[1], match[2]) in found


@pytest.mark.parametrize(
    "text", ["Plastic lenses, not glass lenses.", "Kunststoffgläser statt Mineralglas"]
)
def test_the_other_side_of_a_contrast_is_no_second_claim(text: str) -> None:
    (feature,) = find_features(prepare(text))
    assert (feature.value, feature.claimed) == ("plastic", "present")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("seven-barrel hinge", "7"),
        ("7 barrel hinge", "7"),
        ("Scharnier mit sieben Gliedern", "7"),
        ("charnières à sept charnons", "7"),
        ("cerniere a sette elementi", "7"),
        ("bisagras de siete anillas", "7"),
    ],
)
def test_barrels_are_counted_in_five_languages(text: str, value: str) -> None:
    assert [feature.value for feature in find_features(prepare(text))] == [value]


@pytest.mark.parametrize(
    ("text", "kind", "value", "claimed"),
    [
        ("Les verres de présentation sont en plastique.", "lens_material", "plastic", "present"),
        ("las lentes de muestra, que son de plástico", "lens_material", "plastic", "present"),
        ("Die runden Gläser mit Stich sind aus echtem Glas.", "lens_material", "glass", "present"),
        ("Le lenti da sole sono in vetro.", "lens_material", "glass", "present"),
        ("La bisagra es de cinco charnelas.", "hinge", "5", "present"),
        ("La charnière compte sept charnons.", "hinge", "7", "present"),
        ("Separate Nasenpads gibt es also nicht.", "nose_pads", None, "absent"),
        ("BRANCHES ARTICULÉES À ANNEAU", "temple_style", "straight", "present"),
        ("Les plaquettes manquent.", "nose_pads", None, "absent"),
        ("Naselli mancanti.", "nose_pads", None, "absent"),
        ("The pads are missing altogether.", "nose_pads", None, "absent"),
        ("Nieten sucht man vergeblich.", "rivets", None, "absent"),
        ("rivets? none.", "rivets", None, "absent"),
        ("Lenti pesanti in vetro.", "lens_material", "glass", "present"),
        ("Bisagra gruesa de cinco dientes.", "hinge", "5", "present"),
        ("Branches terminées en crochet.", "temple_style", "cable", "present"),
        ("Bügel laufen gerade aus.", "temple_style", "straight", "present"),
        ("Se remplit au levier.", "filling_system", "lever", "present"),
        ("Die Bügel sind zum Einhängen hinters Ohr.", "temple_style", "cable", "present"),
        ("The arms are thin and hook round the ear.", "temple_style", "cable", "present"),
    ],
)
def test_part_and_kind_stand_apart(text: str, kind: str, value: str | None, claimed: str) -> None:
    (feature,) = find_features(prepare(text))
    assert (feature.kind, feature.value, feature.claimed) == (kind, value, claimed)


TRAITS = [
    line.split("|")
    for line in (Path(__file__).parent / "cases" / "traits.txt").read_text("utf-8").splitlines()
    if not line.startswith("#")
]
TITLES = {
    "en": "Vintage spectacles, horn frame",
    "de": "Alte Brille, Hornfassung",
    "fr": "Lunettes anciennes, monture corne",
    "it": "Occhiali vintage, montatura in corno",
    "es": "Gafas antiguas, montura de concha",
}
LEAST_READ = 0.92  # share of the half set aside


def told_below_a_title(language: str, text: str) -> set[str]:
    """Read a sentence of a listing of spectacles."""
    features = find_features(prepare(f"{TITLES[language]}\n{text}"))
    return {f"{feature.kind}:{feature.claimed}" for feature in features}


@pytest.mark.parametrize(
    ("language", "text", "expected"), [row[1:] for row in TRAITS if row[0] == "o"]
)
def test_traits_are_read_as_sellers_put_them(language: str, text: str, expected: str) -> None:
    assert told_below_a_title(language, text) == set(expected.split())


def test_most_traits_set_aside_are_read() -> None:
    kept = [row for row in TRAITS if row[0] == "e"]
    right = sum(told_below_a_title(row[1], row[2]) == set(row[3].split()) for row in kept)
    assert right >= LEAST_READ * len(kept)


def test_mineral_glass_of_a_watch_named_in_one_word_is_its_crystal() -> None:
    text = "Taucheruhr Automatik 20 ATM\nMineralglas ohne Kratzer."
    assert [f.kind for f in find_features(prepare(text))][-1] == "crystal"


def test_text_may_end_with_a_comma() -> None:
    assert [f.claimed for f in find_features(prepare("Possibly old. Glass lenses,"))] == ["present"]
