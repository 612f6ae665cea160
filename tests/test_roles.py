"""Who may open and who may send each page of the site, and that no bar sees another's records.

The table below is the policy. A page that is not in it fails the first test.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone
from django.utils.http import urlencode

from kegsafe.batches import services as batches
from kegsafe.batches.models import Batch, Fill, KegShelfLife, Preparation, Recipe, RecipeItem
from kegsafe.calculators.registry import calculator_called
from kegsafe.equipment.models import Keg, Line, Place, Tap
from kegsafe.inspection.services import make_link
from kegsafe.rules.facts import Basis
from kegsafe.stock import services as stock
from kegsafe.stock.importing.delivery_file import SAMPLE_ROW
from kegsafe.stock.models import Delivery, Ingredient, Lot, Measure, Supplier
from kegsafe.venues import services as venues
from kegsafe.venues.access import EVERYBODY, MANAGERS, NOBODY, OWNERS, RECORDERS
from kegsafe.venues.models import Membership, Role, Venue
from tests.builders import a_recorder
from tests.cleaning.roles import CLEANING, CLEANING_KINDS, cleaning_records
from tests.cold_chain.roles import COLD, COLD_KINDS, OF_A_PLACE, add_cold_records, cold_records
from tests.exports.roles import EXPORTS, EXPORTS_KINDS, exports_records
from tests.inspection.roles import INSPECTION, INSPECTION_KINDS, inspection_records
from tests.laid_demo import laid_demo
from tests.pressure.roles import (
    OF_PRESSURE_GEAR,
    PRESSURE,
    PRESSURE_KINDS,
    add_pressure_records,
    pressure_records,
)
from tests.readiness.roles import READINESS, READINESS_KINDS, readiness_records
from tests.recalls.roles import RECALLS, RECALLS_KINDS, recalls_records
from tests.tracing.roles import TRACING, TRACING_KINDS, tracing_records

pytestmark = pytest.mark.django_db

# Address, who may open it, who may send its form. A page that only shows says NOBODY sends.
TABLE = {
    # the pour check
    "home": (EVERYBODY, NOBODY),
    "pour-search": (EVERYBODY, NOBODY),
    "pour-check": (EVERYBODY, NOBODY),
    "pour-checked": (EVERYBODY, RECORDERS),
    "warm-drinks": (EVERYBODY, RECORDERS),
    # stock
    "lots": (EVERYBODY, NOBODY),
    "lot": (EVERYBODY, NOBODY),
    "lot-amend": (MANAGERS, MANAGERS),
    "lot-open": (RECORDERS, RECORDERS),
    "lot-hold": (RECORDERS, RECORDERS),
    "lot-release": (MANAGERS, MANAGERS),
    "lot-discard": (MANAGERS, MANAGERS),
    "lot-reject": (MANAGERS, MANAGERS),
    "lot-freeze": (RECORDERS, RECORDERS),
    "lot-thaw": (RECORDERS, RECORDERS),
    "deliveries": (EVERYBODY, NOBODY),
    "delivery": (EVERYBODY, NOBODY),
    "delivery-add": (RECORDERS, RECORDERS),
    "delivery-lots": (RECORDERS, RECORDERS),
    "delivery-amend": (MANAGERS, MANAGERS),
    "delivery-import": (MANAGERS, MANAGERS),
    "delivery-sample": (EVERYBODY, NOBODY),
    "delivery-file": (MANAGERS, MANAGERS),
    "ingredients": (EVERYBODY, NOBODY),
    "ingredient": (EVERYBODY, NOBODY),
    "ingredient-add": (MANAGERS, MANAGERS),
    "ingredient-amend": (MANAGERS, MANAGERS),
    "catalogue": (MANAGERS, MANAGERS),
    "shelf-life-add": (MANAGERS, MANAGERS),
    "shelf-life-withdraw": (MANAGERS, MANAGERS),
    "assessment-add": (MANAGERS, MANAGERS),
    "assessments": (EVERYBODY, NOBODY),
    "assessment-amend": (MANAGERS, MANAGERS),
    "suppliers": (EVERYBODY, NOBODY),
    "supplier-add": (MANAGERS, MANAGERS),
    "supplier-amend": (MANAGERS, MANAGERS),
    # recipes, preparations, batches, fills
    "recipes": (EVERYBODY, NOBODY),
    "recipe": (EVERYBODY, NOBODY),
    "recipe-scale": (EVERYBODY, NOBODY),
    "recipe-add": (MANAGERS, MANAGERS),
    "recipe-amend": (MANAGERS, MANAGERS),
    "recipe-item-add": (MANAGERS, MANAGERS),
    "recipe-item-remove": (MANAGERS, MANAGERS),
    "recipe-shelf-life-add": (MANAGERS, MANAGERS),
    "recipe-shelf-life-withdraw": (MANAGERS, MANAGERS),
    "recipe-assess": (MANAGERS, MANAGERS),
    "preparations": (EVERYBODY, NOBODY),
    "preparation": (EVERYBODY, NOBODY),
    "preparation-add": (RECORDERS, RECORDERS),
    "preparation-draw": (RECORDERS, RECORDERS),
    "batches": (EVERYBODY, NOBODY),
    "batch": (EVERYBODY, NOBODY),
    "batch-add": (RECORDERS, RECORDERS),
    "batch-amend": (RECORDERS, RECORDERS),
    "batch-draw": (RECORDERS, RECORDERS),
    "fills": (EVERYBODY, NOBODY),
    "fill": (EVERYBODY, NOBODY),
    "fill-keg": (RECORDERS, RECORDERS),
    "fill-tap": (RECORDERS, RECORDERS),
    "fill-untap": (RECORDERS, RECORDERS),
    "fill-hold": (RECORDERS, RECORDERS),
    "fill-release": (MANAGERS, MANAGERS),
    "fill-empty": (RECORDERS, RECORDERS),
    "fill-discard": (RECORDERS, RECORDERS),
    # equipment
    "kegs": (EVERYBODY, NOBODY),
    "keg": (EVERYBODY, NOBODY),
    "keg-add": (MANAGERS, MANAGERS),
    "keg-amend": (MANAGERS, MANAGERS),
    "keg-service": (RECORDERS, RECORDERS),
    "keg-move": (RECORDERS, RECORDERS),
    "lines": (EVERYBODY, NOBODY),
    "line": (EVERYBODY, NOBODY),
    "line-add": (MANAGERS, MANAGERS),
    "line-amend": (MANAGERS, MANAGERS),
    "line-service": (RECORDERS, RECORDERS),
    "taps": (EVERYBODY, NOBODY),
    "tap-add": (MANAGERS, MANAGERS),
    "tap-amend": (MANAGERS, MANAGERS),
    "places": (EVERYBODY, NOBODY),
    "place-add": (MANAGERS, MANAGERS),
    "place-amend": (MANAGERS, MANAGERS),
    # calculators: they record nothing
    "calculators": (EVERYBODY, NOBODY),
    "calculator": (EVERYBODY, EVERYBODY),
    "calculator-answer": (EVERYBODY, EVERYBODY),
    "calculator-plot": (EVERYBODY, NOBODY),
    # rooms that keep their own rows
    **CLEANING,
    **COLD,
    **PRESSURE,
    **TRACING,
    **RECALLS,
    **READINESS,
    **INSPECTION,
    **EXPORTS,
    # paper
    "labels": (EVERYBODY, NOBODY),
    "fill-label": (EVERYBODY, NOBODY),
    "lot-label": (EVERYBODY, NOBODY),
    "ledger": (EVERYBODY, NOBODY),
    # the venue
    "venue-switch": (EVERYBODY, EVERYBODY),
    "venue-settings": (EVERYBODY, OWNERS),
    "local-limits": (EVERYBODY, NOBODY),
    "local-limit-add": (OWNERS, OWNERS),
    "local-limit-withdraw": (OWNERS, OWNERS),
    "people": (MANAGERS, NOBODY),
    "person": (MANAGERS, NOBODY),
    "person-add": (OWNERS, OWNERS),
    "person-role": (OWNERS, OWNERS),
    "person-access": (OWNERS, OWNERS),
    "person-password": (OWNERS, OWNERS),
}

# Open to everybody in the world, and to everybody who signed in, whatever their role.
PUBLIC = {"sign-in", "cleaning-calendar", "logger-openapi", "pack-check"}
# A token opens them, whoever is signed in: for loggers, and for the reader of one pack.
BY_TOKEN = {"logger-readings", "link", "link-pdf", "link-rows"}
SIGNED_IN = {"sign-out", "password-change", "password-changed"}

OPENED = {200, 302, 405}
SENT = {200, 302, 400, 405, 409}
# Until something is typed there is nothing to draw, so the plot's address needs its figures.
CALCULATOR = {"name": "carbonation", "size": "wide"}
FURTHER = {"size": "wide", "from_s": 1_790_000_000, "until_s": 1_790_003_600}


@dataclass(frozen=True)
class Bar:
    """A bar of the demo, and one of each of its records by the kind an address asks for."""

    venue: Venue
    records: Mapping[str, object]


@dataclass(frozen=True)
class Site:
    """The demo's bar, the other bar, and a browser of somebody in each role at the first."""

    bar: Bar
    other: Bar
    browsers: Mapping[Role, Client]


@pytest.fixture(scope="module")
def site(django_db_setup, django_db_blocker) -> Iterator[Site]:
    with django_db_blocker.unblock(), laid_demo(timezone.now()):
        bar, other = Venue.objects.order_by("pk")
        for venue in (bar, other):
            _add_what_the_demo_lacks(venue)
            add_cold_records(venue)
        members = bar.memberships.select_related("user")
        browsers = {Role(member.role): _browser(member.user) for member in members}
        yield Site(_bar(bar), _bar(other), browsers)


def _add_what_the_demo_lacks(venue: Venue) -> None:
    """A limit, a rule, a file and a preparation of each bar, so that every address has a record."""
    by = a_recorder(venue)
    venues.set_local_limit(
        venue=venue,
        rule="cold_holding.maximum",
        value=Decimal(4),
        valid_from=date(2026, 1, 1),
        by=by,
    )
    lot = Lot.objects.filter(venue=venue, ingredient__category="spirit").first()
    rule = {"after": "opened", "basis": Basis.MAKER_LABEL.value, "days": 90}
    stock.add_shelf_life(ingredient=lot.ingredient, by=by, **rule)
    stock.add_assessment(
        venue=venue,
        reference="Report 7",
        scope="Tincture",
        competent_person="I. Vale",
        role="food technologist",
        assessed_on=date(2026, 1, 1),
        study="Northfield, study 12",
        by=by,
    )
    text = "\n".join([",".join(SAMPLE_ROW), ",".join(SAMPLE_ROW.values())])
    stock.keep_file(venue=venue, name="deliveries.csv", content=text.encode(), by=by)
    made_here = stock.add_ingredient(
        venue=venue, name="Tincture", category="spirit", made_in_house=True, by=by
    )
    batches.make_preparation(
        venue=venue,
        ingredient=made_here,
        began_at=timezone.now(),
        draws=[(lot, Decimal(100), "100 ml")],
        amount=Decimal(100),
        amount_typed="100 ml",
        measure=Measure.VOLUME,
        by=by,
    )
    add_pressure_records(venue)


def _bar(venue: Venue) -> Bar:
    in_use = Lot.objects.filter(venue=venue, status=Lot.Status.ACCEPTED, amount_left__gt=0)
    fill = Fill.objects.get(batch__venue=venue, tappings__tap__name__in=("1", "left"))
    records = {
        **cleaning_records(venue),
        "lot": in_use.filter(delivery__isnull=False).first(),
        "delivery": Delivery.objects.filter(venue=venue).first(),
        "delivery-file": venue.delivery_files.first(),
        "ingredient": Ingredient.objects.filter(venue=venue).first(),
        "shelf-life": Ingredient.objects.get(
            venue=venue, shelf_lives__isnull=False
        ).shelf_lives.first(),
        "supplier": Supplier.objects.filter(venue=venue).first(),
        "recipe": Recipe.objects.filter(venue=venue).first(),
        "recipe-item": RecipeItem.objects.filter(recipe__venue=venue).first(),
        "recipe-shelf-life": KegShelfLife.objects.filter(recipe__venue=venue).first(),
        "preparation": Preparation.objects.filter(venue=venue).first(),
        "batch": Batch.objects.filter(venue=venue).first(),
        "fill": fill,
        "keg": Keg.objects.filter(venue=venue).first(),
        "line": Line.objects.filter(venue=venue).first(),
        "tap": Tap.objects.filter(venue=venue).first(),
        "place": Place.objects.filter(venue=venue).first(),
        **cold_records(venue),
        **pressure_records(venue),
        **tracing_records(venue),
        **recalls_records(venue),
        **readiness_records(venue),
        **inspection_records(venue),
        **exports_records(venue),
        "local-limit": venue.local_limits.first(),
        "person": Membership.objects.filter(venue=venue).first(),
        "assessment": venue.assessments.first(),
        "label": fill.keg,
    }
    return Bar(venue, records)


# Whose record the number in an address is; others go by the name of the address itself.
_RECORD_OF = {
    "shelf-life-add": "ingredient",
    "assessment-add": "ingredient",
    "recipe-item-add": "recipe",
    "recipe-shelf-life-add": "recipe",
    "fill-keg": "batch",
    "lot-label": "lot",
    "fill-label": "fill",
    "recall-task-add": "recall",
    "warm-drinks": "place",
    **OF_A_PLACE,
    **OF_PRESSURE_GEAR,
}


def _patterns(resolver: URLResolver) -> Iterator[URLPattern]:
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLResolver):
            yield from _patterns(pattern)
        else:
            yield pattern


PATTERNS = {pattern.name: pattern for pattern in _patterns(get_resolver())}


def _record_kind(name: str) -> str:
    if name in _RECORD_OF:
        return _RECORD_OF[name]
    for start, kind in (("pressure-item", "manifold"), ("pressure-keg", "keg")):
        if name.startswith(start):
            return kind
    kinds = [kind for kind in _KINDS if name == kind or name.startswith(f"{kind}-")]
    return max(kinds, key=len)


_KINDS = (
    *("lot", "delivery", "delivery-file", "ingredient", "shelf-life", "supplier", "recipe"),
    *("recipe-item", "recipe-shelf-life", "preparation", "batch", "fill", "keg", "line", "tap"),
    *CLEANING_KINDS,
    *COLD_KINDS,
    *TRACING_KINDS,
    *RECALLS_KINDS,
    *READINESS_KINDS,
    *INSPECTION_KINDS,
    *EXPORTS_KINDS,
    *("place", "local-limit", "person", "assessment"),
    *PRESSURE_KINDS,
)


def _parameters(name: str) -> set[str]:
    return set(PATTERNS[name].pattern.converters)


def _names_a_record(name: str) -> bool:
    return bool(_parameters(name) & {"pk", "label_code", "circuit"})


def _address(name: str, bar: Bar) -> str:
    """The address of a page with a real record of a bar."""
    parameters = _parameters(name)
    if "label_code" in parameters:
        return reverse(name, kwargs={"label_code": bar.records["label"].label_code})
    if "circuit" in parameters:
        return reverse(name, kwargs={"circuit": bar.records["circuit"].circuit})
    if name == "cleaning-calendar":
        return reverse(name, kwargs={"token": bar.records["feed"].token})
    if "pk" in parameters:
        further = {key: FURTHER[key] for key in parameters - {"pk"}}
        return reverse(name, kwargs={"pk": bar.records[_record_kind(name)].pk, **further})
    address = reverse(name, kwargs={key: CALCULATOR[key] for key in parameters})
    return f"{address}?{urlencode(calculator_called('carbonation').example)}"


def _browser(person: User) -> Client:
    client = Client()
    client.force_login(person)
    return client


def _get(site: Site, address: str) -> dict[Role, int]:
    return {role: browser.get(address).status_code for role, browser in site.browsers.items()}


def _post(site: Site, address: str) -> dict[Role, int]:
    """Send a form that is empty but for the button pressed, where the buttons are the choice.

    What one role does is undone before the next comes.
    """
    pressed = {"place": site.bar.records["place"].pk, "venue": site.bar.venue.pk}
    answers = {}
    for role, browser in site.browsers.items():
        with transaction.atomic():
            answers[role] = browser.post(address, pressed).status_code
            transaction.set_rollback(True)
    return answers


def _misled(answers: Mapping[Role, int], may: frozenset[Role], let_in: set[int]) -> dict:
    """Return the answers that break the table: let in without leave, or turned away with it.

    A page that takes no form at all says so before it asks who sent it: 405.
    """
    turned_away = {403, 405}
    return {
        role: status
        for role, status in answers.items()
        if status not in (let_in if role in may else turned_away)
    }


def test_every_address_is_in_the_table():
    assert None not in PATTERNS
    assert set(PATTERNS) == set(TABLE) | PUBLIC | BY_TOKEN | SIGNED_IN


@pytest.mark.parametrize("name", sorted(TABLE))
def test_the_page_itself_says_what_the_table_says(name):
    view = PATTERNS[name].callback
    assert (view.read_roles, view.post_roles) == TABLE[name]


@pytest.mark.parametrize("name", sorted(TABLE.keys() | SIGNED_IN))
def test_somebody_signed_out_is_asked_to_sign_in(name, site):
    address = _address(name, site.bar)
    for response in (Client().get(address), Client().post(address)):
        assert (response.status_code, response.url.split("?")[0]) == (302, reverse("sign-in"))


def test_a_link_to_a_pack_opens_nothing_else(site):
    pack = site.bar.records["pack"]
    _, token = make_link(pack=pack, reader="I. Vale", days=1, by=a_recorder(site.bar.venue))
    reader = Client()
    assert reader.get(reverse("link", args=[token])).status_code == 200
    for name in sorted(TABLE.keys() | SIGNED_IN):
        address = _address(name, site.bar)
        for response in (reader.get(address), reader.post(address)):
            assert (response.status_code, response.url.split("?")[0]) == (302, reverse("sign-in"))


@pytest.mark.parametrize("name", sorted(PUBLIC))
def test_a_public_page_opens_for_everybody(name, site):
    assert Client().get(_address(name, site.bar)).status_code == 200


@pytest.mark.parametrize("name", sorted(SIGNED_IN))
def test_a_page_about_oneself_opens_in_every_role(name, site):
    assert _misled(_get(site, _address(name, site.bar)), EVERYBODY, OPENED) == {}


@pytest.mark.parametrize("name", sorted(TABLE))
def test_a_page_opens_for_the_roles_that_may_read_it(name, site):
    may, _ = TABLE[name]
    assert _misled(_get(site, _address(name, site.bar)), may, OPENED) == {}


@pytest.mark.parametrize("name", sorted(TABLE))
def test_a_form_is_taken_from_the_roles_that_may_send_it(name, site):
    _, may = TABLE[name]
    assert _misled(_post(site, _address(name, site.bar)), may, SENT) == {}


@pytest.mark.parametrize("name", sorted(filter(_names_a_record, TABLE)))
def test_another_bars_record_is_not_found_by_anybody(name, site):
    """The manager and the owner have a role there too, and are here."""
    address = _address(name, site.other)
    may_read, may_post = TABLE[name]
    assert _misled(_get(site, address), may_read, {404, 405}) == {}
    assert _misled(_post(site, address), may_post, {404, 405}) == {}


def test_the_two_bars_share_no_record(site):
    for kind, record in site.bar.records.items():
        assert record.pk != site.other.records[kind].pk
