import datetime as dt
from argparse import ArgumentParser
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from households.models import Account, Building, Organisation
from households.organisations import appoint, take_on
from households.tenancy import inside


class Command(BaseCommand):
    help = (
        "Housing organisations, for whoever runs the service: found NAME; appoint ORGANISATION EMAIL lets an account "
        "act for it; take ORGANISATION BUILDING puts a building into its care, and leave BUILDING takes it out."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        acts = parser.add_subparsers(dest="act", required=True)
        acts.add_parser("found").add_argument("name")
        officer = acts.add_parser("appoint")
        officer.add_argument("organisation", type=UUID)
        officer.add_argument("email")
        taken = acts.add_parser("take")
        taken.add_argument("organisation", type=UUID)
        taken.add_argument("building", type=UUID)
        acts.add_parser("leave").add_argument("building", type=UUID)

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        try:
            self.stdout.write(_done(options, now))
        except Organisation.DoesNotExist:
            raise CommandError("There is no such organisation.") from None
        except Account.DoesNotExist:
            raise CommandError("Nobody signs in with that address.") from None
        except Building.DoesNotExist:
            raise CommandError("There is no such building.") from None


def _done(options: dict[str, Any], now: dt.datetime) -> str:
    if options["act"] == "found":
        made = Organisation.objects.create(name=options["name"])
        return f"{made.name}: {made.uid}"
    if options["act"] == "appoint":
        organisation = Organisation.objects.get(uid=options["organisation"])
        appoint(organisation, Account.objects.get(email=options["email"].strip().lower()), now.date())
        return f"{options['email']} acts for {organisation.name}."
    is_taken = options["act"] == "take"
    care_of = Organisation.objects.get(uid=options["organisation"]) if is_taken else None
    with transaction.atomic(), inside(options["building"]) as building:
        take_on(building, care_of, now)
    return f"{building.name}: {care_of.name if care_of else 'on its own'}"
