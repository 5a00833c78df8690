"""The questions of the set-up as a page shows them: words, choices, and what stands in each field at first."""

import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from bins.care.visit import LEVELS
from bins.founding.block import CLOSED, EMPTY, FILLING, LETTERS, QUESTIONS, UNKNOWN, Yard
from bins.models import Drum, Place
from bins.units import ML_PER_FL_OZ, ML_PER_GALLON, US
from households.models import Building, Site

from .pages.amounts import rounded
from .region import Region
from .words import LEVELS as LEVEL_WORDS

Answers = Mapping[str, Mapping[str, Any]]
Choices = tuple[tuple[str, Any], ...]
WORDY = 20  # letters: a choice with more wants a wide tile

TITLES: Final[dict[str, Any]] = {
    "block": gettext_lazy("What is the block called, and how do you measure?"),
    "people": gettext_lazy("Which two people are in charge of the drums?"),
    "drums": gettext_lazy("Which drums do you have?"),
    "contents": gettext_lazy("What is in each half now?"),
    "pail": gettext_lazy("How big are your pail and your cup?"),
    "full": gettext_lazy("Where shall scraps go while nothing is open?"),
    "accepted": gettext_lazy("What goes in, and what stays out?"),
    "browns": gettext_lazy("Which browns do you have?"),
    "permissions": gettext_lazy("Have the owner and the insurer said yes?"),
    "access": gettext_lazy("How do people get to the drums?"),
    "opening": gettext_lazy("When may people bring scraps?"),
    "decides": gettext_lazy("Who says when a lot may go on?"),
    "sharing": gettext_lazy("How is the compost shared out?"),
    "households": gettext_lazy("How many households will take part?"),
}


@dataclass(frozen=True)
class Field:
    """One field. `kind`: words, number, email, day, tiles, list, near (a list that begins with likely ones), hidden."""

    name: str
    label: Any
    kind: str = "words"
    hint: Any = ""
    choices: Choices = ()
    near: tuple[str, ...] = ()
    most: int = 0
    is_data: bool = False  # its choices are names, the same in each language
    further: bool = False  # folded away until somebody needs it
    autocomplete: str = "off"
    value: str = ""
    error: str = ""

    @property
    def is_wordy(self) -> bool:
        return any(len(str(label)) > WORDY for _value, label in self.choices)

    @property
    def as_input(self) -> str:
        return {"email": "email", "day": "date", "hidden": "hidden"}.get(self.kind, "text")


@dataclass(frozen=True)
class Group:
    """Fields under one heading."""

    heading: Any
    fields: tuple[Field, ...]
    more: Any = ""  # what unfolds the further ones

    @property
    def first(self) -> tuple[Field, ...]:
        return tuple(field for field in self.fields if not field.further)

    @property
    def further(self) -> tuple[Field, ...]:
        return tuple(field for field in self.fields if field.further)

    @property
    def is_unfolded(self) -> bool:
        return any(field.error or field.value for field in self.further)


def filled(groups: tuple[Group, ...], values: Mapping[str, Any], errors: Mapping[str, str]) -> list[Group]:
    """The groups with what stands in each field, and what is wrong with it."""
    return [
        Group(
            group.heading,
            tuple(
                Field(**vars(field) | {"value": str(values.get(field.name, "")), "error": errors.get(field.name, "")})
                for field in group.fields
            ),
            group.more,
        )
        for group in groups
    ]


def languages() -> Choices:
    return tuple(settings.LANGUAGES)


def first_groups(step: str, answers: Answers, region: Region) -> tuple[Group, ...]:
    """The fields of one of the six questions before the first pail."""
    is_us = answers.get("block", {}).get("units") == Building.Units.US
    match step:
        case "block":
            return _block(region)
        case "people":
            return _people()
        case "drums":
            return _drums(is_us)
        case "contents":
            return _contents(answers)
        case "pail":
            return _pail(is_us)
    return (Group("", (_fallback(),)),)


def first_values(step: str, answers: Answers, region: Region, language: str, name: str) -> dict[str, str]:
    """What stands in the fields of a question that nobody has answered. `name`: of whoever asks, as a guess."""
    is_us = answers.get("block", {}).get("units") == Building.Units.US
    match step:
        case "block":
            return {"name": _("Our block"), "time_zone": region.zone, "units": region.units, "language": language}
        case "people":
            return {"person": name}
        case "drums":
            return {
                "site": _("Courtyard"), "air": Site.Air.OUTDOORS, "drums": "1", "split": Drum.Split.ACROSS,
                "turns": Drum.Turns.TOGETHER,
                "chamber": _amount(100, is_us), "first_shape": Place.Shape.CIRCLE, **_unit(is_us),
            }  # fmt: skip
        case "contents":
            return {f"found-{key}": EMPTY for key in _keys(answers)}
        case "pail":
            cup = rounded(1000 / ML_PER_FL_OZ, 1) if is_us else "1000"
            return {"pail": _amount(8, is_us), "cup_ml": cup, **_unit(is_us)}
    return {"fallback": _("the bin for food scraps")}


def _unit(is_us: bool) -> dict[str, str]:
    return {"units": US if is_us else ""}


def _amount(litres: int, is_us: bool) -> str:
    return rounded(1000 * litres / ML_PER_GALLON, 1) if is_us else str(litres)


def _block(region: Region) -> tuple[Group, ...]:
    zones = tuple((zone, zone) for zone in sorted(zoneinfo.available_timezones()))
    return (
        Group(
            _("The block"),
            (
                Field("name", _("What is the block called?"), hint=_("Such as a street and a number."), most=120),
                Field(
                    "time_zone", _("Which clock does it go by?"), "near", choices=zones, near=region.zones,
                    is_data=True,
                    hint=_("Choose the big town with the same time. Each night at 3 by this clock, the drums are "
                           "looked over."),
                ),
                Field("units", _("How do you measure?"), "tiles", choices=tuple(Building.Units.choices)),
            ),
        ),
        Group(
            _("Languages"),
            (
                Field("language", _("First language of signs and sheets"), "list", choices=languages(), is_data=True),
                Field(
                    "second_language", _("Second language beside it"), "list", is_data=True,
                    choices=(("", _("none")), *languages()),
                    hint=_("Each person reads the pages in their own, anyway."),
                ),
            ),
        ),
    )  # fmt: skip


def _people() -> tuple[Group, ...]:
    flat = _("Then you can bring scraps too. Leave it empty if you live elsewhere.")
    return (
        Group(
            _("You"),
            (
                Field("person", _("What is your name?"), most=80, autocomplete="name"),
                Field("household", _("Your flat, if you live there"), hint=flat, most=60),
            ),
        ),
        Group(
            _("One more person"),
            (
                Field(
                    "second_name", _("Name of the second person"), most=80,
                    hint=_("So that somebody is there when you are ill or away. Nobody yet? Leave it empty, and add "
                           "somebody later on the page People."),
                ),
                Field("second_household", _("Their flat, if they live there"), most=60),
                Field(
                    "second_email", _("Their e-mail address, if there is one"), "email", most=254,
                    hint=_("With it they can sign in. Without it they work from the paper list."),
                ),
            ),
        ),
    )  # fmt: skip


def _drums(is_us: bool) -> tuple[Group, ...]:
    holds = _("How many gallons does one half hold?") if is_us else _("How many litres does one half hold?")
    pail = _("How many gallons does that pail hold?") if is_us else _("How many litres does that pail hold?")
    shapes = (
        (str(Place.Shape.CIRCLE), _("A is a circle, B is a square")),
        (str(Place.Shape.SQUARE), _("A is a square, B is a circle")),
    )
    return (
        Group(
            _("The place"),
            (
                Field(
                    "site", _("Where do the drums stand?"), most=120,
                    hint=_("As neighbours would say it, such as: courtyard, by the bikes."),
                ),
                Field("air", _("Is that indoors or outdoors?"), "tiles", choices=tuple(Site.Air.choices)),
            ),
        ),
        Group(
            _("The drums"),
            (
                Field("drums", _("How many drums?"), "number"),
                Field("split", _("How is a drum split in two halves?"), "tiles", choices=tuple(Drum.Split.choices)),
                Field(
                    "turns", _("How do the two halves turn?"), "tiles", choices=tuple(Drum.Turns.choices),
                    hint=_("Try it: turn one hatch. If the other one comes along, they turn together."),
                ),
                Field(
                    "first_shape", _("Which mark does each hatch have?"), "tiles", choices=shapes,
                    hint=_("Fix a letter and a shape to be felt on each hatch. A drum turns, so no side is sure."),
                ),
            ),
        ),
        Group(
            _("The size of one half"),
            (
                Field("chamber", holds, "number", hint=_("The maker's paper says so. A rough number will do.")),
                Field(
                    "water_pails", _("Or: how many pails of water fill one half?"), "number", further=True,
                    hint=_("With a number here, the one above does not count."),
                ),
                Field("water_pail", pail, "number", further=True),
                Field("units", "", "hidden"),
            ),
            _("Count pails of water instead"),
        ),
    )  # fmt: skip


def _keys(answers: Answers) -> list[str]:
    drums = Yard.from_raw(answers["drums"]).drums
    return [f"{number}-{letter}" for number in range(1, drums + 1) for letter in LETTERS]


def _contents(answers: Answers) -> tuple[Group, ...]:
    found = (
        (EMPTY, _("empty")),
        (FILLING, _("scraps in it, and open: people add to it")),
        (CLOSED, _("closed: nobody adds to it")),
        (UNKNOWN, _("something is in it, I don't know more")),
    )
    levels = (("", "-"), *((name, LEVEL_WORDS[name]) for name in LEVELS))
    groups = []
    for key in _keys(answers):
        number, letter = key.split("-")
        heading = _("Drum %(number)s, hatch %(letter)s") % {"number": number, "letter": letter}
        fields = (
            Field(f"found-{key}", _("What is in it?"), "tiles", choices=found),
            Field(
                f"since-{key}", _("Open or closed since when?"), "day", further=True,
                hint=_("A rough day will do. Without one, it counts from today."),
            ),
            Field(f"level-{key}", _("How full is it?"), "list", choices=levels, further=True),
        )  # fmt: skip
        groups.append(Group(heading, fields, _("Not empty? Since when, and how full")))
    return tuple(groups)


def _pail(is_us: bool) -> tuple[Group, ...]:
    holds = (
        _("How many gallons does your usual pail hold?") if is_us else _("How many litres does your usual pail hold?")
    )
    return (
        Group(
            "",
            (
                Field(
                    "pail", holds, "number",
                    hint=_("The pail that most people will carry. You can measure it, and add two more sizes, later."),
                ),
                Field(
                    "cup_ml",
                    _("How many fluid ounces does the cup for browns hold?")
                    if is_us
                    else _("How many millilitres does the cup for browns hold?"),
                    "number",
                    hint=_("The cup or scoop that stays by the browns. A quart is 32.")
                    if is_us
                    else _("The cup or scoop that stays by the browns. A litre is 1000."),
                ),
                Field("units", "", "hidden"),
            ),
        ),
    )  # fmt: skip


def _fallback() -> Field:
    hint = _("Such as: the brown bin at the gate. Everybody sees this when the drums are full. It must stand there.")
    return Field("fallback", TITLES["full"], hint=hint, most=300)


def names(groups: tuple[Group, ...]) -> list[str]:
    """The names of all fields, the hidden ones too."""
    return [field.name for group in groups for field in group.fields]


FIRST: Final = tuple(QUESTIONS)
