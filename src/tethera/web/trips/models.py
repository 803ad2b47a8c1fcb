"""Working papers of trips: who goes where and when, what they wish, the plan so far, what is in the bags.

A working paper is no fact: what holds a rope for a trip are the bookings in the record.
"""

from typing import Any, ClassVar

from django.db import models

from tethera.web.store.models import Store


def no_wishes() -> dict[str, Any]:
    """Wishes before anybody wished."""
    return {"take": [], "leave": [], "confidence": 95, "prefer": "least-left-over"}


class Trip(models.Model):
    """One trip of a store; `name` is what its bookings carry."""

    store = models.ForeignKey(Store, models.CASCADE, related_name="trips")
    name = models.CharField(max_length=120)
    first_day = models.DateField()
    last_day = models.DateField()
    #: The day the ropes are due back; the last day where nobody said.
    due_back = models.DateField(null=True)
    leader = models.CharField(max_length=120, default="")
    party = models.PositiveSmallIntegerField(default=4)
    #: Short names of its routes, in the order they are gone.
    routes = models.JSONField(default=list)
    wishes = models.JSONField(default=no_wishes)
    #: Other trips of the same days that this one is not planned together with.
    apart_from = models.JSONField(default=list)
    #: The plan as plain values (planning.plan_values), what it was made from, and for which trips and routes.
    plan = models.JSONField(null=True)
    planned_from = models.CharField(max_length=64, default="")
    planned_for = models.JSONField(default=list)
    #: The plan that was booked, with its `planned_for`: bags and papers go by it while another is tried.
    booked_plan = models.JSONField(null=True)
    #: What was asked about the plan:
    #: {"of": seal, "why": {"UG17": [sentence, …]}, "others": [{"said": […], "plan": …, "id": …}]}
    asked = models.JSONField(default=dict)
    #: The long work that plans it now, or did last.
    work = models.PositiveBigIntegerField(null=True)
    #: {"wick/UG41": {"by": name, "person": id, "at": …}}: what lies in the bags already; older ticks have no id.
    packed = models.JSONField(default=dict)
    called_off = models.BooleanField(default=False)
    #: Its ropes are back: what stands on its paper is what was.
    over = models.BooleanField(default=False)
    made = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["first_day", "name"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["store", "name"], name="one_trip_a_name")]

    def __str__(self) -> str:
        return self.name

    def overlaps(self, other: "Trip") -> bool:
        """Whether any day is in both."""
        return self.first_day <= other.last_day and other.first_day <= self.last_day
