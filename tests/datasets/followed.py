"""The bag that is followed as plain columns, and straightforward fits of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from yieldwright.models.contrasts.estimating import estimated
from yieldwright.models.mixed.groups import grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed
from yieldwright.shotlog import ShotLog, score_table
from yieldwright.simulate import one_bag_truth
from yieldwright.simulate.one_bag import FIXED_SETTING, FOLLOWED

Array = npt.NDArray[np.float64]

TRUTH = one_bag_truth()


@dataclass(frozen=True)
class Fitted:
    """Coefficients of named columns, sessions shifting their shots."""

    fit: MixedFit
    names: tuple[str, ...]

    def interval(self, name: str) -> tuple[float, float, float]:
        """Return a coefficient and the ends of its 95 % interval."""
        weights = np.array([0.0, *(float(each == name) for each in self.names)])
        found = estimated(self.fit, weights, term=name, df="kenward_roger")
        return found.estimate, found.ci_low, found.ci_high


def counted(log: ShotLog) -> pd.DataFrame:
    """Return the shots of the bag that count, with what the laws speak of."""
    shots = log.shots[(log.shots["bag"] == FOLLOWED) & log.shots["usable"]]
    (cleaned,) = TRUTH.services
    age, rest = shots["roast_age_d"], TRUTH.ageing.rest_d
    return shots.assign(
        log_time=np.log(shots["time_s"]),
        overall=shots["shot"].map(score_table(log).set_index("shot")["overall"]),
        grind=shots["grind_setting"] - FIXED_SETTING,
        fresh=(age - rest).clip(upper=0),
        old=(age - rest).clip(lower=0),
        age=age - TRUTH.taste.best_age_d,
        age_squared=(age - TRUTH.taste.best_age_d) ** 2,
        cleaned=(shots["pulled_on"] >= pd.Timestamp(cleaned.serviced_on)).astype(float),
    )


def fitted(shots: pd.DataFrame, response: str, *names: str) -> Fitted:
    """Return a response fitted by some columns."""
    rows = shots.dropna(subset=response).reset_index(drop=True)
    matrix = np.column_stack([np.ones(len(rows)), *(rows[name].to_numpy(float) for name in names)])
    values = rows[response].to_numpy(dtype=float)
    return Fitted(fit_mixed(matrix, values, [grouping(rows, "session")]), names)


def spread_by_barista(shots: pd.DataFrame) -> pd.Series[float]:
    """Return the spread of the log time within sessions, at an equal grind."""
    equal = shots["log_time"] + TRUTH.flow.per_setting * shots["grind"]
    left = equal - equal.groupby(shots["session"]).transform("mean")
    spread: pd.Series[float] = left.groupby(shots["barista"]).std()
    return spread
