"""Addresses of the trips."""

from django.urls import path

from tethera.web.trips import back, booking, packing, rigged, views, wishes

urlpatterns = [
    path("trips", views.trips, name="trips"),
    path("trips/new", views.new_trip, name="trip-new"),
    path("trips/<int:number>", views.trip, name="trip"),
    path("trips/<int:number>/paper", views.change_trip, name="trip-paper"),
    path("trips/<int:number>/plan", views.plan, name="trip-plan"),
    path("trips/<int:number>/wish", wishes.wish, name="trip-wish"),
    path("trips/<int:number>/why", wishes.why_not, name="trip-why"),
    path("trips/<int:number>/others", wishes.others, name="trip-others"),
    path("trips/<int:number>/book", booking.book, name="trip-book"),
    path("trips/<int:number>/give-back", booking.give_back, name="trip-give-back"),
    path("trips/<int:number>/call-off", booking.call_off, name="trip-call-off"),
    path("trips/<int:number>/bags", packing.bags, name="trip-bags"),
    path("trips/<int:number>/<slug:key>/rigging-sheet.pdf", packing.sheet_pdf, name="trip-sheet-pdf"),
    path("trips/<int:number>/<slug:key>/packing-list.pdf", packing.packing_pdf, name="trip-packing-pdf"),
    path("trips/<int:number>/back", back.back, name="trip-back"),
    path("rigged", rigged.rigged, name="rigged"),
]
