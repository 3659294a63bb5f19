"""How often shots fail, how much like shots differ, and how much of that the instruments cause."""

from __future__ import annotations

from yieldwright.repeatability.failing_sessions import FailingSessions, failing_sessions
from yieldwright.repeatability.failures import FailureRates, failure_rate
from yieldwright.repeatability.instruments import InstrumentCheck, instrument_against_shots
from yieldwright.repeatability.people import People, compare_people, smallest_ratio
from yieldwright.repeatability.progress import Progress, progress
from yieldwright.repeatability.replicates import SAME, Spread, replicate_spread
from yieldwright.repeatability.steadiness import Steadiness, steadiness
from yieldwright.repeatability.steady import Steady, steady
from yieldwright.repeatability.tasters import TasterAgreement, taster_agreement
from yieldwright.repeatability.watching import Watch, watch

__all__ = [
    "SAME",
    "FailingSessions",
    "FailureRates",
    "InstrumentCheck",
    "People",
    "Progress",
    "Spread",
    "Steadiness",
    "Steady",
    "TasterAgreement",
    "Watch",
    "compare_people",
    "failing_sessions",
    "failure_rate",
    "instrument_against_shots",
    "progress",
    "replicate_spread",
    "smallest_ratio",
    "steadiness",
    "steady",
    "taster_agreement",
    "watch",
]
