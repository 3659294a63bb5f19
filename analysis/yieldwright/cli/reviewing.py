"""`yieldwright weekend`: the page on what the last shots teach."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from yieldwright.cli.loading import libraries
from yieldwright.cli.places import place_for_figures
from yieldwright.cli.streams import console, progress, say, say_command, say_pairs, share_of
from yieldwright.errors import NotWritableError
from yieldwright.formatting import count, listing, visible

if TYPE_CHECKING:
    from yieldwright.review import WeekendReview
    from yieldwright.shotlog import ShotLog

__all__ = ["weekend"]

_PAGES = (".html", ".htm")
#: Of all work, on a log of a season; fits take much of it, and the drawing most.
_SHARE_READ = 0.2
_SHARE_FITTED = 0.5


def weekend(arguments: argparse.Namespace) -> int:
    r"""Write the weekend page, and say where it is and what it concludes.

    Parameters
    ----------
    arguments : argparse.Namespace
        With `log`, `out`, `figures`, `since`, `bag`, `everything` and `as_of`.

    Returns
    -------
    int
        0.

    Raises
    ------
    UnreadableLogError
        If the log cannot be read at all.
    BenchFileError
        If the bench file beside it is wrong.
    NotWritableError
        If the page or a figure cannot be written; found out before the log is read
        where it can be.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from yieldwright.cli.arguments import parse
    >>> with TemporaryDirectory() as folder:
    ...     log = Path(folder, "shots.csv")
    ...     _ = log.write_text("shot,dose_g,beverage_g,tds_pct\n1,18,36,9.5\n", encoding="utf-8")
    ...     words = ["weekend", str(log), "--out", f"{folder}/page.html"]
    ...     weekend(parse(words))  # doctest: +ELLIPSIS
    Page...
    0
    """
    with progress("reading the log") as turn_to:
        with libraries():
            from yieldwright.review import render_page, review_weekend
            from yieldwright.shotlog import read_log
            from yieldwright.shotlog.writing import write_atomically

        page = _place_for_page(arguments.out)
        folder = place_for_figures(arguments.figures)
        tell = share_of(turn_to, end=_SHARE_READ)
        log = read_log(arguments.log, as_of=arguments.as_of, progress=tell)
        turn_to("fitting", _SHARE_READ)
        review = review_weekend(
            log, since=arguments.since, bag=arguments.bag, everything=arguments.everything
        )
        turn_to("drawing", _SHARE_FITTED)
        write_atomically(page, render_page(review))
        figures = _write_figures(review, folder)
    _report(arguments, log, review, figures)
    return 0


def _place_for_page(out: str) -> Path:
    """Return where the page goes, or refuse to write it over something that is no page."""
    from yieldwright.shotlog.writing import writable_place

    page = writable_place(out)
    if page.exists() and page.suffix.lower() not in _PAGES:
        raise NotWritableError(
            f"{out} is there already and is no page; name a file that ends in .html"
        )
    return page


def _write_figures(review: WeekendReview, folder: Path | None) -> list[str]:
    """Return the names of the figures written."""
    if folder is None:
        return []
    from yieldwright.shotlog.writing import write_atomically

    drawn = {f"{name}.svg": markup for name, markup in review.figures.items() if markup}
    for name, markup in drawn.items():
        write_atomically(folder / name, markup)
    return list(drawn)


def _report(
    arguments: argparse.Namespace, log: ShotLog, review: WeekendReview, figures: list[str]
) -> None:
    """Print where the page is, what it concludes, and what of the log it rests on."""
    next_step = next(iter(review.sheet.next_steps), "")
    drawn = f"{listing(figures)} in {arguments.figures}" if figures else ""
    lines = (
        ("Page", arguments.out),
        ("Figures", drawn),
        ("Reviewed", f"{count(review.n_shots, 'shot')} of {len(log.shots):,}"),
        ("Conclusion", review.sheet.conclusion),
        ("Next", next_step),
        ("Read", _read_sentence(log)),
    )
    writer = console(sys.stdout)
    say_pairs(writer, ((label, visible(text)) for label, text in lines if text))
    if len(log.set_aside) or len(log.flags):
        say(writer, "\nWhat was set aside or flagged, and why:")
        say_command(writer, ["yieldwright", "check", arguments.log])


def _read_sentence(log: ShotLog) -> str:
    reading = log.reading
    return (
        f"{count(reading.lines_read, 'line')} = {reading.lines_accepted:,} accepted + "
        f"{reading.lines_set_aside:,} set aside + {reading.lines_listed:,} listed; "
        f"{count(len(log.set_aside), 'row')} set aside, {count(len(log.flags), 'flag')}."
    )
