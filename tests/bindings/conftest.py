"""Builds the phone border, makes its Python bindings with the project's own command, and loads them."""

import importlib.util
import os
import pathlib
import shutil
import subprocess
import sys

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def border(tmp_path_factory):
    """The generated module, beside a copy of the library."""
    cargo = os.environ.get("CARGO", "cargo")
    build = [cargo, "build", "--locked", "-p", "boxproof-phone"]
    subprocess.run(build, cwd=ROOT, check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"
    library = target / "libboxproof_phone.so"
    out = tmp_path_factory.mktemp("border")
    make = [cargo, "run", "--locked", "-q", "-p", "boxproof-phone", "--features", "bindgen", "--bin", "uniffi-bindgen"]
    subprocess.run(
        [*make, "--", "generate", library, "--language", "python", "--no-format", "--out-dir", out],
        cwd=ROOT,
        check=True,
    )
    shutil.copy(library, out)
    spec = importlib.util.spec_from_file_location("boxproof_phone", out / "boxproof_phone.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["boxproof_phone"] = module
    spec.loader.exec_module(module)
    return module
