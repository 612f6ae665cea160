"""The pages of the calculators: for every role, with scripts and without, writing nothing."""

import re
from xml.etree import ElementTree

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from kegsafe.calculators.calculator import Calculator
from kegsafe.calculators.registry import CALCULATORS
from kegsafe.venues.models import Role, Venue
from tests.builders import a_person, a_venue

pytestmark = pytest.mark.django_db
CARBONATION = {"temperature": "2 °C", "pressure": "50 psi"}


@pytest.fixture
def venue() -> Venue:
    return a_venue(units="metric")


@pytest.fixture
def client(venue) -> Client:
    return signed_in(a_person(venue))


def signed_in(person: User) -> Client:
    client = Client()
    client.force_login(person)
    return client


def page(name: str, part: str = "calculator") -> str:
    return reverse(part, args=[name])


def ask_page(client: Client, calculator: Calculator, part: str = "calculator"):
    send = client.post if calculator.has_lists else client.get
    return send(page(calculator.name, part), calculator.example)


def named(calculator: Calculator) -> str:
    return calculator.name


every_calculator = pytest.mark.parametrize("calculator", CALCULATORS, ids=named)


@pytest.mark.parametrize("role", list(Role))
def test_every_role_may_open_and_use_them(venue, role):
    client = signed_in(a_person(venue, role))
    assert client.get(reverse("calculators")).status_code == 200
    assert client.get(page("carbonation"), CARBONATION).status_code == 200
    assert client.post(page("sulphite"), {"parts": "1 L, 90 mg/L"}).status_code == 200


def test_a_stranger_is_sent_to_sign_in():
    assert Client().get(page("carbonation")).status_code == 302


def test_the_index_lists_all_by_subject(client):
    shown = client.get(reverse("calculators")).text
    assert all(page(each.name) in shown for each in CALCULATORS)
    assert all(each.subject in shown for each in CALCULATORS)


def test_the_index_is_searched_by_any_word(client):
    shown = client.get(reverse("calculators"), {"q": "rinse"}).text
    assert page("rinse") in shown
    assert page("growth") not in shown


def test_a_search_that_finds_nothing_says_so(client):
    assert "No calculator like that" in client.get(reverse("calculators"), {"q": "xyz"}).text


@every_calculator
def test_a_fresh_page_asks_and_accuses_nobody(client, calculator):
    shown = client.get(page(calculator.name)).text
    assert "error-summary" not in shown
    assert all(f'name="{each.key}"' in shown for each in calculator.inputs)


@every_calculator
def test_the_button_gives_the_answer_without_scripts(client, calculator):
    shown = ask_page(client, calculator).text
    assert "answer-first" in shown
    assert "How good it is." in shown


@every_calculator
def test_the_part_that_changes_is_a_part_and_no_page(client, calculator):
    shown = ask_page(client, calculator, "calculator-answer").text
    assert "answer-first" in shown
    assert "<html" not in shown


def test_what_was_typed_stays_in_the_fields_and_in_the_address(client):
    typed = {"temperature": "36 F", "pressure": "50 psi"}
    assert 'value="36 F"' in client.get(page("carbonation"), typed).text
    answered = client.get(page("carbonation", "calculator-answer"), typed)
    assert answered["HX-Replace-Url"].startswith("/calculators/carbonation/?temperature=36+F")


def test_a_mistake_is_shown_at_its_field_and_keeps_what_was_typed(client):
    shown = client.get(page("carbonation"), {"temperature": "50 psi", "pressure": "50 psi"}).text
    assert "No answer yet" in shown
    assert "a temperature belongs here" in shown
    assert 'value="50 psi"' in shown


def test_while_somebody_types_a_blank_is_still_needed_and_no_mistake(client):
    shown = client.get(page("carbonation", "calculator-answer"), {"temperature": "2 °C"}).text
    assert "Still needed: Gauge pressure of the CO2." in shown
    assert "is missing" not in shown


def test_the_page_says_that_blank_sugar_and_alcohol_mean_plain_water(client):
    assert client.get(page("carbonation")).text.count("plain water is taken") == 2


def test_an_unknown_input_in_the_address_names_the_nearest(client):
    shown = client.get(page("carbonation"), {**CARBONATION, "britx": "5 Brix"}).text
    assert "Did you mean brix?" in shown


def test_a_calculator_that_does_not_exist_is_not_found(client):
    assert client.get(page("xylophone")).status_code == 404


def test_a_us_venue_reads_psi_first():
    client = signed_in(a_person(a_venue(units="us")))
    typed = {"temperature": "35.6 F", "volumes": "4 vol"}
    assert "22.9 psi (1.58 bar) gauge" in client.get(page("carbonation-pressure"), typed).text


@pytest.mark.parametrize("name", ["carbonation", "sulphite"])
def test_a_page_asks_the_database_for_the_person_alone(client, django_assert_num_queries, name):
    client.get(page(name))
    with django_assert_num_queries(2):
        client.get(page(name))


@pytest.mark.parametrize("calculator", [each for each in CALCULATORS if each.plot], ids=named)
@pytest.mark.parametrize("size", ["wide", "narrow"])
def test_a_plot_is_a_picture_of_its_own_with_words_beside_it(client, calculator, size):
    shown = ask_page(client, calculator).text
    pictures = re.findall(r'(?:src|srcset)="([^"]+plot-[^"]+)"', shown)
    (address,) = [each for each in pictures if f"plot-{size}" in each]
    assert re.search(r'<img [^>]*alt="[^"]{40,}"', shown)
    assert "The plot as a table" in shown
    response = client.get(address.replace("&amp;", "&"))
    assert response["Content-Type"] == "image/svg+xml"
    assert ElementTree.fromstring(response.content).tag.endswith("svg")


def test_a_plot_may_load_nothing_and_the_page_allows_no_inline_style(client):
    drawn = client.get("/calculators/carbonation/plot-wide.svg", CARBONATION)
    assert "default-src 'none'" in drawn["Content-Security-Policy"]
    shown = client.get(page("carbonation"), CARBONATION)
    assert "unsafe-inline" not in shown["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("address", "typed"),
    [
        ("/calculators/carbonation/plot-wide.svg", {"temperature": "nan"}),
        ("/calculators/carbonation/plot-huge.svg", CARBONATION),
        ("/calculators/rinse/plot-wide.svg", {"hold_up": "60 ml", "rinse": "300 ml"}),
    ],
)
def test_a_plot_of_nothing_is_not_found(client, address, typed):
    assert client.get(address, typed).status_code == 404


def test_the_scripts_of_a_page_are_told_to_evaluate_nothing_and_to_stay_at_home(client):
    shown = client.get(page("carbonation")).text
    assert '"allowEval":false' in shown
    assert '"selfRequestsOnly":true' in shown
