"""Addresses of the marks."""

from django.urls import path

from tethera.web.marks import lettering, views

urlpatterns = [
    path("marks", views.marks, name="marks"),
    path("marks/strips.pdf", views.strips, name="marks-pdf"),
    path("marks/<str:number>", lettering.mark_rope, name="mark-rope"),
]
