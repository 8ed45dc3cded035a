"""The only module that knows Jinja: a template's name and a view in, an HTML answer out."""

from pathlib import Path
from typing import Any

from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"

_environment = Environment(
    loader=FileSystemLoader(TEMPLATES),
    undefined=StrictUndefined,
    autoescape=True,
    trim_blocks=True,
    lstrip_blocks=True,
    # Templates do not change under a planner that runs: looking at each file's time for each piece costs more than it.
    auto_reload=False,
)


def text(template: str, **context: Any) -> Markup:
    """The template filled with the context, as text that another template may show as it is.

    Args:
        template: Path below ``templates/``.
        context: What the template names, mostly one ``page`` or ``view``.

    Returns:
        HTML text.

    Raises:
        jinja2.TemplateError: the template is missing or names something that the context lacks.
    """
    return Markup(_environment.get_template(template).render(**context))


def page(template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """An HTML answer that is never kept by a cache, since the same address answers whole pages and panels.

    Args:
        template: Path below ``templates/``.
        status: HTTP status of the answer.
        context: What the template names.

    Returns:
        The answer.
    """
    headers = {"Vary": "HX-Request, HX-Request-Type", "Cache-Control": "no-store"}
    return HTMLResponse(text(template, **context), status_code=status, headers=headers)
