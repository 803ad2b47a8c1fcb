"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.stocktake import views

urlpatterns: list[URLPattern] = [
    path("stocktake", views.stocktake, name="stocktake"),
]
