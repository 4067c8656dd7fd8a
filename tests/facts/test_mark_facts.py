"""Published facts of marks, patents and precious metals; each row names its source."""

from __future__ import annotations

import pytest

from models.checks.fineness import gold_share, karat_agrees, metal_faults, step_down
from models.dating import date_marks, hold_against, mark_rows, patent_years

# (row, published source, mark, claimed years, verdict)
MARKS = [
    ("F53", "Directive 89/686/EEC of 21 Dec 1989", "CE", (1975, 1975), "hard"),
    ("F54", "Directive 93/68/EEC of 22 Jul 1993", "CE", (1988, 1988), "hard"),
    ("F56", "Directive 96/58/EC of 3 Sep 1996", "CE 95", (1995, 1995), "agrees"),
    ("F57", "EN 1836:1997, standards catalogues", "EN 1836", (1980, 1989), "hard"),
    ("F58", "EN 1836:2005, CEN September 2005", "EN 1836:2005", (1999, 1999), "hard"),
    ("F59", "ISO 12312-1:2013, ISO news", "12312-1", (1990, 1999), "hard"),
    ("F60", "AS 1067, first national sunglass standard 1971", "AS 1067", (1950, 1959), "hard"),
    ("F61", "AS/NZS 1067:2003 of 10 Apr 2003", "AS/NZS 1067", (1985, 1985), "hard"),
    ("F65", "UK government guidance, from 1 Jan 2021", "UKCA", (1990, 1999), "hard"),
    ("F66", "2002/96/EC, EN 50419: after 13 Aug 2005", "WEEE", (1980, 1989), "hard"),
    ("F67", "Lanham Act 1946, 15 U.S.C. 1111", "®", (1920, 1929), "hard"),
    ("F68", "office renamed 2 Jan 1975 (from memory)", "Pat. & Tm. Off.", (1950, 1959), "hard"),
    ("F69", "Tariff Act of 1890, in force 1 Mar 1891", "ENGLAND", (1880, 1885), "soft"),
    ("F71", "trade pages: US customs, 1891 to 1921", "Nippon", (1950, 1959), "soft"),
    ("F74", "Merchandise Marks Act, 23 Aug 1887", "Made in Germany", (1870, 1870), "soft"),
    ("F75", "SCAPIN 1535, 20 Feb 1947", "Occupied Japan", (1938, 1938), "hard"),
    ("F75", "peace treaty, 28 Apr 1952", "Occupied Japan", (1962, 1962), "soft"),
    ("F76", "occupation zones 1945 to 1949", "U.S. Zone Germany", (1930, 1939), "hard"),
    ("F77", "Federal Republic, 23 May 1949", "West Germany", (1940, 1940), "hard"),
    ("F77", "reunification, 3 Oct 1990", "West Germany", (2005, 2005), "soft"),
    ("F78", "state history, 7 Oct 1949", "GDR", (1935, 1935), "hard"),
    ("F79", "state history (from memory)", "USSR", (1910, 1910), "hard"),
    ("F80", "state history, 28 Oct 1918", "Czechoslovakia", (1900, 1900), "hard"),
    ("F80", "state from 1 Jan 1993", "Czech Republic", (1970, 1970), "hard"),
    ("F81", "handover 1 Jul 1997 (from memory)", "British Hong Kong", (2003, 2003), "hard"),
    ("F82", "independence 1991 (from memory)", "Made in Slovenia", (1975, 1975), "soft"),
    ("F83", "18 Apr 1980 (from memory)", "Zimbabwe", (1965, 1965), "hard"),
    ("F84", "postal zones 1943 to 1963", "Chicago 11, Ill.", (1950, 1950), "agrees"),
    ("F84", "postal zones 1943 to 1963", "Chicago 11, Ill.", (1935, 1935), "soft"),
    ("F85", "ZIP code, 1 Jul 1963", "NY 10017", (1955, 1955), "hard"),
    ("F86", "Publication 59, 1 Oct 1963", "CA 90210", (1960, 1960), "hard"),
    ("F87", "ZIP+4, 1983", "10017-1234", (1975, 1975), "hard"),
    ("F88", "888 opened 1996 (from memory)", "1-888-555-0100", (1980, 1989), "hard"),
    ("F89", "1 Jul 1993 (from memory)", "D-70173", (1985, 1985), "hard"),
    ("F91", "first retail scan 26 Jun 1974", "bar code", (1965, 1965), "hard"),
    ("F93", "plastics trade body, 1988", "resin identification code", (1970, 1979), "hard"),
    ("F94", "QR code 1994 (from memory)", "QR code", (1980, 1989), "hard"),
    ("F95", "ISO 9000 series 1987 (from memory)", "ISO 9001", (1979, 1979), "hard"),
    ("F96", "law of 1 Jun 1891", "D.R.G.M.", (1880, 1880), "hard"),
    ("F96", "law of 1 Jun 1891, leftovers to 1952", "D.R.G.M.", (1960, 1960), "soft"),
    ("F97", "patent law of 25 May 1877", "D.R.P.", (1870, 1870), "hard"),
    ("F98", "from 1949, collector pages", "D.B.G.M.", (1938, 1938), "hard"),
    ("F99", "law of 2 Jan 1968", "Breveté S.G.D.G.", (1980, 1980), "soft"),
    ("F100", "Design Acts 1842 to 1883", "diamond registration mark", (1920, 1920), "hard"),
    ("F101", "design numbers from Jan 1884", "Rd. No 123456", (1870, 1870), "hard"),
    ("F102", "UK decimal money, 15 Feb 1971", "12/6", (1975, 1975), "hard"),
    ("F103", "euro, name chosen Dec 1995", "45 EUR", (1990, 1990), "hard"),
    ("F104", "collector page: from about 1955", "©", (1930, 1939), "soft"),
    ("F105", "number marking from 1 Apr 1927", "Pat. Jan 4 1910", (1950, 1950), "soft"),
    ("F12", "boxing system, US trade body 1962", "52□18", (1948, 1948), "soft"),
    ("F133", "UK gold standards of 1932 (from memory)", "15ct", (1950, 1959), "hard"),
    ("F114", "patent guides: earliest year only", "US Pat 2,610,000", (1930, 1930), "hard"),
    ("F114", "patent guides: marked for years", "US Pat 2,610,000", (1975, 1975), "agrees"),
    ("F116", "US 2,981,022, spectacle frames, 25 Apr 1961", "Pat. 2,981,022", (1950, 1959), "hard"),
    ("F109", "Index of Patents 1951: designs apart", "Des. Pat. 163,000", (1940, 1940), "hard"),
]  # fmt: skip


@pytest.mark.parametrize(("row", "source", "mark", "years", "verdict"), MARKS)
def test_mark_against_claimed_years(
    row: str, source: str, mark: str, years: tuple[int, int], verdict: str
) -> None:
    """A hard row may conflict, a soft row only adds a clue (sources in the table)."""
    verdicts = [hold_against(date, *years) for date in date_marks(mark)]
    assert verdicts, f"no dated mark in {mark!r}"
    assert verdict in verdicts
    if verdict != "hard":
        assert "hard" not in verdicts


@pytest.mark.parametrize("mark", ["Reg. U.S. Pat. Off.", "Pat. Pend.", "UV400", "no marks", "cell"])
def test_wording_without_date_content_dates_nothing(mark: str) -> None:
    """Lanham Act keeps the older wording (F67); no law starts "Pat. Pend." or UV400."""
    assert all(hold_against(d, 1900, 1930) in ("agrees", "clue") for d in date_marks(mark))


def test_made_in_is_never_a_hard_rule() -> None:
    """Auction and museum pages against a marks reference: the sources conflict (F70)."""
    assert [d.kind for d in date_marks("Made in France")] == ["soft"]


def test_absent_ce_dates_nothing() -> None:
    """PPE guidance sheet: compulsory from 1 Jul 1995, so absence is at most a clue (F55)."""
    assert date_marks("") == ()


def test_every_hard_row_has_a_bound_and_a_source() -> None:
    """The mark table names a law, standard or "memory" for each row."""
    for row in mark_rows():
        assert row.source
        assert row.status in ("confirmed", "memory", "")
        if row.kind == "hard":
            assert row.years.earliest or row.years.latest


# (row, source, number, design, first and last year)
PATENTS = [
    ("F107", "patent office milestones, 13 Jul 1836", 1, False, (1836, 1836)),
    ("F108", "patent office milestones, 8 Aug 1911", 1_000_000, False, (1911, 1911)),
    ("F108", "patent office milestones, 30 Apr 1935", 2_000_000, False, (1935, 1935)),
    ("F108", "patent office milestones, 12 Sep 1961", 3_000_000, False, (1961, 1961)),
    ("F108", "patent office milestones, 28 Dec 1976", 4_000_000, False, (1976, 1976)),
    ("F108", "patent office milestones, 19 Mar 1991", 5_000_000, False, (1991, 1991)),
    ("F108", "patent office milestones, 7 Dec 1999", 6_000_000, False, (1999, 1999)),
    ("F108", "law firm page, 16 Aug 2011", 8_000_000, False, (2011, 2011)),
    ("F108", "law firm page, 19 Jun 2018", 10_000_000, False, (2018, 2018)),
    ("F109", "Index of Patents 1951: design 161,404 to 165,567", 163_000, True, (1951, 1951)),
    ("F109", "Index of Patents 1951: utility to 2,580,378", 2_580_379, False, (1952, 1952)),
    ("F110", "issue years page, 1839 starts at 1,061", 1_080, False, (1839, 1839)),
    ("F113", "state law centre: D1 of 9 Nov 1842", 1, True, (1842, 1843)),
    ("F115", "US 2,609,278, ornamented frame, 2 Sep 1952", 2_609_278, False, (1952, 1952)),
    ("F116", "US 2,981,022, spectacle frames, 25 Apr 1961", 2_981_022, False, (1961, 1961)),
    ("F117", "article on 2,153,321: a gap gives a range", 2_153_321, False, (1936, 1950)),
]  # fmt: skip


@pytest.mark.parametrize(("row", "source", "number", "design", "years"), PATENTS)
def test_patent_number_to_years(
    row: str, source: str, number: int, design: bool, years: tuple[int, int]
) -> None:
    assert patent_years(number, design=design) == years


def test_patent_in_gap_before_1985_stays_a_range() -> None:
    """Two pages disagree on the last number of 1984, so 1985 is not in the table (F112)."""
    first, last = patent_years(4_490_870) or (0, 0)
    assert first < 1985 <= last


def test_patent_counts_rise() -> None:
    """Annual activity table: first(y+1) - first(y) is the yearly count (F111)."""
    years = [patent_years(number) for number in range(6_009_555, 8_900_000, 200_000)]
    assert years == sorted(years, key=lambda pair: pair or (0, 0))


@pytest.mark.parametrize(
    ("row", "karat", "mark", "agrees"),
    [
        ("F122", 8, 333, True),  # retail fineness page; karat arithmetic
        ("F50", 9, 375, True),  # 1000 x k/24
        ("F50", 18, 750, True),
        ("F50", 22, 916, True),
        ("F123", 14, 585, True),  # trade mark above the exact 583.3
        ("F123", 14, 583, True),
        ("F123", 14, 750, False),
        ("F124", 18, 925, False),
    ],
)
def test_karat_against_fineness(row: str, karat: int, mark: int, agrees: bool) -> None:
    assert karat_agrees(karat, mark) is agrees


@pytest.mark.parametrize(
    ("row", "source", "text", "fault"),
    [
        ("F123", "karat arithmetic", "14k gold, marked 585", False),
        ("F123", "karat arithmetic", "14k gold, marked 750", True),
        ("F124", "karat arithmetic", "18k gold 925", True),
        ("F124", "plated silver is no contradiction", "18k gold plated 925 silver", False),
        ("F125", "16 CFR Part 23", "sterling silver, stamped 800", True),
        ("F125", "16 CFR Part 23", "sterling silver, stamped 925", False),
        ("F127", "16 CFR Part 23 summary", "1/40 12k gf", True),
        ("F127", "16 CFR Part 23 summary", "1/20 12k gf", False),
        ("F128", "fraction x karat/24", "solid gold, stamped 1/20 12k gf", True),
        ("F129", "16 CFR Part 23: electroplate", "gold plated, hge", False),
        ("F130", "16 CFR Part 23 appendix", "14k gold frame, 585, base metal hinge", False),
    ],
)  # fmt: skip
def test_precious_metal_wording(row: str, source: str, text: str, fault: bool) -> None:
    assert bool(list(metal_faults(text))) is fault


@pytest.mark.parametrize(
    ("fraction", "karat", "share"), [(20, 12, 25.0), (10, 12, 50.0), (20, 14, 29.2), (40, 10, 10.4)]
)
def test_share_of_fine_gold(fraction: int, karat: int, share: float) -> None:
    """Fraction x karat/24, parts per thousand, arithmetic on 16 CFR Part 23 terms (F128)."""
    assert gold_share(fraction, karat) == pytest.approx(share, abs=0.05)


@pytest.mark.parametrize(("fineness", "mark"), [(588, 585), (584, 375)])
def test_mark_is_rounded_down(fineness: int, mark: int) -> None:
    """Finnish authority: never above the true fineness (F120); ISO 9202 minima (F119)."""
    assert step_down(fineness, (375, 585)) == mark
