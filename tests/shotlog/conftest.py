"""How these tests write a log and read it back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from yieldwright.shotlog import ShotLog, read_log

Reader = Callable[..., ShotLog]


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    """Return a function that writes a text as shots.csv and reads it back."""

    def write_and_read(content: str | bytes, *, tastings: str = "", **options: Any) -> ShotLog:
        raw = content.encode() if isinstance(content, str) else content
        (tmp_path / "shots.csv").write_bytes(raw)
        if tastings:
            (tmp_path / "tastings.csv").write_text(tastings, encoding="utf-8")
        return read_log(tmp_path, **options)

    return write_and_read
