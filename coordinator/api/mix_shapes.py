"""The shapes of browns, pails, the accepted list and wrong items, for the API's description."""

from rest_framework import serializers as s

KINDS = ["pellets", "shavings", "sawdust", "leaves", "straw", "cardboard"]


class BrownsIn(s.Serializer):  # type: ignore[type-arg]
    browns = s.ChoiceField(KINDS)
    cup_ml = s.IntegerField(min_value=50, max_value=5000)
    without_browns = s.ChoiceField(["bring", "wait"], required=False)


class NumberIn(s.Serializer):  # type: ignore[type-arg]
    half_cups = s.IntegerField(min_value=0, max_value=24, help_text="The number advised: 4 is two cups.")


class StockIn(s.Serializer):  # type: ignore[type-arg]
    out = s.BooleanField()


class BrownsOut(s.Serializer):  # type: ignore[type-arg]
    site = s.UUIDField()
    browns = s.CharField()
    cup_ml = s.IntegerField()
    half_cups_per_pail = s.IntegerField()
    cups_changed_on = s.DateField(allow_null=True)
    changes_from = s.DateField(allow_null=True, help_text="The first day on which the number may change again.")
    without_browns = s.CharField()
    browns_out_since = s.DateTimeField(allow_null=True)
    advised_half_cups = s.IntegerField(allow_null=True)
    moisture_percent = s.FloatField(allow_null=True)
    available_c_to_n = s.FloatField(allow_null=True, help_text="Only the carbon that takes part within weeks.")
    c_to_n = s.FloatField(allow_null=True)
    preferred = s.BooleanField(allow_null=True)
    goal = s.CharField(allow_null=True)
    would_do = s.ListField(child=s.CharField())
    least_cup_litres = s.FloatField(allow_null=True)


class CorrectionOut(s.Serializer):  # type: ignore[type-arg]
    drum = s.UUIDField()
    batch = s.UUIDField()
    hatch = s.CharField()
    browns = s.CharField()
    browns_litres = s.IntegerField(allow_null=True)
    water_litres = s.IntegerField(allow_null=True)
    moisture_before_percent = s.FloatField(allow_null=True)
    moisture_after_percent = s.FloatField(allow_null=True)
    goal = s.CharField(allow_null=True, help_text="What cannot be reached; null where the litres do it.")
    would_do = s.ListField(child=s.CharField())


class AmendmentIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    browns_litres = s.FloatField(required=False, help_text="Up to 200.")
    browns = s.ChoiceField(KINDS, required=False)
    water_litres = s.FloatField(required=False, help_text="Up to 200.")


class AmendmentOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    batch = s.UUIDField()
    material = s.CharField()
    millilitres = s.IntegerField()
    via = s.CharField()
    doubt = s.CharField()


class PailMeasureIn(s.Serializer):  # type: ignore[type-arg]
    name = s.CharField(max_length=40)
    cups = s.IntegerField(required=False, help_text="Whole cups of the site's own that fill it.")
    empty_kg = s.FloatField(required=False)
    water_kg = s.FloatField(required=False, help_text="Full of water.")
    litres = s.FloatField(required=False)


class PailIn(PailMeasureIn):
    uid = s.UUIDField()
    site = s.UUIDField()


class PailWeightIn(s.Serializer):  # type: ignore[type-arg]
    g_per_l = s.IntegerField(help_text="What was proposed.")


class PailOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    number = s.IntegerField()
    name = s.CharField()
    millilitres = s.IntegerField()
    measured = s.CharField()
    measured_on = s.DateField()
    scraps_g_per_l = s.IntegerField()
    calibrated_on = s.DateField(allow_null=True)
    weighed = s.IntegerField()
    proposed_g_per_l = s.IntegerField(allow_null=True)
    is_due = s.BooleanField()


class WeighingIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    pail = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    net_kg = s.FloatField(required=False)
    full_kg = s.FloatField(required=False)
    empty_kg = s.FloatField(required=False)


class WeighingOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    pail = s.UUIDField()
    net_g = s.IntegerField()
    gross_g = s.IntegerField(allow_null=True)
    tare_g = s.IntegerField(allow_null=True)
    pail_ml = s.IntegerField()
    via = s.CharField()
    doubt = s.CharField()


class AcceptedItemShape(s.Serializer):  # type: ignore[type-arg]
    key = s.CharField()
    verdict = s.ChoiceField(["yes", "no", "ask"])
    note = s.CharField(max_length=120, required=False)


class AcceptedIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    items = AcceptedItemShape(many=True)


class AcceptedOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    version = s.IntegerField()
    dated = s.DateField()
    items = AcceptedItemShape(many=True)


class WrongItemIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    drum = s.UUIDField()
    hatch = s.ChoiceField(["A", "B"], required=False, help_text="The open one, if absent.")
    visit = s.UUIDField(required=False, help_text="The care visit at which it was found.")
    happened_at = s.DateTimeField(required=False)
    item = s.CharField()
    millilitres = s.IntegerField(required=False)
    grams = s.IntegerField(required=False)
    taken_out = s.BooleanField(required=False)


class WrongItemOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    drum = s.UUIDField()
    hatch = s.CharField()
    batch = s.UUIDField(allow_null=True)
    visit = s.UUIDField(allow_null=True)
    item = s.CharField()
    millilitres = s.IntegerField(allow_null=True)
    grams = s.IntegerField(allow_null=True)
    taken_out = s.BooleanField()
    shut = s.BooleanField()
    via = s.CharField()
    doubt = s.CharField()


class BucketIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    name = s.CharField(max_length=40)
    drum = s.UUIDField()
    household = s.CharField(required=False, help_text="Whose it is; in the cellar for all, if absent.")
    litres = s.FloatField(help_text="3 to 240.")
    bedding = s.CharField(required=False, help_text="A kind of browns; pellets, if absent.")
    bedding_litres = s.FloatField()


class BucketFillIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    quarter_pails = s.IntegerField(required=False, min_value=1, max_value=40)
    kilograms = s.FloatField(required=False)
    known = s.ChoiceField(["counted", "guessed"], required=False)
    pail = s.UUIDField(required=False)


class BucketPourIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()


class BucketOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    name = s.CharField()
    drum = s.UUIDField()
    shared = s.BooleanField()
    millilitres = s.IntegerField()
    bedding = s.CharField()
    bedding_ml = s.IntegerField()
    percent = s.IntegerField()
    scraps_g = s.IntegerField()
    drop_offs = s.IntegerField()
    moisture_percent = s.FloatField(allow_null=True)
    advice = s.CharField(help_text="`more` or `less` bedding next time; empty where it is right.")
