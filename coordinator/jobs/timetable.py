"""Which function does which job. The one list."""

from bins.decisions.night import NAME as NIGHT
from bins.harvests.unclaimed import NAME as UNCLAIMED
from bins.months.close import NAME as CLOSE_MONTH
from bins.people.tidy import NAME as TIDY

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
