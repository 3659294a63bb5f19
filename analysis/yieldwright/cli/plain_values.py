"""What was found out as plain values: a number that is none is null, with the reason beside it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping
from datetime import date
from types import MappingProxyType
from typing import Any, TypeGuard

import numpy as np
import pandas as pd

__all__ = ["NO_LOWER_END", "NO_UPPER_END", "UNKNOWN", "plain"]

#: Why a number is none, where nothing closer is known of its name.
UNKNOWN = "is not known"
NO_LOWER_END = "has no lower end"
NO_UPPER_END = "has no upper end"

_NO_NAMES: Mapping[str, str] = MappingProxyType({})


def plain(value: object, *, why_missing: Mapping[str, str] = _NO_NAMES) -> Any:  # noqa: ANN401  # what JSON holds
    """Return a value as JSON can hold it, a reason beside every number that is none.

    Parameters
    ----------
    value : object
        A table becomes a list of rows, a result or another value with fields an object.
    why_missing : mapping of str to str
        Why a number is missing, by its name, where more can be said than that it is.

    Returns
    -------
    dict, list, str, int, float, bool or None
        A number that is missing or endless is None. In an object a key of its name and
        `_why` holds the reason, of a list of numbers a list of reasons. What is None
        because there is nothing of its name stays so, without a reason.

    Examples
    --------
    >>> plain({"low": float("-inf"), "high": 3.0})
    {'low': None, 'low_why': 'has no lower end', 'high': 3.0}
    >>> plain({"limits": (1.5, float("nan"))})
    {'limits': [1.5, None], 'limits_why': [None, 'is not known']}
    """
    if isinstance(value, pd.DataFrame):
        rows = value.astype(object).to_dict("records")
        return [plain(row, why_missing=why_missing) for row in rows]
    if isinstance(value, Mapping):
        return _object({str(name): each for name, each in value.items()}, why_missing)
    if _is_list(value):
        return [plain(each, why_missing=why_missing) for each in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        names = [each.name for each in dataclasses.fields(value)]
        return _object({name: getattr(value, name) for name in names}, why_missing)
    return None if _why(value) else _single(value)


def _object(named: Mapping[str, object], why_missing: Mapping[str, str]) -> dict[str, Any]:
    """Return named values, each with its reason where it has one; no name is ever replaced."""
    told: dict[str, Any] = {}
    for name, value in named.items():
        told[name] = plain(value, why_missing=why_missing)
        why, key = _why(value), f"{name}_why"
        if why and key not in named:
            told[key] = why_missing.get(name, why) if why == UNKNOWN else why
    return told


def _why(value: object) -> str | list[Any]:
    """Return why a number is none, or which of several are; empty where it is one."""
    if _is_list(value):
        reasons = [_why(each) or None for each in value]
        return reasons if any(reasons) else ""
    if value is pd.NaT or value is pd.NA:
        return UNKNOWN
    if not isinstance(value, float | np.floating) or math.isfinite(value):
        return ""
    if math.isnan(value):
        return UNKNOWN
    return NO_UPPER_END if value > 0 else NO_LOWER_END


def _is_list(value: object) -> TypeGuard[Iterable[object]]:
    return isinstance(value, list | tuple | set | frozenset | np.ndarray | pd.Series)


def _single(value: object) -> Any:  # noqa: ANN401  # what JSON holds
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, date):
        return value.isoformat()
    return value if value is None or isinstance(value, bool | int | float | str) else str(value)
