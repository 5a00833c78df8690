"""The shapes of care: batches with their history, and what can be done to batch, hatch, drum and test."""

from rest_framework import serializers as s


class BatchOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    drum = s.UUIDField()
    place = s.UUIDField(allow_null=True, help_text="Null once it has ended.")
    stage = s.CharField()
    opened_at = s.DateTimeField()
    closed_at = s.DateTimeField(allow_null=True)
    ended_at = s.DateTimeField(allow_null=True)
    merged_into = s.UUIDField(allow_null=True)


class EventOut(s.Serializer):  # type: ignore[type-arg]
    at = s.DateTimeField()
    kind = s.CharField()
    what = s.CharField(help_text="In the reader's language.")
    reason = s.CharField()
    who = s.CharField()


class TestOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    kind = s.CharField()
    begun_at = s.DateTimeField()
    is_read = s.BooleanField()
    passed = s.BooleanField(allow_null=True, help_text="Worked out from the raw result; null while nobody read it.")


class OneBatchOut(BatchOut):
    overs_ml = s.IntegerField(help_text="Bits from the sieve that were put in; they are no scraps.")
    history = EventOut(many=True)
    tests = TestOut(many=True)


class DoneOut(s.Serializer):  # type: ignore[type-arg]
    act = s.CharField()
    uid = s.UUIDField()
    subject = s.UUIDField()


class UidIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")


class ReasonIn(UidIn):
    reason = s.CharField(max_length=300)


class MoveIn(UidIn):
    to = s.CharField(help_text="A place's uid, or `new` for a curing bin that is not in the books yet.")
    litres = s.IntegerField(required=False, min_value=10, max_value=5000, help_text="Of a new bin.")


class MergeIn(UidIn):
    into = s.UUIDField()


class DiscardIn(ReasonIn):
    litres = s.IntegerField(min_value=0, max_value=5000)
    destination = s.CharField(max_length=200)


class TestIn(UidIn):
    kind = s.ChoiceField(["bag", "seeds", "flask"])
    happened_at = s.DateTimeField(required=False)


class LookedIn(UidIn):
    looked = s.BooleanField(help_text="Must be true: somebody looked inside.")


class GoesIn(s.Serializer):  # type: ignore[type-arg]
    batch = s.UUIDField()
    to = s.CharField(help_text="A place's uid, or `stays`.")


class StateIn(UidIn):
    state = s.ChoiceField(["in_service", "paused", "out_of_service"])
    reason = s.CharField(required=False, max_length=300)
    contents = GoesIn(many=True, required=False, help_text="Out of service: each lot in the drum.")
    households = s.CharField(
        required=False, help_text="Out of service: another drum's uid, or `none`. Back in service: `again`, or absent."
    )


class TurnsIn(UidIn):
    turns = s.ChoiceField(["together", "apart"])


class MakeIn(UidIn):
    insulation = s.ChoiceField(["bare", "double", "foam"], help_text="A plain wall, a double or wrapped one, foam.")
    vents = s.ChoiceField(["few", "usual", "many"], help_text="A few holes, the usual grilles, mesh all along.")
    since = s.ChoiceField(["always", "now"], help_text="`always`: the past is reckoned anew; `now`: it is left alone.")


class ResultIn(UidIn):
    kind = s.ChoiceField(["bag", "seeds", "flask"])
    happened_at = s.DateTimeField(required=False)
    bad_smell = s.BooleanField(required=False, help_text="bag")
    sown = s.IntegerField(required=False, min_value=4, max_value=100, help_text="seeds")
    sprouted = s.IntegerField(required=False, min_value=0, max_value=100, help_text="seeds")
    soil_sown = s.IntegerField(required=False, min_value=1, max_value=100, help_text="seeds, in plain potting soil")
    soil_sprouted = s.IntegerField(required=False, min_value=1, max_value=100, help_text="seeds, in plain soil")
    root_mm = s.IntegerField(required=False, min_value=1, max_value=300, help_text="seeds: mean root in the compost")
    soil_root_mm = s.IntegerField(required=False, min_value=1, max_value=300, help_text="seeds: mean root in the soil")
    highest = s.FloatField(required=False, help_text="flask, in degrees")
    room = s.FloatField(required=False, help_text="flask, in degrees")
    temperature_unit = s.ChoiceField(["c", "f"], required=False)


class SiteRulesShape(s.Serializer):  # type: ignore[type-arg]
    close_mark_percent = s.IntegerField(required=False, min_value=50, max_value=100)
    longest_fill_days = s.IntegerField(required=False, min_value=14, max_value=365)
    composting_days = s.IntegerField(required=False, min_value=14, max_value=365)
    curing_days = s.IntegerField(required=False, min_value=7, max_value=365)
    turn_open_days = s.IntegerField(required=False, min_value=1, max_value=30)
    turn_resting_days = s.IntegerField(required=False, min_value=1, max_value=60)
    winter_first = s.CharField(required=False, allow_blank=True, help_text="MM-DD; both empty: the mean of the air.")
    spring_first = s.CharField(required=False, allow_blank=True)
    air_c = s.ListField(
        child=s.FloatField(),
        min_length=12,
        max_length=12,
        required=False,
        allow_null=True,
        help_text="Monthly means beside the drums, January first; null: a temperate yard, or a heated cellar.",
    )
