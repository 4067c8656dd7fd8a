"""The same text gives the same evidence in every process: no answer hangs on the order of a set."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
READ = """
from extractors.catalogue import extract
from extractors.records import Listing
TEXTS = (
    "x\\nMEASxRED (ITH A TAPE: 5 1/4bINCHES WIDE, 5 3/4 INCHES ARMS.",
    "Occhiali vintage\\nLente 48 mimm, ponte 20 milimetr. Marcato 750 e 1/20 12K. Anni '50.",
    "Brille 1950er\\nBügellänge 14 centimetr, Glasbriete 46mm, Nassensteg 22. Kein Umtausch.",
    "Stylo plume\\nFermé 13 cm, ouvert 12 cm. Plume 18 C. Peut-être vers 1930. Espèces.",
    "Reloj\\nCaja 34 mm sin corona, asas 18. Firmado en la esfera. Venta final, sin devoluciones.",
)
for text in TEXTS:
    print(ascii(extract(Listing("1", "x", *text.split("\\n")))))
"""


def evidence(seed: int) -> str:
    """The evidence of TEXTS as a process with this seed finds it."""
    told = {**os.environ, "PYTHONHASHSEED": str(seed), "PYTHONPATH": str(ROOT)}
    run = subprocess.run(
        [sys.executable, "-c", READ], env=told, cwd=ROOT, capture_output=True, check=True, text=True
    )
    return run.stdout


def test_evidence_is_the_same_under_every_hash_seed() -> None:
    first = evidence(0)
    assert first.count("Evidence(") == 5
    assert evidence(1) == first
