"""All that a log says of one bag across its age, as one value."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

import pandas as pd

from yieldwright.ageing.compared.grinder_shots import bag_name
from yieldwright.formatting import sentence_case, visible
from yieldwright.models.contrasts.contrasts import estimate_table
from yieldwright.results import Result
from yieldwright.taste.words.wording import column_label

if TYPE_CHECKING:
    from yieldwright.ageing.age.ages import RoastAges
    from yieldwright.ageing.best.best_day import BestDay
    from yieldwright.ageing.breaks.events import Breaks
    from yieldwright.ageing.grind.compensation import Compensation
    from yieldwright.ageing.lasting.lasting import Lasting
    from yieldwright.ageing.trend.drift import Drift
    from yieldwright.ageing.trend.entangled import Entwined

__all__ = ["BagTrend"]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class BagTrend(Result):
    """How one bag changed as it aged, when it was best, and how the grind must follow.

    Attributes
    ----------
    bag, grinder : str
        Codes, empty where the log names none.
    response : str
        Column followed.
    ages : RoastAges
        Roast ages of the bag's shots, and why some are not known.
    drift : Drift or None
        Change per day, and the forms it may have; None where nothing could be fitted.
    best : BestDay or None
        Age at which the response is best; None where it has no best, only a line could be
        fitted, or age cannot be told apart from something else.
    lasting : Lasting or None
        From which day on the response lies below a level; None where none was asked for.
    compensation : Compensation or None
        Settings per day that hold the time; None without times, or where grind and age
        cannot be told apart.
    breaks : Breaks or None
        Services and changes of water, before and after; None without any.
    entwined : tuple of Entwined
        What cannot be told apart from age, with the shots that would.
    missing : str
        What a first estimate needs; empty where there is one.
    dates : DataFrame
        What happened to the bag and the bench meanwhile: `roast_age_d` and `what`.
    """

    drawing: ClassVar[str] = "bag_trend"

    bag: str
    grinder: str
    response: str
    ages: RoastAges
    drift: Drift | None = None
    best: BestDay | None = None
    lasting: Lasting | None = None
    compensation: Compensation | None = None
    breaks: Breaks | None = None
    entwined: tuple[Entwined, ...] = ()
    missing: str = ""
    dates: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame({"roast_age_d": [], "what": []})
    )

    @property
    def title(self) -> str:
        """Response, bag and grinder."""
        whose = bag_name(self.bag) if self.bag else "the bag"
        ground = f" on {visible(self.grinder)}" if self.grinder else ""
        return f"{sentence_case(column_label(self.response))} of {whose}{ground} across its age"

    @property
    def answered(self) -> bool:
        """Whether a drift could be estimated."""
        return self.drift is not None

    @property
    def parts(self) -> tuple[Result, ...]:
        """Everything there is, in the order a reader wants it."""
        found = (
            self.drift, self.best, self.lasting, self.compensation, self.breaks, self.ages,
        )  # fmt: skip
        return tuple(part for part in found if part is not None)

    def to_frame(self) -> pd.DataFrame:
        """Return changes per day at full precision, in the columns of estimates."""
        return estimate_table([]) if self.drift is None else self.drift.to_frame()

    def summary(self) -> str:
        """Return every part as text of 80 columns.

        Returns
        -------
        str
        """
        return "\n\n".join(part.summary().rstrip() for part in self.parts) + "\n"

    def _repr_html_(self) -> str:
        """Return every part as an HTML fragment."""
        return "".join(part._repr_html_() for part in self.parts)  # same class
