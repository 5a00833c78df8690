"""The shapes of the store of browns in the API."""

from rest_framework import serializers as s

from .mix_shapes import KINDS


class StockRowIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")
    site = s.UUIDField()
    act = s.ChoiceField(["delivery", "count"])
    day = s.DateField(required=False, help_text="Today, if absent.")
    kind = s.ChoiceField(KINDS, required=False, help_text="What the site has as browns, if absent.")
    litres = s.FloatField(help_text="Of a delivery what came, of a count what is there; a count may be 0.")
    fetched_by = s.UUIDField(required=False, help_text="The household that brought or fetched it: it takes part.")


class StockRowOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    day = s.DateField()
    act = s.CharField()
    kind = s.CharField()
    millilitres = s.IntegerField(help_text="0 or below in a row that takes another back.")
    reverses = s.UUIDField(allow_null=True)
    via = s.CharField()
    doubt = s.CharField()


class BroughtIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")
    site = s.UUIDField()
    day = s.DateField(required=False, help_text="Today, if absent.")
    kind = s.ChoiceField(KINDS, required=False, help_text="What the site has as browns, if absent.")
    litres = s.FloatField(help_text="Above 0, up to 500.")


class BroughtOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    day = s.DateField()
    kind = s.CharField()
    millilitres = s.IntegerField(help_text="Below 0 in a row that takes another back.")
    reverses = s.UUIDField(allow_null=True)
    via = s.CharField()
    doubt = s.CharField()


class PartTakenOut(s.Serializer):  # type: ignore[type-arg]
    harvest = s.UUIDField()
    takes_part = s.BooleanField(help_text="By the rule that the lot opened with.")
    drop_offs = s.IntegerField()
    scraps_g = s.IntegerField()
    care_minutes = s.IntegerField(help_text="Set, never measured: of visits and of duties.")
    browns_ml = s.IntegerField(help_text="Brought to the store while the lot was filling.")


class StoreIn(s.Serializer):  # type: ignore[type-arg]
    room = s.ChoiceField(["closed", "aired", "outdoors"])
    most_litres = s.IntegerField(required=False, help_text="The site's own limit; the usual one, if absent.")
    delivery_weeks = s.IntegerField(required=False, min_value=0, max_value=26)
    review_weeks = s.IntegerField(required=False, min_value=0, max_value=26)
    safety_weeks = s.IntegerField(required=False, min_value=0, max_value=26)


class StoreOut(s.Serializer):  # type: ignore[type-arg]
    site = s.UUIDField()
    litres = s.IntegerField(allow_null=True, help_text="Null until somebody counted, or something came in.")
    counted_at = s.DateTimeField(allow_null=True)
    weekly_litres = s.FloatField()
    is_measured = s.BooleanField(help_text="By drop-offs of the last four weeks; else by the plan.")
    reorder_at_litres = s.IntegerField()
    days_of_cover = s.IntegerField(allow_null=True)
    is_low = s.BooleanField()
    room = s.CharField()
    most_litres = s.IntegerField()
    delivery_weeks = s.IntegerField()
    review_weeks = s.IntegerField()
    safety_weeks = s.IntegerField()
    cautions = s.ListField(child=s.ChoiceField(["carbon_monoxide", "escape_route", "keep_dry"]))
