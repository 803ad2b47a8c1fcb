"""Long work and how far it is, so that a page can show it and stop it."""

from pathlib import Path
from typing import ClassVar

from django.db import models

from tethera.web.accounts.models import Account
from tethera.web.store.models import Store
from tethera.web.work.files import work_folder


class Work(models.Model):
    """One piece of long work. `kind` names the function that does it, `asked` what it was given."""

    store = models.ForeignKey(Store, models.CASCADE, related_name="work")
    account = models.ForeignKey(Account, models.CASCADE, related_name="+")
    kind = models.CharField(max_length=40)
    title = models.CharField(max_length=200)
    asked = models.JSONField(default=dict)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    doing = models.CharField(max_length=200, default="")
    stop_asked = models.BooleanField(default=False)
    made = models.DateTimeField(auto_now_add=True)
    #: How often it was begun: more than once where the machine or Tethera stopped in the middle of it.
    begun = models.PositiveSmallIntegerField(default=0)
    started = models.DateTimeField(null=True)
    ended = models.DateTimeField(null=True)
    trouble = models.TextField(default="")
    #: Where to go when it is done, or the name of the file that it made.
    leads_to = models.CharField(max_length=300, default="")
    file_name = models.CharField(max_length=200, default="")

    class Meta:
        ordering: ClassVar = ["-made"]

    @property
    def path(self) -> Path:
        """Where the file lies that it made."""
        return work_folder() / str(self.pk)

    @property
    def percent(self) -> int:
        """How far it is [%]."""
        return min(100, 100 * self.done // self.total) if self.total else 0

    @property
    def state(self) -> str:
        """Waiting, going on, done, stopped or in trouble."""
        if self.trouble:
            return "trouble"
        if self.ended is not None:
            return "stopped" if self.stop_asked else "done"
        return "going on" if self.started is not None else "waiting"
