"""Addresses of the routes."""

from django.urls import path

from tethera.web.routes import views

urlpatterns = [
    path("routes", views.routes, name="routes"),
    path("routes/<slug:key>", views.route, name="route"),
    path("routes/<slug:key>/versions", views.versions, name="route-versions"),
    path("routes/<slug:key>/versions/<int:number>", views.version, name="route-version"),
    path("routes/<slug:key>/route.toml", views.route_file, name="route-file"),
]
