"""Each kind of error becomes one answer in plain words, here and nowhere else."""

import logging
import sys
from collections.abc import Callable

from django.core.exceptions import PermissionDenied, RequestDataTooBig, TooManyFilesSent
from django.db import DataError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from tethera.basics import UnreadableWorkbook
from tethera.store import DamagedLog, LogMovedOn, Refused, UnknownRope
from tethera.web.accounts.roles import NotForYou, Way
from tethera.web.trouble import Trouble, trouble_of

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
        trouble = trouble_of(error)
        return _in_trouble(request, trouble, error) if trouble else None


def _in_trouble(request: HttpRequest, trouble: Trouble, error: BaseException) -> HttpResponse:
    """A page that asks nothing of the database: it may be away, or take nothing."""
    _logger.error("%s at %s: %s", trouble.title, request.path, error)
    plain = {"around": "base.html", "title": trouble.title, "told": trouble.told, "request": {"method": request.method}}
    answer = HttpResponse(render_to_string("error.html", plain), status=trouble.status)
    answer._has_been_logged = True  # type: ignore[attr-defined]  # so that Django does not tell it a second time
    return answer


class WithoutTrace(logging.Filter):
    """A full disk or a database that is away is told in a line: where in our code it was met helps nobody."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let it through, without its trace."""
        error = record.exc_info[1] if isinstance(record.exc_info, tuple) else None
        trouble = trouble_of(error) if error is not None else None
        if trouble is not None:
            record.exc_info, record.exc_text = None, None
            record.msg, record.args = "%s: %s (%s)", (record.getMessage(), trouble.title, error)
        return True


def _page(
    request: HttpRequest, status: int, title: str, told: str, missing: tuple[str, ...] = (), way: Way | None = None
) -> HttpResponse:
    visit = getattr(request, "visit", None)
    # Inside a store its head stays: the pages, and the box to type the right number into.
    inside = {"visit": visit, "store": visit.store, "around": "store.html"} if visit else {"around": "base.html"}
    more = {"title": title, "told": told, "missing": missing, "way": way}
    return render(request, "error.html", inside | more, status=status)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404."""
    told = exception.args[0] if isinstance(exception, Http404) and exception.args else ""
    told = told if isinstance(told, str) else ""  # Django's own are for programmers
    return _page(request, 404, _("Not found"), told or _("There is no such page. Check the address."))


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """403."""
    told = str(exception) if isinstance(exception, PermissionDenied) else ""
    way = exception.way if isinstance(exception, NotForYou) else None
    return _page(request, 403, _("Not for you to do"), told or _("Ask the tackle keeper."), way=way)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400."""
    if isinstance(exception, RequestDataTooBig | TooManyFilesSent):
        return _page(request, 400, _("Too much at once"), _("That was more than can be taken at once. Send less."))
    return _page(request, 400, _("That cannot be read"), _("Go back and send it again."))


def our_mistake(request: HttpRequest) -> HttpResponse:
    """500. Django writes the traceback to the log; the visitor gets words.

    What the disk or the database could not do outside of a view, as to keep a session, comes here too.
    """
    error = sys.exc_info()[1]
    trouble = trouble_of(error) if error is not None else None
    if error is not None and trouble is not None:
        return _in_trouble(request, trouble, error)
    told = _("Tethera made a mistake of its own. Nothing was recorded. Go back and try again; tell who looks after it.")
    return _page(request, 500, _("A mistake of ours"), told)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The form was too old, or came from another place."""
    told = _("This form was open too long, or cookies are off. Nothing was recorded. Go back, reload, send it again.")
    return _page(request, 403, _("Send it once more"), told)
