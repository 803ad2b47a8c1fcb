"""Each kind of error becomes one answer in plain words, here and nowhere else."""

import logging
from collections.abc import Callable

from django.core.exceptions import PermissionDenied, RequestDataTooBig, TooManyFilesSent
from django.db import DataError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from tethera.basics import UnreadableWorkbook
from tethera.store import DamagedLog, LogMovedOn, Refused, UnknownRope

_logger = logging.getLogger("tethera.web")


class TellErrors:
    """Middleware that turns an error of the rooms below into a page that says what is wrong and what to do."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """The page for an error, or None to let Django tell it."""
        match error:
            case Refused():
                return _page(request, 409, _("That cannot be declared yet"), str(error).splitlines()[0], error.missing)
            case LogMovedOn():
                return _page(request, 409, _("Somebody was quicker"), str(error))
            case UnknownRope():
                return _page(request, 404, _("No such rope"), str(error))
            case UnreadableWorkbook():
                return _page(request, 400, _("That cannot be read"), str(error))
            case ValueError():
                # Most were meant for the visitor. One that was not is a mistake of ours, and must leave a trace.
                _logger.warning("Could not be read at %s: %s", request.path, error, exc_info=error)
                return _page(request, 400, _("That cannot be read"), str(error))
            case DataError():
                # A letter that no database keeps, or more of them than a column holds.
                _logger.warning("The database would not take it at %s: %s", request.path, error)
                told = _(
                    "Something in it cannot be kept, or is too long. Nothing was recorded. Go back and shorten it."
                )
                return _page(request, 400, _("That cannot be read"), told)
            case DamagedLog():
                _logger.error("The log is damaged: %s", error)
                return _page(request, 500, _("The record is damaged"), str(error))
            case OperationalError():
                _logger.error("The database does not answer: %s", error)
                told = _("The database did not answer in time. Nothing was recorded. Go back and send it again.")
                return _page(request, 503, _("Busy"), told)
        return None


def _page(request: HttpRequest, status: int, title: str, told: str, missing: tuple[str, ...] = ()) -> HttpResponse:
    visit = getattr(request, "visit", None)
    # Inside a store its head stays: the pages, and the box to type the right number into.
    inside = {"visit": visit, "store": visit.store, "around": "store.html"} if visit else {"around": "base.html"}
    more = {"title": title, "told": told, "missing": missing}
    return render(request, "error.html", inside | more, status=status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404."""
    told = exception.args[0] if isinstance(exception, Http404) and exception.args else ""
    told = told if isinstance(told, str) else ""  # Django's own are for programmers
    return _page(request, 404, _("Not found"), told or _("There is no such page. Check the address."))


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403."""
    told = str(exception) if isinstance(exception, PermissionDenied) else ""
    return _page(request, 403, _("Not for you to do"), told or _("Ask the tackle keeper."))


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400."""
    if isinstance(exception, RequestDataTooBig | TooManyFilesSent):
        return _page(request, 400, _("Too much at once"), _("That was more than can be taken at once. Send less."))
    return _page(request, 400, _("That cannot be read"), _("Go back and send it again."))


def our_mistake(request: HttpRequest) -> HttpResponse:
    """500. Django has written the traceback to the log; the visitor gets words."""
    told = _("Tethera made a mistake of its own. Nothing was recorded. Go back and try again; tell who looks after it.")
    return _page(request, 500, _("A mistake of ours"), told)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form was too old, or came from another place."""
    told = _("This form was open too long, or cookies are off. Nothing was recorded. Go back, reload, send it again.")
    return _page(request, 403, _("Send it once more"), told)
