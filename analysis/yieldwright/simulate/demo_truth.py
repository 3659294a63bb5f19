"""What lies beside a demo log and beside no real one: the truth it was made from."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

from yieldwright.errors import BenchFileError
from yieldwright.simulate.brewing import heat_left, settings_from_need
from yieldwright.simulate.effects import step_effects
from yieldwright.simulate.following import Following
from yieldwright.simulate.truth import Truth

__all__ = ["DemoTruth", "read_demo_truth", "truth_text"]

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
    days : DataFrame
        One row per session of a log that follows a bag, as `followed_days` gives them;
        else empty.
    following : Following or None
        What is true of the bag that is followed.
    """

    seed: int
    truth: Truth
    effects: pd.DataFrame
    shots: pd.DataFrame
    days: pd.DataFrame = field(default_factory=pd.DataFrame)
    following: Following | None = None


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
    >>> from yieldwright.simulate import write_demo
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
            days=pd.DataFrame(entries.get("days", [])),
            following=Following(**told) if (told := entries.get("following")) else None,
        )
    except (OSError, KeyError, TypeError, json.JSONDecodeError) as error:
        raise BenchFileError(
            f"{path} is not the truth of a demo ({error}); write one with write_demo"
        ) from error


def truth_text(
    seed: int,
    truth: Truth,
    pulled: pd.DataFrame,
    *,
    days: pd.DataFrame | None = None,
    following: Following | None = None,
) -> str:
    """Return the truth as JSON, one line a shot, rounded beyond what a machine's chip decides.

    Parameters
    ----------
    seed : int
        Seed of the log's chance.
    truth : Truth
        Laws and instruments.
    pulled : DataFrame
        One row per shot, as `pull_shots` makes it.
    days : DataFrame, optional
        What is true of each session of a bag, as `followed_days` gives it.
    following : Following, optional
        What is true of the bag that is followed.

    Returns
    -------
    str

    Examples
    --------
    >>> import numpy as np
    >>> from yieldwright.simulate import default_plan, pull_shots
    >>> rng = np.random.default_rng(1)
    >>> pulled = pull_shots(Truth(), default_plan(rng), rng)
    >>> sorted(json.loads(truth_text(1, Truth(), pulled)))
    ['effects', 'seed', 'shots', 'truth', 'what']
    """
    known = pulled.assign(
        settings_from_need=settings_from_need(truth, pulled), heat_c=heat_left(truth, pulled)
    )
    entries = {
        "what": json.dumps("Invented. What the demo log was made from; see ../README.md."),
        "seed": str(seed),
        "truth": truth.to_json(),
    }
    if following is not None:
        entries["following"] = json.dumps(following.rounded(), indent=1)
    if days is not None:
        entries["days"] = _json_lines(days)
    entries["effects"] = _json_lines(step_effects(truth, pulled))
    entries["shots"] = _json_lines(known[_TRUE_COLUMNS])
    body = ",\n".join(f'"{name}": {text}' for name, text in entries.items())
    return f"{{\n{body}\n}}\n"


def _json_lines(table: pd.DataFrame) -> str:
    rounded = table.round(6).astype(object)
    records = rounded.where(rounded.notna(), None).to_dict("records")
    return "[\n" + ",\n".join(json.dumps(record) for record in records) + "\n]"
