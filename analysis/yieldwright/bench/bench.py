"""One bench as a value: everything the log itself does not say."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from yieldwright.bench.bags import BagFacts
from yieldwright.bench.instruments import Grinder, Refractometer, Scale
from yieldwright.bench.recipe import Attribute, Band, Recipe, Window
from yieldwright.glossary import Quantity, Span, quantity

__all__ = ["Bench", "WidenedRange"]

#: The offset from UTC of a bench that states none.
ASSUMED_OFFSET = "+00:00"
_DEFAULT_BANDS = (
    Band("low", 80.0, 88.0),
    Band("medium", 88.0, 92.0),
    Band("high", 92.0, 97.0),
)


@dataclass(frozen=True, slots=True)
class WidenedRange:
    """Ranges of one quantity that this bench widens; None leaves the glossary's.

    Attributes
    ----------
    hard : Span or None
        Outside it a row is set aside.
    soft : Span or None
        Outside it a row is kept and flagged.
    """

    hard: Span | None = None
    soft: Span | None = None


@dataclass(frozen=True)
class Bench:
    """The instruments, grinders, bands, recipe and scales of one bench.

    Every default is an assumption; `stated` lists what the bench file itself says, and
    whatever prints a figure that rests on the rest says so.

    Attributes
    ----------
    name : str
        Code of the bench.
    machine, basket : str
        Used where the log has no such column.
    dose_scale, beverage_scale : Scale
        The scales under the portafilter and under the cup.
    refractometer : Refractometer
        The instrument that reads strength.
    grinders : tuple of Grinder
        By their codes in the log.
    bags : tuple of BagFacts
        When bags were roasted, opened and frozen; of bags that the log does not date.
    bands : tuple of Band
        Temperature bands, coolest first.
    recipe : Recipe
        The shot aimed at.
    window : Window
        Target of the chart.
    attributes : tuple of Attribute
        What tasters score; the first is the headline.
    columns : mapping of str to str
        The user's own headers to glossary names.
    shot_id : tuple of str
        Headers that together name a shot; empty where one column does.
    ranges : mapping of str to WidenedRange
        Quantities whose hard or soft range this bench widens.
    time_zone_offset : str
        Offset taken for a time of day without one, such as "+01:00"; where it is stated,
        the day of a moment written with another offset is the day on this clock.
    delimiter : {"comma", "semicolon", "tab"} or None
        Forced where detection is not wanted.
    decimal : {"point", "comma"} or None
        Forced where detection is not wanted.
    day_order : {"day first", "month first"} or None
        How dates such as 03/04/2026 are meant; a column that proves otherwise is asked
        about, not read.
    sheet : str
        The sheet of a workbook that holds the shots; empty where there is but one.
    density_g_per_ml : float or None
        Mass of a millilitre of beverage as it was read off; None where volumes are
        refused. [g/mL]
    stated : frozenset of str
        Names of the parts the bench file states.
    """

    name: str = ""
    machine: str = ""
    basket: str = ""
    dose_scale: Scale = Scale()
    beverage_scale: Scale = Scale()
    refractometer: Refractometer = Refractometer()
    grinders: tuple[Grinder, ...] = ()
    bags: tuple[BagFacts, ...] = ()
    bands: tuple[Band, ...] = _DEFAULT_BANDS
    recipe: Recipe = Recipe()
    window: Window = Window()
    attributes: tuple[Attribute, ...] = (Attribute("overall"),)
    columns: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    shot_id: tuple[str, ...] = ()
    ranges: Mapping[str, WidenedRange] = field(default_factory=lambda: MappingProxyType({}))
    time_zone_offset: str = ASSUMED_OFFSET
    delimiter: Literal["comma", "semicolon", "tab"] | None = None
    decimal: Literal["point", "comma"] | None = None
    day_order: Literal["day first", "month first"] | None = None
    sheet: str = ""
    density_g_per_ml: float | None = None
    stated: frozenset[str] = frozenset()

    def quantity(self, name: str) -> Quantity:
        """Return a glossary entry with this bench's ranges.

        Parameters
        ----------
        name : str
            Canonical name.

        Returns
        -------
        Quantity

        Raises
        ------
        UnknownNameError
            If the glossary has no such name.

        Examples
        --------
        >>> str(Bench(ranges={"dose_g": WidenedRange(hard=Span(5, 300))}).quantity("dose_g").hard)
        '5–300'
        """
        entry = quantity(name)
        widened = self.ranges.get(name, WidenedRange())
        return dataclasses.replace(
            entry, hard=widened.hard or entry.hard, soft=widened.soft or entry.soft
        )

    @property
    def knows_its_clock(self) -> bool:
        """Whether the offset of the bench's clock is stated, not assumed."""
        return "time_zone_offset" in self.stated or self.time_zone_offset != ASSUMED_OFFSET

    def bag(self, name: str) -> BagFacts:
        """Return what the bench knows of a bag, or a bag of which it knows nothing.

        Parameters
        ----------
        name : str
            Code used in the log.

        Returns
        -------
        BagFacts

        Examples
        --------
        >>> Bench().bag("bag-7").roasted_on is None
        True
        """
        wanted = name.strip().casefold()
        for bag in self.bags:
            if bag.name.casefold() == wanted:
                return bag
        return BagFacts(name)

    def grinder(self, name: str) -> Grinder:
        """Return the grinder of a code, or one with assumed step and direction.

        Parameters
        ----------
        name : str
            Code used in the log.

        Returns
        -------
        Grinder

        Examples
        --------
        >>> Bench().grinder("old").stated
        False
        """
        for grinder in self.grinders:
            if grinder.name == name:
                return grinder
        return Grinder(name)

    def attribute(self, name: str) -> Attribute:
        """Return the taste attribute of a name, or one on the assumed scale.

        Parameters
        ----------
        name : str
            Word used in the log.

        Returns
        -------
        Attribute

        Examples
        --------
        >>> Bench().attribute("overall").high
        10.0
        """
        for attribute in self.attributes:
            if attribute.name == name:
                return attribute
        return Attribute(name)

    def band_of(self, temp_c: float) -> str | None:
        """Return the name of the band a temperature lies in, None where it lies in none.

        Parameters
        ----------
        temp_c : float
            Temperature. [°C]

        Returns
        -------
        str or None

        Examples
        --------
        >>> Bench().band_of(92.0)
        'medium'
        """
        for band in self.bands:
            if band.low_c <= temp_c <= band.high_c:
                return band.name
        return None
