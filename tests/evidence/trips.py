"""Whether logs that are exported and read again come back the same, in each form.

Each log is drawn anew: columns of every kind, typed and computed, wrong cells among them,
text and headers of the kind that spreadsheets change, notes over several lines, tastings.
Compared are shots, tastings and unrecognised columns to the last bit; no row may be set
aside on the way back, and no flag may be new but on values whose check depends on how
they were typed.

Run `python -m tests.evidence trips --logs 1000` from the top of the checkout.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.shotlog.trips import FORMS, export_and_read, kept_logs, new_doubts, require_same
from yieldwright.shotlog import read_log

__all__ = ["run"]


def run(logs: int, first_seed: int) -> int:
    """Print a line for each form, and return 0 where every log came back the same."""
    print("form     logs shots tastings  apart")
    is_whole = True
    for form in FORMS:
        counted = _count(form, logs, first_seed)
        print(
            f"{form:8} {counted['logs']:4} {counted['shots']:5} {counted['tastings']:8} "
            f"{counted['apart']:6}"
        )
        is_whole &= not counted["apart"]
    return 0 if is_whole else 1


def _count(form: str, logs: int, first_seed: int) -> Counter[str]:
    counted: Counter[str] = Counter()

    @seed(first_seed)
    @settings(
        max_examples=logs,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(kept_logs())
    def send(texts: tuple[str, str]) -> None:
        with tempfile.TemporaryDirectory() as name:
            counted.update(_sent(texts, Path(name), form))

    send()
    return counted


def _sent(texts: tuple[str, str], folder: Path, form: str) -> dict[str, int]:
    """Return how many logs, shots and tastings went, and whether they came back apart."""
    kept, out = folder / "in", folder / "out"
    kept.mkdir()
    out.mkdir()
    for name, text in zip(("shots.csv", "tastings.csv"), texts, strict=True):
        if text:
            (kept / name).write_text(text, "utf-8")
    log = read_log(kept)
    again = export_and_read(log, out, form)
    holds_scores = any("score:" in name for name in again.reading.files[0].header)
    try:
        require_same(log, again, tastings=form in ("folder", "xlsx") or holds_scores)
        is_apart = len(again.set_aside) > 0 or bool(new_doubts(log, again))
    except AssertionError:
        is_apart = True
    return {
        "logs": 1,
        "shots": len(log.shots),
        "tastings": len(log.tastings),
        "apart": int(is_apart),
    }
