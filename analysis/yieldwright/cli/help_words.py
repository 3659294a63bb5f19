"""Words of the help: what is said of a log and of JSON everywhere, and of smaller commands."""

from __future__ import annotations

__all__ = [
    "CHECK",
    "CHECK_EXAMPLE",
    "JSON_OBJECT",
    "LOG",
    "OVERALL",
    "OVERALL_EXAMPLE",
    "START",
    "START_EXAMPLE",
    "WEEKEND",
    "WEEKEND_EXAMPLE",
]

LOG = """\
LOG is a folder that holds shots.csv (or .tsv, .xlsx, .jsonl, .parquet) and,
if you keep them, tastings and bench.toml; or one file, a row for each shot."""

#: One rule for the numbers of every object that a command prints.
JSON_OBJECT = """\
--json prints one object, numbers at full precision and days year first. A
number that is not known or has no end is null, with the reason in a key of its
name and "_why"; of a list of numbers "_why" is a list. Null without a reason:
there is nothing of that name."""

OVERALL = f"""\
Turn a log of manual lever espresso shots into extraction yields with their
uncertainty, honest regressions, and one page for the weekend.

commands:
  start FOLDER            begin a bench: an empty log, and a sheet to print
  check LOG               say what was read, set aside and flagged
  taste LOG               say what the settings did to taste, yield or time
  bag LOG [BAG]           follow one bag across its roast age
  steady LOG              say how steady the bench is, and what it could see
  weekend LOG --out PAGE  write the page on what the last shots teach
  export LOG --out FILE   write the log for a spreadsheet or another program

{LOG}"""

OVERALL_EXAMPLE = """\
example, from nothing to a page:
  yieldwright start my-bench
  yieldwright check my-bench
  yieldwright taste my-bench
  yieldwright weekend my-bench --out weekend.html

'yieldwright COMMAND --help' says more, and what each exit code means.
NO_COLOR=1 keeps the output plain; it is plain in a pipe anyway."""

START = """\
Begin a bench: make FOLDER and put four files into it.

  bench.toml          your scales, refractometer, grinder, bands and recipe,
                      each entry explained and switched off until you state it
  shots.csv           an empty log with two example rows as comments
  data-dictionary.md  what each column holds, and its ranges
  bench-sheet.html    a sheet to print and write on at the bench

With --workbook the log is shots.xlsx instead: its cells offer lists, refuse
what cannot be right and keep codes and times as you type them.

A file that is there already is never overwritten."""

START_EXAMPLE = """\
example:
  yieldwright start my-bench
  yieldwright start next-class --workbook --bench my-bench/bench.toml

exit code: 0 files written, 2 wrong usage, 4 not written"""

CHECK = f"""\
Say what of a log was read, which rows were set aside and why, and which
values were kept but look odd: what to mend first stands first, and what is
alike is told once. Every line of the file is accounted for.

{LOG}"""

CHECK_EXAMPLE = f"""\
example:
  yieldwright check my-bench
  yieldwright check shots.csv --json > report.json

{JSON_OBJECT}
  format (1), log, error, as_of
  verdict    clean, flagged, rows set aside, or unreadable
  counts     shots, usable, tastings, set_aside, flags, lines_read,
             lines_accepted, lines_set_aside, lines_listed, adds_up
  files      a list: file, table, sha256, encoding, delimiter, decimal,
             lines_read, lines_accepted, lines_set_aside, lines_listed,
             header, units, adds_up
  remarks    a list of sentences
  set_aside  a list: file, line, line_count, raw, reason, suggestion
  flags      a list: shot, column, value, reason, suggestion
  listed     a list: file, line, line_count, kind, raw
A flag whose shot is null is about its whole column.

exit code: 0 nothing set aside, 1 rows set aside, 2 wrong usage, 3 unreadable"""

WEEKEND = f"""\
Write the weekend page: what the last shots teach, how sure that is, and what
to pull next. One HTML file that needs nothing else, on two printed sides.

The page reviews the shots of the ten days before the newest one; the fits
behind it use every comparable shot of the same bag and grinder.

{LOG}"""

WEEKEND_EXAMPLE = """\
example:
  yieldwright weekend my-bench --out weekend.html
  yieldwright weekend my-bench --out march.html --since 2026-03-01 --bag bag-7

exit code: 0 page written (rows set aside are counted on it), 2 wrong usage,
3 unreadable log, 4 page not written"""
