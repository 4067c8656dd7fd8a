"""A reference sheet as a page to print: one HTML file in the dress of the reports."""

from __future__ import annotations

import base64
import hashlib
from importlib import resources

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from models.sheet_records import ReferenceSheet
from models.sheet_work import sheet_facts, sheet_parts


def make_sheet_page(sheet: ReferenceSheet) -> str:
    """The sheet as self-contained HTML: no script, no network, pictures only named."""
    css = _template("report.css") + _template("sheet.css")
    digest = base64.b64encode(hashlib.sha256(css.encode()).digest()).decode()
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.from_string(_template("sheet.html")).render(
        css=Markup(css),
        policy=f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; "
        "form-action 'none'",
        sheet=sheet,
        facts=sheet_facts(sheet),
        parts=sheet_parts(sheet),
    )


def _template(file: str) -> str:
    return resources.files("triage").joinpath("templates", file).read_text(encoding="utf-8")
