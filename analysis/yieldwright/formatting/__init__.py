"""Numbers and words for display: rounded to their uncertainty, with units, escaped."""

from __future__ import annotations

from yieldwright.formatting.numbers import (
    MINUS,
    interval,
    number,
    p_value,
    p_words,
    percent,
    ratio,
    signed,
    with_uncertainty,
)
from yieldwright.formatting.words import (
    clip,
    count,
    html_text,
    listing,
    mathtext_safe,
    sentence_case,
    visible,
    with_article,
)

__all__ = [
    "MINUS",
    "clip",
    "count",
    "html_text",
    "interval",
    "listing",
    "mathtext_safe",
    "number",
    "p_value",
    "p_words",
    "percent",
    "ratio",
    "sentence_case",
    "signed",
    "visible",
    "with_article",
    "with_uncertainty",
]
