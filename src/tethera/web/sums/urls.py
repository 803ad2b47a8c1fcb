"""Addresses of the sums."""

from django.urls import path

from tethera.web.sums import falls, stretch, views

urlpatterns = [
    path("sums", views.sums, name="sums"),
    path("sums/stretch", stretch.stretch, name="sum-stretch"),
    path("sums/falls", falls.falls, name="sum-falls"),
]
