"""A bench file to begin with: it teaches what each entry does, and states nothing yet."""

from __future__ import annotations

__all__ = ["bench_template"]

_TEMPLATE = """\
# The bench: what the log itself does not say.
#
# An entry that begins with # is switched off, and the figure in it is what is assumed
# as long as nothing else is said. To state your own, remove the # at the start of the
# line and of the [heading] above it, and change the figure. Pages and messages say
# which figures are assumed. A mistyped name is an error, never passed over.
# Texts stand in "quotes"; decimals have a point: 0.1.

#name = ""                 # a code for this bench
#machine = ""              # used where the log has no column "machine"
#basket = ""               # used where the log has no column "basket"

# ---- Scales and refractometer: how far a yield can be trusted ------------------------

#[scales.dose]
#resolution_g = 0.1        # smallest step of the display, g
#repeatability_g = 0.05    # weigh one thing ten times: the standard deviation, g

#[scales.beverage]
#resolution_g = 0.1
#repeatability_g = 0.05

#[refractometer]
#resolution_pct = 0.01     # smallest step of the display, % by mass
#repeatability_pct = 0.03  # read one sample ten times: the standard deviation
#accuracy_pct = 0.07       # the maker's "plus or minus"; cancels between two shots
#tds_per_brix = 0.85       # for readings in °Bx: strength is 0.85 times the reading,
#tds_per_brix_spread = 0.05     # give or take 5 % of it (factors 0.83–0.91 are in use)

# ---- Grinders: what one step is, and which way is coarser ----------------------------
# One block for each grinder; the name is the one in the log's column "grinder".

#[[grinders]]
#name = "grinder-1"
#step = 1.0                # what one click or mark adds to the number
#coarser = "up"            # "up": larger numbers grind coarser; or "down"
#retained_g = 0.3          # old grounds that stay inside, where known, g

# ---- Bags: when they were roasted, opened and frozen ---------------------------------
# For what the log does not repeat on every row, and for bags frozen several times. One
# block for each bag; the name is the one in the log's column "bag". A row that says so
# itself wins, and is flagged where it disagrees.

#[[bags]]
#name = "bag-17"
#roasted_on = 2026-10-16   # days stand year first, without quotes
#opened_on = 2026-10-19
#roast_level = "medium"    # or "dark" or "light"
#frozen = [[2026-10-20, 2026-11-02], [2026-11-09, 2026-11-12]]   # into the freezer, out
                          # of it; [2026-11-20] alone says that the bag is still inside

# ---- Temperature bands: any number, coolest first ------------------------------------
# Bands may share an edge, not more. Stating one replaces all three.

#[[bands]]
#name = "low"
#low_c = 80.0
#high_c = 88.0

#[[bands]]
#name = "medium"
#low_c = 88.0
#high_c = 92.0

#[[bands]]
#name = "high"
#low_c = 92.0
#high_c = 97.0

# ---- The shot you aim at, and the miss you forgive -----------------------------------
# Write "any" for a figure you do not aim at.

#[recipe]
#dose_g = 18.0
#dose_tolerance_g = 0.3
#beverage_g = 36.0
#beverage_tolerance_g = 1.0
#time_s = 36.0
#time_tolerance_s = 5.0
#hold_low_bar = 8.0        # the pressure held by hand should lie between these two
#hold_high_bar = 9.0
#end_least_bar = 5.0       # the taper should end above this

# ---- Target of the strength/extraction chart: a convention, not a law ----------------

#[window]
#strength_low_pct = 8.0
#strength_high_pct = 12.0
#yield_low_pct = 18.0
#yield_high_pct = 22.0

# ---- What is tasted ------------------------------------------------------------------
# One block for each attribute; the first is the headline. The log's column has the
# attribute's name. better: "more", "middle" (just right in the middle) or "less".

#[[attributes]]
#name = "overall"
#low = 0.0
#high = 10.0
#step = 0.5
#better = "more"

# ---- Your own headers ----------------------------------------------------------------
# Common words and units are understood: dose, out, "shot time", "Temp °F"; the check
# tells which. Here you settle the others, and words of two meanings, such as yield.
# On the left the header in your log, on the right its name in data-dictionary.md;
# for a score, "score:" and the attribute.

#[columns]
#"coffee in" = "dose_g"
#"liking" = "score:overall"
#shot_id = ["session", "brew"]   # only where several columns together name a shot

# ---- Ranges: a bench may widen them, never narrow them -------------------------------
# Outside hard a row is set aside; outside soft it is kept and flagged.

#[ranges.dose_g]
#hard = [5, 30]
#soft = [14, 22]

# ---- How the file is written, where detection gets it wrong --------------------------
# But for the offset nothing here is assumed: it is found in the file, or asked for.
# With the offset stated, a pull belongs to the day on the bench's clock, also where the
# log was written in UTC or by the clock of another place.

#[reading]
#delimiter = "comma"       # or "semicolon" or "tab"
#decimal = "point"         # or "comma"
#time_zone_offset = "+00:00"     # of times that carry none
#day_order = "day first"   # or "month first": for 03/04/2026 where no day over 12 tells
#sheet = "shots"           # the sheet with the shots, in a workbook with several
#density_g_per_ml = 0.8    # only for beverages in mL, which are refused without it:
                          # weigh a few of your cups, and divide grams by millilitres
"""


def bench_template() -> str:
    """Return a bench file with every entry explained and switched off.

    Read back, it is the bench with all its assumptions; with the leading ``#`` removed
    from an entry and its heading, that entry is stated.

    Returns
    -------
    str
        TOML, lines of at most 88 characters.

    Examples
    --------
    >>> print(bench_template().splitlines()[0])
    # The bench: what the log itself does not say.
    """
    return _TEMPLATE
