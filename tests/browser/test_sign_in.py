"""Anybody who opens kegsafe is asked who they are, on every device."""

import pytest
from playwright.sync_api import expect


@pytest.mark.parametrize("held", ["phone", "desk"])
def test_whoever_opens_the_first_page_is_asked_to_sign_in(held, request):
    page = request.getfixturevalue(held)
    page.goto("/")
    expect(page.locator("input[name=username]")).to_be_visible()
    expect(page.locator("input[name=password]")).to_be_visible()


def test_the_sign_in_page_fits_a_phone_without_scrolling_sideways(phone):
    phone.goto("/")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
