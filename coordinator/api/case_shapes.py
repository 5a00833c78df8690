"""The shapes of reports and cases, for the description of the API. Checking is done by the records of bins."""

from rest_framework import serializers as s


class ReportIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    kind = s.ChoiceField(["smell", "animal", "leak", "full", "broken", "other"])
    drum = s.UUIDField(required=False)
    words = s.CharField(required=False, max_length=500, help_text="Needed for `other`.")
    email = s.EmailField(required=False, help_text="For an answer; deleted when the case is closed.")


class StepOut(s.Serializer):  # type: ignore[type-arg]
    at = s.DateTimeField()
    what = s.ChoiceField(["looked", "done", "confirmed", "closed"])
    words = s.CharField()


class ReportOut(s.Serializer):  # type: ignore[type-arg]
    reference = s.CharField()
    kind = s.CharField()
    drum = s.UUIDField(allow_null=True)
    received_at = s.DateTimeField()
    answer_by = s.DateTimeField(help_text="By when the first action is promised.")
    closed_at = s.DateTimeField(allow_null=True)
    steps = StepOut(many=True)


class CaseOut(ReportOut):
    uid = s.UUIDField()
    look_by = s.DateTimeField(help_text="24 hours after it came.")
    times = s.IntegerField(help_text="How many reports it holds.")
    words = s.ListField(child=s.CharField())


class CaseStepIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    what = s.ChoiceField(["looked", "done", "confirmed", "closed"])
    words = s.CharField(required=False, max_length=300, help_text="The neighbour reads it. Needed but for `looked`.")
    drum = s.UUIDField(required=False, help_text="Where it was confirmed, if the report named no drum.")
