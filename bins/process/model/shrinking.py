"""What a site's own finished batches teach about its next one.

Each parameter varies half between sites and half between batches of one site (chosen: nobody has published which). A
finished batch tells its own value with the precision that its posterior gained over the prior it began from; normal
sums do the rest.
"""

from collections.abc import Sequence

from bins.process.model.border import PARAMETERS, Hindcast, Site

BETWEEN_SITES, BETWEEN_BATCHES = 0.5, 0.5  # of a general prior's variance of 1
LEAST_GAIN = 1e-6  # a batch that taught nothing about a parameter


def shrink(finished: Sequence[Hindcast]) -> Site:
    """The site's prior from hindcasts of its harvested batches, each up to its harvest. None: the general prior."""
    shift, width = [], []
    for at in range(PARAMETERS):
        weight, total = 1.0 / BETWEEN_SITES, 0.0
        for one in finished:
            told = _told(one, at)
            if told is not None:
                value, variance = told
                weight += 1.0 / (variance + BETWEEN_BATCHES)
                total += value / (variance + BETWEEN_BATCHES)
        shift.append(round(max(-4.0, min(4.0, total / weight)), 4))
        width.append(round(min(1.0, (1.0 / weight + BETWEEN_BATCHES) ** 0.5), 4))
    return Site(tuple(shift), tuple(width), len(finished))


def _told(one: Hindcast, at: int) -> tuple[float, float] | None:
    """What the readings alone say of a parameter: value and variance; None when they say nothing."""
    before = 1.0 / one.site.width[at] ** 2
    after = 1.0 / max(one.width[at], 1e-3) ** 2
    gain = after - before
    if gain < LEAST_GAIN:
        return None
    return (one.shift[at] * after - one.site.shift[at] * before) / gain, 1.0 / gain
