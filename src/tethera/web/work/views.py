"""The page of a piece of long work: what it is doing, how far, Stop; and the file it made."""

from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import redirect

from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.work.models import Work


def _mine(visit: Visit, key: int) -> Work:
    work = Work.objects.filter(pk=key, store=visit.store, account=visit.membership.account).first()
    if work is None:
        raise Http404("There is no such work of yours.")
    return work


@page(May.READ, post=May.READ)
def work(visit: Visit, key: int) -> HttpResponse:
    """How far it is; a press on Stop."""
    work = _mine(visit, key)
    if visit.request.method == "POST":
        Work.objects.filter(pk=work.pk, ended=None).update(stop_asked=True)
        return redirect("work", visit.store.slug, key)
    if work.state == "done" and work.leads_to:
        if not getattr(visit.request, "htmx", False):
            return redirect(work.leads_to)
        return HttpResponse(headers={"HX-Redirect": work.leads_to})
    part = "work/part.html" if getattr(visit.request, "htmx", False) else "work/work.html"
    return visit.page(part, {"work": work})


@page(May.READ)
def work_file(visit: Visit, key: int) -> HttpResponse:
    """The file that the work made."""
    work = _mine(visit, key)
    if work.state != "done" or not work.file_name or not work.path.is_file():
        raise Http404("That file is not there any more. Make it again.")
    return FileResponse(work.path.open("rb"), as_attachment=True, filename=work.file_name)  # type: ignore[return-value]
