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
    kilograms = s.FloatField(required=False, help_text="Weighed, net; up to 5000.")
    gross_kilograms = s.FloatField(required=False, help_text="With the tub each time; needs tub_empty_kg.")
    tub_empty_kg = s.FloatField(required=False)
    tub_water_kg = s.FloatField(required=False, help_text="Full of water: says what the tub holds.")
    tub_full_kg = s.FloatField(required=False, help_text="One tub full of compost: says what the rest weighs.")
    overs_litres = s.FloatField(required=False, help_text="Left in the sieve; up to 2000.")
    is_empty = s.BooleanField(help_text="Said by a person who looked; a part has an address of its own.")
    all_measured = s.BooleanField(required=False, help_text="Everything stands in parts; nothing is left to count.")


class PartIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    happened_at = s.DateTimeField(required=False)
    whole_tubs = s.IntegerField(min_value=0, max_value=1000, help_text="Struck level, all in one tub.")
    part = s.FloatField(required=False, help_text="Of the last tub, in tenths or quarters: 0.3, 0.25.")
    tub_litres = s.FloatField(required=False, help_text="1 to 60; that of the lot's last part, if absent.")
    kilograms = s.FloatField(required=False, help_text="Weighed, net; up to 5000.")
    gross_kilograms = s.FloatField(required=False, help_text="With the tub each time; needs tub_empty_kg.")
    tub_empty_kg = s.FloatField(required=False)
    tub_water_kg = s.FloatField(required=False, help_text="Full of water: says what the tub holds.")
    tub_full_kg = s.FloatField(required=False, help_text="One tub full of compost: says what the rest weighs.")
    overs_litres = s.FloatField(required=False, help_text="Left in the sieve; up to 2000.")


class PartOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    happened_at = s.DateTimeField()
    whole_tubs = s.IntegerField(help_text="Negative where it takes another row back.")
    part_millionths = s.IntegerField()
    tub_ml = s.IntegerField()
    weighed_g = s.IntegerField(allow_null=True)
    tub_empty_g = s.IntegerField(allow_null=True)
    tub_water_g = s.IntegerField(allow_null=True)
    tub_full_g = s.IntegerField(allow_null=True)
    overs_ml = s.IntegerField()
    via = s.CharField()
    doubt = s.CharField()


class HarvestOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    happened_at = s.DateTimeField()
    was_ready = s.BooleanField()
    whole_tubs = s.IntegerField()
    part_millionths = s.IntegerField()
    tub_ml = s.IntegerField()
    weighed_g = s.IntegerField(allow_null=True)
    tub_empty_g = s.IntegerField(allow_null=True)
    tub_water_g = s.IntegerField(allow_null=True)
    tub_full_g = s.IntegerField(allow_null=True)
    overs_ml = s.IntegerField()
    harvested_millionths = s.IntegerField(help_text="Of its tub, with its parts; the six below add up to it.")
    harvested_ml = s.IntegerField(help_text="With its parts.")
    harvested_g = s.IntegerField(allow_null=True, help_text="With its parts; null where one wasn't weighed.")
    parts = s.IntegerField(help_text="Measured by themselves, besides this row.")
    given_millionths = s.IntegerField()
    reserve_millionths = s.IntegerField()
    gift_millionths = s.IntegerField()
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
    to_neighbours = s.BooleanField()
    given_millionths = s.IntegerField()
    gift_millionths = s.IntegerField()
    pick_up_on = s.DateField()
    pick_up_until = s.DateField()
    pick_up_where = s.CharField()


class ShareWishIn(s.Serializer):  # type: ignore[type-arg]
    wish = s.ChoiceField(["keep", "garden", "neighbours"])


class ShareWishOut(s.Serializer):  # type: ignore[type-arg]
    wish = s.CharField()


class GiftIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    share = s.UUIDField()
    to = s.ChoiceField(["garden", "neighbours"])
    tubs = s.FloatField(required=False, help_text="All that is left of the share, if absent.")


class ShareRequestIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    tubs = s.IntegerField(min_value=0, max_value=100, help_text="Whole tubs; 0 for none.")


class ShareRequestOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    batch = s.UUIDField()
    tubs = s.IntegerField()
    via = s.CharField()
    doubt = s.CharField()


class AskableOut(s.Serializer):  # type: ignore[type-arg]
    batch = s.UUIDField()
    tubs = s.IntegerField(allow_null=True, help_text="Your household's newest word; null before the first.")


class TermsIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Of the committee's decision.")
    decided_on = s.DateField(required=False, help_text="Today, if absent.")
    why = s.CharField(max_length=300)
    sharing_kind = s.ChoiceField(["equal", "contribution", "care", "request"])
    reserve_percent = s.IntegerField(min_value=0, max_value=100)
    ceiling_percent = s.IntegerField(required=False, allow_null=True, help_text="Of an equal share; null: no limit.")
    least_drop_offs = s.IntegerField(min_value=1, max_value=50)
    tub_litres = s.FloatField()
    unclaimed_after_days = s.IntegerField(min_value=1, max_value=60)
    least_tubs = s.IntegerField(required=False, min_value=0, max_value=50)
    most_tubs = s.IntegerField(required=False, allow_null=True, help_text="For a household at once; null: no limit.")
    minutes_a_visit = s.IntegerField(required=False, min_value=1, max_value=240)
    requests_by_weight = s.BooleanField(required=False)


class TermsOut(s.Serializer):  # type: ignore[type-arg]
    site = s.UUIDField()
    sharing_kind = s.CharField()
    reserve_percent = s.IntegerField()
    ceiling_percent = s.IntegerField(allow_null=True)
    least_drop_offs = s.IntegerField()
    tub_ml = s.IntegerField()
    unclaimed_after_days = s.IntegerField()
    least_tubs = s.IntegerField()
    most_tubs = s.IntegerField(allow_null=True)
    minutes_a_visit = s.IntegerField()
    requests_by_weight = s.BooleanField()


class HandOutOut(s.Serializer):  # type: ignore[type-arg]
    harvest = s.UUIDField()
    share = s.UUIDField()
    household = s.CharField()
    tubs = s.IntegerField()
    given_millionths = s.IntegerField()
    gift_millionths = s.IntegerField()
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
    gift_to = s.CharField()
    millionths = s.IntegerField(help_text="Of a tub; negative where it takes another row back.")
    reverses = s.UUIDField(allow_null=True)
    via = s.CharField()
    doubt = s.CharField()
