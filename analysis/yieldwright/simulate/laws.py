"""How the invented coffee behaves: one small law for each thing that acts on a shot.

Every number is an assumption unless a source stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from yieldwright.simulate.events import Freeze  # noqa: TC001 (a truth is built by its hints)

__all__ = [
    "MAY_BE_ABSENT",
    "AgeingLaw",
    "Bag",
    "ExtractionLaw",
    "FailureLaw",
    "FlowLaw",
    "Hand",
    "HeatLaw",
    "Person",
    "TasteLaw",
    "Taster",
]

#: Marks a field that came later than the shipped truths: the text of a truth leaves it out
#: while it has its default, and reads its absence as that.
MAY_BE_ABSENT = {"may_be_absent": True}


@dataclass(frozen=True, slots=True)
class Bag:
    """One bag of coffee and what it needs.

    Attributes
    ----------
    bag : str
        Code in the log.
    roast_level : str
        One of dark, medium, light.
    roasted_on : date
        Day of the roast.
    needs_setting : float
        Grind setting that gives the time of the flow law once the bag has rested.
    most_ey_pct : float
        Yield at the best grind, at 1:2 and the reference temperature. [% by mass]
    opened_on : date or None
        Day it was opened; None where the log says nothing of it.
    freezes : tuple of Freeze
        When it lay in the freezer, in order.
    """

    bag: str
    roast_level: str
    roasted_on: date
    needs_setting: float
    most_ey_pct: float
    opened_on: date | None = field(default=None, metadata=MAY_BE_ABSENT)
    freezes: tuple[Freeze, ...] = field(default=(), metadata=MAY_BE_ABSENT)


@dataclass(frozen=True, slots=True)
class ExtractionLaw:
    """Yield against grind, temperature, ratio and age.

    From coarse to fine the yield rises, turns and falls ever more steeply, as the bed
    fails to let water through evenly: Cameron et al. 2020, Matter 2:631, for the shape;
    the sizes are assumptions. The shot-to-shot SD of a lever is not published either;
    0.3 to 0.8 % by mass is what we take for likely.

    Attributes
    ----------
    per_setting_pct : float
        Yield lost with one setting coarser, far on the coarse side. [% by mass]
    turns_at : float
        Where the yield is highest, in settings coarser than the bag needs.
    turn_width : float
        How many settings the turn takes.
    per_c_pct : float
        Yield gained with one degree. [% by mass per °C]
    per_ratio_pct : float
        Yield gained with one more gram of beverage for each gram of dose. [% by mass]
    per_day_pct : float
        Yield lost with one day of age, beyond what age does through flow. [% by mass]
    channelled_pct : float
        Yield lost by a channelled shot. [% by mass]
    session_sd_pct, shot_sd_pct : float
        Spread between evenings, and between shots of one evening. [% by mass]
    """

    per_setting_pct: float = 0.8
    turns_at: float = -2.5
    turn_width: float = 1.2
    per_c_pct: float = 0.2
    per_ratio_pct: float = 4.0
    per_day_pct: float = 0.01
    channelled_pct: float = 1.5
    session_sd_pct: float = 0.25
    shot_sd_pct: float = 0.4


@dataclass(frozen=True, slots=True)
class FlowLaw:
    """Shot time against grind, temperature, beverage mass and taper.

    Time is a product of powers, so each effect is a share of it. The share per degree
    follows the viscosity of water between 90 and 94 °C (IAPWS R12-08); in the end
    pressures of a taper the steady flow hardly changes (Waszkiewicz et al.,
    arXiv 2412.02373), hence its small share.

    Attributes
    ----------
    time_s : float
        Time at the setting the bag needs, at the mass and temperature aimed at. [s]
    per_setting : float
        Share of the time saved with one setting coarser.
    per_c : float
        Share of the time saved with one degree. [1/°C]
    per_taper_bar : float
        Share of the time added with one bar more taper. [1/bar]
    mass_power : float
        Power of beverage mass over the mass aimed at.
    channelled : float
        Share of the time lost by a channelled shot.
    session_sd, shot_sd : float
        Spread between evenings, and between shots of one evening, as shares.
    """

    time_s: float = 36.0
    per_setting: float = 0.11
    per_c: float = 0.011
    per_taper_bar: float = 0.01
    mass_power: float = 0.9
    channelled: float = 0.22
    session_sd: float = 0.03
    shot_sd: float = 0.045


@dataclass(frozen=True, slots=True)
class AgeingLaw:
    """How far the grind a bag needs moves with its age; not monotone.

    Attributes
    ----------
    rest_d : float
        Age at which the coffee runs slowest. [d]
    old_per_d, fresh_per_d : float
        Settings that each day after, and each day before, makes the shot run coarser.
        [1/d]
    """

    rest_d: float = 9.0
    old_per_d: float = 0.05
    fresh_per_d: float = 0.08


@dataclass(frozen=True, slots=True)
class HeatLaw:
    """How shots pulled soon after one another heat the group.

    Attributes
    ----------
    reference_c : float
        Temperature at which the other laws state their figures. [°C]
    rise_c : float
        Heat that one shot leaves in the group. [°C]
    fades_min : float
        Time in which that heat falls to a third. [min]
    """

    reference_c: float = 91.0
    rise_c: float = 1.2
    fades_min: float = 9.0


@dataclass(frozen=True, slots=True)
class FailureLaw:
    """When a shot chokes, gushes or channels.

    Attributes
    ----------
    choked_at, gushed_at : float
        Where half of the shots choke, or gush, in settings coarser than needed.
    width : float
        How many settings the change from few to many takes.
    channelled_share : float
        Share of carefully distributed pucks that channel.
    careless_times : float
        How many times more often a carelessly distributed puck channels.
    """

    choked_at: float = -2.8
    gushed_at: float = 4.5
    width: float = 0.25
    channelled_share: float = 0.04
    careless_times: float = 4.0


@dataclass(frozen=True, slots=True)
class Taster:
    """One taster.

    Attributes
    ----------
    taster : str
        Code in the log.
    offset : float
        How much higher than the others they score, in points of the scale.
    """

    taster: str
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class TasteLaw:
    """What tasters make of a cup.

    The overall score has its peak in yield and strength; temperature and grind act
    through these alone (Batali et al. 2020, Sci Rep 10, 16450, for temperature), the
    taper acts by itself. Bitterness rises with yield and falls with the taper.

    Attributes
    ----------
    peak_score : float
        Overall score at the peak.
    peak_ey_pct : float
        Yield at the peak. [% by mass]
    peak_tds_pct : float
        Strength at the peak. [% by mass]
    per_ey_squared, per_tds_squared : float
        Points lost with the square of the distance from the peak.
    per_taper_bar : float
        Points gained with one bar more taper. [1/bar]
    usual_taper_bar : float
        Taper at which the other figures hold. [bar]
    bitter_score, bitter_per_ey : float
        Bitterness at the peak, and what one point of yield adds to it.
    bitter_per_taper_bar : float
        What one bar more taper adds to bitterness. [1/bar]
    channelled : float
        Points lost by a channelled shot.
    best_age_d : float
        Roast age at which the coffee tastes best, all else equal. [d]
    per_age_squared : float
        Points lost with the square of the days from that age; zero where age is not
        tasted. [1/d²]
    session_sd, shot_sd, taster_sd : float
        Spread between evenings, between cups of one evening, and of one taster's
        scores of one cup.
    tasters : tuple of Taster
        Who tastes.
    """

    peak_score: float = 7.0
    peak_ey_pct: float = 20.4
    peak_tds_pct: float = 10.2
    per_ey_squared: float = 0.35
    per_tds_squared: float = 0.4
    per_taper_bar: float = 0.8
    usual_taper_bar: float = 2.7
    bitter_score: float = 4.0
    bitter_per_ey: float = 0.5
    bitter_per_taper_bar: float = -0.6
    channelled: float = 0.8
    best_age_d: float = field(default=0.0, metadata=MAY_BE_ABSENT)
    per_age_squared: float = field(default=0.0, metadata=MAY_BE_ABSENT)
    session_sd: float = 0.2
    shot_sd: float = 0.3
    taster_sd: float = 0.5
    tasters: tuple[Taster, ...] = (
        Taster("t1", 0.4),
        Taster("t2", -0.5),
        Taster("t3", 0.1),
        Taster("t4", -0.2),
        Taster("t5", 0.2),
    )


@dataclass(frozen=True, slots=True)
class Hand:
    """How steadily people weigh, stop, press and read.

    Attributes
    ----------
    dose_sd_g, beverage_sd_g : float
        Miss of the mass aimed at. [g]
    hold_bar : float
        Pressure usually held. [bar]
    pressure_sd_bar : float
        Miss of a pressure aimed at. [bar]
    gauge_sd_bar : float
        Error of reading the gauge. [bar]
    clock_sd_s : float
        Error of stopping the clock. [s]
    """

    dose_sd_g: float = 0.1
    beverage_sd_g: float = 0.6
    hold_bar: float = 8.5
    pressure_sd_bar: float = 0.15
    gauge_sd_bar: float = 0.05
    clock_sd_s: float = 0.4


@dataclass(frozen=True, slots=True)
class Person:
    """One who pulls, where people differ.

    Attributes
    ----------
    barista : str
        Code in the log.
    times_sd : float
        How many times the usual spread from shot to shot their times and yields have.
    """

    barista: str
    times_sd: float = 1.0
