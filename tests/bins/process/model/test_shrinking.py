"""What finished batches teach, by numbers that can be done by hand."""

from dataclasses import replace

import pytest

from bins.process.model.border import PARAMETERS, Hindcast, Site
from bins.process.model.hindcast import hindcast
from bins.process.model.shrinking import shrink

from .told import HISTORY, READLESS, flask, on, without


def taught(shift: float, width: float, site: Site | None = None) -> Hindcast:
    (base,) = hindcast([READLESS], on(0))
    rest = PARAMETERS - 1
    return replace(base, shift=(shift,) + (0.0,) * rest, width=(width,) + (1.0,) * rest, site=site or Site())


def test_no_finished_batch_leaves_the_general_prior() -> None:
    assert shrink([]) == Site()


def test_one_exact_batch_moves_the_centre_half_way() -> None:
    # Posterior width nearly 0: value 1. Site variance 1/2, batches' 1/2: centre 1/2, variance left 1/4 + 1/2.
    site = shrink([taught(1.0, 0.001)])
    assert site.shift[0] == pytest.approx(0.5, abs=1e-3)
    assert site.width[0] == pytest.approx(0.75**0.5, abs=1e-3)
    assert (site.shift[1], site.width[1], site.batches) == (0.0, 1.0, 1)


def test_a_batch_that_taught_little_moves_it_little_and_many_move_it_far() -> None:
    assert shrink([taught(0.1, 0.95)]).shift[0] < 0.2
    widths = [shrink([taught(1.0, 0.1)] * n).width[0] for n in (0, 1, 3, 10, 100)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] >= 0.5**0.5 - 0.01  # batches of one site differ for ever


def test_a_batch_lived_under_a_shrunk_prior_isn_t_counted_twice() -> None:
    first = shrink([taught(1.0, 0.2)])
    # Under that prior a batch told nothing: its posterior is its prior.
    silent = taught(first.shift[0], first.width[0], first)
    assert shrink([taught(1.0, 0.2), silent]).shift == first.shift


def test_real_hindcasts_shrink_something() -> None:
    finished = hindcast([without(tests=(flask(70, 12), flask(90, 6)))], on(100))
    site = shrink(finished)
    assert site.batches == 1
    assert min(site.width) < 1
    assert hindcast([replace(HISTORY, site=site)], on(20))[0].site == site
