"""What the drums carry, and on how many days a hatch is open."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.founding.capacity import capacities

from ..access import Rule
from .base import BuildingView
from .shapes import CapacityOut, Problem


class Capacity(BuildingView):
    rules = {"GET": Rule("see", "capacity")}

    @extend_schema(
        responses={200: CapacityOut(many=True), 401: Problem, 404: Problem},
        description="Each site: households carried at the closing mark and to the brim, and the percent of days with "
        "an open hatch by the chamber rules run day by day, without and with a curing bin.",
    )
    def get(self, request: Request) -> Response:
        found = [
            {
                "site": one.site.uid,
                "drums": one.drums,
                "chamber_litres": one.chamber_litres,
                "careful_households": one.carried.careful,
                "most_households": one.carried.most,
                "has_curing_bin": one.has_bin,
                "open_days": [
                    {
                        "households": days.households,
                        "percent": days.percent,
                        "percent_with_curing_bin": days.with_bin_percent,
                    }
                    for days in one.open
                ],
                "base_layer_litres": one.base_layer_litres,
            }
            for one in capacities(self.here.building)
        ]
        fields = self.here.grant.fields
        return Response([{name: value for name, value in one.items() if name in fields} for one in found])
