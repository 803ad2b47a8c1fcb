"""The head of the record, to be kept elsewhere: shown, copied, mailed by whoever looks at it."""

from dataclasses import dataclass
from urllib.parse import quote

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from tethera.store import Head, verify
from tethera.web.accounts.visit import Visit


@dataclass(frozen=True)
class Proof:
    """The head with the moment it was read, a link that opens a mail with it, and what is wrong, if anything."""

    head: Head
    read: str
    mail: str
    trouble: str


def proof(visit: Visit) -> Proof:
    """The head of the store's record as it is now."""
    chain = visit.opened.chain()
    trouble = "" if chain.broken is None else verify(visit.opened.log.read()).troubles[0]
    now = timezone.localtime()
    read = _("{day} at {time}").format(day=date_format(now, "j M Y"), time=f"{now:%H:%M}")
    subject = _("Head of the record of {store}").format(store=visit.store.name)
    told = _("{subject}, {read}:\n\n{head}\n\nKeep this mail. What was recorded until then can be proven with it.")
    body = told.format(subject=subject, read=read, head=chain.head)
    # Lines of a mail end with both signs (RFC 6068).
    mail = f"mailto:?subject={quote(subject)}&body={quote(body.replace(chr(10), chr(13) + chr(10)))}"
    return Proof(chain.head, read, mail, trouble)
