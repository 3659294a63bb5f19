"""Everything a simulated bench knows and its log does not: the truth, as one value."""

from __future__ import annotations

import dataclasses
import json
import types
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from yieldwright.bench import Attribute, Grinder, Refractometer, Scale
from yieldwright.errors import BenchFileError
from yieldwright.simulate.events import Service  # noqa: TC001 (a truth is built by its hints)
from yieldwright.simulate.laws import (
    MAY_BE_ABSENT,
    AgeingLaw,
    Bag,
    ExtractionLaw,
    FailureLaw,
    FlowLaw,
    Hand,
    HeatLaw,
    Person,
    TasteLaw,
)

__all__ = ["Truth"]

_MEDIUM_BAG = Bag("bag-17", "medium", date(2026, 10, 16), 12.0, 21.8)
_LIGHT_BAG = Bag("bag-18", "light", date(2026, 10, 28), 9.0, 20.2)


@dataclass(frozen=True, slots=True)
class Truth:
    """The laws and instruments of one invented bench; the defaults make the demo.

    Attributes
    ----------
    bags : tuple of Bag
        The coffees.
    grinder : Grinder
        Step, direction and what it retains.
    dose_scale, beverage_scale : Scale
        What the masses are read on.
    refractometer : Refractometer
        What the strength is read on.
    refractometer_offset_pct : float
        Error common to all its readings. [% by mass]
    attributes : tuple of Attribute
        Scales of the overall score and of bitterness, in this order.
    extraction : ExtractionLaw
        What acts on the yield.
    flow : FlowLaw
        What acts on the time.
    ageing : AgeingLaw
        What the bag's age does to the grind it needs.
    heat : HeatLaw
        What one shot does to the next.
    failure : FailureLaw
        What goes wrong.
    taste : TasteLaw
        What tasters make of it.
    hand : Hand
        How steady the people are.
    people : tuple of Person
        Who is more or less steady than that.
    services : tuple of Service
        What was cleaned or changed, and when.
    """

    bags: tuple[Bag, ...] = (_MEDIUM_BAG, _LIGHT_BAG)
    grinder: Grinder = Grinder("mill-1", retained_g=1.2, stated=True)
    dose_scale: Scale = Scale()
    beverage_scale: Scale = Scale()
    refractometer: Refractometer = Refractometer()
    refractometer_offset_pct: float = 0.03
    attributes: tuple[Attribute, ...] = (
        Attribute("overall", stated=True),
        Attribute("bitter", better="less", stated=True),
    )
    extraction: ExtractionLaw = ExtractionLaw()
    flow: FlowLaw = FlowLaw()
    ageing: AgeingLaw = AgeingLaw()
    heat: HeatLaw = HeatLaw()
    failure: FailureLaw = FailureLaw()
    taste: TasteLaw = TasteLaw()
    hand: Hand = Hand()
    people: tuple[Person, ...] = field(default=(), metadata=MAY_BE_ABSENT)
    services: tuple[Service, ...] = field(default=(), metadata=MAY_BE_ABSENT)

    def without_noise(self) -> Truth:
        """Return the same bench with perfect hands, instruments and pucks.

        Returns
        -------
        Truth
            Every spread is zero, nothing channels; settings still choke and gush, and
            displays still round.

        Examples
        --------
        >>> Truth().without_noise().flow.shot_sd
        0.0
        """
        still = {
            part.name: _without_spread(getattr(self, part.name))
            for part in dataclasses.fields(self)
            if dataclasses.is_dataclass(getattr(self, part.name))
        }
        return dataclasses.replace(self, **still, refractometer_offset_pct=0.0)

    def to_json(self) -> str:
        """Return the truth as JSON text.

        Returns
        -------
        str

        Examples
        --------
        >>> Truth.from_json(Truth().to_json()) == Truth()
        True
        """
        return json.dumps(_entries(self), default=date.isoformat, indent=1)

    @classmethod
    def from_json(cls, text: str) -> Truth:
        """Return the truth that a JSON text holds.

        Parameters
        ----------
        text : str
            As `to_json` writes it; further entries are an error.

        Returns
        -------
        Truth

        Raises
        ------
        BenchFileError
            If an entry is missing, not known or of another kind, or the text is no JSON.

        Examples
        --------
        >>> Truth.from_json("[]")
        Traceback (most recent call last):
            ...
        yieldwright.errors.BenchFileError: Truth must be an object with named entries, not list
        """
        try:
            truth: Truth = _build(cls, json.loads(text))
        except (TypeError, ValueError) as error:
            if isinstance(error, BenchFileError):
                raise
            raise BenchFileError(
                f"the truth holds something it cannot ({error}); write it with to_json"
            ) from error
        return truth


def _without_spread(part: Any) -> Any:  # noqa: ANN401 (any of the laws)
    """Return a law with each spread and each random failure at zero."""
    spreads = [
        field.name
        for field in dataclasses.fields(part)
        if "sd" in field.name.split("_") or field.name.startswith(("repeatab", "channelled_share"))
    ]
    changes: dict[str, Any] = dict.fromkeys(spreads, 0.0)
    return dataclasses.replace(part, **changes)


def _entries(part: Any) -> Any:  # noqa: ANN401 (any of the laws, or a value in one)
    """Return a law as an object with named entries, without later ones that say nothing."""
    if isinstance(part, tuple):
        return [_entries(item) for item in part]
    if not dataclasses.is_dataclass(part):
        return part
    return {
        field.name: _entries(getattr(part, field.name))
        for field in dataclasses.fields(part)
        if not (field.metadata and getattr(part, field.name) == field.default)
    }


def _build(kind: Any, value: Any) -> Any:  # noqa: ANN401 (JSON holds anything)
    """Return a JSON value as the kind that a field declares."""
    if dataclasses.is_dataclass(kind):
        return _build_part(kind, value)
    if get_origin(kind) is tuple:
        return tuple(_build(get_args(kind)[0], item) for item in value)
    if kind is date or (kind == date | None and value is not None):
        return date.fromisoformat(value)
    if get_origin(kind) in (Literal, Union, types.UnionType):
        return value
    return kind(value)


def _build_part(kind: Any, value: Any) -> Any:  # noqa: ANN401 (JSON holds anything)
    if not isinstance(value, dict):
        raise BenchFileError(
            f"{kind.__name__} must be an object with named entries, not {type(value).__name__}"
        )
    hints = get_type_hints(kind)
    absent = {field.name for field in dataclasses.fields(kind) if field.metadata} - set(value)
    odd = sorted((set(hints) - absent) ^ set(value))
    if odd:
        raise BenchFileError(f"{kind.__name__} lacks, or does not know, the entry {odd[0]!r}")
    return kind(**{name: _build(hints[name], value[name]) for name in value})
