"""Addresses of buying."""

from django.urls import path

from tethera.web.buying import cutting, views

urlpatterns = [
    path("buying", views.buying, name="buying"),
    path("buying/cutting", cutting.cutting, name="cutting"),
    path("buying/<int:number>", views.buying_list, name="buying-list"),
]
