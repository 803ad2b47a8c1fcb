"""An act counts once, however often its form is sent: it is known by its token, what was typed, where and by whom.

The token alone would not do. Whoever goes back, types something else into the same form and sends it means another
act, and must not be told that it was recorded when only the first one was.
"""

import hashlib
import json

from django.http import HttpRequest, HttpResponse

from tethera.web.store.models import Acknowledged

#: What the pages add to what was typed; it may differ each time the same is sent.
_NOT_TYPED = frozenset(("csrfmiddlewaretoken", "once", "later"))


def key_of(request: HttpRequest) -> str:
    """What this sending of a form is known by; empty where the form carries no token."""
    token = request.POST.get("once", "")
    if not token:
        return ""
    typed = sorted((name, request.POST.getlist(name)) for name in request.POST if name not in _NOT_TYPED)
    files = sorted((name, [(f.name, f.size) for f in request.FILES.getlist(name)]) for name in request.FILES)
    sent = [request.user.pk, request.path, token, typed, files]
    return hashlib.sha256(json.dumps(sent).encode()).hexdigest()


def led_to(store_key: int, key: str) -> str:
    """Where the very same form led when it was sent before; empty if it was not, or led nowhere."""
    before = Acknowledged.objects.filter(store=store_key, token=key).first() if key else None
    return "" if before is None else str(before.answer.get("led_to", ""))


def remember(store_key: int, key: str, answer: HttpResponse) -> None:
    """Keep where an act that was recorded leads, for the same form sent twice by an impatient thumb.

    What it did has changed the store: judged a second time, the form would be told that its ropes are out already.
    """
    if not key or answer.status_code != 302:
        return
    done = Acknowledged.objects.filter(store=store_key, token=key).first()
    if done is not None:
        done.answer = {**done.answer, "led_to": answer["Location"]}
        done.save(update_fields=["answer"])
