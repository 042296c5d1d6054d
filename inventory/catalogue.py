"""Catalogues of translations as files: reading and writing .po, and the .mo that is read at run time. No program for it is needed.

An entry is a message and its translation; one with a plural has a translation for one and one for many. Nothing is ever fuzzy here: a
message that changed is a new message.
"""

from __future__ import annotations

import ast
import struct
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

HEADER = (
    "Project-Id-Version: selvedge\n"
    "Language: {language}\n"
    "MIME-Version: 1.0\n"
    "Content-Type: text/plain; charset=UTF-8\n"
    "Content-Transfer-Encoding: 8bit\n"
    "Plural-Forms: nplurals=2; plural=(n != 1);\n"
)
_WIDTH = 110


@dataclass(frozen=True, slots=True)
class Key:
    """What is looked up: the message, what it is about where English has one word for several, and its plural."""

    text: str
    about: str = ""
    many: str = ""


@dataclass(slots=True)
class Entry:
    """Where it is used, and its translations: one, or two where there is a plural. Empty: not translated yet."""

    used: list[str] = field(default_factory=list)
    said: tuple[str, ...] = ("",)


Catalogue = dict[Key, Entry]


def write_po(path: Path, catalogue: Mapping[Key, Entry], language: str) -> None:
    parts = [_field("msgid", "") + _field("msgstr", HEADER.format(language=language))]
    for key, entry in sorted(catalogue.items(), key=lambda row: (min(row[1].used, default=""), row[0].text, row[0].about)):
        lines = "".join(f"#: {place}\n" for place in sorted(set(entry.used)))
        lines += _field("msgctxt", key.about) if key.about else ""
        lines += _field("msgid", key.text)
        if key.many:
            lines += _field("msgid_plural", key.many)
            lines += "".join(_field(f"msgstr[{n}]", text) for n, text in enumerate(entry.said))
        else:
            lines += _field("msgstr", entry.said[0])
        parts.append(lines)
    path.write_text("\n".join(parts), encoding="utf-8")


def _field(name: str, text: str) -> str:
    if len(text) <= _WIDTH and "\n" not in text[:-1]:
        return f"{name} {_quoted(text)}\n"
    pieces: list[str] = []
    for line in text.splitlines(keepends=True):
        piece = ""
        for word in line.split(" "):
            if piece and len(piece) + len(word) > _WIDTH:
                pieces.append(piece)
                piece = ""
            piece += word + " "
        pieces.append(piece.removesuffix(" "))
    return f'{name} ""\n' + "".join(f"{_quoted(piece)}\n" for piece in pieces)


def _quoted(text: str) -> str:
    for old, new in (("\\", "\\\\"), ('"', '\\"'), ("\n", "\\n"), ("\t", "\\t")):
        text = text.replace(old, new)
    return f'"{text}"'


def read_po(path: Path) -> Catalogue:
    """Every entry of a .po file but its header. ValueError for a line that is none."""
    found: Catalogue = {}
    for block in path.read_text(encoding="utf-8").split("\n\n"):
        used: list[str] = []
        fields: dict[str, str] = {}
        name = ""
        for line in block.splitlines():
            if line.startswith("#:"):
                used.append(line[2:].strip())
            elif line.startswith("#,") and "fuzzy" in line:
                raise ValueError(f"{path.name} has a fuzzy entry: settle it.")
            elif line.startswith(('"', "msg")):
                head, quote, rest = line.partition('"')
                name = head.strip() or name
                fields[name] = fields.get(name, "") + str(ast.literal_eval(quote + rest))
            elif line.strip() and not line.startswith("#"):
                raise ValueError(f"{path.name}: “{line[:60]}” is no line of a catalogue.")
        if fields.get("msgid"):
            key = Key(fields["msgid"], fields.get("msgctxt", ""), fields.get("msgid_plural", ""))
            said = (fields.get("msgstr[0]", ""), fields.get("msgstr[1]", "")) if key.many else (fields.get("msgstr", ""),)
            found[key] = Entry(used, said)
    return found


def mo_bytes(catalogue: Mapping[Key, Entry], language: str) -> bytes:
    """The file that gettext reads: a table of messages in their order, and one of what they become. What has no translation yet becomes
    itself: it is a message all the same (`readers.again` looks for them here)."""
    pairs = {b"": HEADER.format(language=language).encode()}
    for key, entry in catalogue.items():
        own = (key.text, key.many) if key.many else (key.text,)
        said = entry.said if all(entry.said) else own
        text = "\x00".join(own)
        pairs[(f"{key.about}\x04{text}" if key.about else text).encode()] = "\x00".join(said).encode()
    keys = sorted(pairs)
    count, at = len(keys), 28 + 16 * len(keys)
    tables: list[bytes] = []
    body = b""
    for row in (keys, [pairs[key] for key in keys]):
        for piece in row:
            tables.append(struct.pack("<II", len(piece), at + len(body)))
            body += piece + b"\x00"
    head = struct.pack("<7I", 0x950412DE, 0, count, 28, 28 + 8 * count, 0, 0)
    return head + b"".join(tables) + body


def merged(messages: Mapping[Key, Iterable[str]], known: Mapping[Key, Entry]) -> Catalogue:
    """The messages of the code with what is translated of them; what is no longer said is dropped."""
    found: Catalogue = {}
    for key, used in messages.items():
        empty = ("", "") if key.many else ("",)
        found[key] = Entry(sorted(set(used)), known[key].said if key in known else empty)
    return found
