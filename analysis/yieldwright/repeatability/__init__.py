"""How steady a bench is: spread, limits, alarms, failures, people and tasters."""

from __future__ import annotations

from yieldwright.repeatability.charts.lasting_move import LastingMove, lasting_move
from yieldwright.repeatability.charts.watching import Watch, watch
from yieldwright.repeatability.failing.failing_sessions import FailingSessions, failing_sessions
from yieldwright.repeatability.failing.failures import FailureRates, failure_rate
from yieldwright.repeatability.panel.tasters import TasterAgreement, taster_agreement
from yieldwright.repeatability.persons.people import People, compare_people, smallest_ratio
from yieldwright.repeatability.persons.progress import Progress, progress
from yieldwright.repeatability.spread.instruments import InstrumentCheck, instrument_against_shots
from yieldwright.repeatability.spread.quantity_spread import QuantitySpread, quantity_spread
from yieldwright.repeatability.spread.steadiness import Steadiness, steadiness
from yieldwright.repeatability.steady import Steady, steady

__all__ = [
    "FailingSessions",
    "FailureRates",
    "InstrumentCheck",
    "LastingMove",
    "People",
    "Progress",
    "QuantitySpread",
    "Steadiness",
    "Steady",
    "TasterAgreement",
    "Watch",
    "compare_people",
    "failing_sessions",
    "failure_rate",
    "instrument_against_shots",
    "lasting_move",
    "progress",
    "quantity_spread",
    "smallest_ratio",
    "steadiness",
    "steady",
    "taster_agreement",
    "watch",
]
