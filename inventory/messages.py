"""Everything that people read, found in the code: sentences said in Python, words in templates, names of models, forms of verbs."""

from __future__ import annotations

import ast
import dataclasses
import re
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from django.apps import apps
from django.utils.translation.template import templatize

from inventory.catalogue import Key
from inventory.modelwords import ABOUT
from inventory.pages.verbforms import about, field_words, label_of
from inventory.verbs.registry import VERBS

Messages = dict[Key, list[str]]
APPS = ("inventory", "layups")
"""The apps whose words are translated; the interface for machines and the commands speak English."""
LEFT_OUT = ("migrations", "management", "demo", "locale")
LEFT_OUT_FILES = ("parts_gallery.html", "gallery.py")
SAID = {
    "say": 0,
    "html_say": 0,
    "template": 0,
    "_": 0,
    "gettext": 0,
    "gettext_lazy": 0,
    "say_n": 0,
    "ngettext": 0,
    "say_as": 1,
    "pgettext": 1,
    "pgettext_lazy": 1,
}
"""What takes a message, and at which place."""
_SCRIPT = re.compile(r"""\binWords\(\s*("(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*')""")
_LETTER = re.compile(r"[^\W\d_]")


def found() -> Messages:
    """Every message of the pages, with the files that say it."""
    messages: Messages = defaultdict(list)
    for app in APPS:
        root = Path(apps.get_app_config(app).path)
        for path in sorted(root.rglob("*.py")):
            if not _left_out(path, root):
                _add(messages, in_python(path.read_text(encoding="utf-8")), f"{app}/{path.relative_to(root)}")
        for path in sorted(root.rglob("*.html")):
            if not _left_out(path, root):
                _add(messages, in_template(path.read_text(encoding="utf-8")), f"{app}/{path.relative_to(root)}")
        for model in apps.get_app_config(app).get_models():
            _add(messages, in_model(model), f"{app}/models: {model.__name__}")
    for verb in VERBS.values():
        _add(messages, in_verb(verb.params), f"verbs: {verb.name}")
    return dict(messages)


def in_scripts() -> Messages:
    """Every message of the pages' scripts."""
    messages: Messages = defaultdict(list)
    for app in APPS:
        root = Path(apps.get_app_config(app).path)
        for path in sorted(root.rglob("static/**/*.js")):
            words = (Key(str(ast.literal_eval(found))) for found in _SCRIPT.findall(path.read_text(encoding="utf-8")))
            _add(messages, words, f"{app}/{path.relative_to(root)}")
    return dict(messages)


def _left_out(path: Path, root: Path) -> bool:
    return path.name in LEFT_OUT_FILES or any(part in LEFT_OUT for part in path.relative_to(root).parts)


def _add(messages: Messages, keys: Iterator[Key], where: str) -> None:
    for key in keys:
        if _LETTER.search(re.sub(r"\{\w*\}|%\(\w+\)s", "", key.text)):
            messages[key].append(where)


def in_python(source: str) -> Iterator[Key]:
    """The templates of a module; they are literals, or one of two."""
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr if isinstance(node.func, ast.Attribute) else ""
        at = SAID.get(name)
        if at is None or len(node.args) <= at:
            continue
        texts = [arg.value for arg in node.args[: at + 2] if isinstance(arg, ast.Constant) and isinstance(arg.value, str)]
        if name in ("say_n", "ngettext") and len(texts) == 2:
            yield Key(texts[0], "", texts[1])
        elif at == 1 and len(texts) == 2:
            yield Key(texts[1], texts[0])
        elif at == 0 and texts and isinstance(node.args[0], ast.Constant):
            yield Key(texts[0])


def in_template(source: str) -> Iterator[Key]:
    """What `translate`, `blocktranslate` and _("…") of a template say."""
    for match in re.finditer(r"\b(gettext|ngettext|pgettext|_)\(", plain := templatize(source)):
        try:
            texts = [ast.literal_eval(text) for text in _literals(plain[match.end() :], 2 if match[1] in ("ngettext", "pgettext") else 1)]
        except (SyntaxError, ValueError):
            continue
        if match[1] == "ngettext":
            yield Key(texts[0], "", texts[1])
        elif match[1] == "pgettext":
            yield Key(texts[1], texts[0])
        else:
            yield Key(texts[0])


def _literals(text: str, count: int) -> list[str]:
    found = re.findall(r"""\s*u?("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')\s*,?""", text)[:count]
    if len(found) < count:
        raise ValueError(text[:40])
    return found


def in_model(model: type) -> Iterator[Key]:
    """The names of a model and its fields, what helps to fill them in, their choices, and what is said when a rule of theirs is broken."""
    meta = model._meta  # type: ignore[attr-defined]
    yield Key(str(meta.verbose_name))
    yield Key(str(meta.verbose_name_plural))
    for field in meta.get_fields():
        yield Key(str(getattr(field, "verbose_name", "")), ABOUT.get(f"{model.__name__}.{field.name}", ""))
        yield Key(str(getattr(field, "help_text", "")))
        for _, label in getattr(field, "choices", None) or ():
            yield Key(str(label))
    for constraint in meta.constraints:
        if constraint.violation_error_message != constraint.default_violation_error_message:
            yield Key(str(constraint.violation_error_message))


def in_verb(params: type) -> Iterator[Key]:
    """The labels and hints of the form that is made from a verb's parameters."""
    for name in (field.name for field in dataclasses.fields(params)):
        yield Key(label_of(name), about(params, name))
    for words in field_words(params).values():
        yield Key(words.replace("{", "{{").replace("}", "}}"))
