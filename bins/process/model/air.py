"""The air beside a drum, day by day: the site's monthly means, bent by what was read there."""

from datetime import date

from bins.process.model.border import Climate, History

REMEMBERED_DAYS = 14  # chosen: weather lasts days, a drum's sunny corner weeks
FADING = 0.85  # chosen: what a reading is worth a day later
PRIOR_WEIGHT = 1.0  # chosen: the mean itself counts as one reading, since people read in the afternoon
DAYS_A_MONTH = 30.4375


def usual_c(climate: Climate, day: date, indoors: bool) -> float:
    """The usual air of a day, °C: between the middles of two months; a room's own temperature indoors."""
    if indoors:
        return climate.indoor_c
    # Day 15 of each month carries its mean.
    position = (day.timetuple().tm_yday - 15) / DAYS_A_MONTH
    month = int(position // 1)
    part = position - month
    return climate.monthly_c[month % 12] * (1 - part) + climate.monthly_c[(month + 1) % 12] * part


class Air:
    """The air of one batch's days. Only readings up to a day bend that day, so tomorrow's change nothing of today."""

    def __init__(self, history: History) -> None:
        self.climate = history.climate
        read = [(history.day_of(r.at), r.air_c) for r in history.climate.readings]
        read += [(history.day_of(t.at), float(t.air_c)) for t in history.temperatures if t.air_c is not None]
        self.read = sorted(read)

    def of(self, day: date, indoors: bool) -> float:
        """°C, the mean of a day."""
        usual = usual_c(self.climate, day, indoors)
        weight, off = PRIOR_WEIGHT, 0.0
        for read_on, air_c in self.read:
            age = (day - read_on).days
            if 0 <= age <= REMEMBERED_DAYS:
                worth = FADING**age
                weight += worth
                off += worth * (air_c - usual_c(self.climate, read_on, indoors))
        return usual + off / weight
