"""What the package shows to the outside, and how its sources are built."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import yieldwright
from tests.conftest import ROOT

PACKAGE = ROOT / "analysis" / "yieldwright"


@cache
def modules() -> tuple[ModuleType, ...]:
    """Return every module of the package but the entry point."""
    walked = pkgutil.walk_packages(yieldwright.__path__, "yieldwright.")
    names = [found.name for found in walked if not found.name.endswith("__main__")]
    return (yieldwright, *map(importlib.import_module, names))


def is_private(module: ModuleType) -> bool:
    """Return whether some part of the dotted name starts with an underscore."""
    return any(part.startswith("_") for part in module.__name__.split("."))


@dataclass(frozen=True)
class Public:
    """A callable that users meet, and the name they meet it by."""

    name: str
    target: Any

    @property
    def docstring(self) -> str:
        """Return the docstring, its indentation removed."""
        return inspect.getdoc(self.target) or ""

    def __str__(self) -> str:
        return self.name.removeprefix("yieldwright.")


def _defined_here(module: ModuleType) -> Iterator[tuple[str, Any]]:
    for name in getattr(module, "__all__", ()):
        target = getattr(module, name)
        if getattr(target, "__module__", None) == module.__name__:
            yield name, target


@cache
def classes() -> tuple[Public, ...]:
    """Return each public class once, where it is defined."""
    return tuple(
        Public(f"{module.__name__}.{name}", target)
        for module in modules()
        for name, target in _defined_here(module)
        if inspect.isclass(target)
    )


def _plain(member: Any) -> Callable[..., Any] | None:
    member = getattr(member, "__func__", member)
    return member if inspect.isfunction(member) else None


def _methods(owner: Public) -> Iterator[Public]:
    for name, member in vars(owner.target).items():
        method = _plain(member)
        if method is not None and not name.startswith("_"):
            yield Public(f"{owner.name}.{name}", method)


@cache
def functions() -> tuple[Public, ...]:
    """Return each public function once, where it is defined."""
    return tuple(
        Public(f"{module.__name__}.{name}", target)
        for module in modules()
        for name, target in _defined_here(module)
        if inspect.isroutine(target)
    )


def _shows(module: ModuleType) -> bool:
    """Return whether users import from a module: a room, or inside one that lists nothing."""
    _, *inside = module.__name__.split(".")
    room = importlib.import_module(f"yieldwright.{inside[0]}") if inside else module
    return len(inside) == 1 or (len(inside) == 2 and not room.__all__)


@cache
def shown_functions() -> tuple[Public, ...]:
    """Return the functions that users import, not those that only a room's modules share."""
    listing = [module for module in modules() if _shows(module) and not is_private(module)]
    shown = {id(getattr(module, name)) for module in listing for name in module.__all__}
    return tuple(each for each in functions() if id(each.target) in shown)


@cache
def methods() -> tuple[Public, ...]:
    """Return the methods that public classes define themselves."""
    return tuple(method for owner in classes() for method in _methods(owner))


def section(docstring: str, title: str) -> dict[str, str]:
    """Return the entries of a section of a docstring: name to description, in order."""
    found = re.search(
        rf"^{title}\n-+\n(.*?)(?=^\S[^\n]*\n-+\n|\Z)", docstring, re.MULTILINE | re.DOTALL
    )
    entries: dict[str, str] = {}
    for entry in re.split(r"^(?=\S)", found[1] if found else "", flags=re.MULTILINE):
        head, _, body = entry.partition("\n")
        names = [name.strip() for name in head.partition(" : ")[0].split(",")]
        entries.update(dict.fromkeys(filter(None, names), " ".join(body.split())))
    return entries


@cache
def sources() -> tuple[Path, ...]:
    """Return the source files of the package."""
    return tuple(sorted(PACKAGE.rglob("*.py")))


@dataclass(frozen=True)
class Body:
    """One function as written: where it stands and how many lines it runs over."""

    where: str
    lines: int


def _body(path: Path, node: ast.FunctionDef | ast.AsyncFunctionDef) -> Body:
    statements = node.body[1:] if ast.get_docstring(node) is not None else node.body
    last = node.end_lineno or node.lineno
    lines = last - statements[0].lineno + 1 if statements else 0
    return Body(f"{path.relative_to(ROOT)}:{node.lineno} {node.name}", lines)


@cache
def bodies() -> tuple[Body, ...]:
    """Return every function of the package with its length, docstrings not counted."""
    return tuple(
        _body(path, node)
        for path in sources()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    )
