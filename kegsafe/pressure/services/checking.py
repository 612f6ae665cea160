"""Recording a check: a failed one takes the equipment out of service in the same breath."""

from collections.abc import Mapping
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from kegsafe.equipment import services as equipment
from kegsafe.equipment.models import Keg, Service
from kegsafe.frame.documents import NewDocument
from kegsafe.ledger.services import Recorder, amend, create
from kegsafe.pressure.models import Check, Item, OwnInterval
from kegsafe.pressure.queries import open_failures, regime_key
from kegsafe.pressure.services.documents import keep_check_photograph
from kegsafe.pressure.services.items import set_item_service
from kegsafe.pressure.services.places import require_past
from kegsafe.rules.pressure.checks import CheckRule, Result, check_rule, points_of


@transaction.atomic
def record_check(
    *,
    item: Item | None = None,
    keg: Keg | None = None,
    check: str,
    results: Mapping[str, str],
    checked_at: datetime | None = None,
    comment: str = "",
    competent_person: str = "",
    report: str = "",
    photograph: NewDocument | None = None,
    by: Recorder,
) -> Check:
    """Store one check, point by point. One failed point fails the check.

    results : a `Result` for every point of the kind; 'not done' is not one of them
    competent_person, report : both are asked for where the check is a formal one
    photograph : of what was seen; one that is refused leaves the check unrecorded too

    Raises ValidationError, by point, for what is missing. A passing check of a kind that
    had failed puts the item back into use, once no other failure stands open.
    """
    thing = _one(item, keg)
    rule = check_rule("keg" if keg else item.kind, check, regime_key(thing.venue))
    checked_at = checked_at or timezone.now()
    require_past(checked_at, "checked_at")
    _check_who(rule, competent_person, report)
    points = _points(rule, results)
    # Locked, so that nobody puts it into use while its failure is written down.
    thing = type(thing).objects.select_for_update().get(pk=thing.pk)
    if thing.service == Service.SCRAPPED:
        raise ValidationError(f"{thing} was scrapped.")
    had_failed = open_failures(item=item, keg=keg).exists()
    failed = any(point["result"] == Result.FAIL for point in points)
    done = Check(
        venue=thing.venue,
        item=item,
        keg=keg,
        check_key=check,
        label=rule.label,
        outcome=Check.Outcome.FAIL if failed else Check.Outcome.PASS,
        points=points,
        comment=comment.strip(),
        checked_at=checked_at,
        recorded_by=by.person,
        competent_person=competent_person.strip(),
        report=report.strip(),
    )
    create(done, by=by, action="failed a check" if failed else "passed a check")
    _follow(thing, done, had_failed=had_failed, by=by)
    if photograph is not None:
        keep_check_photograph(check=done, sent=photograph, by=by)
    return done


@transaction.atomic
def set_interval(
    *,
    item: Item | None = None,
    keg: Keg | None = None,
    check: str,
    months: int,
    basis: str,
    reference: str = "",
    by: Recorder,
) -> OwnInterval:
    """Set how often a check of one item comes round; an earlier figure stays in the ledger."""
    thing = _one(item, keg)
    check_rule("keg" if keg else item.kind, check, regime_key(thing.venue))
    if basis != OwnInterval.Basis.OWNER and not reference.strip():
        raise ValidationError(
            {"reference": "Name the maker's instructions or the scheme: title and date."}
        )
    current = OwnInterval.objects.filter(item=item, keg=keg, check_key=check).first()
    values = {"months": months, "basis": basis, "reference": reference.strip()}
    if current is not None:
        amend(current, values, by=by, reason=f"Set to {months} months", action="interval set")
        return current
    own = OwnInterval(venue=thing.venue, item=item, keg=keg, check_key=check, **values)
    create(own, by=by, action="interval set")
    return own


def _follow(thing: Item | Keg, done: Check, *, had_failed: bool, by: Recorder) -> None:
    """Take it out of service after a failure; put it back when the last failure is made good."""
    if done.outcome == Check.Outcome.FAIL:
        if thing.service == Service.IN_USE:
            reason = f"Failed: {done.label}"
            _set_service(thing, Service.OUT_OF_SERVICE, reason, by)
        return
    still = open_failures(
        item=thing if isinstance(thing, Item) else None,
        keg=thing if isinstance(thing, Keg) else None,
    ).exists()
    if had_failed and not still and thing.service == Service.OUT_OF_SERVICE:
        _set_service(thing, Service.IN_USE, f"Passed: {done.label}", by)


def _set_service(thing: Item | Keg, service: Service, reason: str, by: Recorder) -> None:
    if isinstance(thing, Keg):
        equipment.set_service(thing, service=service, reason=reason, by=by)
    else:
        set_item_service(thing, service=service, reason=reason, by=by)


def _points(rule: CheckRule, results: Mapping[str, str]) -> list[dict[str, str]]:
    points, missing = [], {}
    for point in points_of(rule.kind, rule.check):
        result = results.get(point.key, "")
        if result not in set(Result):
            missing[point.key] = "Look, and say passed, failed or not applicable."
        points.append({"key": point.key, "text": point.text, "result": str(result)})
    if missing:
        raise ValidationError(missing)
    if all(point["result"] == Result.NOT_APPLICABLE for point in points):
        raise ValidationError("Nothing was looked at: every point is not applicable.")
    return points


def _check_who(rule: CheckRule, competent_person: str, report: str) -> None:
    if not rule.is_formal:
        return
    missing = {}
    if not competent_person.strip():
        missing["competent_person"] = "Name the competent person who made it."
    if not report.strip():
        missing["report"] = "Give the number or the date of the report."
    if missing:
        raise ValidationError(missing)


def _one(item: Item | None, keg: Keg | None) -> Item | Keg:
    if (item is None) == (keg is None):
        raise ValueError("a check is of one item or of one keg")
    return item or keg
