"""Which function does which job. The one list."""

from bins.months.close import NAME as CLOSE_MONTH
from bins.night import NAME as NIGHT
from bins.tidy import NAME as TIDY
from bins.unclaimed import NAME as UNCLAIMED

from . import canary, deliver, month, night, tidy, unclaimed
from .work import Work

TIMETABLE: dict[str, Work] = {
    canary.NAME: canary.WORK,
    deliver.NAME: deliver.WORK,
    CLOSE_MONTH: month.WORK,
    NIGHT: night.WORK,
    UNCLAIMED: unclaimed.WORK,
    TIDY: tidy.WORK,
}
