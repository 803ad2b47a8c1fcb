"""Photographs of one rope: taken in small and without a word of where they were taken, shown to members only."""

from typing import Any

from django import forms
from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from tethera.basics import Finding
from tethera.store import DocumentAttached, RopeState
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.fields import WhenField
from tethera.web.paper.forms import say_plainly, when_doubts
from tethera.web.ropes.one_life import events_for_choice
from tethera.web.ropes.one_pictures import NoPicture, Picture, keep, read_picture
from tethera.web.store.models import Photo
from tethera.web.store.photos import is_photo, photos_folder, place_of

#: A photograph never changes under its name.
_KEPT_BY_BROWSERS = "private, max-age=31536000, immutable"


class _ManyFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class PicturesField(forms.FileField):
    """One or several files, at most `most`."""

    def __init__(self, *, most: int = 12, **kwargs: Any) -> None:
        self.most = most
        kwargs.setdefault("widget", _ManyFiles(attrs={"accept": "image/*"}))
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        """The files."""
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if not files and self.required:
            raise forms.ValidationError(_("No file was chosen."))
        if len(files) > self.most:
            raise forms.ValidationError(_("At most {most} at once. Send the rest afterwards.").format(most=self.most))
        return [super(PicturesField, self).clean(each, initial) for each in files]


class PhotosForm(forms.Form):
    """One or several photographs, what they show, and of which event."""

    photos = PicturesField(
        label=gettext_lazy("Photos"),
        help_text=gettext_lazy("The place and the camera written in them are taken out before they are kept."),
    )
    title = forms.CharField(
        label=gettext_lazy("What they show"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("As: worn sheath at 12.4 m."),
    )
    to_event = forms.TypedChoiceField(
        label=gettext_lazy("They belong to"), required=False, coerce=int, empty_value=None
    )
    happened = WhenField()

    def __init__(self, *args: object, visit: Visit, state: RopeState, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        field = self.fields["to_event"]
        assert isinstance(field, forms.TypedChoiceField)
        field.choices = [("", _("the rope as a whole")), *events_for_choice(visit, state.id)]
        say_plainly(self)


@page(May.TAKE, post=May.TAKE)
def attach(visit: Visit, number: str) -> HttpResponse:
    """Attach photographs. Those that can be read are kept, those that cannot are named beside the field."""
    state = visit.rope(number)
    if visit.request.method != "POST":
        form = PhotosForm(visit=visit, state=state, initial={"to_event": visit.request.GET.get("to", "")})
        return visit.page("ropes/rope_photos.html", {"rope": state, "form": form})
    form = PhotosForm(visit.request.POST, visit.request.FILES, visit=visit, state=state)
    if form.is_valid():
        told, findings = _take(visit, state, form)
        if told:
            visit.tell(told, findings)
        if not form.errors:
            return redirect("rope", visit.store.slug, state.id)
    return visit.page("ropes/rope_photos.html", {"rope": state, "form": form}, 400)


def _take(visit: Visit, state: RopeState, form: PhotosForm) -> tuple[str, tuple[Finding, ...]]:
    """Keep what can be read; what to say, and what is doubted."""
    told = form.cleaned_data
    with visit.let_go():  # a dozen pictures of a telephone take some seconds
        pictures = _pictures(form)
    there = attached(visit, state.id)
    fresh = [each for sha256, each in pictures.items() if sha256 not in there]
    for each in fresh:
        keep(photos_folder(), each)
        Photo.objects.get_or_create(
            store=visit.store,
            sha256=each.sha256,
            defaults={"width": each.width, "height": each.height, "size": len(each.jpeg)},
        )
    if not fresh:
        again = ngettext("That photo was here already.", "Those photos were here already.", len(pictures))
        return (again if pictures else ""), ()
    title, to_event = told["title"] or _("photo"), told["to_event"]
    events = [
        DocumentAttached(rope=state.id, happened=told["happened"], title=title, sha256=e.sha256, to_event=to_event)
        for e in fresh
    ]
    findings = (*visit.record(events), *when_doubts(form))
    kept = ngettext("{rope}: {n} photo kept.", "{rope}: {n} photos kept.", len(fresh))
    return kept.format(rope=state.id, n=len(fresh)), findings


def _pictures(form: PhotosForm) -> dict[str, Picture]:
    """The photographs by their sums; what cannot be read is told in the form."""
    pictures: dict[str, Picture] = {}
    for file in form.cleaned_data["photos"]:
        try:
            if file.size > settings.LARGEST_UPLOAD_BYTES:
                most = settings.LARGEST_UPLOAD_BYTES // 1_000_000
                raise NoPicture(_("{name} is larger than {most} MB.").format(name=file.name, most=most))
            picture = read_picture(file, file.name)
            pictures[picture.sha256] = picture
        except NoPicture as error:
            form.add_error("photos", str(error))
    return pictures


def attached(visit: Visit, number: str) -> set[str]:
    """Sums of what hangs on a rope or on what it was cut from."""
    events = (each.event for each in visit.register.events(number))
    return {each.sha256 for each in events if isinstance(each, DocumentAttached) and is_photo(each.sha256)}


@page(May.READ)
def show(visit: Visit, number: str, name: str) -> HttpResponse:
    """One photograph of the rope, for members of the store."""
    state = visit.rope(number)
    place = place_of(photos_folder(), name)
    if name not in attached(visit, state.id) or not place.is_file():
        raise Http404(_("This photo is not here."))
    answer = HttpResponse(place.read_bytes(), content_type="image/jpeg")
    answer["Cache-Control"] = _KEPT_BY_BROWSERS
    answer["X-Content-Type-Options"] = "nosniff"
    answer["Content-Disposition"] = f'inline; filename="{state.id}-{name[:8]}.jpg"'
    return answer
