"""A timer is its start and the clock: nothing is lost when a phone sleeps."""

from dataclasses import replace
from datetime import timedelta

import pytest

from kegsafe.rules.cleaning.contact_time import Timer, least_contact_s
from kegsafe.rules.cleaning.limits import Active
from kegsafe.rules.cleaning.plans import plans
from kegsafe.rules.cleaning.vocabulary import Application
from tests.rules.cleaning.cleaning_facts import BEGAN, DAY, FOOD_CODE, a_cleaner, a_sanitiser, d

DETERGENT, SANITISE = plans()["line.sweet"].steps[2], plans()["line.sweet"].steps[4]
TIMER = Timer(BEGAN, 900, 2700)


@pytest.mark.parametrize(
    ("after", "left"),
    [
        (timedelta(0), 900),
        (timedelta(seconds=1), 899),
        (timedelta(seconds=1, milliseconds=1), 899),
        (timedelta(seconds=899, milliseconds=1), 1),
        (timedelta(seconds=900), 0),
        (timedelta(hours=5), 0),
    ],
)
def test_seconds_left_are_rounded_up(after, left):
    assert TIMER.left_s(BEGAN + after) == left


def test_a_timer_knows_when_it_is_done_and_when_it_is_too_late():
    assert TIMER.done_at == BEGAN + timedelta(minutes=15)
    assert TIMER.too_long_at == BEGAN + timedelta(minutes=45)
    assert replace(TIMER, most_s=None).too_long_at is None


@pytest.mark.parametrize(
    ("application", "label", "seconds"),
    [
        (Application.CIRCULATED, 600, 900),
        (Application.SOAKED, 600, 1200),
        (Application.CIRCULATED, 1800, 1800),
    ],
)
def test_the_longer_of_plan_and_label_is_waited_for(application, label, seconds):
    chemical = a_cleaner(label_contact_s=d(label))
    assert least_contact_s(DETERGENT, application, chemical, FOOD_CODE, DAY) == seconds


@pytest.mark.parametrize(
    ("active", "code", "label", "seconds"),
    [
        (Active.CHLORINE, "us_fda_2022", 1, 10),
        (Active.CHLORINE, "us_california", 1, 30),
        (Active.QUAT, "us_fda_2022", 60, 60),
        (Active.QUAT, "eu", 300, 300),
        (Active.QUAT, "eu", None, None),
    ],
)
def test_a_sanitiser_waits_for_the_longest_of_code_and_label(active, code, label, seconds):
    chemical = a_sanitiser(active, label_contact_s=None if label is None else d(label))
    assert least_contact_s(SANITISE, Application.SOAKED, chemical, code, DAY) == seconds
