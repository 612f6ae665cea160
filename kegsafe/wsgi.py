"""What the web server calls."""

import os

from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kegsafe.settings")

application = get_wsgi_application()

from kegsafe.frame.checks import demo_key_in_use  # noqa: E402 (needs the settings)

if wrong := demo_key_in_use():
    raise ImproperlyConfigured(wrong)
