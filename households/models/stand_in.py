"""Who leads a site, when a lead is away, who stands in, and what a stand-in needs to know."""

from django.db import models

from .tenant import TenantModel


class Lead(TenantModel):
    """Two places a site, numbered: a third lead can't be."""

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="leads")
    number = models.PositiveSmallIntegerField()
    person = models.ForeignKey("households.Person", on_delete=models.CASCADE, related_name="+")

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(fields=["site", "number"], name="lead_place_once"),
            models.UniqueConstraint(fields=["site", "person"], name="lead_person_once"),
            models.CheckConstraint(condition=models.Q(number__in=[1, 2]), name="lead_one_or_two"),
        ]

    def __str__(self) -> str:
        return f"lead {self.number} of {self.site_id}"


class LeadAway(TenantModel):
    """Days on which a lead is not there. No reason is asked."""

    lead = models.ForeignKey(Lead, on_delete=models.CASCADE, related_name="away")
    first_on = models.DateField()
    last_on = models.DateField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(condition=models.Q(last_on__gte=models.F("first_on")), name="lead_away_has_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.lead_id} away from {self.first_on}"


class StandIn(TenantModel):
    """Somebody looks after the site from a first day to a last; both count."""

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="stand_ins")
    person = models.ForeignKey("households.Person", on_delete=models.CASCADE, related_name="+")
    first_on = models.DateField()
    last_on = models.DateField()

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.CheckConstraint(condition=models.Q(last_on__gte=models.F("first_on")), name="stand_in_has_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.person_id} from {self.first_on}"


class Handover(TenantModel):
    """What a stand-in needs to know, as neighbours would say it."""

    site = models.OneToOneField("households.Site", on_delete=models.PROTECT, related_name="handover")
    keys = models.CharField(max_length=300, blank=True)
    gloves = models.CharField(max_length=300, blank=True)
    cut_off = models.CharField(max_length=300, blank=True)  # how to stop water or power, and whom to phone

    def __str__(self) -> str:
        return f"handover of {self.site_id}"


class IntakePause(TenantModel):
    """Nobody is there to look after the site: told to residents, then in force from a day until somebody is."""

    site = models.ForeignKey("households.Site", on_delete=models.PROTECT, related_name="intake_pauses")
    told_on = models.DateField()
    first_on = models.DateField()
    began_on = models.DateField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)  # in force no longer, or called off before it began

    class Meta(TenantModel.Meta):
        constraints = [
            *TenantModel.Meta.constraints,
            models.UniqueConstraint(
                fields=["site"], condition=models.Q(ended_on__isnull=True), name="intake_pause_one_at_a_time"
            ),
            models.CheckConstraint(
                condition=models.Q(first_on__gt=models.F("told_on")), name="intake_pause_told_before_it_begins"
            ),
        ]

    def __str__(self) -> str:
        return f"pause of {self.site_id} from {self.first_on}"
