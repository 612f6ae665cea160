"""`manage.py open_venue`: a bar starts with its first owner and an empty chain of records."""

import os
from getpass import getpass
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from kegsafe.rules.codes import codes
from kegsafe.venues.models import Units
from kegsafe.venues.services import open_venue

PASSWORD_VARIABLE = "KEGSAFE_OWNER_PASSWORD"  # noqa: S105


class Command(BaseCommand):
    help = (
        "Open a venue with its first owner. What is not given as an option is asked for. "
        f"The owner's password is asked for, or read from {PASSWORD_VARIABLE}; "
        "an owner who has an account already keeps theirs."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--name", help="What the bar is called.")
        parser.add_argument("--owner", help="The name the owner signs in with.")
        parser.add_argument("--code", help=f"The food code: {', '.join(sorted(codes()))}.")
        parser.add_argument("--time-zone", help="Such as Europe/London.")
        parser.add_argument("--units", choices=Units.values, help="Units shown first.")
        parser.add_argument("--address", default="", help="May be left out.")

    def handle(self, *args: object, **options: Any) -> None:
        name = options["name"] or self._ask("Name of the bar")
        code_key = options["code"] or self._ask(f"Food code ({', '.join(sorted(codes()))})")
        time_zone = options["time_zone"] or self._ask("Time zone, such as Europe/London")
        units = options["units"] or self._ask(f"Units ({' or '.join(Units.values)})")
        username = options["owner"] or self._ask("The owner signs in as")
        try:
            with transaction.atomic():
                venue = open_venue(
                    name=name,
                    code_key=code_key,
                    time_zone=time_zone,
                    units=units,
                    address=options["address"],
                    owner=self._owner(username),
                )
        except ValidationError as refused:
            raise CommandError("\n".join(_sentences(refused))) from None
        self.stdout.write(self.style.SUCCESS(f"{venue.name} is open. {username} may sign in."))

    def _ask(self, question: str) -> str:
        try:
            return input(f"{question}: ").strip()
        except EOFError:
            raise CommandError(f"Nobody answered: {question}. Give it as an option.") from None

    def _owner(self, username: str) -> User:
        existing = User.objects.filter(username=username).first()
        if existing:
            return existing
        owner = User(username=username)
        password = os.environ.get(PASSWORD_VARIABLE) or self._ask_password()
        validate_password(password, owner)
        owner.set_password(password)
        owner.full_clean()
        owner.save()
        return owner

    def _ask_password(self) -> str:
        try:
            first, second = getpass("Password: "), getpass("The same again: ")
        except EOFError:
            raise CommandError(f"Nobody answered. Set {PASSWORD_VARIABLE}.") from None
        if first != second:
            raise CommandError("The two passwords differ. Start again.")
        return first


def _sentences(refused: ValidationError) -> list[str]:
    if not hasattr(refused, "error_dict"):
        return refused.messages
    found = refused.message_dict.items()
    return [f"{field.replace('_', ' ')}: {' '.join(messages)}" for field, messages in found]
