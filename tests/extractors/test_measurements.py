"""Stated sizes are found, named, and told from the sizes of other things."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from extractors.measurements import find_measurements
from extractors.reading import prepare
from extractors.records import Measurement

Row = tuple[str, float, float]


def measure(description: str, title: str = "Spectacles") -> tuple[Measurement, ...]:
    return find_measurements(prepare(f"{title}\n{description}"))


def rows(description: str, title: str = "Spectacles") -> list[Row]:
    """Quantity ("case", "box" ... where not the item's), low and high."""
    return [
        (m.quantity if m.of_item else m.object, m.low_mm, m.high_mm)
        for m in measure(description, title)
    ]


def lens(*values: float) -> list[Row]:
    names = ("lens_width", "bridge", "temple_length")
    return [(name, value, value) for name, value in zip(names, values, strict=False)]


def _pair(width: float, height: float) -> list[Row]:
    return [("lens_width", width, width), ("lens_height", height, height)]


def _wide(width: float) -> list[Row]:
    return [("frame_width", width, width)]


BOXED = [
    ("52□18-140", lens(52, 18, 140)),
    ("52☐18 140", lens(52, 18, 140)),
    ("52[]18 140", lens(52, 18, 140)),
    ("52 [ ] 18", lens(52, 18)),
    ("52/18", lens(52, 18)),
    ("58 / 14", lens(58, 14)),
    ("52-18-140", lens(52, 18, 140)),
    ("52 – 18 – 140", lens(52, 18, 140)),
    ("52x18x140", lens(52, 18, 140)),
    ("52 18 140", lens(52, 18, 140)),
    ("49mm/21mm/145mm", lens(49, 21, 145)),
    ("52/16-140", lens(52, 16, 140)),
    ("Printed 56-18 inside the arm", lens(56, 18)),
]


@pytest.mark.parametrize(("text", "expected"), BOXED)
def test_boxed_sizes_are_read_in_every_notation(text: str, expected: list[Row]) -> None:
    assert rows(text) == expected


def test_a_jumbled_order_is_restored_from_the_ranges() -> None:
    assert sorted(rows("18-52-140")) == sorted(lens(52, 18, 140))


LABELLED = [
    ("La distanza fra una lente e l'altra 2,3 cm", [("bridge", 23, 23)]),
    ("Abstand zwischen den Gläsern 19 mm", [("bridge", 19, 19)]),
    ("Lens to lens 132 mm overall", [("frame_width", 132, 132)]),
    ("Brow to lower rim 41 mm", [("frame_height", 41, 41)]),
    ("B measurement 41. A measurement 46.", [("lens_height", 41, 41), ("lens_width", 46, 46)]),
    ("Arms 135 in total", [("temple_length", 135, 135)]),
    ("Lens is one piece, 58 mm deep", [("lens_height", 58, 58)]),
    ("49 by 33 lens, 23 bridge", [*_pair(49, 33), ("bridge", 23, 23)]),
    ("eyewire inside 44 by 36", _pair(44, 36)),
    ("hole for the nose - 25", [("bridge", 25, 25)]),
    ("50.5 on the lens, 17.8 on the bridge", lens(50.5, 17.8)),
    ("Glas 4,7 breit und 3,6 hoch, dazwischen 2,2", [*_pair(47, 36), ("bridge", 22, 22)]),
    ("Lente larga 6 cm, alta 5,3", _pair(60, 53)),
    ("Bügel bis Knick 9,5, ganz 13,5", [("temple_length", 95, 95), ("temple_length", 135, 135)]),
    ("Sides to ear 100, full 147", [("temple_length", 100, 100), ("temple_length", 147, 147)]),
    ("Lens 5.2 x 4.1, rod 14 cm", [*_pair(52, 41), ("temple_length", 140, 140)]),
    ("Glas schräg gemessen 61 mm", [("lens_diagonal", 61, 61)]),
    ('Su un\'asta: "Bordeaux 8".', []),
    ("Un chiffre « 0,935 » est lisible.", []),
    ("My face is 14 cm wide. They measure 13.7 cm wide.",
     [("person", 140, 140), ("frame_width", 137, 137)]),
    ("the lens is an inch and seven eighths wide", [("lens_width", 47.625, 47.625)]),
    ("bridge nineteen, arms 140", [("bridge", 19, 19), ("temple_length", 140, 140)]),
    (
        "13.5/4.5/14 cm",
        [("frame_width", 135, 135), ("frame_height", 45, 45), ("temple_length", 140, 140)],
    ),
    ("60 x 56 per lens, 135 down the side", [*_pair(60, 56), ("temple_length", 135, 135)]),
    ("larghi 13 e mezzo da cerniera a cerniera", [("frame_width", 135, 135)]),
    ("front bang on 142", [("frame_width", 142, 142)]),
    ("branche 141 (104 avant le coude)", [("temple_length", v, v) for v in (141, 104)]),
    ("Bügel bis Knick 98 mm, gesamt 138 mm", [("temple_length", v, v) for v in (98, 138)]),
    ("Q: how wide? A: 136 Q: arms? A: 140 each", [*_wide(136), ("temple_length", 140, 140)]),
    ("« Rivage », verre 56,2 sur 49,8 mm", _pair(56.2, 49.8)),
    ("lens 54 bridge 18", lens(54, 18)),
    ("54 lens 18 bridge 140 arms", lens(54, 18, 140)),
    ("46 eye, 20 bridge, 138 temple length", lens(46, 20, 138)),
    ("Eye size: 52", lens(52)),
    ("Bridge | 18", [("bridge", 18, 18)]),
    ("A 52 B 38 ED 56 DBL 18", [
        ("lens_width", 52, 52), ("lens_height", 38, 38), ("lens_diagonal", 56, 56),
        ("bridge", 18, 18),
    ]),
    ("Lens W|53mm\nLens H|39mm\nCase L|165mm", [
        ("lens_width", 53, 53), ("lens_height", 39, 39), ("case", 165, 165),
    ]),
    ("Lens Width\n52 mm\nBridge\n18 mm", lens(52, 18)),
    ("Lens width (mm) 52 Bridge (mm) 18", lens(52, 18)),
    ("All in mm: lens 52, bridge 18, arms 140", lens(52, 18, 140)),
    ("Front 13.8, arms 14,2 cm", [("frame_width", 138, 138), ("temple_length", 142, 142)]),
    ("5 5/8 in arms, front 5 3/8", [("temple_length", 142.875, 142.875),
                                    ("frame_width", 136.525, 136.525)]),
    ("Arms 95 mm to the bend, 140 mm in total", [("temple_length", 95, 95),
                                                 ("temple_length", 140, 140)]),
    ("Lens 5.3cm by 4.9cm", [("lens_width", 53, 53), ("lens_height", 49, 49)]),
    ("13.5cm W x 4.5cm H", [("frame_width", 135, 135), ("frame_height", 45, 45)]),
    ("Folded 7 x 4.5 cm", [("length", 70, 70), ("width", 45, 45)]),
    ("Tortoise brdige 18 mm, tempels 140 mm", [("bridge", 18, 18), ("temple_length", 140, 140)]),
    ("Lens 48mm (1.89\")", [("lens_width", 48, 48), ("lens_width", 48.006, 48.006)]),
    ("Glasbreite 5,2 cm, Bügellänge 14 cm", [("lens_width", 52, 52), ("temple_length", 140, 140)]),
    ("Pont 20 mm, verres 4,6 cm, face 13,2 cm", [("bridge", 20, 20), ("lens_width", 46, 46),
                                                 ("frame_width", 132, 132)]),
    ("Frontale 13,1 cm, lente 47 mm, stanghette 14 cm", [
        ("frame_width", 131, 131), ("lens_width", 47, 47), ("temple_length", 140, 140),
    ]),
    ("Frente 13,4 cm, patilla 14 cm", [("frame_width", 134, 134), ("temple_length", 140, 140)]),
]  # fmt: skip


ROUND_THE_LENS = [
    "Lenses measure 50 x 44 mm, bridge 20.",
    "Gläser messen 50 x 44 mm, Steg 20.",
    "Each lens 50mm wide and 44mm high outside, 20mm between",
    "Lens 50mm wide, 44mm high, 20mm between",
    "Glas 50 mm breit, 44 mm hoch, 20 mm dazwischen",
    "Verre 50 mm de large, 44 de haut, 20 entre les deux",
]


@pytest.mark.parametrize("text", ROUND_THE_LENS)
def test_width_height_and_what_lies_between_keep_their_places(text: str) -> None:
    assert rows(text) == [*_pair(50, 44), ("bridge", 20, 20)]


@pytest.mark.parametrize(("text", "expected"), LABELLED)
def test_words_before_or_after_name_the_size(text: str, expected: list[Row]) -> None:
    assert rows(text) == expected


OTHER_GOODS = [
    ("Camera lens", "Mint 2.8/50, takes a cap", [("focal_length", 50, 50)]),
    ("Wristwatch", "36 mm w/o crown, 38.5 with", [("case_diameter", v, v) for v in (36, 38.5)]),
    ("Fountain pen Merseburg 22", "13 cm long", [("length", 130, 130)]),
    ("Gents wristwatch", "34mm without crown, 37 with crown, 18mm lugs, 41mm lug to lug", [
        ("case_diameter", 34, 34), ("case_diameter", 37, 37), ("lug_width", 18, 18),
        ("lug_to_lug", 41, 41),
    ]),
    ("Wristwatch", "Case 34mm x 9mm, fits a 17 cm wrist", [
        ("case_diameter", 34, 34), ("case_thickness", 9, 9), ("wrist_circumference", 170, 170),
    ]),
    ("Montre", "Boîtier 30 x 38 mm", [("width", 30, 30), ("height", 38, 38)]),
    ("Fountain pen", "4 7/8\" capped, 6 1/8\" posted, barrel 12 mm", [
        ("length_capped", 123.825, 123.825), ("length_posted", 155.575, 155.575),
        ("barrel_diameter", 12, 12),
    ]),
    ("Camera lens", "35-70mm zoom, 52mm filter, hood 60 mm", [
        ("focal_length", 35, 70), ("filter_diameter", 52, 52), ("accessory", 60, 60),
    ]),
    ("Silver locket", "25 x 20mm, chain 50cm, box 6 cm", [
        ("height", 25, 25), ("width", 20, 20), ("chain_length", 500, 500), ("box", 60, 60),
    ]),
    ("Fountain pen", "closed 13.6 cm and out of its cap 12.2 cm", [
        ("length_capped", 136, 136), ("length_uncapped", 122, 122),
    ]),
    ("Druckfüller grün", "Länge zu 127 mm", [("length_capped", 127, 127)]),
    ("Wristwatch", "36 wide, lugs 19, thickness 10 ½, all in millimetres", [
        ("case_diameter", 36, 36), ("lug_width", 19, 19), ("case_thickness", 10.5, 10.5),
    ]),
    ("Taschenuhr Silber", "Uhrkette 28 cm, gehört dazu", [("accessory", 280, 280)]),
    ("Reloj de bolsillo", "La leontina mide 24 cm", [("accessory", 240, 240)]),
    ("Camera lens", "50 mm, 62 mm long and 58 mm at its fattest point", [
        ("focal_length", 50, 50), ("length", 62, 62), ("diameter", 58, 58),
    ]),
    ("Gold ring", "Band 4 mm wide, inner diameter 17mm", [
        ("band_width", 4, 4), ("inner_diameter", 17, 17),
    ]),
]  # fmt: skip


@pytest.mark.parametrize(("title", "text", "expected"), OTHER_GOODS)
def test_other_goods_have_their_own_names(title: str, text: str, expected: list[Row]) -> None:
    assert rows(text, title) == expected


NOT_THE_ITEM = [
    ('Hard case 6¾".', "case"),
    ("Comes in a 16 cm pouch", "case"),
    ("Box is 18 cm long", "box"),
    ("Parcel size 29 by 13 cm.", "parcel"),
    ("Cloth 15 x 15 cm", "accessory"),
    ("Mannequin head is 16 cm tall.", "person"),
    ("My PD is 64", "person"),
    ("Ruler in photo is 15cm.", "reference"),
    ("Next to a 2-Euro coin (25,75 mm)", "reference"),
    ("See my other listing for the 48mm version", "other"),
    ("Fits frames 130 to 135 mm wide", "other"),
    ("Étui à lunettes de 16 cm", "case"),
    ("Custodia per occhiali 16 cm", "case"),
    ("Brillenetui 16 cm", "case"),
    ("The rule shown is 30 cm, by the way.", "reference"),
    ("Head of my shop dummy is 57 cm round.", "person"),
    ("The 50 mm in the background isn't included.", "other"),
    ("La mia altra montatura uguale segna 52 mm.", "other"),
    ("Mon autre paire fait 52 mm.", "other"),
    ("Parasoleil rétractable de 86 mm.", "accessory"),
    ("Estuche de gafas de 16 cm", "case"),
    ("The tool chest (not for sale) is 20 inches wide.", "other"),
    ("Chain in picture 35 cm, sold separately.", "other"),
    ("L'encrier de la photo fait 55 mm.", "reference"),
    ("My own glasses are 5 1/2 in wide.", "person"),
    ("The tray insert measures 160 mm.", "accessory"),
]


@pytest.mark.parametrize(("text", "owner"), NOT_THE_ITEM)
def test_sizes_of_other_things_are_told_apart(text: str, owner: str) -> None:
    found = measure(text)
    assert found
    assert {(m.of_item, m.object) for m in found} == {(False, owner)}


NO_LENGTHS = [
    "Weighs 31 g with lenses.",
    "+2.50 dioptre, axis 90",
    "Ring size 52",
    "Lot 52/18 from a clearance, model 4818, stock code 2475",
    "Bus number 52 stops outside my shop",
    "Call 07700 900 655 or 0161 496 0000",
    "It says 1/20 12K under the bridge.",
    "UV400, cat 3, EN 1836",
    "Gafas de los años 60",
    "Only 2 in stock, made in 1950 in Italy",
    "£52, 50% off, 20 years old",
    "I wear a 54-18",
    "CR-39 lenses, SPF 50",
    "+2.00 in both, -1.75 in left",
    "Engraved 12.05.48, repaired 14/03/21 and 3-6-1912",
    "Our own 12-month warranty card included, 24/7",
    "Ouvert de 10h à 19h.",
    "Find me as brillenkiste_77",
]


@pytest.mark.parametrize("text", NO_LENGTHS)
def test_figures_that_are_no_lengths_are_left_alone(text: str) -> None:
    assert rows(text) == []


APPROXIMATE = [
    ("Approx. 130mm temple to temple", [True]),
    ("lens 50 mm or so, bridge 20 mm", [True, False]),
    ("approximate sizes\nlens 50mm\nbridge 20mm", [True, True]),
    ("lens 50mm, bridge 20mm (all sizes approx)", [True, True]),
    ("largeur 14 cm environ, hauteur 5 cm", [True, False]),
    ("front 131 ± 2 mm", [False]),
    ("arms 47-49 mm", [False]),
    ("lens 50 mm, about 1950", [False]),
]


@pytest.mark.parametrize(("text", "expected"), APPROXIMATE)
def test_approximation_covers_what_it_stands_by_or_heads(text: str, expected: list[bool]) -> None:
    assert [m.approximate for m in measure(text)] == expected


RANGES = [
    ("Front 125-127 mm", 125, 127),
    ("arms 140–145 mm", 140, 145),
    ("lens between 47 and 49", 47, 49),
    ("zwischen 13 und 13,5 cm breit", 130, 135),
    ("126 +/- 1 mm", 125, 127),
    ("front 131 plus or minus 2 mm", 129, 133),
    ("arms 140 mm, give or take 2 mm", 138, 142),
]


@pytest.mark.parametrize(("text", "low", "high"), RANGES)
def test_ranges_and_tolerances_give_low_and_high(text: str, low: float, high: float) -> None:
    assert [(m.low_mm, m.high_mm) for m in measure(text)] == [(low, high)]


def test_a_stated_step_sets_the_half_width() -> None:
    assert [m.half_width_mm for m in measure("to the nearest 5 mm: front 135 mm")] == [2.5]


def test_the_basis_of_a_size_is_kept() -> None:
    found = measure("Arms 95 mm to the bend. Hinge to hinge 130 mm. Printed 52-18.")
    assert [m.basis for m in found] == ["to_bend", "hinge_to_hinge", "printed", "printed"]


def test_several_items_are_numbered() -> None:
    found = measure("first pair brown 50/18, second pair black is 13.5 cm wide with 14 cm legs")
    assert [m.item for m in found] == [1, 1, 2, 2]


LANGUAGES = {
    "en": "Front {} across",
    "de": "Gesamtbreite {}",
    "fr": "largeur totale {}",
    "it": "larghezza totale {}",
    "es": "ancho total {}",
}


@settings(max_examples=25, deadline=None)
@given(st.integers(1100, 1600), st.sampled_from(sorted(LANGUAGES)))
def test_a_length_reads_the_same_in_every_unit(tenths: int, language: str) -> None:
    mm = tenths / 10
    forms = (f"{mm:.1f} mm", f"{mm / 10:.2f} cm", f"{mm / 25.4:.4f} inch")
    read = [rows(LANGUAGES[language].format(form)) for form in forms]
    assert all(len(found) == 1 and found[0][0] == "frame_width" for found in read)
    assert all(abs(found[0][1] - mm) <= 0.01 for found in read)


PARTS = ("lens 52 mm", "bridge 18 mm", "arms 140 mm", "front 13.4 cm", "case 16 cm", "52□18")
PLAIN_SENTENCES = (
    "Posted within two days.",
    "Smoke free home.",
    "Please look at the pictures.",
    "Keine Garantie.",
    "Vendu en l'état.",
)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.sampled_from(PARTS), min_size=1, max_size=3),
    st.lists(st.sampled_from(PLAIN_SENTENCES), min_size=1, max_size=3),
    st.booleans(),
)
def test_an_unrelated_sentence_changes_no_measurement(
    parts: list[str], others: list[str], before: bool
) -> None:
    text = ", ".join(parts) + "."
    longer = " ".join([*others, text]) if before else " ".join([text, *others])
    assert rows(longer) == rows(text)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(max_size=80), st.sampled_from(PARTS), st.text(max_size=80))
def test_spans_point_at_their_own_text(before: str, part: str, after: str) -> None:
    text = f"title\n{before} {part} {after}"
    for measurement in find_measurements(prepare(text)):
        for span in measurement.quoted:
            assert text[span.start : span.end] == span.text != ""


@settings(max_examples=30, deadline=None)
@given(st.text(alphabet='0123456789/-., x□mcin"½\nlens', max_size=300))
def test_hostile_figures_never_raise(text: str) -> None:
    for measurement in measure(text):
        assert measurement.half_width_mm > 0
        assert measurement.low_mm <= measurement.high_mm


@pytest.mark.parametrize("piece", ["1/2/", "5 1/2 x 5-", "52□", "5 x ", "5-6-", "(((5", "½"])
def test_endless_figures_on_one_line_are_read_in_linear_time(piece: str) -> None:
    reading = prepare("t\n" + piece * (12_000 // len(piece)))
    assert len(find_measurements(reading)) <= 5000


CASES = Path(__file__).parents[1] / "evaluation" / "text_cases_measures.jsonl"


def annotated() -> list[dict[str, Any]]:
    return [json.loads(line) for line in CASES.read_text(encoding="utf-8").splitlines()]


def test_annotated_listings_reach_the_targets() -> None:
    """Quantity, value and whose size, counted once a listing: F1 .93 English, .87 others."""
    counts = {"en": [0, 0], "other": [0, 0]}
    for case in annotated():
        gold = {
            (m["quantity"] if m["of_item"] else "", round(m["low_mm"]), round(m["high_mm"]))
            for m in case["gold"]["measurements"]
        }
        found = {
            (m.quantity if m.of_item else "", round(m.low_mm), round(m.high_mm))
            for m in measure(case["description"], case["title"])
        }
        group = counts["en" if case["language"] == "en" else "other"]
        group[0] += len(gold & found)
        group[1] += len(gold) + len(found)
    f1 = {group: 2 * hits / total for group, (hits, total) in counts.items()}
    assert f1["en"] >= 0.93
    assert f1["other"] >= 0.87


@pytest.mark.parametrize(
    ("title", "text", "sizes"),
    [
        ("Frame", "One rim measures 60 x 51 mm over the outer edge.", "rim_width 60 rim_height 51"),
        (
            "Gantreux Clairval",
            "overall width 105 mm. lens 48 bridge 24",
            "frame_width 105 lens_width 48 bridge 24",
        ),
        ("Frame", "stamped behind the bridge: TB 22. Lens 48.", "lens_width 48"),
        ("Frame", "circumference of each lens 146 mm", "circumference 146"),
        (
            "Glasses",
            "Eye size: 54\nVertical: 46\nFrame width: 141",
            "lens_width 54 lens_height 46 frame_width 141",
        ),
        ("Glasses", "height of the glass 5 cm, bar 13 cm", "lens_height 50 temple_length 130"),
        ("Two pens", "Both about 5 inches with caps on", "length_capped 127"),
        ("Gold rope chain, 20 inches", "Length 20 inches.", "chain_length 508 chain_length 508"),
        ("Brille", "56▢16 ▪ 140", "lens_width 56 bridge 16 temple_length 140"),
        ("Zwicker", "Gläser 37 x 29 mm, ohne Etui.", "lens_width 37 lens_height 29"),
        ("Lunettes", "Verres 37 x 29 mm, sans étui.", "lens_width 37 lens_height 29"),
        ("Brille", "Bild ist beispielhaft Porto 4,50", ""),
        ("Fountain pen", "Barrel imprint ORLENA PAT. OCT 7 1913 still crisp", ""),
        ("Frame", "Rim deepest part 44 mm.", "frame_height 44"),
        (
            "Brille",
            "Glas an der breitesten Stelle 49, an der höchsten 43",
            "lens_width 49 lens_height 43",
        ),
        ("Lunettes", "fer, rond, 38 mm, branches à enroulement", "lens_width 38"),
        ("Gafas", "Alto y ancho de lente: 40 y 48 mm", "lens_height 40 lens_width 48"),
        (
            "Frame",
            "Lens / bridge / arms: 4.8 / 2 / 14 cm",
            "lens_width 48 bridge 20 temple_length 140",
        ),
        ("Frame", "Black pads, rim 58 x 47, made in France.", "lens_width 58 lens_height 47"),
        ("Frame", 'width temple hinge to temple hinge 5 1/2"', "frame_width 139.7"),
        ("Wristwatch", "Case W / H: 22 / 27 mm", "width 22 height 27"),
        ("Wristwatch", "Case W 24 mm, H 31 mm, 6 mm thick", "width 24 height 31 case_thickness 6"),
        ("Armbanduhr", "Gehäuse 26 mm breit und 39 mm hoch", "width 26 height 39"),
        ("Armbanduhr", "Gehäuse 36 mm breit und 11 mm hoch", "case_diameter 36 case_thickness 11"),
        ("Reloj de pulsera", "Caja: ancho 28 mm\nalto 36 mm", "width 28 height 36"),
        (
            "Wristwatch",
            "Case 15 x 22 mm, bracelet 165mm round",
            "width 15 height 22 wrist_circumference 165",
        ),
        (
            "Wristwatch",
            "Case measures 34.5 without crown, 36.5 with",
            "case_diameter 34.5 case_diameter 36.5",
        ),
        ("Wristwatch", "Power reserve 40 h. Diameter 35 mm.", "case_diameter 35"),
        ("Montre automatique", "Verre posé à la révision en 2023", ""),
        ("Kolbenfüller Aurendahl 42", "Auf der Kappe läuft AURENDAHL 42 um.", ""),
        ("Silver bracelet", "Sello 925 al lado del cierre", ""),
        ("Silver bracelet", "Jubilee charm says 1977", ""),
        ("Silver earrings", "27mm discs", "diameter 27"),
        (
            "Gold locket",
            "6mm thick, the chain is 46cm w/ bolt ring",
            "thickness 6 chain_length 460",
        ),
        ("Camera lens", "Only 75mm 1:4.5 round the rim", "focal_length 75"),
        ("Camera lens", "Length 62 mm from mount, 58 mm across", "length 62 diameter 58"),
        ("Camera lens", "Big brass barrel 62.5 mm outside", "diameter 62.5"),
        (
            "Wristwatch",
            "fits up to 21.5cm wrist. mine is 17cm",
            "wrist_circumference 215 unspecified 170",
        ),
        (
            "Frame",
            "My other pair is 52 mm, these have a 48 mm lens.",
            "unspecified 52 lens_width 48",
        ),
        (
            "Frame",
            "My own glasses are 5 1/2 in wide, these are 5 in.",
            "width 139.7 frame_width 127",
        ),
        (
            "Frame",
            "I have a narrow face (13 cm). Total width 136 mm.",
            "unspecified 130 frame_width 136",
        ),
        ("Frame", "Bridge reads 1/10 12K, arms 14 cm", "temple_length 140"),
        (
            "Orologio",
            "Scatola 12 cm. Diametro senza corona 36 mm",
            "unspecified 120 case_diameter 36",
        ),
        (
            "Objectif",
            "Longueur focale 100 mm. Diamètre du fût 42 mm",
            "focal_length 100 diameter 42",
        ),
        (
            "Ambrasse Calixe",
            "Horn, silver, three barrel, 48-22-140.",
            "lens_width 48 bridge 22 temple_length 140",
        ),
    ],
)
def test_sizes_keep_to_their_part(title: str, text: str, sizes: str) -> None:
    found = [f"{m.quantity} {m.low_mm:g}" for m in measure(text, title)]
    assert " ".join(found) == sizes
