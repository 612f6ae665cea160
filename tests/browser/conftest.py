"""A real browser, as the people of a bar hold it: a phone in the hand, a laptop on the desk."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Page

from tests.surroundings import do_without

# Playwright's event loop lives in the thread of the test, where Django would refuse the ORM.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

HERE = Path(__file__).parent
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
ELSEWHERE = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
)
HOW_TO_GET_ONE = (
    "No Chromium was found, so what a person sees was not tested. Install one "
    "(Debian: sudo apt-get install chromium) or set KEGSAFE_CHROMIUM to the path of one."
)
ARGUMENTS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


def chromium() -> str | None:
    """Return the path of a Chromium or Chrome; KEGSAFE_CHROMIUM overrules the search."""
    found = [os.environ.get("KEGSAFE_CHROMIUM"), *map(shutil.which, NAMES), *ELSEWHERE]
    return next((path for path in found if path and Path(path).exists()), None)


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, object]:
    """Start the system's own Chromium; a missing one skips, and in CI fails."""
    path = chromium()
    if path is None:
        do_without(HOW_TO_GET_ONE)
    # Chromium refuses its sandbox to root; only pages of our own are opened here.
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    arguments = [*ARGUMENTS, *(["--no-sandbox"] if as_root else [])]
    return {"executable_path": path, "headless": True, "args": arguments}


@pytest.fixture(scope="session")
def base_url() -> None:
    """Leave the address to `phone` and `desk`: each test has a server of its own."""


@pytest.fixture
def phone(new_context, live_server) -> Iterator[Page]:
    """A page on a phone: 390 by 844, touched, not clicked."""
    yield from _page(
        new_context,
        base_url=live_server.url,
        viewport={"width": 390, "height": 844},
        device_scale_factor=2,
        has_touch=True,
        is_mobile=True,
    )


@pytest.fixture
def desk(new_context, live_server) -> Iterator[Page]:
    """A page on a laptop: 1280 by 900."""
    yield from _page(new_context, base_url=live_server.url, viewport={"width": 1280, "height": 900})


def _page(new_context, **options: object) -> Iterator[Page]:
    """Open a page and, when the test is over, hold its script and its policy to account."""
    page = new_context(locale="en-GB", **options).new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "console",
        lambda message: complaints.append(message.text) if _breaks_policy(message.text) else None,
    )
    yield page
    assert complaints == []


def _breaks_policy(text: str) -> bool:
    return "Content Security Policy" in text


@pytest.fixture
def sign_in(live_server) -> Callable[[Page, User], None]:
    """Give a page the session of a person, without going through the sign-in form."""

    def give_session(page: Page, person: User) -> None:
        client = Client()
        client.force_login(person)
        key = client.cookies[settings.SESSION_COOKIE_NAME].value
        page.context.add_cookies(
            [{"name": settings.SESSION_COOKIE_NAME, "value": key, "url": live_server.url}]
        )

    return give_session
