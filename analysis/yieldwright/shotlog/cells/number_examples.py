"""How a number may be written, shown by reading examples of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldwright.glossary import quantity
from yieldwright.shotlog.cells.numerals import Writing, read_number

if TYPE_CHECKING:
    from yieldwright.glossary import Quantity
    from yieldwright.shotlog.cells.numerals import Cell

__all__ = ["number_examples"]

_EXAMPLES = (
    ("dose_g", "18.2 g"),
    ("dose_g", "0.64 oz"),
    ("temp_c", "199 °F"),
    ("peak_bar", "130 psi"),
    ("tds_pct", "11.8 °Bx"),
    ("tds_pct", "1.3502 nD"),
    ("time_s", "0:36"),
    ("time_s", "1 min 2 s"),
    ("brew_ratio", "1:2.1"),
    ("dose_g", "18.0–18.4"),
    ("dose_g", "18.2 ± 0.1"),
    ("dose_g", "~18"),
    ("dose_g", "n/a"),
    ("dose_g", "=B2/C2"),
    ("beverage_g", "36 mL"),
    ("dose_g", "18,2"),
    ("time_s", "00:36:00"),
    ("grind_setting", "18 May"),
)


def number_examples() -> str:
    """Return what becomes of numbers as people write them, as a table in Markdown.

    Returns
    -------
    str

    Examples
    --------
    >>> print(number_examples().splitlines()[2])
    | “18.2 g” | `dose_g` | 18.2 g |
    """
    lines = ["| Written | In | Becomes |", "| --- | --- | --- |"]
    for name, text in _EXAMPLES:
        entry = quantity(name)
        outcome = _outcome(read_number(text, entry, Writing()), entry)
        lines.append(f"| “{text}” | `{name}` | {outcome} |")
    return "\n".join(lines)


def _outcome(cell: Cell, entry: Quantity) -> str:
    """Return what a cell was read as, in words."""
    if cell.refusal:
        return f"set aside: {cell.refusal} ({cell.suggestion})"
    if not isinstance(cell.value, float):
        return cell.flag
    unit = "" if entry.unit == "1" else f" {entry.unit}"
    spread = f", give or take {cell.half_width:.2g}" if cell.half_width else ""
    doubt = "; flagged" if cell.flag else ""
    return f"{cell.value:.4g}{unit}{spread}{doubt}"
