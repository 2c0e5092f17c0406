"""Device modules importable on CPython; fixtures."""

import sys
import types
from pathlib import Path

import pytest
from probe_standins import Clock, World

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "device"))

if "micropython" not in sys.modules:
    module = types.ModuleType("micropython")
    module.const = lambda value: value
    sys.modules["micropython"] = module


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def world():
    return World()
