"""The files that pages load, as production names them."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from django.core.files.storage import FileSystemStorage

from deploy.statics import Statics
from tests.house.tree import ROOT

pytestmark = pytest.mark.core


def test_a_module_has_one_name_for_pages_and_for_other_modules(tmp_path: Path) -> None:
    """A page loads signal.<hash>.js; a module that imported the plain signal.js would start it a second time."""
    shutil.copytree(ROOT / "inventory" / "static", tmp_path, dirs_exist_ok=True)
    storage = Statics(location=str(tmp_path), base_url="/static/")
    plain = FileSystemStorage(location=str(tmp_path))
    names = [str(file.relative_to(tmp_path)) for file in tmp_path.rglob("*.js")]
    failed = [name for name, _, done in storage.post_process({name: (plain, name) for name in names}) if isinstance(done, Exception)]
    assert failed == []
    imported = 0
    for name in names:
        made = (tmp_path / storage.hashed_files[storage.hash_key(name)]).read_text()
        for there in re.findall(r'^import\s[^;]*?from\s+"([^"]+)"', made, re.MULTILINE):
            imported += 1
            assert re.search(r"\.[0-9a-f]{12}\.js$", there), f"{name} imports {there}"
    assert imported > 20
