"""Lists to buy, as they were asked for and answered. A list is no fact: what was bought is in the record."""

from typing import ClassVar

from django.db import models

from tethera.web.store.models import Store


class BuyingList(models.Model):
    """What somebody asked to be worked out, in the words of the form, and the answer as plain values."""

    store = models.ForeignKey(Store, models.CASCADE, related_name="buying_lists")
    asked = models.JSONField(default=dict)
    answer = models.JSONField(null=True)
    #: The long work that answers it now, or did last.
    work = models.PositiveBigIntegerField(null=True)
    by = models.CharField(max_length=120, default="")
    made = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["-made"]
