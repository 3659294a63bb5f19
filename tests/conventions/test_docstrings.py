"""A docstring names what the signature names, in the units of the glossary."""

from __future__ import annotations

import dataclasses
import inspect
import re

import pytest

from tests.conventions import surface
from tests.conventions.surface import Public
from yieldwright import glossary
from yieldwright.errors import UnknownNameError

CALLABLES = (*surface.functions(), *surface.methods())
TABLES = tuple(each for each in surface.classes() if dataclasses.is_dataclass(each.target))


def signature_names(public: Public) -> list[str]:
    parameters = inspect.signature(public.target).parameters.values()
    return [p.name for p in parameters if p.name not in ("self", "cls")]


def field_names(public: Public) -> list[str]:
    inherited = {
        field.name
        for base in public.target.__mro__[1:]
        if dataclasses.is_dataclass(base)
        for field in dataclasses.fields(base)
    }
    fields = dataclasses.fields(public.target)
    return [f.name for f in fields if f.name not in inherited and not f.name.startswith("_")]


def glossary_unit(name: str) -> str | None:
    try:
        return glossary.quantity(name.removeprefix("u_")).unit or None
    except UnknownNameError:
        return None


UNIT_SUFFIXES = ("_bar", "_c", "_d", "_g", "_min", "_pct", "_s")


def unbracketed(described: dict[str, str]) -> list[str]:
    """Return the names that end in a unit but are described without one."""
    return [
        name
        for name, text in described.items()
        if name.endswith(UNIT_SUFFIXES) and not re.search(r"\[.+\]", text)
    ]


def wrong_units(described: dict[str, str]) -> list[str]:
    return [
        f"{name} [{unit}]"
        for name, text in described.items()
        if (unit := glossary_unit(name)) and f"[{unit}]" not in text
    ]


@pytest.mark.parametrize("public", CALLABLES, ids=str)
def test_parameters_are_those_of_the_signature(public: Public) -> None:
    described = surface.section(public.docstring, "Parameters")
    assert [name.lstrip("*") for name in described] == signature_names(public)


@pytest.mark.parametrize("public", TABLES, ids=str)
def test_attributes_are_the_fields(public: Public) -> None:
    described = surface.section(public.docstring, "Attributes")
    described = described or surface.section(public.docstring, "Parameters")
    assert [name for name in described if name in field_names(public)] == field_names(public)


@pytest.mark.parametrize("public", [*CALLABLES, *TABLES], ids=str)
def test_units_are_those_of_the_glossary(public: Public) -> None:
    described = surface.section(public.docstring, "Parameters")
    described |= surface.section(public.docstring, "Attributes")
    assert wrong_units(described) == []
    assert unbracketed(described) == []


@pytest.mark.parametrize("public", CALLABLES, ids=str)
def test_the_first_line_is_one_sentence_that_starts_with_a_verb(public: Public) -> None:
    first = public.docstring.splitlines()[0]
    assert re.fullmatch(r"[A-Z][a-z]+\b.*[.]", first)
    assert not first.startswith(("The ", "A ", "An ", "This ", "Returns ", "Function "))


@pytest.mark.parametrize("public", surface.shown_functions(), ids=str)
def test_every_function_that_a_room_lists_shows_an_example(public: Public) -> None:
    assert ">>>" in public.docstring
