"""Shapes of set times, bookings, absences and reminders. Hours of a slot are wall time; what is ahead has instants."""

from rest_framework import serializers as s


class OccurrenceOut(s.Serializer):  # type: ignore[type-arg]
    slot = s.UUIDField()
    site = s.UUIDField()
    name = s.CharField()
    day = s.DateField()
    begins_at = s.DateTimeField()
    ends_at = s.DateTimeField()
    free = s.IntegerField(help_text="Households that may still book, a full pail each.")
    out = s.ChoiceField(["", "closure", "winter"], help_text="Why it does not take place.")
    words = s.CharField(help_text="Of the closed days.")
    is_off = s.BooleanField(help_text="No hatch is open.")


class HoursIn(s.Serializer):  # type: ignore[type-arg]
    name = s.CharField(required=False)
    begins_at = s.CharField(help_text="Wall time, such as 18:00.")
    minutes = s.IntegerField(required=False, min_value=5, max_value=720)
    households = s.IntegerField(
        required=False, help_text="For each drum; what the open hatch takes decides, if absent."
    )
    pails = s.IntegerField(required=False, help_text="For each drum; a pail a household, if absent.")
    rests_in_winter = s.BooleanField(required=False)


class SlotIn(HoursIn):
    uid = s.UUIDField()
    site = s.UUIDField()
    rule = s.CharField(required=False, help_text="RRULE of RFC 5545 without hours, or give weekdays.")
    weekdays = s.ListField(child=s.ChoiceField(["MO", "TU", "WE", "TH", "FR", "SA", "SU"]), required=False)
    every = s.IntegerField(required=False, help_text="Each so many weeks, with weekdays.")
    starts_on = s.DateField(required=False)


class SlotOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    name = s.CharField()
    rule = s.CharField()
    starts_on = s.DateField()
    begins_at = s.CharField()
    minutes = s.IntegerField()
    households = s.IntegerField(allow_null=True)
    pails = s.FloatField(allow_null=True)
    rests_in_winter = s.BooleanField()
    last_day = s.DateField(allow_null=True)


class BookingIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    slot = s.UUIDField()
    day = s.DateField()
    quarter_pails = s.IntegerField(required=False, min_value=1, max_value=16)


class BookingOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    slot = s.UUIDField()
    day = s.DateField()
    begins_at = s.DateTimeField()
    ends_at = s.DateTimeField()
    drum = s.IntegerField(help_text="The number of your drum.")
    quarter_pails = s.IntegerField()
    state = s.ChoiceField(["kept", "off", "cancelled"], help_text="off: nothing is open; your place is kept.")
    cause = s.ChoiceField(["", "household", "closure", "winter", "slot"])


class BookingOnBehalfIn(BookingIn):
    household = s.UUIDField(required=False)
    card = s.CharField(required=False, help_text="The number of the household's card, in place of its uid.")


class BookingOnBehalfOut(BookingOut):
    household = s.UUIDField()


class SpanIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    first_day = s.DateField()
    last_day = s.DateField(required=False, help_text="The first, if absent. Both count.")


class ClosureIn(SpanIn):
    site = s.UUIDField()
    words = s.CharField(help_text="What everybody reads.")
    each_year = s.BooleanField(required=False, help_text="They return each year; a 29 February where there is one.")


class ClosureOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    first_day = s.DateField()
    last_day = s.DateField()
    words = s.CharField()
    each_year = s.BooleanField()


class AbsenceOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    first_day = s.DateField()
    last_day = s.DateField()
    household = s.UUIDField(required=False, help_text="For whoever plans only.")


class WishOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Of the slot or of the kind of duty.")
    answer = s.ChoiceField(["prefer", "can", "cannot"])


class WishesIn(s.Serializer):  # type: ignore[type-arg]
    visits_in_four_weeks = s.IntegerField(required=False, min_value=1, max_value=28)
    wishes = WishOut(many=True, required=False)


class WishesOut(s.Serializer):  # type: ignore[type-arg]
    visits_in_four_weeks = s.IntegerField(allow_null=True)
    slots = WishOut(many=True)
    duties = WishOut(many=True)


class ContactIn(s.Serializer):  # type: ignore[type-arg]
    channel = s.ChoiceField(["mail", "sms", "none"])
    phone = s.CharField(required=False)


class ContactOut(s.Serializer):  # type: ignore[type-arg]
    channel = s.ChoiceField(["mail", "sms", "none"])
    phone = s.CharField()
    has_calendar = s.BooleanField()


class AddressOut(s.Serializer):  # type: ignore[type-arg]
    address = s.CharField(help_text="Shown this one time. An older one opens nothing from now on.")
