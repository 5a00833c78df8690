"""Rule 6: curing becomes ready after 21 counted days and one passed test, made while it cured.

Each kind of test speaks by its latest result: a bag that failed in week one and passed in week three has
passed. A kind that failed last stays in the figures (`tests_failed`), so that who confirms sees it.
"""

from datetime import datetime

from bins.process.fresh import fresh_in_count
from bins.process.maturity import BagTest, MaturityTest
from bins.process.proposal import Figure, Proposal, Reason, Rule
from bins.process.site import SiteSettings
from bins.process.snapshot import BatchSnapshot, DrumSnapshot
from bins.process.stage import Stage
from bins.process.warmth import count_warm_days


def decide_ready(drum: DrumSnapshot, settings: SiteSettings, now: datetime) -> tuple[Proposal, ...]:
    """A proposal for each curing batch whose days are full and that passed a test, by batch uid.

    None while it holds fresh scraps: rule 7 sends it back.
    """
    proposals: list[Proposal] = []
    for batch in drum.in_stage(Stage.CURING):
        if batch.curing_since is None or fresh_in_count(batch, now):
            continue
        count = count_warm_days(batch, batch.curing_since, settings, now)
        results = [test.passed for test in latest_tests(batch, now)]
        if count.counted_days < settings.curing_days or not any(results):
            continue
        figures = (
            Figure("days_counted", count.counted_days),
            Figure("days_elapsed", count.elapsed_days),
            Figure("days_read", count.read_days),
            Figure("days_needed", settings.curing_days),
            Figure("tests_passed", results.count(True)),
            Figure("tests_failed", results.count(False)),
        )
        proposals.append(
            Proposal(
                rule=Rule.READY,
                batch_uid=batch.uid,
                from_stage=Stage.CURING,
                to_stage=Stage.READY,
                reason=Reason.CURED_AND_TESTED,
                figures=figures,
            )
        )
    return tuple(proposals)


def latest_tests(batch: BatchSnapshot, now: datetime) -> tuple[MaturityTest, ...]:
    """The latest result of each kind of test that began and ended while the batch cured."""
    latest: dict[type[MaturityTest], MaturityTest] = {}
    for test in batch.tests:
        began = test.started_at if isinstance(test, BagTest) else test.read_at
        if batch.curing_since is not None and batch.curing_since <= began and test.read_at <= now:
            latest[type(test)] = test
    return tuple(latest.values())
