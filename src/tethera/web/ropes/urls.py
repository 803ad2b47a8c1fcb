"""Addresses of these pages, below the store's own."""

from django.urls import URLPattern, path, register_converter

from tethera.web.ropes import (
    list_many,
    list_page,
    one,
    one_acts,
    one_correct,
    one_describe,
    one_photos,
    one_retire,
    recall,
)
from tethera.web.ropes.one_number import RopeNumber

register_converter(RopeNumber, "rope")

urlpatterns: list[URLPattern] = [
    # One rope.
    path("ropes/<rope:number>", one.rope, name="rope"),
    path("ropes/<rope:number>/do/<slug:word>", one_acts.act, name="rope-do"),
    path("ropes/<rope:number>/describe", one_describe.describe, name="rope-describe"),
    path("ropes/<rope:number>/correct/<int:event>", one_correct.correct, name="rope-correct"),
    path("ropes/<rope:number>/retire", one_retire.retire, name="rope-retire"),
    path("ropes/<rope:number>/photos", one_photos.attach, name="rope-photos"),
    path("ropes/<rope:number>/photo/<str:name>.jpg", one_photos.show, name="rope-photo"),
    # Many ropes.
    path("ropes", list_page.ropes, name="ropes"),
    path("ropes/several", list_many.many, name="many"),
    path("ropes/recall", recall.recall, name="recall"),
]
