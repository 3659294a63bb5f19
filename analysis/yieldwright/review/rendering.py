"""Filling a template: every text escaped, control characters shown, nothing undefined."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from yieldwright.formatting import visible

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldwright.review.sheet import Sheet

__all__ = ["fill_template"]

_TEMPLATES = Path(__file__).with_name("templates")


def fill_template(name: str, sheet: Sheet, *, figures: Mapping[str, str] | None = None) -> str:
    """Return a sheet as HTML.

    Parameters
    ----------
    name : str
        File name of the template.
    sheet : Sheet
        The texts; every one is escaped.
    figures : mapping of str to str or None
        Markup of our own figures by name, empty where there is none; it stands as it is.

    Returns
    -------
    str

    Raises
    ------
    jinja2.UndefinedError
        If the template asks for a text the sheet does not have.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> fill_template("title.html.j2", SimpleNamespace(title="<b>"))
    '&lt;b&gt;'
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
    drawn = {each: Markup(markup) for each, markup in (figures or {}).items()}  # noqa: S704
    return environment.get_template(name).render(sheet=sheet, figures=drawn)


def _shown(value: object) -> object:
    """Return a text with control characters shown as codes; markup stays as it is."""
    return visible(value) if type(value) is str else value
