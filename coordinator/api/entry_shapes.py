"""The shapes of entries for somebody else, corrections and moving out, for the description of the API."""

from rest_framework import serializers as s

from .shapes import DropOffIn


class OnBehalfLineIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    household = s.UUIDField(required=False, help_text="Or the number of its card.")
    card = s.CharField(required=False)
    day = s.DateField()
    drum = s.UUIDField(required=False, help_text="The household's own, if absent.")
    quarter_pails = s.IntegerField(required=False, min_value=1, max_value=40)
    kilograms = s.FloatField(required=False)
    browns_cups = s.FloatField(required=False, min_value=0, max_value=40)


class OnBehalfIn(s.Serializer):  # type: ignore[type-arg]
    via = s.ChoiceField(["proxy", "sheet"], required=False)
    lines = OnBehalfLineIn(many=True)


class CorrectionIn(DropOffIn):
    drum = s.UUIDField(required=False, help_text="As before, if absent.")
    happened_at = s.DateTimeField(required=False, help_text="As before, if absent.")


class LeaveIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    last_day = s.DateField()
    share = s.ChoiceField(
        ["pick_up", "garden"], required=False, help_text="Needed while something waits for the household."
    )
    sure = s.BooleanField(help_text="Must be true: names cannot be brought back.")


class LeaveOut(s.Serializer):  # type: ignore[type-arg]
    household = s.UUIDField()
    last_day = s.DateField()
    share = s.CharField()
    is_forgotten = s.BooleanField(help_text="Whether the names are deleted already.")


class ImportIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    kind = s.ChoiceField(["households", "contributions", "visits"])
    text = s.CharField(help_text="Headings in the first line, comma or semicolon between cells, 2 MB at most.")


class RefusedCell(s.Serializer):  # type: ignore[type-arg]
    line = s.IntegerField()
    field = s.CharField()
    reason = s.CharField()


class ImportOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    kind = s.CharField()
    state = s.CharField(help_text="waiting: a dry run; done: in the books.")
    rows_in = s.IntegerField(help_text="Rows that would go in, or went in.")
    known_before = s.IntegerField(help_text="Rows that an earlier sheet has brought.")
    unknown_columns = s.ListField(child=s.CharField())
    refused = RefusedCell(many=True)
