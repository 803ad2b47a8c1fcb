"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.importing import views

urlpatterns: list[URLPattern] = [
    path("import", views.bring, name="import"),
    path("import/<int:key>", views.draft, name="import-draft"),
    path("import/<int:key>/drop", views.drop, name="import-drop"),
    path("import/<int:key>/done", views.done, name="import-done"),
]
