"""What the help of `yieldwright export` says."""

from __future__ import annotations

__all__ = ["EXAMPLE", "EXPORT", "WHERE"]

WHERE = """\
where to write, told by the ending:
  FOLDER         shots.csv, tastings.csv, set-aside-….csv and your bench.toml
  FILE.xlsx      the same as sheets, with a sheet on what each column is
  FILE.csv .tsv  the shots alone, and their scores where all are the barista's
  FILE.parquet   the same with typed columns, each with its unit"""

EXPORT = f"""\
Write a log for a spreadsheet or another program. Read again, the export
gives the same shots, tastings and unrecognised columns, to the last digit.

{WHERE}

Columns carry the names and units of the data dictionary. What is computed
stands beside what was typed (typed_ey_pct and so on) and is only compared
when the export is read again; u_… are standard uncertainties, found anew
from your bench. The file and line of a row are left out. Text that a
spreadsheet would take for a formula gets one leading ' in text files; the
column guarded says where, and reading takes it away. Numbers are never
touched.

Your log is never changed, and no file is replaced unless you say --replace.

to mend rows that were set aside:
  1. yieldwright export my-bench --set-aside --out set-aside-shots.csv
  2. correct the cells in it; set_aside_reason says what is wrong. A row that
     could not be split into cells stands whole in set_aside_raw
  3. save it as my-bench/shots-corrected.csv: it is read as part of the log
  4. yieldwright check my-bench; then delete the old rows from your log"""

EXAMPLE = """\
example:
  yieldwright export my-bench --out copy/
  yieldwright export my-bench --out log.xlsx --anonymous --without notes

--anonymous puts a code such as p-7k2m9xqa in place of each barista and
taster, the same each time, by a key that is kept in .yieldwright-key beside
the log: never hand that file on. Names inside other text, such as notes, are
counted but not replaced; --without leaves a column out.

exit code: 0 written, 2 wrong usage, 3 unreadable log, 4 not written"""
