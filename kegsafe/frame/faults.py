"""What a person reads when the server could not answer."""

import re
import sys

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.views.decorators.csrf import requires_csrf_token
from django.views.defaults import server_error

# SQLite: "database is locked"; PostgreSQL: a deadlock, or a lock not given in time.
_BUSY = re.compile(r"is locked|deadlock|lock timeout|could not obtain lock", re.IGNORECASE)
_TRY_AGAIN_AFTER_S = 5


@requires_csrf_token
def broken(request: HttpRequest) -> HttpResponse:
    """Say that the database was busy, where that is what it was; otherwise that something broke.

    Django calls this while it handles the exception. A busy database is no
    fault of the program, and what was sent can be sent again: 503.
    """
    if not _is_busy(sys.exception()):
        return server_error(request)
    answer = server_error(request, template_name="503.html")
    answer.status_code = 503
    answer["Retry-After"] = str(_TRY_AGAIN_AFTER_S)
    return answer


def _is_busy(error: BaseException | None) -> bool:
    return isinstance(error, OperationalError) and bool(_BUSY.search(str(error)))
