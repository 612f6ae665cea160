"""Addresses of kegs, lines, taps and places."""

from django.urls import path

from kegsafe.equipment import views

urlpatterns = [
    path("", views.kegs, name="kegs"),
    path("kegs/add/", views.keg_add, name="keg-add"),
    path("kegs/<int:pk>/", views.keg, name="keg"),
    path("kegs/<int:pk>/amend/", views.keg_amend, name="keg-amend"),
    path("kegs/<int:pk>/service/", views.keg_service, name="keg-service"),
    path("kegs/<int:pk>/move/", views.keg_move, name="keg-move"),
    path("lines/", views.lines, name="lines"),
    path("lines/add/", views.line_add, name="line-add"),
    path("lines/<int:pk>/", views.line, name="line"),
    path("lines/<int:pk>/amend/", views.line_amend, name="line-amend"),
    path("lines/<int:pk>/service/", views.line_service, name="line-service"),
    path("taps/", views.taps, name="taps"),
    path("taps/add/", views.tap_add, name="tap-add"),
    path("taps/<int:pk>/amend/", views.tap_amend, name="tap-amend"),
    path("places/", views.places, name="places"),
    path("places/add/", views.place_add, name="place-add"),
    path("places/<int:pk>/amend/", views.place_amend, name="place-amend"),
]
