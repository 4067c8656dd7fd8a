"""The weights file: every finding has a row, every row its reason, and the signs make sense."""

from __future__ import annotations

import pytest

from extractors.errors import UserError
from models.checks.catalogue import FINDING_CODES
from models.records import Finding
from models.weights import load_weights, read_weights

WEIGHTS = load_weights()
WEIGHED = [code for code in FINDING_CODES if code[1] in ("agrees", "conflicts")]
ROWS = list(WEIGHTS.rows.values())


@pytest.mark.parametrize(("check", "result", "strength"), WEIGHED)
def test_every_weighed_finding_has_a_row_of_its_own_check(check, result, strength):
    row = WEIGHTS.find(Finding(check, "bridge", result, strength, ""))
    assert row is not None
    if result == "conflicts":
        assert row.code.startswith(check), f"{check}.{result}.{strength} has no row of its own"
    assert row.log_odds > 0 if result == "conflicts" else row.log_odds <= 0


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.code)
def test_every_row_gives_its_reason_and_source(row):
    assert len(row.reason) > 30
    assert row.source
    assert row.says


def test_firm_conflicts_weigh_more_than_soft_ones_and_these_more_than_clues():
    by_code = {row.code: row.log_odds for row in ROWS}
    for code, weight in by_code.items():
        for lighter, heavier in (("soft", "hard"), ("clue", "soft")):
            other = code.removesuffix(lighter) + heavier
            if code.endswith(f"conflicts.{lighter}") and other in by_code:
                assert weight < by_code[other]


def test_silence_starts_at_nothing_and_can_never_become_safety():
    silent = [row for row in ROWS if "not_stated" in row.code]
    assert silent
    assert all(row.log_odds == 0.0 <= row.at_least for row in silent)


def test_agreement_is_small_but_not_nothing():
    agreeing = [row for row in ROWS if ".agrees" in row.code]
    assert all(-0.2 <= row.log_odds < 0 for row in agreeing)


def test_one_firm_conflict_outweighs_everything_said_in_favour():
    firm = [row.log_odds for row in ROWS if row.code.endswith("conflicts.hard")]
    assert min(firm) >= WEIGHTS.families["favour"].cap


ROW = 'code = "a"\nlog_odds = 1.0\nspread = 0.5\nfamily = "f"\nreason = "r"\n'
FILE = (
    '[prior]\nshare = 0.2\nspread = 0.5\nunstated_spread = 1.0\nhabit_spread = 0.5\nnote = "n"\n'
    '[[family]]\nname = "f"\nfurther = 1.0\ncap = 2.0\nreason = "r"\n[[weight]]\n' + ROW
)
BROKEN = [
    ("not TOML", "= ="),
    ("no prior", FILE.replace("[prior]", "[other]")),
    ("a share of one", FILE.replace("share = 0.2", "share = 1.0")),
    ("no reason", FILE.replace('family = "f"\nreason = "r"\n', 'family = "f"\n')),
    ("an unknown family", FILE.replace('family = "f"', 'family = "g"')),
    ("a spread of zero", FILE.replace("spread = 0.5\nfamily", "spread = 0.0\nfamily")),
    ("a figure beyond its bounds", FILE + "at_most = 0.5\n"),
]


def test_a_file_of_the_buyers_own_is_read():
    assert read_weights(FILE.encode()).rows["a"].log_odds == 1.0


@pytest.mark.parametrize(("name", "text"), BROKEN, ids=[case[0] for case in BROKEN])
def test_a_broken_weights_file_is_the_users_to_mend(name, text):
    with pytest.raises(UserError):
        read_weights(text.encode())


def test_a_missing_weights_file_says_so(tmp_path):
    with pytest.raises(UserError, match="cannot read"):
        load_weights(tmp_path / "none.toml")
