"""The studio's server against its own OpenAPI document, with generated requests."""

import json
import shutil
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from outputs import BINARY, EXAMPLES

# Of each operation, in each of the phases that generate requests; a little over 2000 in all.
CASES = 165
SECONDS = 150


@pytest.fixture
def studio(tmp_path):
    for job in EXAMPLES.glob("*.kdl"):
        shutil.copy(job, tmp_path)
    run = subprocess.Popen(
        [BINARY, "studio", tmp_path, "--no-open", "--port", "0"],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield run.stdout.readline().strip()
    finally:
        run.terminate()
        run.wait(10)


def test_the_document_is_true(studio, tmp_path):
    with urllib.request.urlopen(f"{studio}/api/openapi.json") as answer:
        document = json.load(answer)
    assert len(document["paths"]) == 8
    ran = subprocess.run(
        [
            Path(sys.executable).with_name("schemathesis"),
            "run",
            f"{studio}/api/openapi.json",
            "--phases=examples,coverage,fuzzing",
            f"--max-examples={CASES}",
            "--seed=7",
            "--generation-deterministic",
            "--request-timeout=20",
            "--no-color",
        ],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=2 * SECONDS,
    )
    assert ran.returncode == 0, ran.stdout[-6000:] + ran.stderr[-2000:]
