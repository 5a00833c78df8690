"""The shapes of what the API takes and gives, for its description. Checking is done by the records of bins.

Amounts are whole grams and millilitres; instants carry an offset; a record's only name is its uid.
"""

from typing import Any

from rest_framework import serializers as s


class DropOffIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")
    drum = s.UUIDField()
    happened_at = s.DateTimeField(required=False, help_text="With offset; now, if absent.")
    quarter_pails = s.IntegerField(required=False, min_value=1, max_value=40, help_text="4 is one full pail.")
    kilograms = s.FloatField(required=False, help_text="Weighed; up to 100.")
    browns_cups = s.IntegerField(required=False, min_value=0, max_value=40)
    known = s.ChoiceField(["counted", "guessed"], required=False)


class DropOffOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    drum = s.UUIDField()
    batch = s.UUIDField(allow_null=True)
    quarter_pails = s.IntegerField(allow_null=True)
    browns_cups = s.IntegerField()
    scraps_g = s.IntegerField()
    scraps_ml = s.IntegerField()
    browns_ml = s.IntegerField()
    known = s.CharField()
    via = s.CharField()
    doubt = s.CharField()
    reverses = s.UUIDField(allow_null=True)


class DropOffPage(s.Serializer):  # type: ignore[type-arg]
    results = DropOffOut(many=True)
    before = s.IntegerField(allow_null=True, help_text="Pass as ?before= for the next older ones; null at the end.")


class VisitIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    drum = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    turned = s.BooleanField()
    level = s.ChoiceField(["empty", "quarter", "half", "three_quarters", "full"], required=False)
    trouble = s.ChoiceField(["nothing", "smell", "wet", "animals", "wrong_item", "broken"], required=False)


class VisitOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    drum = s.UUIDField()
    turned = s.BooleanField()
    trouble = s.CharField()
    level_percent = s.IntegerField(allow_null=True)
    via = s.CharField()
    doubt = s.CharField()


class HatchOut(s.Serializer):  # type: ignore[type-arg]
    letter = s.CharField()
    shape = s.CharField()
    stage = s.CharField()
    level_percent = s.IntegerField()


class DrumOut(s.Serializer):  # type: ignore[type-arg]
    drum = s.UUIDField()
    number = s.IntegerField()
    open = s.CharField(allow_null=True, help_text="The letter of the hatch with the tag; null while none is open.")
    hatches = HatchOut(many=True)
    cups_per_pail = s.IntegerField()
    fallback = s.CharField()


class DecisionOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    drum = s.UUIDField()
    batch = s.UUIDField()
    rule = s.CharField()
    reason = s.CharField()
    figures = s.DictField(child=s.FloatField())
    state = s.CharField()
    next_place = s.UUIDField(allow_null=True)
    made_at = s.DateTimeField()


class AnswerIn(s.Serializer):  # type: ignore[type-arg]
    answer = s.ChoiceField(["yes", "no"])


class AnswerOut(s.Serializer):  # type: ignore[type-arg]
    decision = DecisionOut()
    instead = DecisionOut(allow_null=True)


class KnownOut(s.Serializer):  # type: ignore[type-arg]
    known = s.CharField()
    scraps_g = s.IntegerField()
    drop_offs = s.IntegerField()


class MonthOut(s.Serializer):  # type: ignore[type-arg]
    month = s.DateField()
    scraps_g = s.IntegerField()
    by_known = KnownOut(many=True)
    browns_ml = s.IntegerField()
    drop_offs = s.IntegerField()
    households = s.IntegerField()
    visits = s.IntegerField()


class Problem(s.Serializer):  # type: ignore[type-arg]
    """RFC 9457 problem details."""

    type = s.CharField()
    title = s.CharField()
    status = s.IntegerField()
    detail = s.CharField()

    def get_fields(self) -> dict[str, Any]:
        """`errors` is named here: a serializer keeps an attribute of that name for itself."""
        fields = super().get_fields()
        fields["errors"] = s.ListField(child=s.DictField(child=s.CharField()), required=False)
        return fields
