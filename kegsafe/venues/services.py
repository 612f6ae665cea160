"""What changes about a venue: its opening, its settings, its own limits, its people."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.ledger.models import Entry
from kegsafe.ledger.services import Recorder, amend, create, open_chain, record
from kegsafe.rules.codes import WORD, MissingRule, Rule, rules
from kegsafe.venues.models import LocalLimit, Membership, Role, Venue

LIMIT_PLACES = Decimal("0.001")


@transaction.atomic
def open_venue(
    *, name: str, code_key: str, time_zone: str, units: str, address: str = "", owner: User
) -> Venue:
    """Start a venue with an empty chain and its first owner.

    Raises ValidationError, naming the field, for an unknown code, time zone or unit system.
    """
    chain = open_chain()
    by = Recorder(chain_key=chain.key, person=owner.get_username())
    venue = Venue(
        name=name,
        code_key=code_key,
        time_zone=time_zone,
        units=units,
        address=address,
        chain=chain,
    )
    create(venue, by=by, action="opened")
    membership = Membership(venue=venue, user=owner, role=Role.OWNER)
    create(membership, by=by, action="given a role", person=owner.get_username())
    return venue


@transaction.atomic
def amend_venue(
    *,
    venue: Venue,
    changes: Mapping[str, Any],
    reason: str,
    by: Recorder,
    seen_sequence: int | None = None,
) -> Entry | None:
    """Change the venue's settings; None when nothing changed.

    Raises StaleRecord when somebody else changed them since `seen_sequence`.
    """
    return amend(venue, changes, by=by, reason=reason, seen_sequence=seen_sequence)


@transaction.atomic
def set_local_limit(
    *,
    venue: Venue,
    rule: str,
    value: Decimal,
    valid_from: date,
    authority: str = "",
    reference: str = "",
    approved_on: date | None = None,
    by: Recorder,
) -> LocalLimit:
    """Set a limit of the venue's own, in the unit of its rule.

    A stricter limit needs no leave. A looser one needs the authority, its
    reference and the day it approved: ValidationError names the missing ones.
    """
    meaning = _rule_with_a_number(rule)
    limit = LocalLimit(
        venue=venue,
        rule=rule,
        value=value.quantize(LIMIT_PLACES),
        unit=meaning.unit,
        valid_from=valid_from,
        authority=authority.strip(),
        reference=reference.strip(),
        approved_on=approved_on,
        set_by=by.person,
    )
    _check_value(limit)
    _check_approval(limit, meaning)
    create(limit, by=by, action="set a limit")
    return limit


@transaction.atomic
def withdraw_local_limit(*, limit: LocalLimit, reason: str, by: Recorder) -> Entry | None:
    """End a limit of the venue's own: the code's counts again."""
    if limit.withdrawn_at is not None:
        raise ValidationError("This limit is withdrawn already.")
    changes = {"withdrawn_at": timezone.now()}
    return amend(limit, changes, by=by, reason=reason, action="withdrew a limit")


@transaction.atomic
def add_person(
    *, venue: Venue, username: str, full_name: str, role: str, password: str, by: Recorder
) -> Membership:
    """Make a person's account, with a password to change at the first chance, and give a role."""
    user = User(username=username, first_name=full_name.strip())
    if User.objects.filter(username__iexact=username).exists():
        raise ValidationError({"username": _name_taken(username)})
    _check_password(password, user)
    user.set_password(password)
    user.full_clean()
    user.save()
    return give_role(venue=venue, user=user, role=role, by=by)


@transaction.atomic
def give_role(*, venue: Venue, user: User, role: str, by: Recorder) -> Membership:
    """Give somebody who has an account a role at this venue."""
    membership = Membership(venue=venue, user=user, role=role)
    create(membership, by=by, action="given a role", person=user.get_username())
    return membership


@transaction.atomic
def change_role(*, membership: Membership, role: str, reason: str, by: Recorder) -> Entry | None:
    """Change what a person may do here. A venue keeps at least one owner."""
    if role != Role.OWNER:
        _keep_an_owner(membership)
    return amend(membership, {"role": role}, by=by, reason=reason, action="given another role")


@transaction.atomic
def deactivate(*, membership: Membership, reason: str, by: Recorder) -> Entry | None:
    """Shut a person out of this venue; what they recorded stays."""
    _keep_an_owner(membership)
    return amend(membership, {"is_active": False}, by=by, reason=reason, action="shut out")


@transaction.atomic
def reactivate(*, membership: Membership, reason: str, by: Recorder) -> Entry | None:
    """Let a person in again, in the role they had."""
    return amend(membership, {"is_active": True}, by=by, reason=reason, action="let in again")


@transaction.atomic
def set_password(*, membership: Membership, password: str, set_by: User, by: Recorder) -> Entry:
    """Give a person a new password to change at the first chance.

    Refused for somebody who has a role at a venue that `set_by` does not own:
    with the password one could act there in their name.
    """
    elsewhere = Membership.objects.filter(user=membership.user_id, is_active=True).exclude(
        venue__in=_venues_owned_by(set_by)
    )
    if elsewhere.exists():
        raise ValidationError(
            "This person has a role at a venue that is not yours, so you cannot set the password. "
            "They can change it themselves after signing in."
        )
    user = User.objects.select_for_update().get(pk=membership.user_id)
    _check_password(password, user)
    user.set_password(password)
    user.save(update_fields=["password"])
    return record(membership, by=by, action="given a new password")


@transaction.atomic
def change_own_password(*, user: User, password: str) -> None:
    """Set the password a person chose, and say so in the ledger of each of their venues."""
    user.set_password(password)
    user.save(update_fields=["password"])
    for membership in Membership.objects.filter(user=user, is_active=True).select_related("venue"):
        membership.user = user
        record(membership, by=membership.recorder, action="changed their password")


def colleague_called(username: str, owner: User) -> User | None:
    """Return the person of that name at any venue of this owner, if there is one."""
    return (
        User.objects.filter(username=username, memberships__venue__in=_venues_owned_by(owner))
        .distinct()
        .first()
    )


def _venues_owned_by(user: User) -> list[int]:
    owned = Membership.objects.filter(user=user, is_active=True, role=Role.OWNER)
    return list(owned.values_list("venue_id", flat=True))


def _name_taken(username: str) -> str:
    return f'"{username}" is taken. Add something of your own: {username}2 or {username}.bar.'


def _check_password(password: str, user: User) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise ValidationError({"password": error.messages}) from None


def _keep_an_owner(membership: Membership) -> None:
    owners = Membership.objects.select_for_update().filter(
        venue=membership.venue_id, role=Role.OWNER, is_active=True
    )
    if [owner.pk for owner in owners] == [membership.pk]:
        raise ValidationError("A venue keeps at least one owner. Make somebody else owner first.")


def _rule_with_a_number(rule: str) -> Rule:
    meaning = rules().get(rule)
    if meaning is None or meaning.unit == WORD:
        raise ValidationError({"rule": f'"{rule}" is no limit that a venue can set.'})
    return meaning


def _check_value(limit: LocalLimit) -> None:
    if limit.unit != "degC" and limit.value <= 0:
        raise ValidationError({"value": f'"{limit.value:f}" is not above zero.'})


def _check_approval(limit: LocalLimit, meaning: Rule) -> None:
    """Ask for all three parts of an approval where the limit is looser than the code's."""
    today = timezone.now().astimezone(limit.venue.zone).date()
    if limit.approved_on is not None and limit.approved_on > today:
        raise ValidationError({"approved_on": "This day is still to come."})
    try:
        own = limit.venue.code.limit(limit.rule, limit.valid_from)
    except MissingRule:
        return
    is_looser = (
        limit.value > own.number if meaning.stricter == "smaller" else (limit.value < own.number)
    )
    if not is_looser:
        return
    missing = [
        name for name in ("authority", "reference", "approved_on") if not getattr(limit, name)
    ]
    sentence = (
        f"The code's limit is {own.in_words}; a looser one needs this: "
        "the authority, its reference and the day it approved."
    )
    if missing:
        raise ValidationError(dict.fromkeys(missing, sentence))
