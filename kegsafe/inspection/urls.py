"""Addresses of inspection."""

from django.urls import path

from kegsafe.inspection.views import checking, haccp, links, packs

urlpatterns = [
    path("", packs.packs, name="packs"),
    path("new/", packs.pack_make, name="pack-make"),
    path("work/<int:pk>/", packs.pack_work, name="pack-work"),
    path("work/<int:pk>/state/", packs.pack_work_state, name="pack-work-state"),
    path("packs/<int:pk>/", packs.pack, name="pack"),
    path("packs/<int:pk>/pdf/", packs.pack_pdf, name="pack-pdf"),
    path("packs/<int:pk>/rows/", packs.pack_rows, name="pack-rows"),
    path("packs/<int:pk>/link/", links.pack_link, name="pack-link"),
    path("links/<int:pk>/end/", links.link_end, name="link-end"),
    path("read/<str:token>/", links.link, name="link"),
    path("read/<str:token>/pdf/", links.link_pdf, name="link-pdf"),
    path("read/<str:token>/rows/", links.link_rows, name="link-rows"),
    path("check/", checking.pack_check, name="pack-check"),
    path("haccp/", haccp.haccp, name="haccp"),
    path("haccp/<int:pk>/", haccp.haccp_step, name="haccp-step"),
]
