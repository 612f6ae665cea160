"""Acknowledged is on disk. The modules here run as processes of their own, to be killed."""

import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()
