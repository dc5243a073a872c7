"""The checks pass on a good folder and each fails on the fault planted for it."""

import pytest

import check_dxf
import check_glb
import check_pdf
from drawn import Stroke
from outputs import DXF_VERSIONS
from standin import ASK, TITLE, Plan, peer, write


def check_dxf_of(folder, version="r2010"):
    (piece,) = folder.pieces()
    check_dxf.check(folder.dxf(piece), version, piece["figures"])


def check_true_size_of(folder):
    (piece,) = folder.pieces()
    path = folder.pdf(piece, "true-size")
    check_pdf.title(path, TITLE)
    check_pdf.true_size(path, folder.dxf(piece))


def check_tiles_of(folder):
    (piece,) = folder.pieces()
    check_pdf.tiles(folder.pdf(piece, "tiles"), folder.dxf(piece))


def check_glb_of(folder):
    check_glb.check(folder.glb(), folder.report, folder.panels(), folder.intrusions())


@pytest.mark.parametrize("version", DXF_VERSIONS)
def test_good_dxf(tmp_path, version):
    check_dxf_of(write(Plan(), tmp_path, version), version)


def test_good_pages(tmp_path):
    folder = write(Plan(), tmp_path)
    check_true_size_of(folder)
    check_tiles_of(folder)


def test_good_solids(tmp_path):
    folder = write(Plan(), tmp_path)
    check_glb_of(folder)
    check_glb.validate(folder.glb())


def figure_off(name):
    good = Plan().figures
    return {"figures": {name: good[name] + (0.02 if name != "area" else 20)}}


def ask(**more):
    return {"ask": peer.Ask(**{**vars(ASK), **more})}


good = Plan()
crease = good.layers["CREASE_INWARD"][0]
FAULTS = {
    "cut length": (r"cut_length: drawn", check_dxf_of, figure_off("cut_length")),
    "crease length": (r"crease_length: drawn", check_dxf_of, figure_off("crease_length")),
    "perforation length": (
        r"perforation_length: drawn",
        check_dxf_of,
        figure_off("perforation_length"),
    ),
    "area": (r"\(\d+\.\d+, \d+\.\d+\)", check_dxf_of, figure_off("area")),
    "blank length": (r"\(\d+\.\d+, \d+\.\d+\)", check_dxf_of, figure_off("length")),
    "inches": (r"^1", check_dxf_of, {"units": 1}),
    "unknown layer": (r"nobody told of", check_dxf_of, {"extra_layers": {"NOTES": [crease]}}),
    "line drawn twice": (
        r"crease-inward and engrave share",
        check_dxf.every_line_once,
        {"extra_layers": {"ENGRAVE": [crease]}},
    ),
    "outline open": (
        r"outside the closed outline",
        check_dxf.board,
        {"layers": {"CUT": good.layers["CUT"][1:]}},
    ),
    "second piece": (
        r"a second piece",
        check_dxf.board,
        {
            "layers": {
                "CUT": [
                    *good.layers["CUT"],
                    *(
                        Stroke(a, b)
                        for a, b in (
                            ((0, 900), (50, 900)),
                            ((50, 900), (0, 950)),
                            ((0, 950), (0, 900)),
                        )
                    ),
                ]
            }
        },
    ),
    "crease off the board": (
        r"leaves the board",
        check_dxf.creases_end_on_the_board,
        {"layers": {"CREASE_INWARD": [Stroke((0, 0), (0, 500))]}},
    ),
    "page scaled": (r"no line of the PDF|mm off", check_true_size_of, {"page_scale": 1.0002}),
    "crease moved": (r"crease-inward .* 0.03", check_true_size_of, {"page_nudge": (0.03, 0.0)}),
    "no title": (r"is not text", check_true_size_of, {"title": "Another"}),
    "marks moved": (r"mm missing of", check_tiles_of, {"mark_nudge": 0.2}),
    "strip unprinted": (r"cut is not on any page", check_tiles_of, {"page_gap": 20.0}),
    "stray cut": (r"that the DXF does not have", check_tiles_of, {"stray": True}),
    "no step": (r"(front|back) (top|bottom) and .* share", check_glb_of, ask(step=0.0)),
    "slot too narrow": (r"share", check_glb_of, ask(slot=0.0)),
    "wall moved in": (r"back takes", check_glb_of, {"lift": {"back": (0, 0, -0.2)}}),
    "lap told wrong": (r"lap", check_glb_of, {"told_intrusion": ASK.t + 0.02}),
    "room not the asked one": (r"^\(array", check_glb_of, {"room_grows": (-0.1, 0.0, 0.0)}),
    "solid open": (r"NotManifold", check_glb_of, {"open_solid": "lap"}),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_planted_fault_is_caught(tmp_path, fault):
    words, check, spoil = FAULTS[fault]
    folder = write(Plan(**spoil), tmp_path)
    with pytest.raises(AssertionError, match=words):
        if check.__module__ == "check_dxf":
            check(folder.dxf(folder.pieces()[0]))
        else:
            check(folder)


def test_validator_catches_a_bad_file(tmp_path):
    path = write(Plan(), tmp_path).glb()
    doc_end = 20 + int.from_bytes(path.read_bytes()[12:16], "little")
    data = bytearray(path.read_bytes())
    text = data[20:doc_end].replace(b'"componentType":5126', b'"componentType":5125', 1)
    assert text != data[20:doc_end]
    data[20:doc_end] = text
    path.write_bytes(data)
    with pytest.raises(AssertionError):
        check_glb.validate(path)
