"""The page that all others stand in, and those shown when something is refused or broken."""

import pytest
from django.template.loader import render_to_string

pytestmark = pytest.mark.usefixtures("guide")


def _page(client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_every_page_says_who_decides(client):
    assert (
        "kegsafe shows what the record says. "
        "The local code, the authority and a competent person decide."
    ) in _page(client, "/")


def test_a_page_names_the_venue_the_person_and_the_role(client):
    html = _page(client, "/")
    assert "The Copper Finch" in html
    assert "Mara Lindqvist" in html
    assert "<span>manager</span>" in html


def test_a_phone_keeps_four_entries_in_reach_and_the_rest_under_more(client):
    html = _page(client, "/")
    bar, sheet = html.split('<div class="nav-sheet">')
    assert bar.count('<li class="nav-wide-only">') == 6
    assert sheet.split("</ul>")[0].count("<li>") == 6


def test_the_entry_of_this_page_is_marked_in_words_a_reader_hears(client):
    assert 'href="/pour" aria-current="page"' in _page(client, "/")


def test_a_signed_out_page_has_no_navigation_and_no_way_out(client):
    html = _page(client, "/sign-in")
    assert "<nav" not in html
    assert "Sign out" not in html


def test_signing_in_goes_on_to_the_page_that_was_asked_for(client):
    assert '<input type="hidden" name="next" value="/">' in _page(client, "/sign-in")


def test_a_refused_person_reads_which_role_may(client):
    html = _page(client, "/message/403")
    assert "This is for manager or owner." in html
    assert "You are signed in as <b>Mara Lindqvist</b>, manager." in html


def test_a_locked_out_person_reads_how_long_and_whom_to_ask(client):
    html = _page(client, "/message/429")
    assert "locked for <b>15 min</b> from the last try" in html
    assert "ask your manager or the owner" in html


def test_a_code_that_belongs_to_no_keg_is_no_reason_to_pour(client):
    assert "do not pour from it before the manager has looked" in _page(client, "/message/404")


@pytest.mark.parametrize("name", ["500.html", "503.html", "413.html", "403_csrf.html"])
def test_a_page_for_a_broken_server_needs_no_request_and_no_person(name):
    html = render_to_string(name)
    assert "<h1>" in html


def test_a_broken_server_is_no_reason_to_pour():
    assert "No answer is not a yes." in render_to_string("500.html")
