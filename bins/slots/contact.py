"""How somebody is reminded: by e-mail, by text message, or not at all; and the secret address of a calendar."""

import datetime as dt
import re
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self
from uuid import uuid4

from django.utils.translation import gettext as _

from bins.records import Reader
from households.ledger import open_ledger
from households.models import ApiToken, Audit, Building, FeedKey, Person

PHONE = re.compile(r"^\+[1-9][0-9]{6,14}$")  # ITU-T E.164


@dataclass(frozen=True)
class Contact:
    channel: str
    phone: str

    @classmethod
    def from_raw(cls, raw: Mapping[str, Any]) -> Self:
        """Read and check raw values: channel (mail, sms, none), phone with its country's number.

        Raises Refused with every fault named.
        """
        reader = Reader(raw)
        channel = reader.choice("channel", list(Person.Channel.values))
        phone = re.sub(r"[\s().\-/]", "", reader.words("phone", 40, ""))
        phone = re.sub(r"\d", lambda digit: str(int(digit.group())), phone)  # of other writings, as networks want them
        phone = f"+{phone[2:]}" if phone.startswith("00") else phone
        if channel == Person.Channel.SMS and not phone:
            reader.errors["phone"] = _("Which number shall we write to?")
        elif phone and not PHONE.match(phone):
            reader.errors["phone"] = _("The number begins with + and the number of the country, such as +49.")
        told = cls(channel, phone)
        reader.finish()
        return told


def set_contact(*, building: Building, person: Person, told: Contact) -> None:
    """Keep the channel. A number is kept only while it is used."""
    with open_ledger(building):
        person.channel = told.channel
        person.phone = told.phone if told.channel == Person.Channel.SMS else ""
        person.save(update_fields=["channel", "phone"])


def new_feed(*, building: Building, person: Person, now: dt.datetime) -> str:
    """A fresh secret for the person's calendar; an older address opens nothing from now on."""
    secret = secrets.token_urlsafe(32)
    with open_ledger(building) as ledger:
        FeedKey.objects.within(building).filter(person=person).delete()
        FeedKey.objects.create(
            building=ledger.building, uid=uuid4(), person=person, secret_hash=ApiToken.hash_of(secret), made_at=now
        )
        Audit.note(ledger.building, person, "calendar-address-made", now)
    return secret


def end_feed(*, building: Building, person: Person, now: dt.datetime) -> None:
    """The address opens nothing any more."""
    with open_ledger(building) as ledger:
        gone, _each = FeedKey.objects.within(building).filter(person=person).delete()
        if gone:
            Audit.note(ledger.building, person, "calendar-address-ended", now)


def reader_of(building: Building, secret: str) -> Person | None:
    """Whose calendar a secret opens; with household and account. None for nobody, or where the account is shut."""
    key = (
        FeedKey.objects.within(building)
        .filter(secret_hash=ApiToken.hash_of(secret))
        .exclude(person__account__is_active=False)
        .select_related("person__household", "person__account", "person__building")
        .first()
    )
    return key.person if key else None
