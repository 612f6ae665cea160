"""Why a cycle is not gone on with."""

from typing import Any

from kegsafe.frame.layout import PageFormHelper
from kegsafe.ledger.forms import ReasonForm


class GiveUpForm(ReasonForm):
    """The reason, for somebody who asks later."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = PageFormHelper(self, act="Give the cycle up", grave=True)
