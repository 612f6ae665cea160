"""The site's addresses and, beside them, the lean page that the pour check is measured against."""

from django.urls import include, path

from kegsafe.benchmarks.lean_page import lean_pour_check

urlpatterns = [
    path("lean/<slug:label_code>/", lean_pour_check, name="lean-pour-check"),
    path("", include("kegsafe.urls")),
]
