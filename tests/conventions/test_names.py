"""What a module lists is what it shows."""

from __future__ import annotations

import inspect
from types import ModuleType
from typing import Any

import pytest

from tests.conventions import surface

PUBLIC_MODULES = [m for m in surface.modules() if not surface.is_private(m)]


def belongs_to(module: ModuleType, target: Any) -> bool:
    """Return whether a module made this object itself."""
    if inspect.isclass(target) or inspect.isroutine(target):
        return target.__module__ == module.__name__
    return False


@pytest.mark.parametrize("module", PUBLIC_MODULES, ids=lambda m: m.__name__)
def test_nothing_is_listed_twice(module: ModuleType) -> None:
    assert len(module.__all__) == len(set(module.__all__))


@pytest.mark.parametrize("module", PUBLIC_MODULES, ids=lambda m: m.__name__)
def test_everything_listed_exists(module: ModuleType) -> None:
    assert [name for name in module.__all__ if not hasattr(module, name)] == []


@pytest.mark.parametrize("module", PUBLIC_MODULES, ids=lambda m: m.__name__)
def test_every_visible_function_and_class_is_listed(module: ModuleType) -> None:
    visible = [name for name in vars(module) if not name.startswith("_")]
    made_here = {name for name in visible if belongs_to(module, getattr(module, name))}
    assert made_here <= set(module.__all__)
