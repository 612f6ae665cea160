"""Addresses of the labels and of the printed logs."""

from django.urls import path

from kegsafe.reports import cleaning_labels, cleaning_log_pages, views

urlpatterns = [
    path("", views.labels, name="labels"),
    path("fill/<int:pk>/", views.fill_label, name="fill-label"),
    path("lot/<int:pk>/", views.lot_label, name="lot-label"),
    path("cleaning/", cleaning_labels.labels, name="cleaning-labels"),
    path("cleaning-log.csv", cleaning_log_pages.as_csv, name="cleaning-log-csv"),
    path("cleaning-log.xlsx", cleaning_log_pages.as_spreadsheet, name="cleaning-log-xlsx"),
    path("cleaning-log.pdf", cleaning_log_pages.as_pdf, name="cleaning-log-pdf"),
]
