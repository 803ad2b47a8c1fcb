"""What stands on the pages: every word can be translated, and none is jargon."""

import re
import struct
from pathlib import Path

import pytest
from django.template import Engine
from django.test import Client, override_settings
from django.utils import translation
from django.utils.translation.template import templatize

import tethera.web

WEB = Path(tethera.web.__file__).parent
TEMPLATES = sorted((WEB / "templates").rglob("*.html"))
#: Words of computing that nobody at a rope rack says.
JARGON = re.compile(
    r"\b(entity|entities|sync|validation|invalid|submit|null|json|database|backend|http|id|uuid|user|username|login|"
    r"log ?in|click here|upload failed|record not found|object|field is required|dashboard|station)\b",
    re.IGNORECASE,
)


def bare_words(source: str) -> list[str]:
    """Words of a template that no translator would be shown."""
    source = re.sub(r"{% comment %}.*?{% endcomment %}|{#.*?#}|<!--.*?-->", "", source, flags=re.DOTALL)
    source = re.sub(r"{% blocktrans(late)?\b.*?{% endblocktrans(late)? %}", "", source, flags=re.DOTALL)
    # A command is typed as it is in every language.
    source = re.sub(r"<(script|style|code)\b.*?</\1>", "", source, flags=re.DOTALL)
    source = re.sub(r"{%.*?%}|{{.*?}}", "", source, flags=re.DOTALL)
    source = re.sub(r"<[^<>]*>", "\n", source)
    words = re.sub(r"&\w+;", " ", source)
    return [line.strip() for line in words.splitlines() if re.search(r"[A-Za-z]{2,}", line)]


def said(source: str) -> str:
    """Everything a template says in words."""
    blocks = re.findall(r"{% blocktrans(?:late)?\b[^%]*%}(.*?){% endblocktrans(?:late)? %}", source, flags=re.DOTALL)
    short = re.findall(r"{% trans(?:late)? \"(.*?)\"|{% trans(?:late)? '(.*?)'|_\(\"(.*?)\"\)", source)
    return "\n".join([re.sub(r"{{.*?}}|{%.*?%}", " ", each) for each in blocks] + ["".join(each) for each in short])


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(WEB / "templates")))
def test_every_word_of_a_template_is_shown_to_a_translator_and_is_plain(template: Path) -> None:
    source = template.read_text("utf-8")
    left = [each for each in bare_words(source) if each not in ("Tethera", "· Tethera")]
    assert left == []
    assert not JARGON.search(said(source)), JARGON.search(said(source))
    assert "!" not in said(source)
    # What the tools of translation make of it can be read.
    assert templatize(source)
    assert "style=" not in source
    assert not re.search(r"\son\w+=|<script(?![^>]*\bsrc=)|<style", source)


def test_all_templates_can_be_compiled() -> None:
    engine = Engine.get_default()
    assert len(TEMPLATES) > 10
    for each in TEMPLATES:
        engine.get_template(str(each.relative_to(WEB / "templates")))


def _catalogue(words: dict[str, str]) -> bytes:
    """A compiled catalogue, as gettext's own tools write it."""
    words = {"": "Content-Type: text/plain; charset=UTF-8\nPlural-Forms: nplurals=2; plural=(n != 1);\n"} | words
    keys = sorted(words)
    ids, strings = b"", b""
    places = []
    for key in keys:
        a, b = key.encode(), words[key].encode()
        places.append((len(a), len(ids), len(b), len(strings)))
        ids += a + b"\0"
        strings += b + b"\0"
    start = 7 * 4 + 16 * len(keys)
    first = b"".join(struct.pack("<II", length, start + at) for length, at, _, _ in places)
    second = b"".join(struct.pack("<II", length, start + len(ids) + at) for _, _, length, at in places)
    head = struct.pack("<7I", 0x950412DE, 0, len(keys), 28, 28 + 8 * len(keys), 0, 0)
    return head + first + second + ids + strings


@pytest.mark.django_db
def test_a_catalogue_of_another_language_is_all_it_takes(tmp_path: Path) -> None:
    folder = tmp_path / "de" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / "django.mo").write_bytes(_catalogue({"Sign in": "Anmelden", "A new tackle store": "Ein neues Seillager"}))
    with override_settings(LOCALE_PATHS=[tmp_path], LANGUAGES=[("en-gb", "English"), ("de", "Deutsch")]):
        page = Client().get("/first", headers={"accept-language": "de"})
    translation.activate("en-gb")
    assert "Ein neues Seillager" in page.content.decode()
    assert '<html lang="de"' in page.content.decode()
