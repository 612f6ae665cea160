"""How a form stands on a page: parts in the order of the work, and a button that says the act."""

from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Fieldset, Layout, LayoutObject, TemplateNameMixin
from django import forms
from django.template import Context
from django.template.loader import render_to_string
from django.utils.html import format_html

from kegsafe.frame.field_words import speak_plainly


class PageFormHelper(FormHelper):
    """The one shape of a form: label above, help below, errors at the field and summed up on top.

    `act` is the button and says what happens: "Record the clean". Without a
    layout the fields stand in the order of the form. `grave` marks an act that
    takes a drink or a piece of equipment out of use.

    In a form's `__init__`:
    `self.helper = PageFormHelper(self, "keg", "started_at", act="Record the clean")`
    """

    def __init__(
        self,
        form: forms.BaseForm,
        *layout: str | LayoutObject,
        act: str,
        cancel_url: str = "",
        grave: bool = False,
    ) -> None:
        super().__init__()
        speak_plainly(form)
        self.form_class = "page-form"
        # The page's own messages say more than the browser's, so the browser keeps quiet.
        self.attrs = {"novalidate": "novalidate", "data-keeps-draft": ""}
        self.layout = Layout(
            *(layout or form.fields), Acts(act, cancel_url=cancel_url, grave=grave)
        )


class FieldsHelper(FormHelper):
    """Fields without a form tag or a button, for a page that holds several forms in one."""

    def __init__(self, form: forms.BaseForm, *layout: str | LayoutObject) -> None:
        super().__init__()
        speak_plainly(form)
        self.form_tag = False
        self.disable_csrf = True
        self.layout = Layout(*(layout or form.fields))


class Part(Fieldset):
    """A step of the work with a heading of its own and, where it helps, one sentence."""

    def __init__(self, heading: str, *fields: str | LayoutObject, sentence: str = "") -> None:
        hint = [HTML(format_html('<p class="part-sentence">{}</p>', sentence))] if sentence else []
        super().__init__(heading, *hint, *fields, css_class="part")


class SideBySide(LayoutObject):
    """Short fields that belong together: beside each other where there is room."""

    def __init__(self, *fields: str | LayoutObject) -> None:
        self.fields = list(fields)

    def render(self, form: forms.BaseForm, context: Context, **kwargs: Any) -> str:
        """Return the fields inside one row."""
        fields = self.get_rendered_fields(form, context, **kwargs)
        return format_html('<div class="side-by-side">{}</div>', fields)


class Acts(TemplateNameMixin):
    """The submit button and the way out. The page may give `cancel_url` where the form does not."""

    template = "frame/_form_acts.html"

    def __init__(self, act: str, *, cancel_url: str = "", grave: bool = False) -> None:
        self.act = act
        self.cancel_url = cancel_url
        self.grave = grave

    def render(self, form: forms.BaseForm, context: Context, **kwargs: Any) -> str:
        """Return the buttons, kept at the foot of the screen on a phone."""
        cancel_url = self.cancel_url or context.get("cancel_url", "")
        return render_to_string(
            self.template, {"act": self.act, "cancel_url": cancel_url, "grave": self.grave}
        )
