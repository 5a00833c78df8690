"""Who takes part: at least one drop-off in three opportunities (WRAP 2010, by way of LARAC)."""

import datetime as dt

OPPORTUNITY = dt.timedelta(days=7)  # chosen: a week; most come about once
OPPORTUNITIES = 3
