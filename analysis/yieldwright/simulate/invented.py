"""An invented log as its files: what was pulled, how somebody typed it, and what is true."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from yieldwright.simulate.pulling import log_shots, pull_shots
from yieldwright.simulate.tasting import taste_shots
from yieldwright.simulate.writing import csv_text, typed_cells, write_texts

if TYPE_CHECKING:
    from pathlib import Path

    import numpy as np
    import pandas as pd

    from yieldwright.simulate.truth import Truth

__all__ = ["InventedLog", "invent_log"]


@dataclass(frozen=True, eq=False)
class InventedLog:
    """Shots of a plan as they were pulled, logged and tasted.

    Attributes
    ----------
    pulled : DataFrame
        One row per shot, as `pull_shots` makes it.
    typed : DataFrame
        The same shots as text cells, as `typed_cells` makes them.
    tastings : DataFrame
        One row per score, as `taste_shots` makes it.
    """

    pulled: pd.DataFrame
    typed: pd.DataFrame
    tastings: pd.DataFrame

    def write(self, folder: str | Path, *, bench: str, shots: str, truth: str) -> tuple[Path, ...]:
        """Write the files of the log into a folder.

        Parameters
        ----------
        folder : str or Path
            Where to write; made if absent, files of the same names are replaced.
        bench : str
            Text of the bench file.
        shots : str
            Text of the typed shots, with whatever mess their writer makes.
        truth : str
            Text of the truth.

        Returns
        -------
        tuple of Path
            bench.toml, shots.csv, tastings.csv and truth.json.

        Raises
        ------
        NotWritableError
            If the folder cannot be made or written to.
        """
        scores = self.tastings["score"].map("{:g}".format)
        texts = {
            "bench.toml": bench,
            "shots.csv": shots,
            "tastings.csv": csv_text(self.tastings.assign(score=scores)),
            "truth.json": truth,
        }
        return write_texts(folder, texts)


def invent_log(truth: Truth, plan: pd.DataFrame, rng: np.random.Generator) -> InventedLog:
    """Return the shots of a plan as they were pulled, logged and tasted.

    Parameters
    ----------
    truth : Truth
        Laws and instruments.
    plan : DataFrame
        One row per shot to pull, as `plan_shots` makes it.
    rng : Generator
        Source of chance.

    Returns
    -------
    InventedLog

    Examples
    --------
    >>> import numpy as np
    >>> from yieldwright.simulate import Truth, default_plan
    >>> rng = np.random.default_rng(1)
    >>> log = invent_log(Truth(), default_plan(rng), rng)
    >>> len(log.typed) == len(log.pulled)
    True
    """
    pulled = pull_shots(truth, plan, rng)
    typed = typed_cells(log_shots(truth, pulled, rng), pulled)
    return InventedLog(pulled, typed, taste_shots(truth, pulled, rng))
