"""The invented evening class: its bench, its log with the mess of real ones, its truth."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from yieldwright.errors import BenchFileError, NotWritableError
from yieldwright.simulate.brewing import heat_left, settings_from_need
from yieldwright.simulate.effects import step_effects
from yieldwright.simulate.mess import spoil_lines
from yieldwright.simulate.plan import default_plan
from yieldwright.simulate.pulling import log_shots, pull_shots
from yieldwright.simulate.tasting import taste_shots
from yieldwright.simulate.truth import Truth

__all__ = ["DEMO_SEED", "DemoTruth", "read_demo_truth", "write_demo"]

#: Seed of the demo that is shipped.
DEMO_SEED = 20261204

_BENCH = """\
# An invented bench: one lever machine of an evening class. See ../README.md.
name = "evening-class"
machine = "lever-1"
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

# The class chooses the band by the roast, and sets the middle of it.
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

_LEFT_OUT = ("dose_target_g", "beverage_target_g")
_TENTHS = ("dose_g", "beverage_g", "peak_bar", "hold_bar", "end_bar")
_DECIMALS = dict.fromkeys(_TENTHS, 1) | {"tds_pct": 2}
_TRUE_COLUMNS = [
    "shot",
    "fate",
    "settings_from_need",
    "heat_c",
    "dose_g",
    "beverage_g",
    "time_s",
    "taper_bar",
    "tds_pct",
    "ey_pct",
]


@dataclass(frozen=True)
class DemoTruth:
    """What only the maker of a demo knows.

    Attributes
    ----------
    seed : int
        Seed of its chance.
    truth : Truth
        Laws and instruments.
    effects : DataFrame
        One row per bag, response and term, as `step_effects` gives them.
    shots : DataFrame
        One row per shot: true masses, time, strength and yield, how far from the
        needed setting it ran and how warm the group was.
    """

    seed: int
    truth: Truth
    effects: pd.DataFrame
    shots: pd.DataFrame


def write_demo(folder: str | Path, seed: int, *, truth: Truth | None = None) -> tuple[Path, ...]:
    """Write the demo log of the invented evening class into a folder.

    Parameters
    ----------
    folder : str or Path
        Where to write; made if absent, files of the same names are replaced.
    seed : int
        Seed of all its chance.
    truth : Truth, optional
        Laws and instruments; by default the demo's own.

    Returns
    -------
    tuple of Path
        bench.toml, shots.csv, tastings.csv and truth.json; the same seed gives the same
        bytes under pinned versions.

    Raises
    ------
    NotWritableError
        If the folder cannot be made or written to.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     [path.name for path in write_demo(folder, seed=1)]
    ['bench.toml', 'shots.csv', 'tastings.csv', 'truth.json']
    """
    known = truth or Truth()
    rng = np.random.default_rng(seed)
    pulled = pull_shots(known, default_plan(rng, truth=known), rng)
    shots, tastings = log_shots(known, pulled, rng), taste_shots(known, pulled, rng)
    texts = {
        "bench.toml": _bench_text(known),
        "shots.csv": "".join(spoil_lines(_shot_rows(shots, pulled))),
        "tastings.csv": _csv_text(tastings.assign(score=tastings["score"].map("{:g}".format))),
        "truth.json": _truth_text(seed, known, pulled),
    }
    return tuple(_write(Path(folder), name, text) for name, text in texts.items())


def read_demo_truth(path: str | Path) -> DemoTruth:
    """Return the truth that lies beside a demo log.

    Parameters
    ----------
    path : str or Path
        The file `truth.json` of a demo.

    Returns
    -------
    DemoTruth

    Raises
    ------
    BenchFileError
        If the file is absent or holds something else.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     paths = write_demo(folder, seed=1)
    ...     read_demo_truth(paths[-1]).seed
    1
    """
    try:
        entries = json.loads(Path(path).read_text(encoding="utf-8"))
        return DemoTruth(
            seed=int(entries["seed"]),
            truth=Truth.from_json(json.dumps(entries["truth"])),
            effects=pd.DataFrame(entries["effects"]),
            shots=pd.DataFrame(entries["shots"]).astype({"ey_pct": float}),
        )
    except (OSError, KeyError, TypeError, json.JSONDecodeError) as error:
        raise BenchFileError(
            f"{path} is not the truth of a demo ({error}); write one with write_demo"
        ) from error


def _bench_text(truth: Truth) -> str:
    bench = _BENCH.format(
        dose=truth.dose_scale,
        beverage=truth.beverage_scale,
        meter=truth.refractometer,
        grinder=truth.grinder,
    )
    scales = "".join(_SCALE.format(scale=scale) for scale in truth.attributes)
    return bench + scales + _READING


def _shot_rows(shots: pd.DataFrame, pulled: pd.DataFrame) -> pd.DataFrame:
    """Return the log as text cells, as somebody would type them."""
    typed = shots.drop(columns=[name for name in _LEFT_OUT if name in shots])
    typed["pulled_at"] = [moment.isoformat(timespec="minutes") for moment in shots["pulled_at"]]
    for name in map(str, typed.select_dtypes("number")):
        cell = f"{{:.{_DECIMALS.get(name, 0)}f}}".format
        typed[name] = ["" if np.isnan(value) else cell(value) for value in typed[name]]
    return typed.assign(notes=_notes(pulled)).astype(str)


def _notes(pulled: pd.DataFrame) -> list[str]:
    """Return what somebody at the bench would write beside each shot."""
    waited = pulled.groupby("session")["temp_band"].shift().fillna(pulled["temp_band"])
    notes = np.select(
        [
            pulled["fate"] == "choked",
            pulled["fate"] == "gushed",
            pulled["fate"] == "channelled",
            pulled["stage"] == "warm_up",
            pulled["stage"] == "transition",
            waited != pulled["temp_band"],
            pulled["ey_pct"] < 18.8,
            pulled["ey_pct"] > 21.0,
        ],
        [
            "hardly a drop, let go",
            "ran away",
            "a spray on the left",
            "to warm up",
            "purged too little",
            "new band, waited",
            "thin, sharp",
            "heavy, a little dry",
        ],
        default="",
    )
    return [str(note) for note in notes]


def _truth_text(seed: int, truth: Truth, pulled: pd.DataFrame) -> str:
    """Return the truth as JSON, one line a shot, rounded beyond what a machine's chip decides."""
    known = pulled.assign(
        settings_from_need=settings_from_need(truth, pulled), heat_c=heat_left(truth, pulled)
    )
    lists = {"effects": step_effects(truth, pulled), "shots": known[_TRUE_COLUMNS]}
    entries = {
        "what": json.dumps("Invented. What the demo log was made from; see ../README.md."),
        "seed": str(seed),
        "truth": truth.to_json(),
    } | {name: _json_lines(table) for name, table in lists.items()}
    body = ",\n".join(f'"{name}": {text}' for name, text in entries.items())
    return f"{{\n{body}\n}}\n"


def _json_lines(table: pd.DataFrame) -> str:
    rounded = table.round(6).astype(object)
    records = rounded.where(rounded.notna(), None).to_dict("records")
    return "[\n" + ",\n".join(json.dumps(record) for record in records) + "\n]"


def _csv_text(table: pd.DataFrame) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows(table.itertuples(index=False))
    return text.getvalue()


def _write(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode("utf-8"))
    except OSError as error:
        raise NotWritableError(
            f"{path} cannot be written ({error.strerror}); choose a folder you may write to"
        ) from error
    return path
