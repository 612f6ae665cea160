"""`python3 manage.py serve`, started for real on a port and a data folder of its own."""

import os
import re
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import closing
from http.client import HTTPResponse
from pathlib import Path

import pytest
from django.urls import reverse

from kegsafe.frame import serving

PROJECT = Path(__file__).parents[2]
SECRET_KEY = "a-key-for-one-test-that-nobody-else-will-ever-use-0123456789"
PATIENCE_S = 60


def _environment(data: Path, **more: str) -> dict[str, str]:
    """The surroundings of a server, free of what the tests themselves run under."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("KEGSAFE_", "DJANGO_")) and name != "DATABASE_URL"
    }
    return kept | {"KEGSAFE_DATA": str(data)} | more


def _for_real(data: Path) -> dict[str, str]:
    return _environment(
        data,
        KEGSAFE_SECRET_KEY=SECRET_KEY,
        KEGSAFE_ALLOWED_HOSTS="127.0.0.1",
        KEGSAFE_TRUSTED_PROXY="on",
    )


def _manage(*arguments: str, environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """Run manage.py from a folder that is not the project's."""
    return subprocess.run(
        [sys.executable, str(PROJECT / "manage.py"), *arguments],
        env=environment,
        cwd="/",
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture(scope="module")
def data(tmp_path_factory) -> Path:
    """A data folder with a migrated, empty database."""
    folder = tmp_path_factory.mktemp("data")
    migrated = _manage("migrate", "--verbosity", "0", environment=_for_real(folder))
    assert migrated.returncode == 0, migrated.stderr
    _keep_two_sessions(folder)
    return folder


def _keep_two_sessions(folder: Path) -> None:
    with closing(sqlite3.connect(folder / "kegsafe.sqlite3")) as database, database:
        database.executemany(
            "INSERT INTO django_session VALUES (?, '', ?)",
            [("ended", "2020-01-01 00:00:00"), ("open", "2999-01-01 00:00:00")],
        )


@pytest.fixture(scope="module")
def address(data) -> Iterator[str]:
    """The address of a running server."""
    port = _free_port()
    command = [sys.executable, str(PROJECT / "manage.py"), "serve", "--port", str(port)]
    log = data / "server.log"
    with (
        log.open("w") as record,
        subprocess.Popen(
            command, env=_for_real(data), cwd="/", stdout=record, stderr=record
        ) as server,
    ):
        try:
            _wait_for(server, port, log)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()


def _wait_for(server: subprocess.Popen[bytes], port: int, log: Path) -> None:
    give_up_at = time.monotonic() + PATIENCE_S
    while server.poll() is None and time.monotonic() < give_up_at:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    pytest.fail(f"The server did not start: {log.read_text()}")


def _get(url: str, **headers: str) -> HTTPResponse:
    """Fetch a page as the trusted proxy does for somebody who came over https."""
    request = urllib.request.Request(url, headers={"X-Forwarded-Proto": "https"} | headers)
    return urllib.request.urlopen(request, timeout=PATIENCE_S)


def test_the_sign_in_page_is_served(address):
    assert _get(address + reverse("sign-in")).status == 200


def test_sessions_that_ended_are_cleared_at_the_start(address, data):
    with closing(sqlite3.connect(data / "kegsafe.sqlite3")) as database:
        kept = database.execute("SELECT session_key FROM django_session").fetchall()
    assert kept == [("open",)]


def test_a_page_forbids_all_content_but_the_sites_own(address):
    header = _get(address + reverse("sign-in")).headers["Content-Security-Policy"]
    policy = {part.strip() for part in header.split(";")}
    assert policy == {
        "default-src 'self'",
        "img-src 'self' data:",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    }


def test_a_page_holds_no_inline_script_or_style(address):
    page = _get(address + reverse("sign-in")).read().decode()
    assert re.findall(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", page) == []


def test_a_style_sheet_is_compressed_and_kept_for_good(address):
    page = _get(address + reverse("sign-in")).read().decode()
    hashed = re.search(r'href="(/static/[^"]+\.[0-9a-f]{12}\.css)"', page)
    assert hashed is not None
    answer = _get(address + hashed[1], **{"Accept-Encoding": "br"})
    assert answer.headers["Content-Encoding"] == "br"
    assert "immutable" in answer.headers["Cache-Control"]


def test_the_cookies_of_the_sign_in_page_travel_over_https_only(address):
    cookies = _get(address + reverse("sign-in")).headers.get_all("Set-Cookie")
    assert cookies
    assert all("Secure" in cookie and "SameSite=Lax" in cookie for cookie in cookies)


def test_plain_http_is_sent_on_to_https(address):
    class Stay(urllib.request.HTTPRedirectHandler):
        def redirect_request(self, *_arguments: object) -> None:
            return None

    with pytest.raises(urllib.error.HTTPError) as answer:
        urllib.request.build_opener(Stay).open(address + "/", timeout=PATIENCE_S)
    assert answer.value.code == 301
    assert answer.value.headers["Location"].startswith("https://")


def test_a_name_that_is_not_ours_is_refused(address):
    with pytest.raises(urllib.error.HTTPError) as answer:
        _get(address + "/", Host="elsewhere.example")
    assert answer.value.code == 400


def test_a_taken_port_is_named_and_another_one_proposed(address, data):
    port = int(address.rsplit(":", 1)[1])
    second = _manage("serve", "--port", str(port), environment=_for_real(data))
    assert second.returncode == 1
    assert f"port {port} (Address already in use)" in second.stderr
    assert f"--port {port + 1}" in second.stderr


def test_the_settings_pass_djangos_deployment_checks(data):
    checked = _manage("check", "--deploy", "--fail-level", "INFO", environment=_for_real(data))
    assert checked.returncode == 0, checked.stderr
    assert "no issues (0 silenced)" in checked.stdout


def test_serving_without_a_key_of_ones_own_is_refused(data):
    environment = _environment(data, KEGSAFE_ALLOWED_HOSTS="127.0.0.1")
    refused = _manage("serve", "--port", str(_free_port()), environment=environment)
    assert refused.returncode == 1
    assert "KEGSAFE_SECRET_KEY is not set" in refused.stderr


def test_the_web_server_by_itself_refuses_the_demos_key_too(data):
    refused = subprocess.run(
        [sys.executable, "-c", "import kegsafe.wsgi"],
        env=_environment(data),
        cwd=PROJECT,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )
    assert refused.returncode == 1
    assert "KEGSAFE_SECRET_KEY is not set" in refused.stderr


def test_the_deployment_checks_refuse_the_demos_key(data):
    environment = _environment(data, KEGSAFE_ALLOWED_HOSTS="127.0.0.1")
    assert "kegsafe.E001" in _manage("check", "--deploy", environment=environment).stderr


def test_serving_to_no_name_at_all_is_refused(data):
    environment = _environment(data, KEGSAFE_SECRET_KEY=SECRET_KEY)
    refused = _manage("serve", "--port", str(_free_port()), environment=environment)
    assert "KEGSAFE_ALLOWED_HOSTS is not set" in refused.stderr


def test_serving_an_empty_database_says_to_migrate_first(tmp_path):
    refused = _manage("serve", "--port", str(_free_port()), environment=_for_real(tmp_path))
    assert refused.returncode == 1
    assert "python3 manage.py migrate" in refused.stderr


@pytest.mark.parametrize(
    ("host", "names"), [("0.0.0.0", ["localhost", "*"]), ("127.0.0.1", ["localhost"])]
)
def test_a_demo_answers_to_every_name_only_when_it_was_opened_to_other_devices(
    host, names, settings, monkeypatch
):
    monkeypatch.setenv("KEGSAFE_ALLOWED_HOSTS", "")
    monkeypatch.delenv("KEGSAFE_ALLOWED_HOSTS")
    settings.DEMO = True
    settings.ALLOWED_HOSTS = ["localhost"]
    serving._open_the_demo_to(host)
    assert names == settings.ALLOWED_HOSTS


def test_a_real_server_never_answers_to_every_name_by_itself(settings, monkeypatch):
    monkeypatch.delenv("KEGSAFE_ALLOWED_HOSTS")
    settings.ALLOWED_HOSTS = ["kegsafe.example"]
    serving._open_the_demo_to("0.0.0.0")
    assert settings.ALLOWED_HOSTS == ["kegsafe.example"]
