"""The studio's server against its own OpenAPI document, with generated requests."""

import json
import shutil
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
import schemathesis

from outputs import BINARY, ROOT, example_jobs

# The layout that the examples of the document speak of.
LAYOUT = ROOT / "crates/boxwright-studio/src/routes/example.layout.json"
# Needs stamps of the layout and the stock, which no made-up request can know.
STAMPED = "POST /api/layouts/{name}/use"
# Of each operation, in the phase that makes requests up.
EXAMPLES_EACH = 90
# Requests in all, at the least.
REQUESTS = 2000
SECONDS = 150


@pytest.fixture
def studio(tmp_path):
    for job in example_jobs():
        shutil.copy(job, tmp_path)
    shutil.copy(LAYOUT, tmp_path / "this-week.layout.json")
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


@pytest.fixture
def document(studio):
    with urllib.request.urlopen(f"{studio}/api/openapi.json") as answer:
        return json.load(answer)


def objects(node):
    """Every JSON object in a document."""
    if isinstance(node, dict):
        yield node
    for part in node.values() if isinstance(node, dict) else node:
        if isinstance(part, dict | list):
            yield from objects(part)


def test_the_document_is_valid(document):
    schemathesis.openapi.from_dict(document).validate()
    for broken in [
        document | {"info": {}},
        document | {"paths": {"/api/boards": {"get": {"responses": {"200": {}}}}}},
    ]:
        with pytest.raises(Exception, match="Failed validating"):
            schemathesis.openapi.from_dict(broken).validate()


def test_the_document_is_complete(document):
    assert len(document["paths"]) == 32
    operations = [op for path in document["paths"].values() for op in path.values()]
    assert len({op["operationId"] for op in operations}) == len(operations) == 36
    known = document["components"]["schemas"]
    for op in operations:
        assert op["summary"].endswith(".") and "\n" not in op["summary"]
        assert {"200", "4XX"} <= op["responses"].keys()
        for status, answer in op["responses"].items():
            assert answer["description"] and answer["content"], (op["operationId"], status)
        for parameter in op.get("parameters", []):
            assert parameter["description"] and parameter["schema"]
        if "requestBody" in op:
            assert op["requestBody"]["required"]
            assert op["requestBody"]["content"]["application/json"]["example"]
            assert {"400", "413", "415", "422", "5XX"} <= op["responses"].keys()
    named = {o["$ref"].rsplit("/", 1)[1] for o in objects(document) if "$ref" in o}
    assert named == known.keys()
    for name, schema in known.items():
        assert schema["description"], name
        for field, about in schema.get("properties", {}).items():
            told = "$ref" in about or "description" in about
            assert told or any("$ref" in o for o in about["oneOf"]), (name, field)


def test_every_address_stands_in_the_docs(document):
    told = (ROOT / "docs" / "studio.md").read_text()
    for path, ways in document["paths"].items():
        for way in ways:
            assert f"`{way.upper()} {path}`" in told


def test_the_document_is_true(studio, tmp_path):
    report = tmp_path / "report.json"
    ran = subprocess.run(
        [
            Path(sys.executable).with_name("schemathesis"),
            "run",
            f"{studio}/api/openapi.json",
            "--phases=examples,coverage,fuzzing",
            f"--max-examples={EXAMPLES_EACH}",
            "--seed=7",
            "--generation-deterministic",
            "--request-timeout=20",
            "--no-color",
            "--report=json",
            f"--report-json-path={report}",
        ],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=SECONDS,
    )
    assert ran.returncode == 0, ran.stdout[-6000:] + ran.stderr[-2000:]
    told = json.loads(report.read_text())
    assert told["complete"] and told["operations"]["tested"] == 36
    assert told["phases"]["examples"]["status"] == "success"
    cases = told["test_cases"]
    assert cases["generated"] >= REQUESTS, cases
    assert cases["with_failures"] == cases["errored"] == cases["without_checks"] == 0, cases
    # Refusals alone would tell little: every operation has to have done its work too.
    for name, phases in told["valid_rates"].items():
        if name != STAMPED:
            assert sum(p["accepted"] for p in phases.values()) > 0, name
    assert len(told["valid_rates"]) == 36
