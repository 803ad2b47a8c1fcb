"""Addresses of the sums."""

from django.urls import path

from tethera.web.sums import anchors, falls, shrinkage, stretch, views

urlpatterns = [
    path("sums", views.sums, name="sums"),
    path("sums/shrinkage", shrinkage.shrinkage, name="sum-shrinkage"),
    path("sums/stretch", stretch.stretch, name="sum-stretch"),
    path("sums/anchors", anchors.anchors, name="sum-anchors"),
    path("sums/falls", falls.falls, name="sum-falls"),
]
