"""The weekend page: findings once, rendered to a page and to notebook HTML."""

from __future__ import annotations

from yieldwright.review.findings import WeekendReview, review_weekend
from yieldwright.review.page import render_page

__all__ = ["WeekendReview", "render_page", "review_weekend"]
