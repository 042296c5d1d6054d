"""No scientific package is loaded when a process starts: it costs time and memory, and most requests compute nothing."""

from __future__ import annotations

import subprocess
import sys

import pytest

pytestmark = pytest.mark.core


def test_starting_the_web_process_loads_no_scientific_package() -> None:
    code = (
        "import os, sys, django; os.environ['DJANGO_SETTINGS_MODULE'] = 'tests.settings'; django.setup(); "
        "import deploy.urls; print(sorted({'numpy', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120)
    assert done.stdout.strip().splitlines()[-1] == "[]", done.stdout
