"""The project's own files, as git knows them, for the rules about them."""

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
APPS = ("inventory", "layups", "api")


@cache
def files() -> tuple[str, ...]:
    """Every file of the project, new ones included, as paths from the top; empty outside a git checkout."""
    listed = subprocess.run(["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], cwd=ROOT, capture_output=True)
    return tuple(sorted(name for name in listed.stdout.decode().split("\0") if name and (ROOT / name).is_file()))


def under(*tops: str, suffix: str = ".py") -> list[str]:
    """Files with this ending under these folders."""
    return [name for name in files() if name.endswith(suffix) and name.split("/")[0] in tops]


def text(name: str) -> str:
    """The content of a file."""
    return (ROOT / name).read_text(errors="replace")


def calls(name: str) -> Iterator[tuple[int, str]]:
    """Line and dotted name of every attribute that a module uses, such as (12, "datetime.now")."""
    for node in ast.walk(ast.parse(text(name))):
        if isinstance(node, ast.Attribute):
            parts: list[str] = [node.attr]
            value = node.value
            while isinstance(value, ast.Attribute):
                parts.append(value.attr)
                value = value.value
            if isinstance(value, ast.Name):
                parts.append(value.id)
            yield node.lineno, ".".join(reversed(parts))


def imports(name: str) -> Iterator[tuple[int, str]]:
    """Line and dotted name of everything that a module imports, such as (3, "time.time")."""
    for node in ast.walk(ast.parse(text(name))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{'.' * node.level}{node.module or ''}.{alias.name}") for alias in node.names)
