"""A point that conflicts in most listings of a reference: the sheet may be wrong."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from models.checks.corpus import Examined

FEWEST, SHARE = 5, 0.5


@dataclass(frozen=True, slots=True)
class SheetDoubt:
    """One point of one reference, how many listings state it and how many of them conflict."""

    reference: str
    point: str
    stated: int
    conflicts: int

    @property
    def text(self) -> str:
        """The warning as a sentence."""
        point = self.point.replace("_", " ")
        return (
            f"{self.conflicts} of {self.stated} listings of {self.reference} conflict on {point}: "
            "the sheet may be wrong there"
        )


def find_sheet_doubts(examined: Sequence[Examined]) -> tuple[SheetDoubt, ...]:
    """Points stated in at least five listings of other sellers that conflict in more than half."""
    told: dict[tuple[str, str], dict[str, bool]] = defaultdict(dict)
    for one in examined:
        reference = one.resolution.reference
        seller = one.listing.seller_id or one.listing.seller_name or one.listing.id
        for finding in one.findings:
            if reference and finding.result in ("agrees", "conflicts"):
                votes = told[reference, finding.point]
                votes[seller] = votes.get(seller, True) and finding.result == "conflicts"
    doubts = (
        SheetDoubt(reference, point, len(votes), sum(votes.values()))
        for (reference, point), votes in told.items()
    )
    return tuple(d for d in doubts if d.stated >= FEWEST and d.conflicts > SHARE * d.stated)
