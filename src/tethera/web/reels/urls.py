"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
