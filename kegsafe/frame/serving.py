"""Start the web server in this process, after what must be true before the first request."""

import os
import socket
import sqlite3
import sys
from typing import NoReturn

from django.conf import settings
from django.core.management import CommandError, call_command
from django.core.servers.basehttp import get_internal_wsgi_application
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from kegsafe.frame.checks import demo_key_in_use, sqlite_doubt
from kegsafe.frame.static_files import collect_static_files

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8000
_ONLY_THIS_MACHINE = {"127.0.0.1", "localhost", "::1"}


def serve_here(host: str = DEFAULT_HOST, port: int = DEFAULT_PORT) -> NoReturn:
    """Serve until Ctrl+C with gunicorn, on Windows with waitress; this process becomes the server.

    Raises CommandError when the key is the demo's outside the demo, no host
    name is set, the database lacks migrations, or the port is taken.
    """
    _refuse_unsafe_settings()
    _refuse_an_unready_database()
    refuse_a_taken_port(host, port)
    _say_what_matters(host)
    collect_static_files()
    call_command("clearsessions")
    _open_the_demo_to(host)
    print(f"kegsafe answers at http://{_in_an_address(host)}:{port}/ (Ctrl+C ends it)", flush=True)
    connection.close()
    if os.name == "nt":
        _serve_with_waitress(host, port)
    _become_gunicorn(host, port)


def _refuse_unsafe_settings() -> None:
    if wrong := demo_key_in_use():
        raise CommandError(wrong)
    if not settings.ALLOWED_HOSTS:
        raise CommandError(
            "KEGSAFE_ALLOWED_HOSTS is not set, so every request would be refused. Set the names "
            "people type to get here: export KEGSAFE_ALLOWED_HOSTS=kegsafe.example.org,localhost"
        )


def _refuse_an_unready_database() -> None:
    executor = MigrationExecutor(connection)
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if waiting:
        raise CommandError(
            f"The database lacks {len(waiting)} migrations, the first is {waiting[0][0]}. "
            "Back the database up if it holds records, then run: python3 manage.py migrate"
        )


def refuse_a_taken_port(host: str, port: int) -> None:
    """Raise CommandError, naming another port to try, when nobody can listen there."""
    if not 1 <= port <= 65535:
        raise CommandError(f"{port} is no port. Write one between 1 and 65535: --port 8000")
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        if os.name != "nt":
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as error:
            raise CommandError(
                f"Cannot listen on {host} port {port} ({error.strerror}). "
                f"Choose another port, as in --port {min(port + 1, 65535)}"
            ) from error


def _say_what_matters(host: str) -> None:
    if connection.vendor == "sqlite":
        print(f"SQLite {sqlite3.sqlite_version}, database {settings.DATABASES['default']['NAME']}")
        if doubt := sqlite_doubt():
            print(f"Warning: {doubt}")
    if settings.DEMO and host not in _ONLY_THIS_MACHINE:
        print("Warning: everybody on this network can open the demo, and its passwords are public.")
    if settings.TLS and not settings.TRUSTED_PROXY:
        print(
            "Note: every page redirects to https. Put a proxy that ends TLS in front and set "
            "KEGSAFE_TRUSTED_PROXY=on, or on a closed network set KEGSAFE_TLS=off."
        )


def _open_the_demo_to(host: str) -> None:
    """Answer to every name when the demo was started for other devices too."""
    named = "KEGSAFE_ALLOWED_HOSTS" in os.environ
    if settings.DEMO and host not in _ONLY_THIS_MACHINE and not named:
        settings.ALLOWED_HOSTS.append("*")
        os.environ["KEGSAFE_ALLOWED_HOSTS"] = "*"  # gunicorn reads the settings anew


def _in_an_address(host: str) -> str:
    if host == "0.0.0.0":  # noqa: S104
        return "127.0.0.1"
    return f"[{host}]" if ":" in host else host


def _become_gunicorn(host: str, port: int) -> NoReturn:
    """Replace this process, so that the server inherits no open database connection."""
    workers = "1" if settings.DEMO else os.environ.get("WEB_CONCURRENCY", "2")
    command = [
        *(sys.executable, "-m", "gunicorn", "kegsafe.wsgi:application"),
        *("--chdir", str(settings.BASE_DIR)),
        *("--bind", f"[{host}]:{port}" if ":" in host else f"{host}:{port}"),
        *("--workers", workers, "--threads", "4"),
        # A large report may take its time; a hung worker still ends.
        *("--timeout", "120", "--graceful-timeout", "10"),
        # Whether a proxy is trusted is said once, in the settings.
        *("--forwarded-allow-ips", ""),
        *("--log-level", "warning", "--no-control-socket"),
    ]
    sys.stdout.flush()
    os.execv(sys.executable, command)


def _serve_with_waitress(host: str, port: int) -> NoReturn:
    from waitress import serve

    serve(
        get_internal_wsgi_application(),
        host=host,
        port=port,
        threads=8,
        clear_untrusted_proxy_headers=not settings.TRUSTED_PROXY,
    )
    sys.exit()
