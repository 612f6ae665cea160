"""Addresses of the cleaning room."""

from django.urls import path

from kegsafe.cleaning.views import (
    cupboard,
    cycles,
    due,
    feed,
    items,
    left_behind,
    log,
    plain_record,
    plans,
    recording,
)

urlpatterns = [
    path("", due.due, name="cleaning"),
    # recording
    path("start/", recording.start, name="cycle-start"),
    path("circuits/<uuid:circuit>/", recording.circuit, name="circuit"),
    path("circuits/<uuid:circuit>/give-up/", recording.give_up, name="circuit-give-up"),
    path("circuits/<uuid:circuit>/sign/", recording.sign, name="circuit-sign"),
    path("circuits/<uuid:circuit>/finish/", recording.finish, name="circuit-finish"),
    # what is on record
    path("cycles/", log.cycles, name="cycles"),
    path("lines/<int:pk>/year/", log.line_year, name="line-year"),
    path("lines/<int:pk>/left/", left_behind.line, name="line-left"),
    path("kegs/<int:pk>/left/", left_behind.keg, name="keg-left"),
    path("cycles/<int:pk>/", cycles.cycle, name="cycle"),
    path("cycles/<int:pk>/corrective/", cycles.corrective_action, name="cycle-corrective"),
    path("corrective/<int:pk>/check/", cycles.corrective_check, name="corrective-check"),
    # what it rests on
    path("plans/", plans.plans, name="cleaning-plans"),
    path("plans/<int:pk>/", plans.plan, name="cleaning-plan"),
    path("plans/<int:pk>/change/", plans.change, name="cleaning-plan-change"),
    path("plans/<int:pk>/retire/", plans.retire, name="cleaning-plan-retire"),
    path("chemicals/", cupboard.chemicals, name="chemicals"),
    path("chemicals/add/", cupboard.chemical_add, name="chemical-add"),
    path("chemicals/<int:pk>/", cupboard.chemical, name="chemical"),
    path("chemicals/<int:pk>/amend/", cupboard.chemical_amend, name="chemical-amend"),
    path("chemicals/<int:pk>/sheet/", cupboard.sheet_add, name="chemical-sheet-add"),
    path("chemicals/sheets/<int:pk>/", cupboard.sheet, name="data-sheet"),
    path("chemicals/batches/<int:pk>/amend/", cupboard.batch_amend, name="batch-of-chemical-amend"),
    path("chemicals/<int:pk>/batch/", cupboard.batch_add, name="chemical-batch-add"),
    path("equipment/", items.items, name="clean-items"),
    path("equipment/add/", items.item_add, name="clean-item-add"),
    path("equipment/carried/", items.drinks_carried, name="drinks-carried"),
    path("equipment/<int:pk>/", items.item, name="clean-item"),
    path("equipment/<int:pk>/amend/", items.item_amend, name="clean-item-amend"),
    # followed from elsewhere
    path("calendar/", feed.addresses, name="feed-addresses"),
    path("calendar/<int:pk>/revoke/", feed.revoke, name="feed-revoke"),
    path("calendar/<str:token>.ics", feed.calendar, name="cleaning-calendar"),
    # plain dated records
    path("records/", plain_record.records, name="cleaning-records"),
    path("record/", plain_record.record, name="clean-record"),
    path("<int:pk>/", plain_record.clean, name="clean"),
    path("<int:pk>/amend/", plain_record.amend, name="clean-amend"),
]
