"""The address of the first page after signing in."""

from django.urls import path

from kegsafe.readiness import views

urlpatterns = [path("", views.today, name="home")]
