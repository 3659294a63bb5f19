"""How steady a bench is: spread, limits, alarms, failures, people and tasters."""

from __future__ import annotations

from yieldwright.repeatability.failing_sessions import FailingSessions, failing_sessions
from yieldwright.repeatability.failures import FailureRates, failure_rate
from yieldwright.repeatability.instruments import InstrumentCheck, instrument_against_shots
from yieldwright.repeatability.lasting_move import LastingMove, lasting_move
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
    "LastingMove",
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
    "lasting_move",
    "progress",
    "replicate_spread",
    "smallest_ratio",
    "steadiness",
    "steady",
    "taster_agreement",
    "watch",
]
