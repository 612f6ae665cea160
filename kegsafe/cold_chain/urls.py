"""Addresses of the temperature round, the readings, the places, loggers and thermometers."""

from django.urls import path

from kegsafe.cold_chain.views import (
    devices,
    gaps,
    gaps_together,
    logs,
    network,
    places,
    rounds,
    time_holds,
)

urlpatterns = [
    path("", rounds.cold_round, name="cold-round"),
    path("readings/", rounds.readings, name="cold-readings"),
    path("readings/<int:pk>/", rounds.reading, name="cold-reading"),
    path("readings/<int:pk>/amend/", rounds.reading_amend, name="cold-reading-amend"),
    path("places/<int:pk>/", places.place, name="cold-place"),
    path("places/<int:pk>/chart-<str:size>.svg", places.chart, name="cold-chart"),
    path("places/<int:pk>/cooling/", places.cooling_of_place, name="cold-place-cooling"),
    path("places/<int:pk>/excursions/<int:from_s>/", places.action, name="cold-action"),
    path("gaps/", gaps.gaps, name="cold-gaps"),
    path("not-read/all/", gaps_together.gaps_together, name="cold-gaps-together"),
    path("places/<int:pk>/gaps/<int:from_s>/<int:until_s>/", gaps.gap, name="cold-gap"),
    path("places/<int:pk>/file/", logs.log_add, name="cold-log-add"),
    path("places/<int:pk>/loggers/add/", devices.logger_add, name="cold-logger-add"),
    path("files/<int:pk>/", logs.log_file, name="cold-log-file"),
    path("logs/<int:pk>/", logs.log, name="cold-log"),
    path("loggers/<int:pk>/", devices.logger, name="cold-logger"),
    path("loggers/readings/", network.readings, name="logger-readings"),
    path("loggers/openapi.json", network.document, name="logger-openapi"),
    path("thermometers/", devices.thermometers, name="thermometers"),
    path("thermometers/add/", devices.thermometer_add, name="thermometer-add"),
    path("thermometers/<int:pk>/", devices.thermometer, name="thermometer"),
    path("cooling/", devices.coolings, name="coolings"),
    path("cooling/add/", devices.cooling_add, name="cooling-add"),
    path("cooling/<int:pk>/", devices.cooling, name="cooling"),
    path("by-time/", time_holds.time_holds, name="time-holds"),
    path("by-time/add/", time_holds.time_hold_add, name="time-hold-add"),
    path("by-time/<int:pk>/", time_holds.time_hold, name="time-hold"),
]
