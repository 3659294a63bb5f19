"""A log as somebody would type it, and its files."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from yieldwright.errors import NotWritableError

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

__all__ = ["csv_text", "typed_cells", "write_texts"]

_LEFT_OUT = ("dose_target_g", "beverage_target_g")
_TENTHS = ("dose_g", "beverage_g", "peak_bar", "hold_bar", "end_bar")
_DECIMALS = dict.fromkeys(_TENTHS, 1) | {"tds_pct": 2}


def typed_cells(shots: pd.DataFrame, pulled: pd.DataFrame) -> pd.DataFrame:
    """Return the log as text cells, as somebody would type them.

    Parameters
    ----------
    shots : DataFrame
        One row per shot, as `log_shots` makes it.
    pulled : DataFrame
        The same shots, as `pull_shots` makes them.

    Returns
    -------
    DataFrame
        All cells text, what is not known empty; notes stand last.

    Examples
    --------
    >>> from yieldwright.simulate import Truth, default_plan, log_shots, pull_shots
    >>> rng = np.random.default_rng(1)
    >>> pulled = pull_shots(Truth(), default_plan(rng), rng)
    >>> typed_cells(log_shots(Truth(), pulled, rng), pulled)["notes"].iloc[0]
    'to warm up'
    """
    typed = shots.drop(columns=[name for name in _LEFT_OUT if name in shots])
    typed["pulled_at"] = [moment.isoformat(timespec="minutes") for moment in shots["pulled_at"]]
    for name in map(str, typed.select_dtypes("number")):
        cell = f"{{:.{_DECIMALS.get(name, 0)}f}}".format
        typed[name] = ["" if np.isnan(value) else cell(value) for value in typed[name]]
    return typed.assign(notes=_notes(pulled)).astype(object).fillna("").astype(str)


def csv_text(table: pd.DataFrame) -> str:
    """Return a table as comma-separated text.

    Parameters
    ----------
    table : DataFrame
        What to write.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> csv_text(pd.DataFrame({"shot": ["s1"], "score": [7]})).splitlines()
    ['shot,score', 's1,7']
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows(table.itertuples(index=False))
    return text.getvalue()


def write_texts(folder: str | Path, texts: Mapping[str, str]) -> tuple[Path, ...]:
    """Write texts into files of a folder, in UTF-8 and with the line ends they have.

    Parameters
    ----------
    folder : str or Path
        Where to write; made if absent, files of the same names are replaced.
    texts : mapping of str to str
        Names of files and what they hold.

    Returns
    -------
    tuple of Path
        The files, in the order of the texts.

    Raises
    ------
    NotWritableError
        If the folder cannot be made or written to.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     [path.name for path in write_texts(folder, {"a.csv": "shot"})]
    ['a.csv']
    """
    return tuple(_write(Path(folder), name, text) for name, text in texts.items())


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
