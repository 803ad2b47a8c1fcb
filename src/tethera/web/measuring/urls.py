"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.measuring import views

urlpatterns: list[URLPattern] = [
    path("measure", views.choose, name="measure"),
    path("measure/<slug:number>", views.measure, name="measure-rope"),
]
