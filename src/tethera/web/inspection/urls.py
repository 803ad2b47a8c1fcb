"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.inspection import due, views

urlpatterns: list[URLPattern] = [
    path("inspect", due.inspect, name="inspect"),
    path("inspect/<str:number>", views.inspect_rope, name="inspect-rope"),
    path("inspect/<str:number>/cut-out", views.cut_out, name="cut-out"),
]
