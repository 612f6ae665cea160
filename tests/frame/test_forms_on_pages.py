"""A form on a page: label above, help below, mistakes at the field and summed up on top."""

import re

import pytest
from crispy_forms.utils import render_crispy_form
from django import forms

from kegsafe.frame.layout import FieldsHelper, PageFormHelper
from tests.frame.guide_urls import CleanForm


def _shown(form: forms.Form) -> str:
    return render_crispy_form(form)


def _tag_of(html: str, name: str) -> str:
    return re.search(rf'<(?:input|select|textarea)[^>]*name="{name}"[^>]*>', html).group()


@pytest.fixture
def mistaken() -> str:
    return _shown(CleanForm({"strength": "200", "contact_time": "10 min", "detergent": "a"}))


def test_the_button_says_the_act_and_beside_it_is_the_way_out():
    html = _shown(CleanForm())
    assert re.search(r'<button[^>]*type="submit">Record the clean</button>', html)
    assert re.search(r'<a[^>]*href="/">Cancel</a>', html)


def test_a_field_is_described_by_its_help():
    html = _shown(CleanForm())
    assert 'aria-describedby="id_strength_helptext"' in _tag_of(html, "strength")
    assert 'id="id_strength_helptext"' in html


def test_a_mistaken_field_is_described_by_its_help_and_its_error(mistaken):
    field = _tag_of(mistaken, "strength")
    assert 'aria-describedby="id_strength_helptext id_strength_error"' in field
    assert 'aria-invalid="true"' in field
    assert 'id="id_strength_error"' in mistaken


def test_what_was_typed_is_still_there_after_a_mistake(mistaken):
    assert 'value="200"' in _tag_of(mistaken, "strength")
    assert 'value="10 min"' in _tag_of(mistaken, "contact_time")


def test_the_summary_links_every_mistake_to_something_on_the_page(mistaken):
    summary = re.search(r'<div class="error-summary".*?</div>', mistaken, re.DOTALL).group()
    targets = re.findall(r'href="#([^"]+)"', summary)
    assert len(targets) == 3
    assert [target for target in targets if f'id="{target}"' not in mistaken] == []


def test_a_form_without_mistakes_has_no_summary():
    assert "error-summary" not in _shown(CleanForm())


def test_a_mistake_of_the_whole_form_is_in_the_summary():
    class EndsBeforeItStarts(forms.Form):
        started = forms.CharField()

        def __init__(self, *args, **kwargs):
            super().__init__(*args, **kwargs)
            self.helper = PageFormHelper(self, act="Record the clean")

        def clean(self):
            raise forms.ValidationError("The clean ends before it starts.")

    assert "<li>The clean ends before it starts.</li>" in _shown(
        EndsBeforeItStarts({"started": "10:00"})
    )


def test_choices_are_one_group_with_one_question():
    html = _shown(CleanForm())
    group = re.search(r"<fieldset>\s*<legend.*?</fieldset>", html, re.DOTALL).group()
    assert "Keg or line" in group
    assert group.count('type="radio"') == 2


def test_the_pages_own_messages_are_shown_not_the_browsers():
    assert re.search(r"<form[^>]*novalidate", _shown(CleanForm()))


def test_a_form_sent_by_post_carries_its_token(rf):
    html = render_crispy_form(CleanForm(), context={"csrf_token": "a-token"})
    assert 'name="csrfmiddlewaretoken" value="a-token"' in html


def test_fields_inside_another_form_bring_no_form_of_their_own():
    class Line(forms.Form):
        amount = forms.CharField()

        def __init__(self, *args, **kwargs):
            super().__init__(*args, **kwargs)
            self.helper = FieldsHelper(self)

    html = _shown(Line())
    assert "<form" not in html
    assert "<button" not in html
    assert 'name="amount"' in html


def test_the_page_may_give_the_way_out_that_the_form_does_not_know():
    class Plain(forms.Form):
        note = forms.CharField()

        def __init__(self, *args, **kwargs):
            super().__init__(*args, **kwargs)
            self.helper = PageFormHelper(self, act="Discard the fill", grave=True)

    html = render_crispy_form(Plain(), context={"cancel_url": "/kegs/7"})
    assert 'href="/kegs/7"' in html
    assert "btn-danger" in html
