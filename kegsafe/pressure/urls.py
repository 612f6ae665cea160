"""Addresses of pressure equipment and gas."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
