"""The table in the repository is what its maker makes."""

import numpy as np
import pytest

from bins.process.model import quantiles
from bins.process.model.border import MEMBERS_AHEAD, MEMBERS_BEHIND, PARAMETERS
from bins.process.model.draws import ahead, behind
from bins.process.model.make_quantiles import SHAPES, badness, hexed
from bins.process.model.make_quantiles import quantiles as made


@pytest.mark.parametrize("at", range(len(SHAPES)))
def test_the_table_is_what_the_script_beside_it_makes(at: int) -> None:
    name, *shape = SHAPES[at]
    assert getattr(quantiles, name) == hexed(made(*shape))


@pytest.mark.parametrize(("table", "shape"), [(behind(), (MEMBERS_BEHIND, PARAMETERS)), (ahead(), (MEMBERS_AHEAD, 3))])
def test_each_column_holds_each_stratum_once(table: np.ndarray, shape: tuple[int, int]) -> None:
    assert table.shape == shape
    for column in table.T:
        assert len(set(column.tolist())) == shape[0]
        assert abs(column.mean()) < 1e-3
        assert column.std() == pytest.approx(1, abs=0.04)


def test_columns_hardly_correlate() -> None:
    assert badness(*SHAPES[0][1:]) < 0.05


def test_nobody_writes_into_the_table() -> None:
    with pytest.raises(ValueError, match="read-only"):
        behind()[0, 0] = 1.0
