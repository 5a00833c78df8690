"""The shapes of duties, plans, cover and stand-ins, for the description of the API. Checking is done by the records."""

from rest_framework import serializers as s

WORKS = ["turning", "trays", "browns", "opening"]
PHASES = ["planned", "open", "listed", "done", "over"]


class DutyKindIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField(help_text="The duty's own: a known one is changed.")
    work = s.ChoiceField(WORKS)
    rule = s.CharField(required=False, help_text="RFC 5545, days only, such as FREQ=WEEKLY;BYDAY=MO,TH.")
    days = s.ListField(child=s.CharField(), required=False, help_text="Instead of a rule: MO to SU.")
    starts_on = s.DateField(required=False)
    begins_at = s.TimeField(required=False, help_text="Local wall time; needed for an opening.")
    least = s.IntegerField(required=False, min_value=1, max_value=9)
    usual = s.IntegerField(required=False, min_value=1, max_value=9)
    minutes = s.IntegerField(required=False, min_value=1, max_value=480)
    is_heavy = s.BooleanField(required=False)
    is_on = s.BooleanField(required=False)


class DutyKindOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    work = s.ChoiceField(WORKS)
    rule = s.CharField()
    starts_on = s.DateField()
    begins_at = s.TimeField(allow_null=True)
    least = s.IntegerField()
    usual = s.IntegerField()
    minutes = s.IntegerField()
    is_heavy = s.BooleanField()
    is_on = s.BooleanField()


class SharersIn(s.Serializer):  # type: ignore[type-arg]
    households = s.ListField(child=s.UUIDField(), help_text="One at least.")


class SharersOut(s.Serializer):  # type: ignore[type-arg]
    household = s.UUIDField()
    shares = s.BooleanField()


class PlannedDutyOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    work = s.ChoiceField(WORKS)
    day = s.DateField()
    households = s.ListField(child=s.UUIDField())
    names = s.ListField(child=s.CharField(), help_text="First names.")


class LoadOut(s.Serializer):  # type: ignore[type-arg]
    household = s.UUIDField()
    name = s.CharField()
    minutes = s.IntegerField()
    due_seconds = s.IntegerField()
    ahead_before_seconds = s.IntegerField(help_text="Done minus due over all plans before this one.")
    ahead_after_seconds = s.IntegerField()


class LevelOut(s.Serializer):  # type: ignore[type-arg]
    goal = s.CharField()
    value = s.IntegerField()
    bound = s.IntegerField(help_text="The best that could not be ruled out; equal to value: proved.")
    method = s.CharField()


class ObstacleOut(s.Serializer):  # type: ignore[type-arg]
    duties = s.ListField(child=s.CharField())
    people = s.ListField(child=s.CharField())
    pins = s.ListField(child=s.CharField())
    ways = s.ListField(child=s.CharField())


class PlanOut(s.Serializer):  # type: ignore[type-arg]
    number = s.IntegerField()
    first = s.DateField()
    last = s.DateField()
    way = s.CharField()
    people_changed = s.IntegerField()
    levels = LevelOut(many=True)


class RotaOut(s.Serializer):  # type: ignore[type-arg]
    first = s.DateField(help_text="Of the days to plan next.")
    last = s.DateField()
    plans = PlanOut(many=True, help_text="Those that are up and not over.")
    drafts = s.ListField(child=s.UUIDField(), help_text="Plans that were asked for, newest first.")


class DaysToPlanIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    first = s.DateField()
    last = s.DateField(help_text="Three months after the first at most.")
    again = s.BooleanField(required=False, help_text="Beside the plan that exactly these days have.")


class FoundPlanOut(s.Serializer):  # type: ignore[type-arg]
    way = s.ChoiceField(["published", "fewest", "halfway", "fairest"], help_text="published: the only one.")
    people_changed = s.IntegerField(help_text="Households with other days than in the plan before.")
    proved = s.BooleanField(help_text="No other plan is fairer.")
    levels = LevelOut(many=True)
    duties = PlannedDutyOut(many=True)
    loads = LoadOut(many=True)


class DraftOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    first = s.DateField()
    last = s.DateField()
    again = s.BooleanField()
    asked_at = s.DateTimeField()
    state = s.ChoiceField(["asked", "running", "done", "failed"])
    is_current = s.BooleanField(
        allow_null=True, help_text="Once done: whether all that it rests on still stands. If not, ask anew."
    )
    plans = FoundPlanOut(many=True, help_text="One, or three where it was planned again; none if it can't be planned.")
    obstacle = ObstacleOut(allow_null=True, help_text="Why there is no plan; none without a proof of that.")


class PutUpIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    way = s.ChoiceField(["published", "fewest", "halfway", "fairest"], required=False, help_text="Which of three.")


class CellIn(s.Serializer):  # type: ignore[type-arg]
    kind = s.UUIDField()
    day = s.DateField()
    household = s.UUIDField()
    choice = s.ChoiceField(["pin", "forbid", "free"])


class DutyOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    work = s.ChoiceField(WORKS)
    day = s.DateField()
    begins_at = s.TimeField(allow_null=True)
    minutes = s.IntegerField()
    least = s.IntegerField()
    usual = s.IntegerField()
    phase = s.ChoiceField(PHASES)
    is_asked = s.BooleanField(required=False)
    others = s.IntegerField(required=False)


class WeekDutyOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    site = s.UUIDField()
    work = s.ChoiceField(WORKS)
    day = s.DateField()
    begins_at = s.TimeField(allow_null=True)
    least = s.IntegerField()
    phase = s.ChoiceField(PHASES)
    names = s.ListField(child=s.CharField())


class SharesOut(s.Serializer):  # type: ignore[type-arg]
    minutes = s.ListField(child=s.IntegerField())


class CoverIn(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    duty = s.UUIDField()


class OfferOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    duty = s.UUIDField()
    work = s.ChoiceField(WORKS)
    day = s.DateField()


class CoverOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    duty = s.UUIDField()
    work = s.ChoiceField(WORKS)
    day = s.DateField()
    begins_at = s.TimeField(allow_null=True)
    is_own = s.BooleanField()
    offers = OfferOut(many=True, help_text="Of one's own request only; whose they are is told after the yes.")
    closed_at = s.DateTimeField(allow_null=True)


class CoverAnswerIn(s.Serializer):  # type: ignore[type-arg]
    answer = s.ChoiceField(["take", "offer", "accept", "withdraw"])
    duty = s.UUIDField(required=False, help_text="For `offer`: one's own duty, given in exchange.")
    offer = s.UUIDField(required=False, help_text="For `accept`.")


class DutyLimitsShape(s.Serializer):  # type: ignore[type-arg]
    cannot_lift = s.BooleanField()
    carry_for_me = s.BooleanField()


class DaysOut(s.Serializer):  # type: ignore[type-arg]
    uid = s.UUIDField()
    person = s.UUIDField()
    first = s.DateField()
    last = s.DateField()


class StandInOut(s.Serializer):  # type: ignore[type-arg]
    leads = s.ListField(child=s.UUIDField())
    away = DaysOut(many=True)
    stand_ins = DaysOut(many=True)
    handover = s.DictField(child=s.CharField())
    alone_from = s.DateField(allow_null=True)
    pause_from = s.DateField(allow_null=True)
    pause_began_on = s.DateField(allow_null=True)


class StandInIn(s.Serializer):  # type: ignore[type-arg]
    what = s.ChoiceField(["leads", "away", "stand-in", "let-go", "handover"])
    uid = s.UUIDField(required=False)
    leads = s.ListField(child=s.UUIDField(), required=False)
    person = s.UUIDField(required=False)
    first = s.DateField(required=False)
    last = s.DateField(required=False)
    keys = s.CharField(required=False)
    gloves = s.CharField(required=False)
    cut_off = s.CharField(required=False)
