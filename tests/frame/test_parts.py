"""The parts of a page: each says in words what it shows in colour, and hides nothing."""

import re
from html import unescape
from pathlib import Path

import pytest
from django.core.paginator import Paginator
from django.template import RequestContext, TemplateDoesNotExist
from django.template.loader import get_template, render_to_string
from django.test import RequestFactory

from kegsafe.frame.templatetags.kegsafe import icon
from kegsafe.ledger.queries import Change, Event
from kegsafe.rules.findings import Finding, Outcome, Severity
from tests.frame.guide_urls import EVENTS, FINDINGS

TEMPLATES = Path(__file__).parents[2] / "templates"
PAGES = sorted(TEMPLATES.rglob("*.html"))


def _text(html: str) -> str:
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", html).split()))


def _show(part: str, **context: object) -> str:
    return render_to_string(f"frame/{part}.html", context)


@pytest.mark.parametrize(
    ("outcome", "shape", "words"),
    [
        (Outcome.POUR, "circle", "Pour"),
        (Outcome.ASK, "M24 5.5 44 41.5H4z", "Ask the manager"),
        (Outcome.STOP, "M15.3 3h17.4", "Do not pour"),
    ],
)
def test_a_verdict_has_a_word_and_a_shape_beside_its_colour(outcome, shape, words):
    html = _show("_verdict", outcome=outcome, reason="The use-by has passed.")
    assert shape in html
    assert _text(html) == f"{words} The use-by has passed."


def test_a_verdict_says_which_of_its_facts_nobody_recorded():
    html = _show("_verdict", outcome="ask", facts=[("Alcohol", None), ("Use by", "Tue")])
    assert "Alcohol not recorded Use by Tue" in _text(html)


def test_a_finding_shows_its_numbers_its_source_and_how_the_source_was_seen():
    text = _text(_show("_finding", finding=FINDINGS[0]))
    assert text.startswith("Stop The use-by of this fill has passed: Tue 7 Apr 2026, 23:59.")
    assert "Days kept 7 of 7" in text
    assert text.endswith("Demo code 2026, section 3-501.17(A) read in the source")


def test_what_was_in_order_folds_away_and_what_was_not_stays_in_sight():
    html = _show("_findings", findings=FINDINGS)
    in_sight, folded = html.split("<details")
    assert "2 checked and found in order" in _text(folded)
    assert "Stop" in _text(in_sight)
    assert "In order" not in _text(in_sight)


def test_a_page_for_an_inspector_folds_nothing():
    assert "<details" not in _show("_findings", findings=FINDINGS, open=True)


def test_no_finding_is_not_shown_as_good_news():
    assert "Nothing was looked at" in _text(_show("_findings", findings=[]))


def test_what_people_typed_is_text_and_never_markup():
    hostile = "<script>alert(1)</script>"
    finding = Finding("demo", Severity.NOTE, hostile, hostile, "read", ((hostile, hostile),))
    event = Event(1, EVENTS[0].at, hostile, hostile, hostile, (Change(hostile, hostile, ""),), "")
    shown = [
        _show("_finding", finding=finding),
        _show("_history", events=[event]),
        _show("_verdict", outcome="pour", reason=hostile, facts=[(hostile, hostile)]),
        _show("_field_table", rows=[(hostile, hostile)]),
        _show("_caution", statement=hostile, title=hostile, points=[hostile]),
        _show("_empty", heading=hostile, sentence=hostile, act_url="/", act=hostile),
        _show("_confirm", statement=hostile, act=hostile, consequences=[hostile]),
    ]
    assert not [html for html in shown if "<script" in html.lower()]


def test_history_tells_the_first_value_the_new_one_who_when_and_why():
    text = _text(_show("_history", events=EVENTS))
    assert "Amended Tue 7 Apr 2026, 09:12 · mara · entry 418" in text
    assert "Set pressure 2.8 bar gauge → became 1.8 bar gauge" in text
    assert "Note not recorded → became checked twice" in text
    assert "Reason: Read the wrong line of the gauge." in text


def test_turning_pages_keeps_the_other_words_of_the_query():
    request = RequestFactory().get("/?drink=paloma&page=2")
    page = Paginator(range(60), 20).page(2)
    part = get_template("frame/_page_of.html").template
    html = unescape(part.render(RequestContext(request, {"page": page})))
    assert 'href="?drink=paloma&page=1"' in html
    assert 'href="?drink=paloma&page=3"' in html


def test_a_list_of_one_page_has_no_pages_to_turn():
    assert _show("_page_of", page=Paginator([1], 20).page(1)).strip() == ""


def test_an_icon_that_was_never_drawn_is_named():
    with pytest.raises(TemplateDoesNotExist, match=r"frame/icons/unicorn\.svg"):
        icon("unicorn")


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(TEMPLATES)))
def test_no_template_carries_script_or_style_that_the_policy_would_block(path):
    html = path.read_text(encoding="utf-8")
    assert not re.search(r"<script(?![^>]*\bsrc=)", html)
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", html)


@pytest.mark.parametrize("path", sorted((TEMPLATES / "frame").rglob("*.svg")), ids=lambda p: p.stem)
def test_a_drawing_is_hidden_from_readers_who_get_the_word(path):
    drawing = path.read_text(encoding="utf-8")
    assert 'aria-hidden="true"' in drawing
    assert not re.search(r"style=|<script|href=", drawing)
