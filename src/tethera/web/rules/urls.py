"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path

from tethera.web.rules import people, views

urlpatterns: list[URLPattern] = [
    path("settings", views.rules, name="rules"),
    path("settings/calendar", views.renew_calendar, name="calendar-renew"),
    path("settings/take-away", views.take_away, name="take-away"),
    path("people", people.people, name="people"),
    path("people/<int:key>", people.member, name="member"),
    path("people/<int:key>/end", people.end, name="member-end"),
    path("people/<int:key>/password", people.password, name="member-password"),
    path("people/invitations/<int:key>/withdraw", people.withdraw, name="invitation-withdraw"),
    path("people/erase/<slug:person>", people.erase, name="erase-name"),
]
