"""The questions of the set-up that come once the building stands: their fields, and what is in force now."""

from collections.abc import Mapping

from django.utils.translation import gettext as _

from bins.founding.capacity import SiteCapacity
from bins.founding.permitting import GIVEN, NOT_YET
from households.cards import MOST_HOUSEHOLDS
from households.models import Permission, Site

from .questions import TITLES, Field, Group

Values = dict[str, str]


def later_groups(step: str) -> tuple[Group, ...]:
    """The fields of a question; none for one that is answered by looking."""
    match step:
        case "browns":
            return _browns()
        case "permissions":
            return _permissions()
        case "sharing":
            return _sharing()
        case "accepted":
            return ()
    return (Group("", (_plain(step),)),)


def later_values(step: str, site: Site, permissions: Mapping[str, Permission], capacity: SiteCapacity | None) -> Values:
    """What is in force, as the fields show it."""
    match step:
        case "browns":
            return {"browns": site.browns, "without_browns": site.without_browns}
        case "permissions":
            return _yeses(site, permissions)
        case "access":
            return {"access": site.access or _("Open to everybody who lives here.")}
        case "sharing":
            return {"sharing_kind": site.sharing_kind, "reserve_percent": str(site.reserve_percent)}
        case "households":
            careful = capacity.carried.careful if capacity else 1
            return {"households": str(site.households_expected or max(careful, 1))}
    return {step: getattr(site, step, "")}


def _browns() -> tuple[Group, ...]:
    return (
        Group(
            "",
            (
                Field(
                    "browns", TITLES["browns"], "tiles", choices=tuple(Site.Browns.choices),
                    hint=_("Dry plant bits. From the kind we work out the cups for each pail."),
                ),
                Field(
                    "without_browns", _("What shall people do when there are none?"), "tiles",
                    choices=tuple(Site.WithoutBrowns.choices),
                ),
            ),
        ),
    )  # fmt: skip


def _permissions() -> tuple[Group, ...]:
    yes = ((GIVEN, _("yes")), (NOT_YET, _("not yet")))
    raised = (("no", _("on the ground or in a cellar")), ("yes", _("on a balcony or a roof")))
    groups = [Group(_("The floor"), (Field("raised", _("What do the drums stand on?"), "tiles", choices=raised),))]
    for of, label in Permission.Of.choices:
        groups.append(
            Group(
                label,
                (
                    Field(f"answer-{of}", _("Is there a yes?"), "tiles", choices=yes),
                    Field(f"on-{of}", _("On which day?"), "day", further=True),
                    Field(f"by-{of}", _("From whom, or where is the letter?"), most=120, further=True),
                ),
                _("The day and the letter"),
            )
        )
    return tuple(groups)


def _yeses(site: Site, permissions: Mapping[str, Permission]) -> Values:
    values = {"raised": "yes" if site.is_raised else "no"}
    for of in Permission.Of.values:
        found = permissions.get(of)
        values[f"answer-{of}"] = GIVEN if found and found.given_on else NOT_YET
        values[f"on-{of}"] = found.given_on.isoformat() if found and found.given_on else ""
        values[f"by-{of}"] = found.given_by if found else ""
    return values


def _sharing() -> tuple[Group, ...]:
    return (
        Group(
            "",
            (
                Field(
                    "sharing_kind", TITLES["sharing"], "tiles",
                    choices=tuple((one.value, one.label) for one in Site.USUAL),
                ),
                Field(
                    "reserve_percent", _("How much goes to the beds first, in percent?"), "number",
                    hint=_("One tub in five is usual: 20."),
                ),
            ),
        ),
    )  # fmt: skip


def _plain(step: str) -> Field:
    match step:
        case "access":
            hint = _("Keys, gates, hours. Such as: the key hangs at the super's door. It stands on the week's list.")
            return Field("access", TITLES[step], hint=hint, most=300)
        case "opening":
            hint = _("At any time is the easiest. Set times suit a place that is locked.")
            return Field("opening", TITLES[step], "tiles", hint, tuple(Site.Opening.choices))
        case "decides":
            hint = _("The service proposes; a person says yes. Moving the tag is always done by whoever stands there.")
            return Field("decides", TITLES[step], "tiles", hint, tuple(Site.Decides.choices))
    hint = _("A third to a half of a house is usual. At most %(most)s.") % {"most": MOST_HOUSEHOLDS}
    return Field("households", TITLES[step], "number", hint)
