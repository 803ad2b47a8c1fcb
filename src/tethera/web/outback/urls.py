"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.outback import bringing, leaving, views

urlpatterns: list[URLPattern] = [
    path("out-and-back", views.out_and_back, name="out-and-back"),
    path("out-and-back/bring-back", bringing.bring_back, name="bring-back"),
    path("out-and-back/leave-rigged", leaving.leave_rigged, name="leave-rigged"),
]
