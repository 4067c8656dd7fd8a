"""A reference sheet as a page to print: one HTML file in the dress of the reports."""

from __future__ import annotations

from models.sheet_records import ReferenceSheet
from models.sheet_work import sheet_facts, sheet_parts
from triage.pages import render_page


def make_sheet_page(sheet: ReferenceSheet) -> str:
    """The sheet as self-contained HTML: no script, no network, pictures only named."""
    values = {"sheet": sheet, "facts": sheet_facts(sheet), "parts": sheet_parts(sheet)}
    return render_page("sheet.html", ("report.css", "sheet.css"), values)
