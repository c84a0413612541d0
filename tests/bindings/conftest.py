"""Makes the Python bindings with the project's own command, and loads them."""

import importlib.util
import pathlib
import subprocess
import sys

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def border(tmp_path_factory):
    """The generated module; the library that was built lies beside it."""
    out = tmp_path_factory.mktemp("border")
    subprocess.run([ROOT / "bindings/phone/generate", "python", out], check=True)
    spec = importlib.util.spec_from_file_location("boxproof_phone", out / "boxproof_phone.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["boxproof_phone"] = module
    spec.loader.exec_module(module)
    return module
