"""Addresses of all pages. A store's pages lie under its own name."""

from django.urls import URLPattern, URLResolver, include, path

from tethera.web.accounts import passwords
from tethera.web.accounts import views as accounts
from tethera.web.personal import views as personal
from tethera.web.today import views as today
from tethera.web.work import views as work
from tethera.web.yearly import views as yearly

_ROOMS = (
    *("ropes", "reels", "preparation", "measuring", "marks", "reading", "outback"),
    *("inspection", "stocktake", "importing", "yearly", "rules", "routes", "trips", "sums", "buying"),
)
_OF_A_STORE: list[URLPattern | URLResolver] = [
    path("", today.today, name="today"),
    path("/find", today.find, name="find"),
    path("/under-way/<int:key>", work.work, name="work"),
    path("/under-way/<int:key>/file", work.work_file, name="work-file"),
    *(path("/", include(f"tethera.web.{room}.urls")) for room in _ROOMS),
]

urlpatterns = [
    path("", accounts.home, name="home"),
    path("sign-in", accounts.sign_in, name="sign-in"),
    path("sign-out", accounts.sign_out, name="sign-out"),
    path("look-in", accounts.look_in, name="look-in"),
    path("first", accounts.first_visit, name="first-visit"),
    path("first/<str:key>", accounts.first_visit, name="first-visit-key"),
    path("join/<str:token>", accounts.join, name="join"),
    path("calendar/<str:key>.ics", yearly.calendar, name="calendar"),
    path("me", accounts.me, name="me"),
    path("me/stored", personal.stored, name="me-stored"),
    path("me/password", passwords.change, name="me-password"),
    path("password/<str:token>", passwords.choose, name="new-password"),
    path("stores/new", accounts.new_store, name="new-store"),
    path("<slug:slug>", include(_OF_A_STORE)),
]

handler400 = "tethera.web.errors.bad_request"
handler403 = "tethera.web.errors.forbidden"
handler404 = "tethera.web.errors.not_found"
handler500 = "tethera.web.errors.our_mistake"
