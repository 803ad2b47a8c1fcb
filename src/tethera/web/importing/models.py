"""Spreadsheets on their way in: as they were read, and what their keeper changed on them so far."""

from pathlib import Path
from typing import ClassVar

from django.db import models

from tethera.web.accounts.models import Account
from tethera.web.store.models import Store
from tethera.web.work.files import DRAFT_PREFIX, work_folder


class Draft(models.Model):
    """One file that somebody brought. Its sheets are kept as they were written; changes lie beside, sheet by sheet."""

    store = models.ForeignKey(Store, models.CASCADE, related_name="drafts")
    account = models.ForeignKey(Account, models.SET_NULL, null=True, related_name="+")
    name = models.CharField(max_length=200)
    #: jsonl, xlsx or csv where the file is an export of a store; empty for a spreadsheet of somebody's own.
    form = models.CharField(max_length=10, default="")
    #: [{"name": …, "rows": [[cell, …], …]}, …]
    sheets = models.JSONField(default=list)
    sheet = models.PositiveIntegerField(default=0)
    #: The day, month or year on which the sheet was right, in ISO form; empty for today.
    as_of = models.CharField(max_length=10, default="")
    #: By the sheet's place: {"0": {"columns": …, "corrected": …, "without": …, "again": …, "right": …}}
    changed = models.JSONField(default=dict)
    #: What else is to be told of it: of an export what it holds, of a recorded sheet what needs a hand next.
    about = models.JSONField(default=dict)
    made = models.DateTimeField(auto_now_add=True)
    read = models.DateTimeField(null=True)
    recorded = models.DateTimeField(null=True)
    ropes = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["-made"]

    @property
    def path(self) -> Path:
        """Where the file itself lies until it has been read; an export until it was brought in."""
        return work_folder() / f"{DRAFT_PREFIX}{self.pk}"

    def drop(self) -> None:
        """Forget it, its file too."""
        self.path.unlink(missing_ok=True)
        self.delete()
