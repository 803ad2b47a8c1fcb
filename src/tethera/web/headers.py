"""What browsers are told beside each page, for what Django has no setting."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

#: The camera reads marks; nothing else of a device is ever asked for.
_DEVICES = "camera=(self), geolocation=(), microphone=(), payment=(), usb=()"


def more_headers(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: pages are for this site alone, and what is shown to who is signed in no cache keeps on the way."""

    def answered(request: HttpRequest) -> HttpResponse:
        answer = get_response(request)
        answer.headers.setdefault("Permissions-Policy", _DEVICES)
        answer.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        answer.headers.setdefault("Cache-Control", "private, no-cache")
        return answer

    return answered
