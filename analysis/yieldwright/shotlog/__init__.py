"""From a file to checked tables, and back: nothing lost, nothing guessed."""

from __future__ import annotations

from yieldwright.shotlog.exporting.anonymous import anonymous, open_key
from yieldwright.shotlog.exporting.exporting import export_log, export_set_aside
from yieldwright.shotlog.folder import read_log
from yieldwright.shotlog.log import FileReading, Reading, ShotLog, score_table

__all__ = [
    "FileReading",
    "Reading",
    "ShotLog",
    "anonymous",
    "export_log",
    "export_set_aside",
    "open_key",
    "read_log",
    "score_table",
]
