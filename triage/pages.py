"""Self-contained HTML pages out of templates: no script, no network, styles by their digest."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Mapping, Sequence
from importlib import resources

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

Filters = Mapping[str, Callable[..., object]]


def render_page(
    template: str,
    styles: Sequence[str],
    values: Mapping[str, object],
    filters: Filters | None = None,
    images: str = "",
) -> str:
    """A page of a template and style sheets of `templates/`; `images` is a part of its policy."""
    css = "".join(_text(file) for file in styles)
    digest = base64.b64encode(hashlib.sha256(css.encode()).digest()).decode()
    environment = Environment(
        loader=PackageLoader("triage"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(filters or {})
    return environment.get_template(template).render(
        values,
        css=Markup(css),
        policy=f"default-src 'none'; style-src 'sha256-{digest}';{images} base-uri 'none'; "
        "form-action 'none'",
    )


def _text(file: str) -> str:
    return resources.files("triage").joinpath("templates", file).read_text(encoding="utf-8")
