"""Differences between levels of a setting as a table of texts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from yieldwright.formatting import interval, p_value, signed
from yieldwright.taste.words.wording import level_words

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from typing import Any

    from yieldwright.taste.means.setting_means import SettingMeans

__all__ = ["level_pairs"]


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
