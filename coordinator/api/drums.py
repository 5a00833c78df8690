"""Which hatch is open. Public, like the sign on the drum."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from bins.hatch import drum_states

from ..access import Rule
from .base import BuildingView
from .shapes import DrumOut


class Drums(BuildingView):
    rules = {"GET": Rule("see", "hatch")}

    @extend_schema(responses={200: DrumOut(many=True)}, description="Every drum of the building as it stands.")
    def get(self, request: Request) -> Response:
        return Response(
            [
                {
                    "drum": state.drum.uid,
                    "number": state.drum.number,
                    "open": state.open.place.letter if state.open else None,
                    "hatches": [
                        {
                            "letter": hatch.place.letter,
                            "shape": hatch.place.shape,
                            "stage": hatch.stage,
                            "level_percent": hatch.level_percent,
                        }
                        for hatch in state.hatches
                    ],
                    "turns": state.drum.turns,
                    "insulation": state.hatches[0].place.insulation,  # both are made alike
                    "vents": state.hatches[0].place.vents,
                    "cups_per_pail": state.drum.site.cups_per_pail,
                    "browns_out_since": state.drum.site.browns_out_since,
                    "without_browns": state.drum.site.without_browns,
                    "fallback": state.drum.site.fallback,
                }
                for state in drum_states(self.here.building)
            ]
        )
