"""From a file to checked tables: nothing lost, nothing guessed."""

from __future__ import annotations

from yieldwright.shotlog.folder import read_log
from yieldwright.shotlog.log import FileReading, Reading, ShotLog, score_table

__all__ = ["FileReading", "Reading", "ShotLog", "read_log", "score_table"]
