"""The shapes of the cash list in the API. Amounts are whole numbers of the currency's smallest coin."""

from rest_framework import serializers as s

PURPOSES = ["browns", "repair", "equipment", "deposit", "messages", "gift", "fee", "other"]


class MoneyIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")
    day = s.DateField(required=False, help_text="Today, if absent.")
    way = s.ChoiceField(["in", "out"])
    amount = s.DecimalField(12, 3, help_text="In the currency itself, such as 12.40.")
    purpose = s.ChoiceField(PURPOSES)
    purse = s.ChoiceField(["box", "own"], required=False, help_text="own: somebody's own purse, so it is owed.")
    owed_to = s.UUIDField(required=False, help_text="A person; the caller, if absent.")
    words = s.CharField(max_length=120, required=False)


class MoneyWithPhotosIn(MoneyIn):
    photos = s.ListField(
        child=s.FileField(), max_length=3, required=False, help_text="JPEG, PNG or WebP, 15 MB each at most."
    )


class BackIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(required=False, help_text="Needed with an amount.")
    amount = s.DecimalField(12, 3, required=False, help_text="In the currency itself; all that is owed, if absent.")


class MoneyOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    day = s.DateField()
    way = s.CharField(help_text="in, out or back: paid back to whoever had paid; no cost of its own.")
    coins = s.IntegerField(help_text="Below 0 only in a row that takes another back.")
    currency = s.CharField(help_text="ISO 4217.")
    purpose = s.ChoiceField(PURPOSES)
    purse = s.CharField()
    words = s.CharField()
    wants_approval = s.BooleanField()
    is_approved = s.BooleanField()
    reverses = s.UUIDField(allow_null=True)
    settles = s.UUIDField(allow_null=True)
    owed_coins = s.IntegerField(help_text="Of what somebody paid from their own purse, what is not paid back yet.")
    photos = s.ListField(child=s.UUIDField(), help_text="Of the receipt; each at receipts/<uid>/.")
    owed_to = s.UUIDField(allow_null=True, required=False, help_text="While it is owed, for whoever pays it back.")
    via = s.CharField()
    doubt = s.CharField()


class PurposeOut(s.Serializer):  # type: ignore[type-arg]
    purpose = s.CharField()
    came_in = s.IntegerField()
    went_out = s.IntegerField()


class MoneyMonthOut(s.Serializer):  # type: ignore[type-arg]
    month = s.DateField()
    currency = s.CharField()
    opening = s.IntegerField()
    came_in = s.IntegerField()
    went_out = s.IntegerField()
    closing = s.IntegerField(help_text="opening + came_in - went_out, always.")
    owed = s.IntegerField()
    deposits = s.IntegerField(help_text="Held apart: in none of the four above.")
    in_the_box = s.IntegerField(help_text="closing + owed + deposits.")
    by_purpose = PurposeOut(many=True)
    cost_per_household = s.IntegerField(allow_null=True, help_text="went_out by households with a drop-off.")
    cost_per_100_kg = s.IntegerField(allow_null=True, help_text="went_out by kitchen scraps brought.")
    unseen = s.IntegerField(help_text="Rows that wait for a second person's look.")
    approval_above = s.IntegerField(allow_null=True)


class MoneyLimitIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    above = s.DecimalField(12, 3, required=False, help_text="No limit, if absent.")
    why = s.CharField(max_length=300)


class MoneyLimitOut(s.Serializer):  # type: ignore[type-arg]
    approval_above = s.IntegerField(allow_null=True)


class LookOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    money = s.UUIDField()
