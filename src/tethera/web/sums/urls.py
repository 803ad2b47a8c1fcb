"""Addresses of the sums."""

from django.urls import path

from tethera.web.sums import views

urlpatterns = [
    path("sums", views.sums, name="sums"),
]
