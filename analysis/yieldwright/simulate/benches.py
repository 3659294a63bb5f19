"""The text of an invented bench's file, as a reader would state their own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldwright.simulate.truth import Truth

__all__ = ["Place", "bench_text"]

_BENCH = """\
# An invented bench: {place.remark}. See ../README.md.
name = "{place.name}"
machine = "{place.machine}"
basket = "18 g"

[scales.dose]
resolution_g = {dose.resolution_g}
repeatability_g = {dose.repeatability_g}

[scales.beverage]
resolution_g = {beverage.resolution_g}
repeatability_g = {beverage.repeatability_g}

[refractometer]
resolution_pct = {meter.resolution_pct}
repeatability_pct = {meter.repeatability_pct}
accuracy_pct = {meter.accuracy_pct}

[[grinders]]
name = "{grinder.name}"
step = {grinder.step}
coarser = "{grinder.coarser}"
retained_g = {grinder.retained_g}

# {place.people} chooses the band by the roast, and sets the middle of it.
[[bands]]
name = "low"      # for dark roasts
low_c = 85
high_c = 89

[[bands]]
name = "medium"   # for medium roasts
low_c = 89
high_c = 93

[[bands]]
name = "high"     # for light roasts
low_c = 93
high_c = 97

[recipe]
dose_g = 18.0
dose_tolerance_g = 0.3
beverage_g = 36.0
beverage_tolerance_g = 1.0
time_s = 36
time_tolerance_s = 5
hold_low_bar = 8
hold_high_bar = 9
end_least_bar = 5
"""

_SCALE = """
[[attributes]]
name = "{scale.name}"
low = {scale.low:g}
high = {scale.high:g}
step = {scale.step:g}
better = "{scale.better}"
"""

_READING = """
[reading]
time_zone_offset = "+01:00"
"""


@dataclass(frozen=True, slots=True)
class Place:
    """What a bench's file says of the place besides its instruments.

    Attributes
    ----------
    name : str
        Code of the bench.
    machine : str
        Code of the machine.
    remark : str
        What it is, in a few words.
    people : str
        Who chooses the temperature band.
    """

    name: str
    machine: str
    remark: str
    people: str


def bench_text(truth: Truth, place: Place) -> str:
    """Return the text of bench.toml: instruments of a truth, bands, recipe and scales.

    Parameters
    ----------
    truth : Truth
        Whose instruments.
    place : Place
        Where they stand.

    Returns
    -------
    str

    Examples
    --------
    >>> from yieldwright.simulate import Truth
    >>> place = Place("attic", "lever-9", "one machine under the roof", "The owner")
    >>> bench_text(Truth(), place).splitlines()[1]
    'name = "attic"'
    """
    bench = _BENCH.format(
        place=place,
        dose=truth.dose_scale,
        beverage=truth.beverage_scale,
        meter=truth.refractometer,
        grinder=truth.grinder,
    )
    scales = "".join(_SCALE.format(scale=scale) for scale in truth.attributes)
    return bench + scales + _READING
