"""Addresses of tracing."""

from django.urls import path

from kegsafe.tracing import views

urlpatterns = [
    path("", views.search, name="trace"),
    path("lot/<int:pk>/", views.lot, name="trace-lot"),
    path("lot/<int:pk>/diagram.svg", views.lot_diagram, name="trace-lot-diagram"),
    path("lot/<int:pk>/spreadsheet.xlsx", views.lot_spreadsheet, name="trace-lot-spreadsheet"),
    path("lot/<int:pk>/events.jsonld", views.lot_events, name="trace-lot-events"),
    path("fill/<int:pk>/", views.fill, name="trace-fill"),
    path("fill/<int:pk>/diagram.svg", views.fill_diagram, name="trace-fill-diagram"),
    path("fill/<int:pk>/spreadsheet.xlsx", views.fill_spreadsheet, name="trace-fill-spreadsheet"),
    path("fill/<int:pk>/events.jsonld", views.fill_events, name="trace-fill-events"),
]
