"""Addresses of the calculators."""

from django.urls import path

from kegsafe.calculators import views

urlpatterns = [
    path("", views.index, name="calculators"),
    path("<slug:name>/", views.calculator, name="calculator"),
    path("<slug:name>/answer", views.answer, name="calculator-answer"),
    path("<slug:name>/plot-<slug:size>.svg", views.plot, name="calculator-plot"),
]
