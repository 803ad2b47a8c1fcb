"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.preparation import views

urlpatterns: list[URLPattern] = [
    path("preparation", views.preparation, name="preparation"),
    path("preparation/<slug:word>", views.step, name="preparation-step"),
]
