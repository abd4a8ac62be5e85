"""What all tests share: where the repository is, and how property tests search."""

import os
import signal
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings

# What is kept for the user of this computer is kept elsewhere while tests run.
os.environ["XDG_CONFIG_HOME"] = tempfile.mkdtemp(prefix="tagmaker-tests-")
# The servers of tests are ended by Ctrl+C, which programs ignore where a shell starts them in the background.
signal.signal(signal.SIGINT, signal.default_int_handler)
# The same examples on every machine, and no time limit: a slow machine is no fault.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def repository() -> Path:
    """The folder that holds the README, the package, the templates and the demo."""
    return Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def demo(repository: Path) -> Path:
    """The invented farm's season folder."""
    return repository / "demo_lots"
