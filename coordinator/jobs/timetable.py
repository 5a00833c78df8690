"""Which function does which job. The one list."""

from bins.night import NAME as NIGHT

from . import canary, deliver, night
from .work import Work

TIMETABLE: dict[str, Work] = {
    canary.NAME: canary.WORK,
    deliver.NAME: deliver.WORK,
    NIGHT: night.WORK,
}
