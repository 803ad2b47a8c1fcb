"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.reels import views

urlpatterns: list[URLPattern] = [
    path("new-ropes", views.new_ropes, name="new-ropes"),
    path("new-ropes/pieces", views.pieces, name="new-ropes-pieces"),
    path("new-ropes/written", views.written, name="new-ropes-written"),
]
