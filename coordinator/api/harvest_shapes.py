"""The shapes of harvests, splits, shares and of what left them. Amounts are millionths of a tub and whole tubs."""

from rest_framework import serializers as s


class HarvestIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    corrects = s.UUIDField(required=False, help_text="The measurement that this one takes the place of.")
    happened_at = s.DateTimeField(required=False)
    whole_tubs = s.IntegerField(min_value=0, max_value=1000, help_text="Struck level, all in one tub.")
    part = s.FloatField(required=False, help_text="Of the last tub, in tenths or quarters: 0.3, 0.25.")
    tub_litres = s.FloatField(required=False, help_text="1 to 60; the site's tub, if absent.")
    kilograms = s.FloatField(required=False, help_text="Weighed; up to 5000.")
    overs_litres = s.FloatField(required=False, help_text="Left in the sieve; up to 2000.")
    is_empty = s.BooleanField(help_text="Said by a person who looked.")


class HarvestOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    happened_at = s.DateTimeField()
    was_ready = s.BooleanField()
    whole_tubs = s.IntegerField()
    part_millionths = s.IntegerField()
    tub_ml = s.IntegerField()
    weighed_g = s.IntegerField(allow_null=True)
    overs_ml = s.IntegerField()
    harvested_millionths = s.IntegerField(help_text="Millionths of a tub; the next five add up to it.")
    given_millionths = s.IntegerField()
    reserve_millionths = s.IntegerField()
    unclaimed_millionths = s.IntegerField()
    lost_millionths = s.IntegerField()
    waiting_millionths = s.IntegerField()
    via = s.CharField()
    doubt = s.CharField()


class SplitIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    mark = s.CharField(help_text="Of the preview that was looked at.")
    pick_up_on = s.DateField(help_text="The first day for fetching; today or later.")
    pick_up_where = s.CharField(max_length=120)


class GroupOut(s.Serializer):  # type: ignore[type-arg]
    households = s.IntegerField()
    tubs = s.IntegerField()


class SplitOut(s.Serializer):  # type: ignore[type-arg]
    harvest = s.UUIDField()
    is_final = s.BooleanField()
    mark = s.CharField(allow_null=True)
    given_tubs = s.IntegerField()
    beds_millionths = s.IntegerField()
    given_up_tubs = s.IntegerField(help_text="Of the beds' part: shares that households leave to them.")
    households = s.IntegerField()
    groups = GroupOut(many=True)
    withheld_groups = s.IntegerField()
    tied = s.IntegerField(help_text="Households alike at the last tub; 0 where there was no tie.")
    served = s.IntegerField(help_text="Of these, how many got one: the larger entitlement, then the smaller uid.")
    pick_up_on = s.DateField(allow_null=True)
    pick_up_until = s.DateField(allow_null=True)
    pick_up_where = s.CharField(allow_null=True)
    would_move_tubs = s.IntegerField(help_text="Tubs that would go elsewhere with what was written down since.")


class ShareOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    harvest = s.UUIDField()
    shared_at = s.DateTimeField()
    due_millionths = s.IntegerField()
    credit_before_millionths = s.IntegerField()
    tubs = s.IntegerField()
    credit_after_millionths = s.IntegerField()
    tub_ml = s.IntegerField()
    to_garden = s.BooleanField()
    given_millionths = s.IntegerField()
    pick_up_on = s.DateField()
    pick_up_until = s.DateField()
    pick_up_where = s.CharField()


class GardenIn(s.Serializer):  # type: ignore[type-arg]
    gives = s.BooleanField()


class GardenOut(s.Serializer):  # type: ignore[type-arg]
    gives = s.BooleanField()


class HandOutOut(s.Serializer):  # type: ignore[type-arg]
    share = s.UUIDField()
    household = s.CharField()
    tubs = s.IntegerField()
    given_millionths = s.IntegerField()
    unclaimed_millionths = s.IntegerField()


class PickUpIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    share = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    tubs = s.FloatField(required=False, help_text="All that is left of the share and there, if absent.")


class LossIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    loss = s.ChoiceField(["taken", "spoilt", "spilt", "settled"])
    tubs = s.FloatField(help_text="Above 0, no more than waits.")
    witness = s.CharField(required=False, max_length=80)


class OutgoingOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    happened_at = s.DateTimeField()
    harvest = s.UUIDField()
    share = s.UUIDField(allow_null=True)
    kind = s.CharField()
    loss = s.CharField()
    millionths = s.IntegerField(help_text="Of a tub; negative where it takes another row back.")
    reverses = s.UUIDField(allow_null=True)
    via = s.CharField()
    doubt = s.CharField()
