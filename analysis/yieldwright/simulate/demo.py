"""The invented evening class: its bench and its log with the mess of real ones."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from yieldwright.simulate.benches import Place, bench_text
from yieldwright.simulate.demo_truth import truth_text
from yieldwright.simulate.invented import invent_log
from yieldwright.simulate.mess import spoil_lines
from yieldwright.simulate.plan import default_plan
from yieldwright.simulate.truth import Truth

__all__ = ["DEMO_SEED", "write_demo"]

#: Seed of the demo that is shipped.
DEMO_SEED = 20261204

_PLACE = Place("evening-class", "lever-1", "one lever machine of an evening class", "The class")


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
    log = invent_log(known, default_plan(rng, truth=known), rng)
    return log.write(
        folder,
        bench=bench_text(known, _PLACE),
        shots="".join(spoil_lines(log.typed)),
        truth=truth_text(seed, known, log.pulled),
    )
