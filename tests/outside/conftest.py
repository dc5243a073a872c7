import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent))

from outputs import BINARY, example_jobs, make


def pytest_generate_tests(metafunc):
    if "job" in metafunc.fixturenames:
        jobs = example_jobs()
        metafunc.parametrize("job", jobs, ids=[j.stem for j in jobs], scope="session")


@pytest.fixture(scope="session", autouse=True)
def binary():
    assert BINARY.is_file(), f"build the program first: {BINARY.name} is not there"


@pytest.fixture(scope="session")
def made(job, tmp_path_factory):
    """What `make` writes for this example, made once."""
    return make(job, tmp_path_factory.mktemp(job.stem))
