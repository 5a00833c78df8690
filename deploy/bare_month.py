"""The month's figures as the least SQL that yields all of them: what the service's own are measured against.

One statement a table; nothing is built, checked or named on the way. `cursor` is any cursor of the database.
"""

import datetime as dt
from typing import Any

BROUGHT = """
SELECT c.known, a.household_id, sum(c.scraps_g), sum(c.browns_ml),
       count(*) FILTER (WHERE c.reverses_id IS NULL AND r.id IS NULL),
       count(*) FILTER (WHERE c.reverses_id IS NULL AND r.id IS NULL AND c.counts_at >= %(lately)s)
FROM bins_contribution c
LEFT JOIN bins_contribution r ON r.reverses_id = c.id
LEFT JOIN bins_contributionattribution a ON a.row_id = c.id
WHERE c.building_id = %(building)s AND c.counts_at >= %(start)s AND c.counts_at < %(end)s
GROUP BY c.known, a.household_id
"""
WEIGHED = """
SELECT w.net_g * 1000.0 / w.pail_ml / p.scraps_g_per_l
FROM bins_pailweighing w JOIN bins_pail p ON p.id = w.pail_id LEFT JOIN bins_pailweighing r ON r.reverses_id = w.id
WHERE w.building_id = %(building)s AND w.counts_at <= %(end)s AND w.counts_at > %(half_a_year_before)s
  AND w.reverses_id IS NULL AND r.id IS NULL
"""
VISITS = """
SELECT count(*), count(*) FILTER (WHERE v.turned), count(*) FILTER (WHERE v.trouble <> 'nothing'),
       count(*) FILTER (WHERE v.trouble = 'wrong_item'), count(DISTINCT a.person_id)
FROM bins_visit v LEFT JOIN bins_visit r ON r.reverses_id = v.id LEFT JOIN bins_visitattribution a ON a.row_id = v.id
WHERE v.building_id = %(building)s AND v.counts_at >= %(start)s AND v.counts_at < %(end)s
  AND v.reverses_id IS NULL AND r.id IS NULL
"""
WRONG = """
SELECT count(*), count(w.grams), coalesce(sum(w.grams), 0),
       count(DISTINCT w.visit_id) FILTER (WHERE v.trouble <> 'wrong_item')
FROM bins_wrongitem w LEFT JOIN bins_wrongitem r ON r.reverses_id = w.id LEFT JOIN bins_visit v ON v.id = w.visit_id
WHERE w.building_id = %(building)s AND w.counts_at >= %(start)s AND w.counts_at < %(end)s
  AND w.reverses_id IS NULL AND r.id IS NULL
"""
YIELDS = """
WITH RECURSIVE harvest AS (
    SELECT h.id, h.batch_id, h.counts_at, (h.whole_tubs + h.part_millionths / 1e6) * h.tub_ml AS ml
    FROM bins_harvest h LEFT JOIN bins_harvest r ON r.reverses_id = h.id
    WHERE h.building_id = %(building)s AND h.counts_at >= %(start)s AND h.counts_at < %(end)s
      AND h.reverses_id IS NULL AND r.id IS NULL
), part AS (
    SELECT batch_id AS of, batch_id AS id FROM harvest
    UNION SELECT part.of, b.id FROM bins_batch b JOIN part ON b.merged_into_id = part.id
), went_in AS (
    SELECT part.of, c.scraps_g AS g, c.scraps_ml + c.browns_ml AS ml
    FROM bins_contribution c JOIN part ON c.batch_id = part.id
    UNION ALL SELECT part.of, 0, a.millilitres
    FROM bins_amendment a JOIN part ON a.batch_id = part.id WHERE a.material <> 'water'
    UNION ALL SELECT part.of, 0, o.millilitres FROM bins_overs o JOIN part ON o.batch_id = part.id
), came_apart AS (
    SELECT part.of, sum((p.whole_tubs + p.part_millionths / 1e6) * p.tub_ml) AS ml
    FROM bins_harvestpart p JOIN part ON p.batch_id = part.id GROUP BY part.of
)
SELECT harvest.ml + coalesce((SELECT ml FROM came_apart WHERE came_apart.of = harvest.batch_id), 0),
       coalesce(sum(went_in.g), 0), coalesce(sum(went_in.ml), 0)
FROM harvest LEFT JOIN went_in ON went_in.of = harvest.batch_id
GROUP BY harvest.id, harvest.batch_id, harvest.counts_at, harvest.ml ORDER BY harvest.counts_at, harvest.id
"""
COUNTS = """
SELECT (SELECT count(*) FROM households_household WHERE building_id = %(building)s AND joined_on < %(after)s
        AND (left_on IS NULL OR left_on >= %(after)s)),
       (SELECT count(*) FROM bins_batch WHERE building_id = %(building)s AND opened_at < %(end)s
        AND (ended_at IS NULL OR ended_at >= %(end)s)),
       (SELECT count(*) FROM bins_case WHERE building_id = %(building)s
        AND received_at >= %(start)s AND received_at < %(end)s),
       (SELECT coalesce(sum(s.tubs), 0) FROM bins_share s JOIN bins_split p ON p.id = s.split_id
        WHERE s.building_id = %(building)s AND p.pick_up_until >= %(first_day)s AND p.pick_up_until < %(after)s),
       (SELECT coalesce(sum(o.millionths), 0) FROM bins_outgoing o JOIN bins_share s ON s.id = o.share_id
        JOIN bins_split p ON p.id = s.split_id WHERE o.building_id = %(building)s AND o.kind = 'given'
        AND p.pick_up_until >= %(first_day)s AND p.pick_up_until < %(after)s),
       (SELECT coalesce(sum(d.minutes), 0) FROM households_dutyassignment a JOIN households_duty d ON d.id = a.duty_id
        WHERE a.building_id = %(building)s AND d.done_at IS NOT NULL
        AND d.day >= %(first_day)s AND d.day < %(after)s)
"""


def bare_month(cursor: Any, building: int, days: tuple[dt.date, dt.date], instants: tuple[dt.datetime, ...]) -> Any:
    """All figures of the month. `days`: its first and the next month's; `instants`: their midnights."""
    start, end = instants
    asked = {
        "building": building, "first_day": days[0], "after": days[1], "start": start, "end": end,
        "lately": end - dt.timedelta(days=21), "half_a_year_before": end - dt.timedelta(days=183),
    }  # fmt: skip

    def rows(statement: str) -> list[Any]:
        cursor.execute(statement, asked)
        found: list[Any] = cursor.fetchall()
        return found

    grams: dict[str, int] = {}
    times: dict[str, int] = {}
    behind: dict[str, set[int]] = {}
    browns, part = 0, set()
    for known, household, g, ml, stands, lately in rows(BROUGHT):
        grams[known] = grams.get(known, 0) + int(g)
        times[known] = times.get(known, 0) + stands
        browns += int(ml)
        if household is not None and stands:
            behind.setdefault(known, set()).add(household)
            if lately:
                part.add(household)
    return {
        "grams": grams,
        "times": times,
        "behind": {known: len(who) for known, who in behind.items()},
        "browns_ml": browns,
        "households": len(set().union(*behind.values())),
        "taking_part": len(part),
        "weighed": [float(ratio) for (ratio,) in rows(WEIGHED)],
        "visits": rows(VISITS)[0],
        "wrong": rows(WRONG)[0],
        "yields": [tuple(map(round, row)) for row in rows(YIELDS)],
        "counts": tuple(map(int, rows(COUNTS)[0])),
    }


def as_bare(figures: Any) -> dict[str, Any]:
    """The service's figures in the same shape, as far as they can be told apart: to see that both are the same."""
    return {
        "scraps_g": figures.scraps_g,
        "browns_ml": figures.browns_ml,
        "drop_offs": figures.drop_offs,
        "households": figures.households,
        "taking_part": figures.taking_part,
        "visits": (figures.visits, figures.turns, figures.troubles),
        "carers": figures.carers,
        "wrong": (figures.wrong_items, figures.wrong_items_weighed, figures.wrong_items_g, figures.wrong_visits),
        "yields": [(one.compost_ml, one.scraps_g, one.in_ml) for one in figures.yields],
        "counts": (
            figures.living_here, figures.still_working, figures.reports, figures.due_tubs, figures.fetched_millionths,
            figures.duty_minutes,
        ),
    }  # fmt: skip


def summed(bare: dict[str, Any]) -> dict[str, Any]:
    """The bare figures in that shape."""
    visits, wrong = bare["visits"], bare["wrong"]
    return {
        "scraps_g": sum(bare["grams"].values()),
        "browns_ml": bare["browns_ml"],
        "drop_offs": sum(bare["times"].values()),
        "households": bare["households"],
        "taking_part": bare["taking_part"],
        "visits": tuple(visits[:3]),
        "carers": visits[4],
        "wrong": (wrong[0], wrong[1], int(wrong[2]), visits[3] + wrong[3]),
        "yields": bare["yields"],
        "counts": bare["counts"],
    }
