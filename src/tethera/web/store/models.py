"""Rows of a store: the events as they were written, and what lies beside them. No rule about ropes is here."""

import secrets
from typing import ClassVar

from django.db import models


def new_secret() -> str:
    """An address that nobody guesses."""
    return secrets.token_urlsafe(24)


class Store(models.Model):
    """One tackle store of the installation. `length` is the number of its events, and the row the writers lock."""

    slug = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=200)
    length = models.PositiveBigIntegerField(default=0)
    calendar_key = models.CharField(max_length=64, default=new_secret)
    made = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name


class LoggedEvent(models.Model):
    """One event as the log's JSON, at its place in the log counted from 0. Never changed, never deleted."""

    store = models.ForeignKey(Store, models.PROTECT, related_name="events")
    number = models.PositiveBigIntegerField()
    body = models.TextField()

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["store", "number"], name="one_event_a_place")]


class Person(models.Model):
    """Whom an id in the log means. An erased name leaves its id behind, so that no id is given twice."""

    store = models.ForeignKey(Store, models.CASCADE, related_name="people")
    key = models.CharField(max_length=20)
    name = models.CharField(max_length=200, null=True)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["store", "key"], name="one_person_an_id")]


class Acknowledged(models.Model):
    """An act that was recorded, by the token its form carried: sent twice, it is recorded once."""

    store = models.ForeignKey(Store, models.CASCADE)
    token = models.CharField(max_length=64)
    answer = models.JSONField(default=dict)
    at = models.DateTimeField(auto_now_add=True, db_index=True)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["store", "token"], name="one_act_a_token")]


class Photo(models.Model):
    """A photograph that events name by its SHA-256; the picture lies in the folder `photos`."""

    store = models.ForeignKey(Store, models.PROTECT, related_name="photos")
    sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    kept = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["store", "sha256"], name="one_photo_a_sum")]
