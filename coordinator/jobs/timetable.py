"""Which function does which job. The one list."""

from bins.decisions.night import NAME as NIGHT
from bins.duties.drafting import NAME as ROTA
from bins.duties.nightly import NAME as DUTIES
from bins.duties.openings import NAME as SHORT_OPENING
from bins.forecasts.night import NAME as FORECAST
from bins.forecasts.what_if import NAME as WHAT_IF
from bins.harvests.unclaimed import NAME as UNCLAIMED
from bins.months.close import NAME as CLOSE_MONTH
from bins.people.tidy import NAME as TIDY
from households.reminders import NAME as REMIND

from . import canary, deliver, duties, export, forecast, month, night, remind, rota, tidy, unclaimed, what_if
from .work import Work

TIMETABLE: dict[str, Work] = {
    canary.NAME: canary.WORK,
    deliver.NAME: deliver.WORK,
    CLOSE_MONTH: month.WORK,
    DUTIES: duties.NIGHT,
    SHORT_OPENING: duties.OPENING,
    export.NAME: export.WORK,
    FORECAST: forecast.WORK,
    NIGHT: night.WORK,
    UNCLAIMED: unclaimed.WORK,
    REMIND: remind.WORK,
    ROTA: rota.WORK,
    TIDY: tidy.WORK,
    WHAT_IF: what_if.WORK,
}
