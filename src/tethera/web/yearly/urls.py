"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.yearly import views

urlpatterns: list[URLPattern] = [
    path("year", views.year, name="year"),
    path("record.pdf", views.store_record, name="store-record-pdf"),
    path("ropes/<str:number>/record.pdf", views.rope_record, name="rope-record-pdf"),
]
