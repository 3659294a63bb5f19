"""What the objects of `--json` have in common: the keys, a head, a refusal, and parts."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from yieldwright.cli.plain_values import plain

if TYPE_CHECKING:
    from yieldwright.cli.answering import Answer
    from yieldwright.results import Result

__all__ = ["WHY_NO_ROBUST_ERROR", "Keys", "part_account"]

_ONE_LEAST_SQUARES = "is found of one least-squares fit alone, where no shot stands alone"

#: Why an estimate has no robust error beside it, for `plain`.
WHY_NO_ROBUST_ERROR: Mapping[str, str] = MappingProxyType(
    dict.fromkeys(
        ("hc3_std_error", "hc3_ci_low", "hc3_ci_high", "hc3_p_value"), _ONE_LEAST_SQUARES
    )
)


@dataclass(frozen=True, slots=True)
class Keys:
    """The keys of one command's object, in order.

    Attributes
    ----------
    number : int
        Of its format; counts up when a key changes its name or meaning.
    own : mapping
        The keys behind `format`, `log`, `error`, `as_of` and `verdict`, each with what
        stands there as long as nothing is known.

    Examples
    --------
    >>> Keys(1, {"parts": None}).refusal("shots.csv", ValueError("it is empty"))["verdict"]
    'error'
    """

    number: int
    own: Mapping[str, Any]

    def refusal(self, path: str, problem: Exception) -> dict[str, Any]:
        """Return why nothing was found out.

        Parameters
        ----------
        path : str
            How the log was named.
        problem : Exception
            What stood in the way.

        Returns
        -------
        dict
            `error` holds the reason and the remedy.
        """
        return {**self._nothing(path), "verdict": "error", "error": str(problem)}

    def head(self, answer: Answer, verdict: str) -> dict[str, Any]:
        """Return the keys of which something is known whatever was found out.

        Parameters
        ----------
        answer : Answer
            What was found out.
        verdict : str
            In one word or two.

        Returns
        -------
        dict
            Every key, in order.
        """
        as_of = answer.log.as_of
        day = as_of.isoformat() if as_of is not None else None
        return {**self._nothing(answer.path), "as_of": day, "verdict": verdict}

    def _nothing(self, path: str) -> dict[str, Any]:
        head = {"format": self.number, "log": path, "error": None, "as_of": None, "verdict": None}
        return {**head, **self.own}


def part_account(
    part: Result, *, told_elsewhere: Collection[str], why_missing: Mapping[str, str]
) -> dict[str, Any]:
    """Return one part: what it says, and every figure and table it holds.

    Parameters
    ----------
    part : Result
        A part of an answer.
    told_elsewhere : collection of str
        Fields that stand at the head of the account, or in other parts.
    why_missing : mapping of str to str
        As for `plain`.

    Returns
    -------
    dict
    """
    fields = {each.name: getattr(part, each.name) for each in dataclasses.fields(part)}
    told = {name: value for name, value in fields.items() if name not in told_elsewhere}
    return {"title": part.title, **plain(told, why_missing=why_missing)}
