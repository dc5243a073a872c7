"""Every example, made by the program and read back by other people's libraries."""

import json

import pytest

import check_dxf
import check_glb
import check_pdf
import complete
from outputs import DXF_VERSIONS, example_jobs, make


def test_there_are_examples():
    assert example_jobs()


@pytest.mark.parametrize("version", DXF_VERSIONS)
def test_dxf(job, version, tmp_path):
    folder = make(job, tmp_path, "--dxf-version", version)
    pieces = folder.pieces()
    assert pieces
    for piece in pieces:
        check_dxf.check(folder.dxf(piece), version, piece["figures"])


def test_true_size_pages(made):
    for piece in made.pieces():
        path = made.pdf(piece, "true-size")
        check_pdf.title(path, made.title())
        check_pdf.true_size(path, made.dxf(piece))


def test_tiled_pages(made):
    for piece in made.pieces():
        path = made.pdf(piece, "tiles")
        check_pdf.title(path, piece["name"])
        check_pdf.tiles(path, made.dxf(piece))


def test_drawing_and_instructions_are_text(made):
    for piece in made.pieces():
        check_pdf.title(made.pdf(piece, "drawing"), made.title())
    check_pdf.title(made.one("*-fold.pdf"), made.title())


def test_svg_is_true_size(made):
    for piece in made.pieces():
        check_pdf.svg_size(made.svg(piece), piece["figures"])


def test_solids(made):
    check_glb.check(made.glb(), made.report, made.panels(), made.intrusions())


def test_validator(made):
    check_glb.validate(made.glb())


def test_findings_are_whole(made):
    names = set(made.panels())
    findings = made.report["findings"]
    assert findings
    for f in findings:
        assert f["code"], f
        assert f["verdict"] in ("pass", "caution", "fail"), f
        assert set(f["panels"]) <= names, f
        if f["verdict"] == "fail":
            assert f["cure"], f


def test_files_are_whole(made):
    kinds = {complete.check(path) for path in made.files()}
    assert {".dxf", ".svg", ".pdf", ".png", ".glb", ".json"} <= kinds


def test_same_bytes_twice(job, made, tmp_path):
    again = make(job, tmp_path)
    names = [p.relative_to(made.path) for p in made.files()]
    assert names == [p.relative_to(again.path) for p in again.files()]
    for name in names:
        assert (made.path / name).read_bytes() == (again.path / name).read_bytes(), name


def test_report_numbers_are_finite(made):
    def refuse(word):
        raise AssertionError(f"{word} in the report")

    json.loads(made.one("*-report.json").read_text("utf-8"), parse_constant=refuse)
