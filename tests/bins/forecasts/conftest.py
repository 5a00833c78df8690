import pytest

from bins.forecasts import night

SHORT = 12  # days ahead: enough to see that something is foreseen


@pytest.fixture
def short_sight(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(night, "HORIZON_DAYS", SHORT)
