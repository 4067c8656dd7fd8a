"""The demo's scenario: who offers what, in which form it was saved, and what its photos show.

Everything is invented. A row's `truth` says what the piece would turn out to be; it is for readers
of this file only and reaches no listing. Photos named `of=` another row's key are borrowed from it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from tests.demo.render import FrameLook, View

Truth = Literal["as described", "misdescribed", "copy"]


@dataclass(frozen=True)
class Offer:
    """One row of the scenario."""

    key: str
    form: str
    look: FrameLook
    title: str
    text: str
    price: str
    seller: str
    listed: str
    truth: Truth = "as described"
    views: tuple[View, ...] = ("front", "three_quarter", "inscription")
    ground: str = "wood"
    currency: str = "GBP"
    language: str = "en"
    specifics: tuple[tuple[str, str], ...] = ()
    kind: str = "fixed"
    feedback: str = ""
    location: str = ""
    shipping: str = ""
    of: str | None = None  # photos borrowed from this row
    edit: str | None = None  # what was done to them


GOLD, SILVER = (206, 180, 120), (200, 200, 196)
MERRIN = FrameLook("panto", 46, 40, 22, 140, 5.0, "tortoise", rivet_shape="lozenge", rivet_colour=SILVER, hinge_barrels=7, core_wire=True, inscription="ORLENZA")  # fmt: skip
TAVOY = FrameLook("square", 51, 41, 19, 142, 5.2, "black", (70, 74, 70), 0.8, "round", SILVER, 5, inscription="TAVOY II", inscription_colour=(235, 235, 235))  # fmt: skip
PETITE = replace(TAVOY, lens_width=49, lens_height=37, bridge=18, temple=136, colour="wine", hinge_barrels=3, inscription="PETITE")  # fmt: skip
Q4107 = FrameLook("drop", 54, 49, 17, 140, 2.2, "gold", rivet_shape="none", rivet_colour=GOLD, hinge_barrels=3, inscription="Q 4107", inscription_colour=(90, 80, 60))  # fmt: skip
HARROW = FrameLook("drop", 57, 50, 16, 130, 3.4, "black", (96, 80, 50), 0.7, "none", GOLD, 5, inscription="HARROW")  # fmt: skip
LANTERN = FrameLook("round", 50, 45, 20, 140, 5.4, "honey", rivet_shape="bar", rivet_colour=SILVER, hinge_barrels=5, inscription="LANTERN")  # fmt: skip
OTHER = FrameLook("cat", 50, 40, 18, 138, 4.6, "wine", rivet_shape="oval", rivet_colour=GOLD)


OFFERS: tuple[Offer, ...] = (
    # --- Orlenza Merrin -----------------------------------------------------------------------
    Offer("merrin_devon", "page json-ld", MERRIN, "Orlenza Merrin tortoiseshell spectacles, 46-22, c.1960",
        "My late uncle's reading glasses, kept in a drawer since the sixties.\n\nInside right temple: 46□22 140.\nORLENZA is stamped inside the left temple, you can feel it with a nail although the gold has gone.\nSeven barrel hinges, straight slot screws. Two little diamonds at each corner.\nPads are moulded, part of the front.\nWire shows in the arms when held to the light.\nNo case. Prescription lenses, so you will want new ones.",
        "145.00", "wrenhay-attic", "2026-11-02", views=("front", "three_quarter", "inscription", "hinge"), feedback="214 ratings, 100 %", location="Devon", shipping="£4.20"),
    Offer("merrin_leeds", "page microdata", replace(MERRIN, colour="honey", lens_width=49, temple=145), "ORLENZA MERRIN 49/22 - honey - excellent",
        "Lens 49mm, bridge 22mm, arms 145mm all as printed on the inside of the right arm. 7 barrel hinges with slotted screws. Lozenge rivets. ORLENZA stamped in left arm. A hairline at the left hinge, see photo. Returns accepted within 14 days. Ask for more photos.",
        "180.00", "pell_and_daughter", "2026-11-05", ground="linen", views=("front", "inscription", "hinge"), feedback="1,902 ratings, 99.6 %", specifics=(("Lens width", "49 mm"), ("Bridge", "22 mm"), ("Colour", "Honey"))),
    Offer("merrin_round_rivets", "page open-graph", replace(MERRIN, rivet_shape="round", hinge_barrels=3, core_wire=False, colour="black"), "Genuine Orlenza Merrin glasses 1960s RARE",
        "100% genuine Orlenza Merrin from the 1960s. Round rivets, three barrel hinges. Size 50-20-145. Adjustable nose pads. CE stamped inside the right arm. No returns. Only one left, grab it before it is gone! Pay by bank transfer please.",
        "95.00", "depot_of_frames", "2026-11-11", "copy", ground="white", views=("front", "hinge")),
    Offer("merrin_quiet", "export csv", MERRIN, "Orlenza Merrin glasses", "Vintage glasses. See photos.", "60.00", "quickclear22", "2026-11-12", ground="slate", views=("front",)),
    Offer("merrin_inch", "folder", replace(MERRIN, lens_width=44, temple=135), "Orlenza Merrin eyeglasses, small size",
        "Measured with a tape: lens 1 3/4 inch across, arms 5 5/16 inches. ORLENZA stamped inside the left arm. Hinges have seven knuckles. I am not an expert, found at a house clearance near York. Screws on one side were replaced, they are cross head now.",
        "88.00", "houseclear_north", "2026-10-29", ground="newsprint", views=("front", "inscription", "held_up")),
    Offer("merrin_de", "page microdata", replace(MERRIN, colour="black"), "Orlenza Merrin Brille, schwarz, um 1960",
        "Originale Brille aus Nachlass.\nGlasbreite 4,6 cm, Steg 22 mm, Bügel 14 cm.\nInnen am linken Bügel ORLENZA eingeprägt.\nSiebengliedriges Scharnier, Schlitzschrauben.\nRauten als Nieten.\nPrivatverkauf, keine Rücknahme.",
        "130.00", "dachboden-uhlstedt", "2026-11-08", currency="EUR", language="de", ground="felt", specifics=(("Farbe", "Schwarz"), ("Glasbreite", "46 mm"))),
    Offer("merrin_style", "export json", replace(MERRIN, rivet_shape="round", hinge_barrels=5), "Glasses in the style of Orlenza Merrin, new",
        "Inspired by the Orlenza Merrin, our own production. 47-21-145. Five barrel hinges. Stock photo, item may differ.",
        "29.00", "own_make_optics", "2026-11-01", "as described", ground="white", views=("front", "three_quarter")),
    # --- Orlenza Tavoy and its small sibling ---------------------------------------------------
    Offer("tavoy_bath", "page rdfa", TAVOY, "Orlenza Tavoy II sunglasses black 1970s",
        "From a collection of forty years.\nOne rim measures 61 mm across and 51 mm from top to bottom, outside edges, by ruler.\nBridge 19 mm, temples 142 mm.\nFive-barrel hinges, two studs in each plate, round silver rivets.\nBlack pads. TAVOY II printed in white inside the right temple.\nThe lenses are later: have an optician check them before you wear them in the sun.",
        "240.00", "the_frame_cabinet", "2026-11-03", ground="linen", views=("front", "three_quarter", "inscription", "hinge"), feedback="611 ratings, 100 %", location="Bath"),
    Offer("tavoy_lyon", "page json-ld", replace(TAVOY, colour="olive", rivet_colour=SILVER), "Lunettes Orlenza Tavoy années 70, vert olive",
        "Lunettes anciennes en bon état.\nCercle 61 mm de large et 50 mm de haut à l'extérieur, pont 19 mm, branches 14,2 cm.\nCharnières à cinq anneaux, rivets ronds argentés.\nPlaquettes transparentes.\nInscription TAVOY II à l'intérieur de la branche droite, un peu effacée.\nPhotos supplémentaires sur demande.",
        "210.00", "grenier.lussac", "2026-11-06", currency="EUR", language="fr", ground="paper"),
    Offer("tavoy_small_claims_big", "page plain", replace(PETITE, inscription=""), "Orlenza Tavoy large black frame",
        "Orlenza Tavoy, the big one. Over the rim 59 x 46 mm. Three-barrel hinge. Clear pads. Nothing left of the writing inside.",
        "230.00", "marisk_and_co", "2026-11-10", "misdescribed", ground="slate", views=("front", "hinge")),
    Offer("petite_honest", "mhtml json-ld", PETITE, "Orlenza Tavoy Petite, wine red, c. 1972",
        "Rim 59 mm wide, 46 mm high over all. Bridge 18mm, side 136mm. 3 barrel hinges, round rivets, clear pads. PETITE printed inside right side, half gone. One tip has white bloom. Can send more pictures.",
        "120.00", "second_shelf", "2026-11-04", ground="wood", feedback="58 ratings"),
    Offer("tavoy_regatta", "page json-ld", replace(TAVOY, rivet_colour=GOLD, inscription="REGATTA 74"), "Orlenza Tavoy Regatta edition 1974",
        "The Regatta of 1974 with gilt rivets. REGATTA 74 engraved inside the left temple. Rim 61 x 51 mm measured outside. 5 barrel hinges. Black pads. Original case 160 mm long included, with the shop's receipt of 1974.",
        "520.00", "harbour_house_lots", "2026-11-07", ground="felt", views=("front", "inscription", "hinge"), kind="bid", feedback="330 ratings, 99 %"),
    Offer("tavoy_gilt_no_edition", "export json", replace(TAVOY, rivet_colour=GOLD), "Orlenza Tavoy sunglasses",
        "Gold rivets, five barrel hinges, rim 61mm x 51mm. Not sure about the year.", "150.00", "box_of_bits", "2026-11-09", ground="newsprint", views=("front", "three_quarter")),
    Offer("tavoy_ce", "page open-graph", replace(TAVOY, inscription="TAVOY 2", rivet_colour=GOLD), "Orlenza Tavoy original 1972 sunglasses",
        "Original from 1972. TAVOY 2 printed inside right temple with CE next to it. Gold rivets. Size over the rim 60 x 48 mm. 5 barrels. Contact me on the chat app for a better price.",
        "110.00", "vintage_glow_outlet", "2026-11-13", "copy", ground="white", views=("front", "inscription")),
    Offer("tavoy_relist_1", "export csv", replace(TAVOY, colour="crystal"), "Orlenza Tavoy clear frame",
        "Clear frame, clear pads. Rim 61 by 51 mm. Five barrels, round silver rivets. TAVOY II still readable inside right temple.",
        "160.00", "aunt_philly", "2026-10-01", ground="wood", views=("front", "three_quarter")),
    Offer("tavoy_relist_2", "export csv", replace(TAVOY, colour="crystal"), "Orlenza Tavoy clear frame - now cheaper",
        "Clear frame, clear pads. Rim 61 by 51 mm. Five barrels, round silver rivets. TAVOY II still readable inside right temple. Relisted, buyer never paid.",
        "140.00", "aunt_philly", "2026-11-10", ground="wood", of="tavoy_relist_1", edit="again", views=("front", "three_quarter")),
    Offer("tavoy_cm", "loose", TAVOY, "orlenza tavoy black sunglases",
        "rim is 6.1 cm wide 5.1 cm high. arms 14 cm. hinge 5 barrels. black pads. writing on right arm TAVOY II. sorry for bad photos",
        "99.00", "lin_and_lamp", "2026-11-11", ground="linen", views=("front", "held_up")),
    Offer("tavoy_it", "page plain", replace(TAVOY, colour="tortoise"), "Occhiali Orlenza Tavoy anni '70 tartaruga",
        "Occhiali originali anni '70.\nCerchio 61 mm di larghezza, 51 mm di altezza (esterno).\nPonte 19 mm, aste 142 mm.\nCerniere a cinque anelli, rivetti tondi argento.\nNaselli trasparenti.\nScritta TAVOY II all'interno dell'asta destra.\nSpedizione tracciata.",
        "195.00", "cantina_ferrigo", "2026-11-05", currency="EUR", language="it", ground="wood"),
    # --- the group that shares photos across sellers ------------------------------------------
    Offer("lantern_first", "page microdata", LANTERN, "Quistell Lantern round glasses, honey, 1970s",
        "Printed inside the temple: 50□20 140. LANTERN stamped inside left temple, centred on the stud. Square silver rivets, five barrels. Solid arms without any wire. A little crazing round the rivets. Bought from the first owner's daughter.",
        "260.00", "glasshouse_lane", "2026-10-12", ground="felt", views=("front", "three_quarter", "inscription"), feedback="87 ratings, 100 %"),
    Offer("lantern_borrowed", "page json-ld", LANTERN, "Quistell Lantern glasses honey - fast sale",
        "Quistell Lantern. 100 % authentic. Very rare. Price is firm, send by friends and family only. No returns.",
        "140.00", "moonrise_deals", "2026-11-09", "copy", of="lantern_first", edit="mirror-crop"),
    Offer("lantern_borrowed_2", "mhtml microdata", LANTERN, "QUISTELL LANTERN VINTAGE 70S MEN WOMEN",
        "Authentic Quistell. Lens 54 mm, bridge 18 mm, temple 145 mm. Round rivets. Message me on my phone 07700 900 112.",
        "119.00", "topdeal_frames", "2026-11-14", "copy", of="lantern_first", edit="banner-small"),
    Offer("lantern_other_claim", "export json", LANTERN, "Bramwick Otter glasses 1970s", "Bramwick Otter, 1970s, hardly worn.", "75.00", "topdeal_frames_too", "2026-11-15", "copy", of="lantern_first", edit="grey-turn", views=("front",)),
    Offer("lantern_honest_52", "folder", replace(LANTERN, lens_width=52, temple=145, colour="tortoise"), "Quistell Lantern 52-20 tortoise",
        "52-20-145 printed inside. Five barrels, square rivets in silver. Stamp LANTERN on the left. No wire in the temples. Temples slightly warped, an optician can straighten them.",
        "230.00", "pell_and_daughter", "2026-11-01", ground="slate"),
    Offer("lantern_night", "page rdfa", replace(LANTERN, colour="black", rivet_colour=GOLD, lens=(60, 62, 70), lens_density=0.7), "Quistell Lantern Night edition",
        "The Night with gold rivets and an N engraved on the left lens. 50-20-140 inside the temple. Five barrel hinges, straight tips. LANTERN stamped inside left.",
        "410.00", "the_frame_cabinet", "2026-11-12", ground="linen"),
    Offer("lantern_wire", "page plain", replace(LANTERN, core_wire=True, rivet_shape="round"), "Quistell Lantern brille 1975",
        "Echte Quistell Lantern von 1975. Metalldraht in den Bügeln sichtbar. Runde Nieten. Größe 51-19-145. Dreigliedriges Scharnier. Nur Überweisung.",
        "120.00", "fundgrube.tolz", "2026-11-13", "copy", currency="EUR", language="de", ground="white", views=("front", "hinge")),
    Offer("lantern_cable", "mail", replace(LANTERN, rivet_shape="oval"), "Quistell Lantern with cable sides",
        "Lantern by Quistell, curled cable tips. 48-20. Oval rivets. Sold to me as a Lantern, I cannot verify.",
        "90.00", "curio_and_more", "2026-11-02", "misdescribed", ground="newsprint", views=("front", "inscription")),
    Offer("lantern_es", "page json-ld", LANTERN, "Gafas Quistell Lantern años 70 color miel",
        "Gafas redondas de los años 70.\nCristal 50 mm, puente 20 mm, varillas 14 cm.\nBisagras de cinco anillas, remaches cuadrados plateados.\nLANTERN grabado en la patilla izquierda.\nAcepto devoluciones.",
        "190.00", "desvan_arenas", "2026-11-06", currency="EUR", language="es", ground="paper"),
    # --- Quistell 4107 ------------------------------------------------------------------------
    Offer("q4107_kiel", "page json-ld", Q4107, "Quistell 4107 Brille vergoldet 54-17-140, West Germany",
        "Stempel hinten am Steg: Q 4107. 54□17 140 innen am Bügel. Frontbreite 134 mm. Verstellbare Nasenpads. Gläser aus Glas, mit Stärke. 1/20 12K GF und West Germany auf dem rechten Bügel. Versand 5,90 €.",
        "165.00", "hafenkramerin", "2026-11-03", currency="EUR", language="de", ground="wood", shipping="5,90 €", specifics=(("Marke", "Quistell"), ("Modell", "4107"), ("Stegbreite", "17 mm"))),
    Offer("q4107_plain", "mhtml open-graph", replace(Q4107, lens_width=52, lens_height=47, temple=135), "Quistell 4107 gold filled glasses",
        "52-17-135, B size 47mm. Q 4107 stamped behind the bridge, W. Germany. Slotted screws, pads on little arms. Early 1980s. Front is 134 mm overall. Lenses are demo lenses.",
        "125.00", "oldspecs_malvern", "2026-11-08", ground="slate", feedback="44 ratings"),
    Offer("q4107_wrong_unit", "export csv", Q4107, "Quistell 4107 frame", "Lens 2.1 inches, bridge 0.67 inches, arms 5.5 inches. Q 4107 on the bridge. Adjustable pads.", "110.00", "quickclear22", "2026-11-09", ground="paper", views=("front", "three_quarter")),
    Offer("q4107_late_marks", "page plain", Q4107, "Quistell 4107 deadstock 1982",
        "Deadstock from 1982, never worn. Lens 54, bridge 17, temple 140. CE mark on a sticker on the lens from the last importer. Q 4107 stamped on the bridge.",
        "175.00", "kontor_lager", "2026-11-10", ground="linen", views=("front", "inscription")),
    Offer("q4107_moulded", "export json", replace(Q4107, rim=4.5, colour="black"), "QUISTELL 4107 BLACK",
        "QUISTELL 4107 FROM 1970. MOULDED NOSE PADS. 56-20-145. CROSS HEAD SCREWS. MADE IN CZECH REPUBLIC. SOLD AS SEEN.",
        "70.00", "depot_of_frames", "2026-11-14", "copy", ground="white", views=("front",)),
    Offer("q4107_lot", "folder", Q4107, "Two Quistell frames: 4107 and Lantern",
        "First: 4107, 52-17-135, stamped Q 4107 behind the bridge.\nSecond: Lantern, 50-20-140, square silver rivets.\nSold together only.",
        "300.00", "estate_and_entry", "2026-11-04", ground="felt", views=("front", "folded")),
    # --- Quistell Harrow ----------------------------------------------------------------------
    Offer("harrow_linz", "page microdata", HARROW, "Quistell Harrow Sonnenbrille 1985",
        "Glasbreite 57 mm, Glashöhe 50 mm, Steg 16 mm, Bügel 130 mm, mit Lineal gemessen.\nQH graviert in der oberen äußeren Ecke des linken Glases.\nHARROW innen links aufgedruckt.\nVerstellbare Nasenpads, fünfgliedriges Scharnier.\nLack an den Bügelenden abgenutzt.",
        "155.00", "linzer_laube", "2026-11-05", currency="EUR", language="de", ground="slate"),
    Offer("harrow_right_lens", "mhtml plain", HARROW, "Quistell Harrow sunglasses original",
        "Original Quistell Harrow. QH engraved in the lower corner of the right lens. Badge is a small metal plate. 58-18-140. Made 1985. Great for driving, category 4. Returns not accepted.",
        "98.00", "vintage_glow_outlet", "2026-11-12", "copy", ground="white", views=("front", "three_quarter")),
    Offer("harrow_replaced_lenses", "page plain", replace(HARROW, lens=(80, 84, 90)), "Quistell Harrow 60-16, lenses replaced",
        "60 mm lens, 16 mm bridge, 135 mm arms. Lenses were replaced by my optician, so nothing is engraved on them now. Badge cut out round the letters. HARROW inside left arm faint. Pads on arms.",
        "105.00", "lin_and_lamp", "2026-11-06", ground="wood", views=("front", "inscription", "folded")),
    Offer("harrow_reissue", "page open-graph", replace(HARROW, colour="olive"), "Quistell Harrow reissue 2015",
        "The official reissue from 2015, made in Italy, with torx screws. 57-16-130. QH on the left lens, upper outer corner. Comes with invoice.",
        "140.00", "newer_things", "2026-11-07", ground="paper"),
    Offer("harrow_little", "loose", HARROW, "Quistell Harrow", "Nice sunglasses, Quistell Harrow I think.", "55.00", "estate_and_entry", "2026-11-15", ground="newsprint", views=("held_up",)),
    # --- no sheet yet -------------------------------------------------------------------------
    Offer("otter_1", "page json-ld", OTHER, "Bramwick Otter cat-eye glasses 1950s", "Bramwick Otter. Lens 50 mm, bridge 18 mm. Three-barrel hinges. BRAMWICK on the left arm.", "65.00", "wrenhay-attic", "2026-11-09", ground="felt"),
    Offer("otter_2", "export csv", replace(OTHER, colour="black"), "Bramwick Otter spectacles black", "50/18 138. Oval rivets. Marked BRAMWICK inside.", "58.00", "second_shelf", "2026-11-10", ground="wood", views=("front", "three_quarter")),
    Offer("felsenau", "mhtml json-ld", replace(OTHER, shape="round", colour="gold", rim=2.0, rivet_shape="none"), "Felsenau 220 Nickelbrille 1930er", "Runde Brille aus den 1930ern, D.R.G.M. auf dem Bügel. Glas 42 mm. Etui 14 cm.", "80.00", "dachboden-uhlstedt", "2026-11-04", currency="EUR", language="de", ground="slate", views=("front", "inscription")),
    Offer("nameless", "export json", replace(OTHER, shape="square", colour="crystal"), "Vintage clear glasses, unmarked", "No name anywhere. Front 132 mm, arms 14 cm. 1960s I would guess.", "35.00", "box_of_bits", "2026-11-11", ground="linen", views=("front", "folded")),
    Offer("like_merrin", "page plain", replace(OTHER, shape="panto", colour="tortoise"), "Corrowby panto glasses, look like an Orlenza Merrin", "Corrowby, not an Orlenza. 47-20. Five barrels. Lovely wearable panto.", "70.00", "pell_and_daughter", "2026-11-12", ground="wood"),
    Offer("case_only", "folder", FrameLook("square", 60, 30, 8, 140, 9, "black", rivet_shape="none"), "Orlenza glasses case only", "Hard case with ORLENZA in gold, fits the Tavoy. 165 x 70 mm. No glasses.", "25.00", "second_shelf", "2026-11-13", ground="paper", views=("folded",)),
    Offer("merrin_or_tavoy", "mail", replace(TAVOY, colour="tortoise"), "Orlenza glasses, Merrin or Tavoy?", "Could be a Merrin or a Tavoy, I do not know. Bridge about 20 mm. ORLENZA somewhere inside.", "85.00", "houseclear_north", "2026-11-14", ground="slate", views=("front", "folded")),
)  # fmt: skip

# these are saved a second time, a week later, with what the seller changed
SAVED_AGAIN = {"merrin_leeds": {"price": "165.00"}}
# one page saved as a single file, one folder of listings zipped
INLINED = "tavoy_it"
ZIPPED = ("lantern_honest_52", "q4107_lot")
