"""The weekend page: one HTML file that needs nothing else, on two printed sides."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from yieldwright.formatting import visible

if TYPE_CHECKING:
    from yieldwright.review.sheet import Sheet

__all__ = ["render_sheet"]

_TEMPLATES = Path(__file__).with_name("templates")


def render_sheet(sheet: Sheet, figures: Mapping[str, str], *, template: str) -> str:
    """Return a sheet as HTML; every text is escaped, figures stand as they are.

    Parameters
    ----------
    sheet : Sheet
        The texts.
    figures : mapping of str to str
        Markup of the figures by name: chart, timeline, effects; empty where there is none.
    template : str
        Name of the template: the page or the notebook's fragment.

    Returns
    -------
    str

    Raises
    ------
    jinja2.TemplateNotFound
        If there is no such template.
    """
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    drawn = {name: Markup(markup) for name, markup in figures.items()}  # noqa: S704
    return environment.get_template(template).render(sheet=sheet, figures=drawn)


def _shown(value: object) -> object:
    """Return a text with control characters shown as codes; markup stays as it is."""
    return visible(value) if type(value) is str else value
