"""Eight people at their browsers who record numbered washes, and remember which the server acknowledged."""

import html
import http.client
import re
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from urllib.parse import urlencode

from faults.prepared import ROPES, Prepared

#: What a browser sees when the server behind it dies.
GONE = (OSError, http.client.HTTPException)


class Browser:
    """A signed-in browser without eyes: one connection kept open, cookies kept over a restart of the server."""

    def __init__(self, session: str) -> None:
        self.session, self.csrf = session, ""
        self._connection: http.client.HTTPConnection | None = None

    def connect(self, port: int, timeout_s: float = 60) -> "Browser":
        """To a server, also to another one than before."""
        if self._connection is not None:
            self._connection.close()
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=timeout_s)
        return self

    def close(self) -> None:
        """Shut the connection."""
        if self._connection is not None:
            self._connection.close()

    def get(self, address: str) -> tuple[int, str]:
        """Status and text of a page."""
        return self._ask("GET", address)[:2]

    def post(self, address: str, fields: dict[str, str]) -> tuple[int, str, str]:
        """Status, text and where it leads."""
        return self._ask("POST", address, urlencode(fields))

    def send_file(self, address: str, name: str, file_name: str, data: bytes, more: dict[str, str]) -> tuple[int, str]:
        """Send a file with a form; status and text."""
        edge = "tethera-edge"
        parts = [f'--{edge}\r\nContent-Disposition: form-data; name="{k}"\r\n\r\n{v}\r\n' for k, v in more.items()]
        head = f'--{edge}\r\nContent-Disposition: form-data; name="{name}"; filename="{file_name}"\r\n'
        body = "".join(parts).encode() + head.encode() + b"Content-Type: image/png\r\n\r\n" + data
        body += f"\r\n--{edge}--\r\n".encode()
        return self._ask("POST", address, body, f"multipart/form-data; boundary={edge}")[:2]

    def _ask(
        self, method: str, address: str, body: str | bytes = "", form: str = "application/x-www-form-urlencoded"
    ) -> tuple[int, str, str]:
        assert self._connection is not None
        headers = {"Cookie": f"sessionid={self.session}; csrftoken={self.csrf}"}
        if body:
            headers |= {"X-CSRFToken": self.csrf, "Content-Type": form}
        self._connection.request(method, address, body or None, headers)
        answer = self._connection.getresponse()
        found = re.search(r"csrftoken=(\w+)", " ".join(answer.headers.get_all("Set-Cookie") or []))
        self.csrf = found[1] if found else self.csrf
        status, leads_to = answer.status, answer.headers.get("Location") or ""
        try:
            text = answer.read().decode()
        except http.client.HTTPException:
            text = ""  # cut off after its head: whoever saw the head was answered
        return status, text, leads_to


@dataclass
class Recorder:
    """One of them: an entry that was not acknowledged is sent again, the same form with the same token."""

    who: int
    browser: Browser
    slug: str
    acknowledged: list[str] = field(default_factory=list)
    attempted: list[str] = field(default_factory=list)
    waiting: str | None = None
    sent_again: int = 0
    other_answers: Counter[int] = field(default_factory=Counter)
    told: dict[int, str] = field(default_factory=dict)

    def record(self, port: int, stop: threading.Event, most: int | None = None) -> None:
        """Record until told to stop, until the server is gone, or so many."""
        self.browser.connect(port)
        if self.waiting is not None:
            self.sent_again += 1
        try:
            if not self.browser.csrf:
                self.browser.get(f"/{self.slug}/ropes/UG1/do/washed")
            done = 0
            while not stop.is_set() and (most is None or done < most):
                self.one()
                done += 1
        except GONE:
            return
        finally:
            self.browser.close()

    def close(self) -> None:
        """Shut the browser."""
        self.browser.close()

    def one(self) -> int:
        """Send the entry that waits, or a new one; the status of the answer."""
        if self.waiting is None:
            self.waiting = f"{self.who}-{len(self.attempted)}"
            self.attempted.append(self.waiting)
        rope = 1 + (self.who + 8 * int(self.waiting.partition("-")[2])) % ROPES
        fields = {"how": "hand", "happened": "", "note": f"no {self.waiting}.", "once": f"t{self.waiting}"}
        status, text, _ = self.browser.post(f"/{self.slug}/ropes/UG{rope}/do/washed", fields)
        if status == 302:
            self.acknowledged.append(self.waiting)
            self.waiting = None
        else:
            self.other_answers[status] += 1
            self.told[status] = plain(text)
            time.sleep(0.05)  # nobody presses the button again at once
        return status


class Crowd:
    """All of them."""

    def __init__(self, store: Prepared) -> None:
        self.recorders = [Recorder(n, Browser(s), store.slug) for n, s in enumerate(store.sessions)]

    def begin(self, port: int, most: int | None = None) -> tuple[list[threading.Thread], threading.Event]:
        """Everybody records at once, in threads that end when the server goes."""
        stop = threading.Event()
        threads = [
            threading.Thread(target=each.record, args=(port, stop, most), daemon=True) for each in self.recorders
        ]
        for each in threads:
            each.start()
        return threads, stop

    @property
    def acknowledged(self) -> list[str]:
        """Every entry that was acknowledged."""
        return [each for one in self.recorders for each in one.acknowledged]

    @property
    def attempted(self) -> list[str]:
        """Every entry that was ever sent."""
        return [each for one in self.recorders for each in one.attempted]

    @property
    def sent_again(self) -> int:
        """How many entries were sent again after a restart."""
        return sum(one.sent_again for one in self.recorders)

    @property
    def other_answers(self) -> Counter[int]:
        """Answers that were no acknowledgement, by HTTP status."""
        return sum((one.other_answers for one in self.recorders), Counter())

    @property
    def told(self) -> dict[int, str]:
        """What such an answer said, one of each status."""
        return {status: text for one in self.recorders for status, text in one.told.items()}


def plain(page: str) -> str:
    """The words of a page between its head and its foot.

    >>> plain("<head>x</head><main id='page'><h1>Busy</h1>\\n<p>Send it again.</p></main><footer>y</footer>")
    'Busy Send it again.'
    """
    inside = re.search(r"<main.*?>(.*)</main>", page, re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", inside[1] if inside else page)).split())
