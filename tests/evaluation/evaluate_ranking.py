"""The ranking from starting weights alone, on listings made up from the shipped sheets.

Run by hand:  python -m tests.evaluation.evaluate_ranking [--listings 400] [--seed 1] [--silence]

The generator knows what each piece is (60 of 100 as described; 20 misdescribed: another thing, told
as its owner sees it; 20 copies: told mostly as the sheet has it), how much its seller says, and how
careless he is. It writes a listing; the tool reads, checks and ranks it. Shown: ROC AUC of "not as
described" by risk with its interval, the share as described among the first 20, and whether a
listing with little said comes into the lowest third. With --silence every listing is ranked again
without each of its lines in turn, and those that thereby come into `look` are counted. The
chances below are own choices; nothing in the tool was fitted to them.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from models import metrics

# point: (as the sheet has it), (as it is on something else)
SAID: dict[str, dict[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "Orlenza Merrin": {
        "sizes": (
            ("46 □ 22 140", "Lens 46 mm, bridge 22 mm, arms 140 mm.", "Printed inside: 44-20-135"),
            ("50 □ 19 142", "Lens 51 mm, bridge 18 mm, arms 146 mm.", "Size 42/24/130"),
        ),
        "hinge": (("Seven-barrel hinges.", "Hinges have 7 barrels."),
                  ("Three-barrel hinges.", "Hinges with five barrels.")),
        "screw": (("Slotted screws in the hinges.",), ("Phillips screws in the hinges.",)),
        "rivet": (("Lozenge shaped rivets at the corners.", "Diamond rivets on the front."),
                  ("Round rivets at the corners.",)),
        "inscription": (("ORLENZA stamped inside the left arm.",),
                        ("ORLENZA printed inside the right arm.",)),
        "pads": (("Moulded nose pads, one with the front.",), ("Adjustable nose pads on arms.",)),
        "era": (("Made about 1961.", "Early 1960s."), ("From the 1980s.", "Made in 1995.")),
        "mark": (("Marked Made in England.",), ("CE mark on the arm.",)),
    },
    "Quistell Lantern": {
        "sizes": (
            ("50-20-140", "lens width 52 mm, bridge 20 mm, temples 145 mm",
             "Lens 50mm bridge 20mm"),
            ("54-18-140", "lens width 48 mm, bridge 22 mm", "Lens 55mm bridge 17mm"),
        ),
        "rivet": (("Square rivets in silver.", "The rivets are square."),
                  ("Round rivets.", "Oval rivets in gold.")),
        "hinge": (("Five barrel hinges.",), ("Three barrel hinges.", "7 barrel hinges.")),
        "core": (("No metal core in the arms.",), ("You can see the wire core in the arms.",)),
        "inscription": (("LANTERN is stamped inside the left temple.",),
                        ("LANTERN is printed on the right temple.",)),
        "tip": (("Straight temple tips.",), ("Cable temples that curl behind the ear.",)),
        "era": (("1970s.", "Made in 1975."), ("1950s.", "Made in 1992.")),
        "mark": (("Says Made in Japan? No, no country.",), ("CE mark inside.",)),
    },
    "Quistell Harrow": {
        "sizes": (
            ("57 □ 16 130", "Lens 60 mm, bridge 16 mm, arms 135 mm."),
            ("55 □ 18 140", "Lens 63 mm, bridge 14 mm, arms 145 mm."),
        ),
        "badge": (("Badge cut out round the letters.",), ("Badge is a small plate.",)),
        "lens": (("QH engraved in the corner of the left lens.",),
                 ("QH printed on the right lens.",)),
        "pads": (("Adjustable nose pads.",), ("Moulded nose pads.",)),
        "inscription": (("HARROW printed inside the left temple.",),
                        ("HARROW stamped inside the right temple.",)),
        "era": (("1980s.", "Made in 1986."), ("1960s.", "Made about 1972.")),
    },
}  # fmt: skip
# cue: words, share of good and of bad pieces that carry it
CUES = {
    "returns": ("No returns.", 0.3, 0.4),
    "payment": ("Bank transfer only please.", 0.05, 0.15),
    "contact": ("Message me on my phone for a better price.", 0.06, 0.15),
    "urgency": ("Only today at this price!", 0.08, 0.16),
    "stock": ("Picture is a stock image, item may differ.", 0.02, 0.12),
    "papers": ("Original receipt included.", 0.12, 0.05),
    "photos": ("Happy to send more photos.", 0.2, 0.14),
    "asserted": ("100% genuine.", 0.2, 0.3),
    "hedged": ("I believe it is the real thing but cannot verify.", 0.08, 0.15),
    "style": ("In the style of the well known model.", 0.01, 0.10),
}
CHATTER = ("Worn but fine.", "From a smoke free home.", "Light scratches on the lenses.",
           "Found in a drawer.", "Ships in a box.", "Selling my collection.",
           "Lovely colour.")  # fmt: skip


@dataclass(frozen=True)
class Made:
    """One made-up listing and the truth about it."""

    record: dict[str, object]
    bad: bool
    little: bool


def make_listing(number: int, random: np.random.Generator) -> Made:
    """Draw a piece and let its seller write about it."""
    name = str(random.choice(list(SAID)))
    kind = str(random.choice(["honest", "other", "copy"], p=[0.6, 0.2, 0.2]))
    bad = kind != "honest"
    # how far a point of the piece is another than the sheet's, and told so
    wrong = {"honest": 0.025, "other": 0.45, "copy": 0.2}[kind]
    told = float(random.choice([0.1, 0.5, 0.9], p=[0.2, 0.4, 0.4]))
    lines = []
    for right, other in SAID[name].values():
        if random.random() < told:
            lines.append(str(random.choice(other if random.random() < wrong else right)))
    said = len(lines)
    lines += [
        words for words, good, ill in CUES.values() if random.random() < (ill if bad else good)
    ]
    lines += [str(x) for x in random.choice(CHATTER, random.integers(1, 4), replace=False)]
    random.shuffle(lines)
    price = 180 * np.exp(random.normal(-0.45 if kind == "copy" else 0.0, 0.3))
    record = {
        "id": f"m{number:04}", "title": f"{name} frame", "description": "\n".join(lines),
        "price": f"{price:.2f}", "currency": "GBP", "price_kind": "fixed",
        "seller_id": f"seller{random.integers(200)}",
    }  # fmt: skip
    return Made(record, bad, said <= 1)


def rank_all(made: list[Made]) -> list[dict[str, object]]:
    """Run the whole ranking over the listings; records in rank order."""
    from triage.pipeline import screen
    from triage.settings import Settings

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "market.jsonl")
        file.write_text("\n".join(json.dumps(m.record) for m in made), "utf-8")
        run = screen(file, dataclasses.replace(Settings(), quiet=True))
    rows = [row.assessment for row in run.rows]
    return [{"id": row.listing.listing_id or row.listing.id, **_seen(a)}
            for row, a in zip(run.rows, rows, strict=True)]  # fmt: skip


def _seen(assessment) -> dict[str, object]:  # type: ignore[no-untyped-def]
    return {name: getattr(assessment, name) for name in
            ("risk", "completeness", "next_step", "findings", "reference", "steps")}  # fmt: skip


def report(made: list[Made], ranked: list[dict[str, object]]) -> None:
    """Print the figures of one market."""
    truth = {m.record["id"]: m for m in made}
    rows = [(truth[r["id"]], r) for r in ranked]
    bad = np.array([float(m.bad) for m, _ in rows])
    risk = np.array([float(r["risk"]) for _, r in rows])  # type: ignore[arg-type]
    area = metrics.bootstrap(metrics.auc, bad.tolist(), risk.tolist(), range(len(rows)))
    print(f"listings {len(rows)} of {len(made)}, not as described {int(bad.sum())}")
    print(f"ROC AUC {area.value:.3f} ({area.low:.3f} to {area.high:.3f})")
    print(f"first 20 as described: {1 - bad[:20].mean():.2f}")
    third = np.sort(risk)[len(risk) // 3]
    low = [(m, r) for m, r in rows if float(r["risk"]) < third and m.little]  # type: ignore[arg-type]
    half = [r for _, r in low if (r["completeness"] or 0) >= 0.5]  # type: ignore[operator]
    print(f"little said in the lowest third: {len(low)}, of these with half told: {len(half)}")
    for step in ("look", "ask", "cannot_say", "no_sheet", "leave"):
        here = [m.bad for m, r in rows if r["next_step"] == step]
        if here:
            print(f"  {step:10} {len(here):4}  not as described {np.mean(here):.2f}")
    for wanted in (False, True):
        counts = Counter(
            f"{f.check}.{f.result}.{f.strength}"
            for m, r in rows
            if m.bad is wanted
            for f in r["findings"]
            if f.result == "conflicts"  # type: ignore[attr-defined]
        )
        print("bad:" if wanted else "good:", dict(counts.most_common()))


def leave_out(made: list[Made]) -> list[Made]:
    """Every listing as it is and without each of its lines; ids tell which belong together."""
    out = []
    for one in made:
        lines = str(one.record["description"]).split("\n")
        for gone in range(-1, len(lines)):
            kept = [line for n, line in enumerate(lines) if n != gone]
            name = f"{one.record['id']}/{gone}"
            record = one.record | {"id": name, "description": "\n".join(kept)}
            out.append(dataclasses.replace(one, record=record))
    return out


def report_silence(ranked: list[dict[str, object]]) -> None:
    """Count the listings that a left-out line lifts into `look`."""
    step = {str(r["id"]): r["next_step"] for r in ranked}
    lifted = [name for name, s in step.items()
              if s == "look" and step[name.split("/")[0] + "/-1"] != "look"]  # fmt: skip
    print(
        f"variants {len(step)}, lifted into look by leaving out a line: {len(lifted)} {lifted[:9]}"
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--listings", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--silence", action="store_true")
    given = parser.parse_args()
    random = np.random.default_rng(given.seed)
    made = [make_listing(n, random) for n in range(given.listings)]
    if given.silence:
        report_silence(rank_all(leave_out(made)))
    else:
        report(made, rank_all(made))


if __name__ == "__main__":
    main()
