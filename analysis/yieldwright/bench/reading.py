"""From a bench file to a bench: every entry checked, nothing unknown passed over."""

from __future__ import annotations

import dataclasses
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from yieldwright.bench._bag_entries import read_bags
from yieldwright.bench._entries import Entries
from yieldwright.bench._log_side import read_columns, read_ranges, read_shot_id, read_writing
from yieldwright.bench._parts import (
    read_attributes,
    read_bands,
    read_grinders,
    read_numbers,
    read_recipe,
    read_window,
)
from yieldwright.bench.bench import Bench
from yieldwright.bench.instruments import Refractometer, Scale
from yieldwright.errors import BenchFileError

__all__ = ["read_bench"]

_LARGEST_BYTES = 1_000_000


def read_bench(path: str | Path) -> Bench:
    r"""Return the bench that a bench file describes; what it leaves out is assumed.

    Parameters
    ----------
    path : str or Path
        The file, usually ``bench.toml`` beside the log.

    Returns
    -------
    Bench
        Bands are sorted coolest first. `Bench.stated` holds the names of the bench's
        fields that the file fills: an instrument (``dose_scale``, ``beverage_scale``,
        ``refractometer``) only when each figure of its uncertainty is given, any other
        field as soon as the file has it; besides, each single figure with its part, such
        as ``refractometer.accuracy_pct``.

    Raises
    ------
    BenchFileError
        If the file cannot be read or an entry is wrong; the text names each wrong entry,
        what stands there, what is wanted, and for a mistyped name the nearest known one.

    Notes
    -----
    The file is TOML in UTF-8. Everything may be left out; an unknown name is an error.

    .. code-block:: toml

        name = "evening-class"
        machine = "lever-1"        # used where the log has no such column
        basket = "18 g"

        [scales.dose]              # and [scales.beverage]
        resolution_g = 0.1
        repeatability_g = 0.05

        [refractometer]
        resolution_pct = 0.01
        repeatability_pct = 0.03
        accuracy_pct = 0.07
        tds_per_brix = 0.85        # for readings in °Bx
        tds_per_brix_spread = 0.05

        [[grinders]]               # one such block for each
        name = "grinder-1"
        step = 1.0                 # what one click adds to the number
        coarser = "up"             # or "down": which way the numbers grind coarser
        retained_g = 0.3

        [[bags]]                   # what the log does not repeat on every row
        name = "bag-17"
        roasted_on = 2026-10-16
        opened_on = 2026-10-19
        roast_level = "medium"
        frozen = [[2026-10-20, 2026-11-02], [2026-11-09, 2026-11-12]]   # in, out

        [[bands]]                  # any number; they may share edges, not overlap
        name = "low"
        low_c = 80
        high_c = 88

        [recipe]                   # "any" instead of a number: not aimed at
        dose_g = 18.0
        dose_tolerance_g = 0.3
        beverage_g = 36.0
        beverage_tolerance_g = 1.0
        time_s = 36
        time_tolerance_s = 5
        hold_low_bar = 8
        hold_high_bar = 9
        end_least_bar = 5

        [window]
        strength_low_pct = 8
        strength_high_pct = 12
        yield_low_pct = 18
        yield_high_pct = 22

        [[attributes]]             # the first one is the headline
        name = "overall"
        low = 0
        high = 10
        step = 0.5
        better = "more"            # or "middle" or "less"

        [columns]                  # the log's own header = name in the glossary
        "Coffee in" = "dose_g"
        "Bitterness" = "score:bitter"
        shot_id = ["session", "brew"]   # headers that together name a shot

        [ranges.dose_g]            # may widen the glossary's, never narrow them
        hard = [5, 300]
        soft = [14, 300]

        [reading]
        delimiter = "semicolon"    # or "comma" or "tab"
        decimal = "comma"          # or "point"
        time_zone_offset = "+01:00"
        day_order = "day first"    # or "month first", where no date of the log proves it
        sheet = "shots"            # of a workbook with several
        density_g_per_ml = 0.8     # of beverages logged in millilitres

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder, "bench.toml")
    ...     _ = path.write_text("[recipe]\ndose_g = 17.5\n", encoding="utf-8")
    ...     read_bench(path).recipe.dose_g
    17.5
    """
    document = Entries(_document(Path(path)))
    bench = _bench(document)
    document.refuse_others()
    if document.complaints:
        raise BenchFileError(_all_complaints(Path(path), document.complaints))
    return dataclasses.replace(bench, stated=_stated(document.table))


def _document(path: Path) -> dict[str, object]:
    """Return the tables of the file, or say why it is not TOML."""
    text = _text(path)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise BenchFileError(f"{path} nests its entries too deeply to be a bench file") from None
    except ValueError as problem:
        raise BenchFileError(_syntax_sentence(path, text, str(problem))) from None


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            raw = file.read(_LARGEST_BYTES + 1)
    except OSError as problem:
        raise BenchFileError(
            f"{path} cannot be read ({problem.strerror}); check the path, or let "
            "'yieldwright start FOLDER' write a bench file to begin with"
        ) from None
    if len(raw) > _LARGEST_BYTES:
        raise BenchFileError(f"{path} is over a megabyte: is it the log, not the bench file?")
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        raise BenchFileError(
            f"{path} is not UTF-8 text, first at line {line}; save it again as UTF-8"
        ) from None


def _syntax_sentence(path: Path, text: str, problem: str) -> str:
    """Return what the TOML reader says, with the line it stumbled over."""
    found = re.search(r"line (\d+)", problem)
    line = text.split("\n")[int(found[1]) - 1].strip() if found else ""
    shown = f"; the line reads {line[:60]!r}" if line else ""
    if re.search(r"=\s*-?\d+,\d", line):
        remedy = "write decimals with a point, 0.1 and not 0,1"
    else:
        remedy = 'texts stand in "quotes", each entry on a line of its own as name = value'
    return f"{path} is not valid TOML: {problem}{shown}; {remedy}"


def _all_complaints(path: Path, complaints: Sequence[str]) -> str:
    if len(complaints) == 1:
        return f"{path}: {complaints[0]}"
    listed = "; ".join(f"({number}) {each}" for number, each in enumerate(complaints, start=1))
    return f"{path} has {len(complaints)} wrong entries: {listed}"


def _bench(document: Entries) -> Bench:
    scales = document.inner("scales")
    reading = document.inner("reading")
    columns = document.inner("columns")
    attributes = read_attributes(document)
    bench = Bench(
        name=document.text("name", ""),
        machine=document.text("machine", ""),
        basket=document.text("basket", ""),
        dose_scale=read_numbers(scales.inner("dose"), Scale()),
        beverage_scale=read_numbers(scales.inner("beverage"), Scale()),
        refractometer=read_numbers(document.inner("refractometer"), Refractometer()),
        grinders=read_grinders(document),
        bags=read_bags(document),
        bands=read_bands(document),
        recipe=read_recipe(document.inner("recipe")),
        window=read_window(document.inner("window")),
        attributes=attributes,
        shot_id=read_shot_id(columns),
        columns=read_columns(columns, attributes),
        ranges=read_ranges(document.inner("ranges")),
    )
    scales.refuse_others()
    return read_writing(reading, bench)


def _stated(document: Mapping[str, object]) -> frozenset[str]:
    """Return which fields of the bench the file fills, and each figure with its part."""
    named: set[str] = set()
    for key, value in document.items():
        if key == "scales":
            named |= _stated_parts({f"{which}_scale": table for which, table in _items(value)})
        elif key in ("refractometer", "recipe", "window"):
            named |= _stated_parts({key: value})
        elif key == "reading":
            named |= {entry for entry, _ in _items(value)}
        elif key == "columns":
            named |= {"shot_id" if isinstance(to, list) else key for _, to in _items(value)}
        else:
            named.add(key)
    return frozenset(named)


def _stated_parts(parts: Mapping[str, object]) -> set[str]:
    named: set[str] = set()
    for part, table in parts.items():
        figures = {entry for entry, _ in _items(table)}
        named |= {f"{part}.{figure}" for figure in figures}
        # The factor for sugar scales says nothing of how well the instrument reads.
        fields = dataclasses.fields(getattr(Bench, part))
        whole = {field.name for field in fields if "brix" not in field.name}
        if figures >= whole or (figures and part in ("recipe", "window")):
            named.add(part)
    return named


def _items(table: object) -> Iterable[tuple[str, object]]:
    return table.items() if isinstance(table, Mapping) else ()
