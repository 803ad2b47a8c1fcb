"""Addresses of the routes."""

from django.urls import path

from tethera.web.routes import bringing, editing, loads, views

urlpatterns = [
    path("routes", views.routes, name="routes"),
    path("write-route", editing.new_route, name="route-new"),
    path("write-route/drawn", editing.draw, name="route-draw"),
    path("bring-route", bringing.bring, name="route-bring"),
    path("routes/<slug:key>", views.route, name="route"),
    path("routes/<slug:key>/change", editing.edit_route, name="route-edit"),
    path("routes/<slug:key>/versions", views.versions, name="route-versions"),
    path("routes/<slug:key>/versions/<int:number>", views.version, name="route-version"),
    path("routes/<slug:key>/route.toml", views.route_file, name="route-file"),
    path("routes/<slug:key>/route.xlsx", bringing.workbook, name="route-rows"),
    path("routes/<slug:key>/loads", loads.loads, name="route-loads"),
    path("routes/<slug:key>/again", bringing.again, name="route-again"),
    path("routes/<slug:key>/put-away", bringing.put_away, name="route-put-away"),
]
