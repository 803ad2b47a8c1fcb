"""Address of the page that reads marks."""

from django.urls import path

from tethera.web.reading import views

urlpatterns = [path("read-mark", views.read_mark, name="read-mark")]
