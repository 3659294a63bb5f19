"""Tables of a bag that was followed, as texts within eighty columns."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from yieldwright.formatting import number, p_value, percent, signed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldwright.ageing.grind.compensation import Compensation
    from yieldwright.ageing.trend.drift import Drift
    from yieldwright.models.contrasts.contrasts import Estimate

__all__ = ["changes_shown", "dates_shown", "forms_shown", "needed_by_week", "weeks_shown"]

_DAYS_A_WEEK = 7
_NOTHING = "–"


def changes_shown(drift: Drift) -> pd.DataFrame:
    """Return changes per day as texts.

    Parameters
    ----------
    drift : Drift
        Of a bag.

    Returns
    -------
    DataFrame
        One row for the average; of a curve, one for each end too.
    """
    age = drift.model.age
    ends = (f"on day {age.low:g}", f"on day {age.high:g}")
    named = [("on average", drift.average), *zip(ends, drift.ends, strict=False)]
    return pd.DataFrame([_change(name, each) for name, each in named])


def forms_shown(drift: Drift) -> pd.DataFrame:
    """Return the forms tried beside each other as texts.

    Parameters
    ----------
    drift : Drift
        Of a bag.

    Returns
    -------
    DataFrame
        One row per form; empty where none could be tried.
    """
    if not drift.forms.possible:
        return pd.DataFrame()
    return pd.DataFrame(
        {
            "Form": each.name,
            "Lines meet on day": _or_nothing(each.turn, 2),
            "AICc": f"{each.aicc:.1f}" if each.possible else _NOTHING,
            "Weight": percent(each.weight) if each.possible else "not tried",
        }
        for each in drift.forms.forms
    )


def needed_by_week(found: Compensation) -> pd.DataFrame:
    """Return the setting that gives the time at every whole week of age that was tried.

    Parameters
    ----------
    found : Compensation
        What the grind must do.

    Returns
    -------
    DataFrame
        One row per week and one for the last age: `roast_age_d`, `setting`, `low`, `high`,
        `tried`, `service_stretch`; empty where the grind never changed.
    """
    age = found.model.age
    first, last = math.ceil(age.low / _DAYS_A_WEEK), math.floor(age.high / _DAYS_A_WEEK)
    weeks = _DAYS_A_WEEK * np.arange(first, last + 1, dtype=float)
    return found.needed_at(np.unique([*weeks, age.high]))


def weeks_shown(found: Compensation) -> pd.DataFrame:
    """Return the setting that gives the time at every whole week of age as texts.

    Parameters
    ----------
    found : Compensation
        What the grind must do.

    Returns
    -------
    DataFrame
        One row per week and one for the last age, no number beyond the settings tried;
        empty where no age has limits.
    """
    table = needed_by_week(found)
    if table.empty or table["low"].isna().all():
        return pd.DataFrame()
    return pd.DataFrame(_weeks(table, found))


def dates_shown(dates: pd.DataFrame) -> pd.DataFrame:
    """Return what happened meanwhile as texts.

    Parameters
    ----------
    dates : DataFrame
        `roast_age_d` and `what`.

    Returns
    -------
    DataFrame
        One row per event.
    """
    return pd.DataFrame(
        {"What": str(row["what"]), "Roast age": f"{row['roast_age_d']:g} d"}
        for row in dates.to_dict("records")
    )


def _change(name: str, found: Estimate) -> dict[str, str]:
    half = (found.ci_high - found.ci_low) / 2
    return {
        "Change per day": name,
        "Estimate": signed(found.estimate, half),
        "95 % interval": f"{signed(found.ci_low, half)} to {signed(found.ci_high, half)}",
        "p": p_value(found.p_value),
    }


def _weeks(table: pd.DataFrame, found: Compensation) -> Iterator[dict[str, str]]:
    from yieldwright.ageing.breaks.stretch_names import stretch_short
    from yieldwright.ageing.grind.compensation_words import setting_limits

    serviced = bool((table["service_stretch"] != "").any())
    for row in table.to_dict("records"):
        age = row["roast_age_d"]
        week = f", {age / _DAYS_A_WEEK:.0f} weeks" if age % _DAYS_A_WEEK == 0 else ", the last"
        half = (row["high"] - row["low"]) / 2
        told = bool(row["tried"]) and math.isfinite(half)
        ends = (row["low"], row["high"])
        limits = setting_limits(*ends, found.tried, coarser_up=found.coarser_up) if told else ""
        shown = {
            "Roast age": f"{age:g} d{week}".replace(" 1 weeks", " 1 week"),
            "Setting": number(row["setting"], half) if told else _untold(row["tried"]),
            "95 % limits": limits or _NOTHING,
        }
        bench = {"Bench as it was": stretch_short(row["service_stretch"])} if serviced else {}
        yield {**shown, **bench}


def _untold(tried: object) -> str:
    return "not clear" if tried else "beyond those tried"


def _or_nothing(value: float, figures: int) -> str:
    return number(value, figures=figures) if math.isfinite(value) else _NOTHING
