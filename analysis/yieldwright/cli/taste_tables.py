"""Tables of findings within eighty columns: words wrap, figures never."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.cli.streams import say
from yieldwright.formatting import interval, p_value, signed, visible
from yieldwright.taste.words.wording import level_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from typing import Any

    from rich.console import Console

    from yieldwright.taste.means.setting_means import SettingMeans

__all__ = ["level_pairs", "say_table"]


def say_table(writer: Console, table: pd.DataFrame, *, above: bool = False) -> None:
    """Print a table of texts; its first column wraps where it must.

    Parameters
    ----------
    writer : rich.console.Console
        From `console`.
    table : DataFrame
        One row per row shown, every cell text.
    above : bool
        Whether an empty line goes before it.

    Examples
    --------
    >>> import sys
    >>> from yieldwright.cli.streams import console
    >>> say_table(console(sys.stdout), pd.DataFrame({"One step": ["a"], "Effect": ["+1"]}))
      One step  Effect
      a         +1
    """
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    if table.empty:
        return
    if above:
        say(writer, "")
    shown = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="bold")
    for place, name in enumerate(table.columns):
        shown.add_column(str(name), no_wrap=place > 0, overflow="fold")
    for row in table.itertuples(index=False, name=None):
        shown.add_row(*(Text(visible(str(cell))) for cell in row))
    say(writer, Padding(shown, (0, 0, 0, 2)))


def level_pairs(means: SettingMeans, *, every: bool = False) -> pd.DataFrame:
    """Return differences between levels as texts.

    Parameters
    ----------
    means : SettingMeans
        Means and their differences.
    every : bool
        Whether a setting with two levels is told, whose one difference is an effect
        that stands in the table of effects already.

    Returns
    -------
    DataFrame
        One row per pair of levels; empty where there is none.
    """
    pairs = means.pairs
    if not every:
        pairs = pairs[pairs.groupby("setting")["first"].transform("size") > 1]
    return pd.DataFrame([_pair(row) for row in pairs.to_dict("records")])


def _pair(row: Mapping[Hashable, Any]) -> dict[str, str]:
    low, high = row["ci_low"], row["ci_high"]
    first, second = (level_words(row["setting"], row[name]) for name in ("first", "second"))
    return {
        "Compared": f"{second} against {first}",
        "Difference": signed(row["estimate"], (high - low) / 2),
        "95 % interval": interval(low, high),
        "p (Holm)": p_value(row["p_holm"]),
        "p (Tukey)": p_value(row["p_tukey"]),
    }
