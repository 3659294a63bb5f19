"""What a bench begins with: an empty log as text, and a sheet to write on."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.shotlog.starting._paper import sheet_texts
from yieldwright.shotlog.starting.columns import starting_columns

if TYPE_CHECKING:
    from yieldwright.bench import Bench
    from yieldwright.glossary import Quantity

__all__ = ["paper_sheet", "shots_template"]


def shots_template(bench: Bench) -> str:
    r"""Return a log with its header and two example rows, which are comments.

    Parameters
    ----------
    bench : Bench
        Its headers, delimiter, decimal sign and attributes are used.

    Returns
    -------
    str
        One line for the header, one to explain, one for each example.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> shots_template(Bench()).split(",")[:4]
    ['shot', 'pulled_at', 'fate', 'stage']
    """
    columns = starting_columns(bench)
    examples = [_decimal(bench, column.entry, column.example) for column in columns]
    failed = [_decimal(bench, column.entry, column.failed) for column in columns]
    lines = [
        _line((column.header for column in columns), bench),
        "# Lines that start with # are passed over: delete these or write below them.\n",
        "# " + _line(examples, bench),
        "# " + _line(failed, bench),
    ]
    return "".join(lines)


def paper_sheet(bench: Bench) -> str:
    """Return a blank sheet to print and fill in at the bench, as HTML.

    Parameters
    ----------
    bench : Bench
        Its recipe, bands, attributes and headers are printed on the sheet.

    Returns
    -------
    str
        One page of A4 across, which needs nothing else.

    Examples
    --------
    >>> from yieldwright.bench import Bench
    >>> paper_sheet(Bench()).splitlines()[0]
    '<!DOCTYPE html>'
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    template = environment.get_template("bench_sheet.html.j2")
    return template.render(sheet_texts(bench))


def _line(cells: Iterable[str], bench: Bench) -> str:
    default = "semicolon" if bench.decimal == "comma" else "comma"
    delimiter = {"comma": ",", "semicolon": ";", "tab": "\t"}[bench.delimiter or default]
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator="\n").writerow(cells)
    return text.getvalue()


def _decimal(bench: Bench, entry: Quantity, cell: str) -> str:
    if entry.is_numeric and bench.decimal == "comma":
        return cell.replace(".", ",")
    return cell
