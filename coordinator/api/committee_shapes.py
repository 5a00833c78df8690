"""The shapes of the committee's decisions in the API."""

from rest_framework import serializers as s


class CommitteeDecisionIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="Made once by the sender; the same uid with the same values is answered alike.")
    about = s.ChoiceField(
        ["sharing", "reserve", "opening", "decides", "stage", "limits", "money_limit", "other"], required=False
    )
    site = s.UUIDField(required=False)
    decided_on = s.DateField(required=False, help_text="Today, if absent.")
    words = s.CharField(max_length=300)
    why = s.CharField(max_length=300)
    people = s.ListField(child=s.UUIDField(), required=False, help_text="Of the committee; the caller, if absent.")


class CommitteeDecisionOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    about = s.CharField()
    site = s.UUIDField(allow_null=True)
    decided_on = s.DateField()
    words = s.CharField()
    why = s.CharField()
    figures = s.DictField(help_text="What changed: name -> value from then on.")
    people = s.ListField(child=s.UUIDField(), required=False)
    via = s.CharField()


class WaysIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    opening = s.ChoiceField(["open", "slots"])
    decides = s.ChoiceField(["caretaker", "committee"])
    why = s.CharField(max_length=300)


class WaysOut(s.Serializer):  # type: ignore[type-arg]
    site = s.UUIDField()
    opening = s.CharField()
    decides = s.CharField()


class CommitteeAnswerIn(s.Serializer):  # type: ignore[type-arg]
    answer = s.ChoiceField(
        ["yes", "no", "take_out", "back"], help_text="The last two only for fresh scraps in a finished lot."
    )
    why = s.CharField(max_length=300, required=False)
