"""The shapes of what the API takes and gives, for its description. Checking is done by the records of bins.

Amounts are whole grams and millilitres; instants carry an offset; a record's only name is its uid.
"""

from typing import Any

from rest_framework import serializers as s

from bins.process.symptom import Symptom


class DropOffIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")
    drum = s.UUIDField()
    happened_at = s.DateTimeField(required=False, help_text="With offset; now, if absent.")
    quarter_pails = s.IntegerField(required=False, min_value=1, max_value=40, help_text="4 is one full pail.")
    kilograms = s.FloatField(required=False, help_text="Weighed; up to 100.")
    browns_cups = s.FloatField(required=False, min_value=0, max_value=40, help_text="Halves are fine.")
    browns_in_pail = s.BooleanField(required=False, help_text="They were in the pail already.")
    pail = s.UUIDField(required=False, help_text="A pail of the drum's site; its first, if absent.")
    known = s.ChoiceField(["counted", "guessed"], required=False)
    place = s.UUIDField(required=False, help_text="The hatch it went into, if not the open one.")


class DropOffOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    drum = s.UUIDField()
    batch = s.UUIDField(allow_null=True)
    quarter_pails = s.IntegerField(allow_null=True)
    browns_cups = s.FloatField()
    browns_in_pail = s.BooleanField()
    pail = s.UUIDField(allow_null=True)
    scraps_g = s.IntegerField()
    scraps_ml = s.IntegerField()
    browns_ml = s.IntegerField()
    known = s.CharField()
    via = s.CharField()
    doubt = s.CharField()
    reverses = s.UUIDField(allow_null=True)
    place = s.UUIDField(allow_null=True, help_text="Where it went, if that was not the open hatch.")


class DropOffPage(s.Serializer):  # type: ignore[type-arg]
    results = DropOffOut(many=True)
    before = s.IntegerField(allow_null=True, help_text="Pass as ?before= for the next older ones; null at the end.")


class BatchReadingIn(s.Serializer):  # type: ignore[type-arg]
    batch = s.UUIDField()
    temperature = s.FloatField(required=False, help_text="Inside, in degrees.")
    squeeze = s.ChoiceField(["dry", "right", "wet"], required=False)
    smell = s.ChoiceField(["no", "yes"], required=False, help_text="Does it smell bad?")
    symptoms = s.ListField(
        child=s.ChoiceField([*map(str, Symptom), "well"]), required=False,
        help_text="What is wrong with it; `well` alone: that it is well again.",
    )  # fmt: skip


class ReadingOut(s.Serializer):  # type: ignore[type-arg]
    batch = s.UUIDField()
    kind = s.ChoiceField(
        ["level_percent", "drum_tenths_c", "air_tenths_c", "squeeze", "smell_bad"],
        help_text="squeeze: 0 dry, 1 right, 2 wet; smell_bad: 0 no, 1 yes.",
    )
    value = s.IntegerField()


class TurningIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    drum = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    turned_place = s.UUIDField(required=False, help_text="The hatch that alone was turned, where they turn apart.")


class VisitIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    drum = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    turned = s.BooleanField()
    turned_place = s.UUIDField(required=False, help_text="The hatch that alone was turned, where they turn apart.")
    level = s.ChoiceField(["empty", "quarter", "half", "three_quarters", "full"], required=False)
    trouble = s.ChoiceField(
        ["nothing", *map(str, Symptom), "wrong_item"], required=False,
        help_text="The first symptom of the readings, if absent.",
    )  # fmt: skip
    temperature_unit = s.ChoiceField(["c", "f"], required=False)
    air = s.FloatField(required=False, help_text="Beside the drum, in degrees.")
    readings = BatchReadingIn(many=True, required=False)


class VisitOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    drum = s.UUIDField()
    turned = s.BooleanField()
    turned_place = s.UUIDField(allow_null=True, help_text="The hatch that alone was turned; null: all, or nothing.")
    trouble = s.CharField()
    level_percent = s.IntegerField(allow_null=True)
    readings = ReadingOut(many=True, required=False)
    via = s.CharField()
    doubt = s.CharField()


class HatchOut(s.Serializer):  # type: ignore[type-arg]
    letter = s.CharField()
    shape = s.CharField()
    stage = s.CharField()
    level_percent = s.IntegerField()


class OpenDays(s.Serializer):  # type: ignore[type-arg]
    households = s.IntegerField()
    percent = s.IntegerField()
    percent_with_curing_bin = s.IntegerField()


class CapacityOut(s.Serializer):  # type: ignore[type-arg]
    site = s.UUIDField()
    drums = s.IntegerField(help_text="In service.")
    chamber_litres = s.IntegerField(help_text="Of the smallest chamber.")
    careful_households = s.IntegerField(help_text="Filled to the closing mark.")
    most_households = s.IntegerField(help_text="Filled to the brim.")
    has_curing_bin = s.BooleanField()
    open_days = OpenDays(many=True, help_text="For the number expected, or for both ends of the range.")
    base_layer_litres = s.IntegerField(help_text="Of the site's browns, into an empty chamber before the first pail.")


class DrumOut(s.Serializer):  # type: ignore[type-arg]
    drum = s.UUIDField()
    number = s.IntegerField()
    open = s.CharField(allow_null=True, help_text="The letter of the hatch with the tag; null while none is open.")
    hatches = HatchOut(many=True)
    turns = s.CharField(help_text="Whether its hatches turn `together` or `apart`.")
    insulation = s.CharField(help_text="Its wall: `bare`, `double` or `foam`.")
    vents = s.CharField(help_text="How much air it lets in: `few`, `usual` or `many`.")
    cups_per_pail = s.FloatField()
    browns_out_since = s.DateTimeField(allow_null=True)
    without_browns = s.CharField()
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
    answer = s.ChoiceField(
        ["yes", "no", "take_out", "back"], help_text="The last two only for fresh scraps in a finished lot."
    )


class AnswerOut(s.Serializer):  # type: ignore[type-arg]
    decision = DecisionOut()
    instead = DecisionOut(allow_null=True)


class KnownOut(s.Serializer):  # type: ignore[type-arg]
    known = s.CharField()
    scraps_g = s.IntegerField(allow_null=True)
    drop_offs = s.IntegerField(allow_null=True)


class YieldOut(s.Serializer):  # type: ignore[type-arg]
    day = s.DateField()
    compost_ml = s.IntegerField()
    ml_per_kg = s.IntegerField(allow_null=True, help_text="Null where the lot has no scraps on record.")


class RestatedOut(s.Serializer):  # type: ignore[type-arg]
    figure = s.CharField()
    closed = s.IntegerField()
    now = s.IntegerField()


class FiguresOut(s.Serializer):  # type: ignore[type-arg]
    scraps_g = s.IntegerField()
    low_g = s.IntegerField()
    high_g = s.IntegerField()
    by_known = KnownOut(many=True)
    browns_ml = s.IntegerField()
    drop_offs = s.IntegerField()
    households = s.IntegerField()
    taking_part = s.IntegerField(help_text="With a drop-off in the last three weeks.")
    living_here = s.IntegerField()
    visits = s.IntegerField()
    turns = s.IntegerField()
    compost_ml = s.IntegerField()


class MonthOut(FiguresOut):
    month = s.DateField()
    yields = YieldOut(many=True)
    still_working = s.IntegerField()
    reports = s.IntegerField()
    wrong_items = s.IntegerField()
    closed_at = s.DateTimeField(allow_null=True, help_text="Null while the figures are provisional.")
    restated = RestatedOut(many=True)


class PeriodOut(FiguresOut):
    span = s.ChoiceField(["month", "quarter", "year"])
    first_day = s.DateField()
    last_day = s.DateField()
    is_running = s.BooleanField()
    carers = s.IntegerField(allow_null=True, help_text="Null from one to four: few people are not counted out loud.")
    yields = YieldOut(many=True)
    compost_ml_per_kg = s.IntegerField(allow_null=True)
    shrunk_percent = s.IntegerField(allow_null=True)
    still_working = s.IntegerField()
    shares_fetched_percent = s.IntegerField(allow_null=True)
    reports = s.IntegerField()
    wrong_items = s.IntegerField()
    wrong_visits = s.IntegerField()
    wrong_g_per_100_kg = s.IntegerField(allow_null=True, help_text="Null where an item was not weighed.")
    hours_per_100_kg = s.FloatField(allow_null=True, help_text="Of set minutes of duties done; nobody is timed.")
    days = s.IntegerField(allow_null=True, help_text="That the record has; null where it can't be said.")
    open_days = s.IntegerField(allow_null=True)
    days_with_browns = s.IntegerField(allow_null=True)
    co2e_g = s.IntegerField(allow_null=True, help_text="An estimate; null unless the building wants it.")


class MonthRowOut(s.Serializer):  # type: ignore[type-arg]
    day = s.DateField()
    until = s.DateField(allow_null=True, help_text="Of withheld rows, put together: their last day. Else null.")
    amount = s.IntegerField()
    known = s.CharField()
    via = s.CharField()
    is_correction = s.BooleanField()


class MonthRowsOut(s.Serializer):  # type: ignore[type-arg]
    results = MonthRowOut(many=True)
    total = s.IntegerField(help_text="Of the whole month: the sum of all pages.")
    since = s.DateField(allow_null=True, help_text="Where the next page begins; null on the last.")


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
