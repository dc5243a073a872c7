"""The finished case as solids, read from the GLB alone."""

import itertools
import json
import struct
import subprocess
from pathlib import Path

import numpy as np
import trimesh
from manifold3d import Error, Manifold, Mesh64, OpType

from outputs import ROOM_NODE

VOLUME_SLACK = 0.5
DEPTH_SLACK = 0.01
# GLB positions are single precision metres: near 1 m they lie on a grid of 6e-5 mm. A wall that
# only touches the room may reach into it by that much, so the room is drawn in by a little more.
SINGLE = 1e-4
HERE = Path(__file__).resolve().parent
COMPONENTS = {5121: np.uint8, 5123: np.uint16, 5125: np.uint32, 5126: np.float32}
WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}


def chunks(path):
    data = Path(path).read_bytes()
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data)), path
    out, at = {}, 12
    while at < length:
        size, kind = struct.unpack_from("<I4s", data, at)
        out[kind] = data[at + 8 : at + 8 + size]
        at += 8 + size
    return json.loads(out[b"JSON"]), out.get(b"BIN\0", b"")


def accessor(doc, blob, index):
    a = doc["accessors"][index]
    view = doc["bufferViews"][a["bufferView"]]
    kind, width = COMPONENTS[a["componentType"]], WIDTHS[a["type"]]
    assert (
        view.get("byteStride", np.dtype(kind).itemsize * width) == np.dtype(kind).itemsize * width
    )
    start = view.get("byteOffset", 0) + a.get("byteOffset", 0)
    return np.frombuffer(blob, kind, a["count"] * width, start).reshape(-1, width)


def local(node):
    if "matrix" in node:
        return np.array(node["matrix"], float).reshape(4, 4).T
    out = np.eye(4)
    x, y, z, w = node.get("rotation", (0, 0, 0, 1))
    out[:3, :3] = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    out[:3, :3] *= node.get("scale", (1, 1, 1))
    out[:3, 3] = node.get("translation", (0, 0, 0))
    return out


def to_mm(points):
    """World metres, y up, to millimetres, z up."""
    return 1000.0 * np.column_stack([points[:, 0], -points[:, 2], points[:, 1]])


def panels(path) -> dict[str, Manifold]:
    """Node name -> its solid, mm, z up."""
    doc, blob = chunks(path)
    out: dict[str, Manifold] = {}

    def visit(index, above):
        node = doc["nodes"][index]
        world = above @ local(node)
        if "mesh" in node:
            solids = []
            for primitive in doc["meshes"][node["mesh"]]["primitives"]:
                assert primitive.get("mode", 4) == 4, "triangles"
                points = accessor(doc, blob, primitive["attributes"]["POSITION"]).astype(float)
                corners = accessor(doc, blob, primitive["indices"]).astype(np.uint64)
                # Corners are written once per face normal; a solid needs them once.
                unique, back = np.unique(points, axis=0, return_inverse=True)
                placed = to_mm(unique @ world[:3, :3].T + world[:3, 3])
                triangles = back.reshape(-1)[corners].reshape(-1, 3).astype(np.uint64)
                solid = Manifold(Mesh64(np.ascontiguousarray(placed), triangles))
                name = node.get("name")
                assert solid.status() == Error.NoError, f"{name}: {solid.status()}"
                assert solid.volume() > 0, f"{name}: no volume, or inside out"
                solids.append(solid)
            assert node["name"] not in out, f"two nodes named {node['name']}"
            out[node["name"]] = Manifold.batch_boolean(solids, OpType.Add)
        for child in node.get("children", ()):
            visit(child, world)

    for root in doc["scenes"][doc.get("scene", 0)]["nodes"]:
        visit(root, np.eye(4))
    return out


def apart(a, b):
    return any(a[i] >= b[i + 3] or b[i] >= a[i + 3] for i in range(3))


def read_alike(path, solids):
    """A second reader places the same nodes in the same space."""
    scene = trimesh.load(path, force="scene", process=False)
    low, high = to_mm(scene.bounds.astype(float))
    low, high = np.minimum(low, high), np.maximum(low, high)
    boxes = np.array([s.bounding_box() for s in solids.values()])
    assert np.allclose(low, boxes[:, :3].min(axis=0), atol=0.01)
    assert np.allclose(high, boxes[:, 3:].max(axis=0), atol=0.01)
    names = set(scene.graph.nodes)
    assert set(solids) <= names, set(solids) - names


def board_in_board(solids, parents):
    assert set(solids) == set(parents), set(solids) ^ set(parents)
    bounds = {name: s.bounding_box() for name, s in solids.items()}
    for a, b in itertools.combinations(sorted(solids), 2):
        if parents[a] == b or parents[b] == a or apart(bounds[a], bounds[b]):
            continue
        shared = (solids[a] ^ solids[b]).volume()
        assert shared <= VOLUME_SLACK, f"{a} and {b} share {shared:.3f} mm3"


def intrusion_depth(hit, low, high):
    """How far the nearest face of the room must draw in to leave `hit` outside."""
    box = hit.bounding_box()
    return min(min(box[i + 3] - low[i], high[i] - box[i]) for i in range(3))


def room(solids, block, report, accepted):
    low, high = np.array(block.bounding_box()[:3]), np.array(block.bounding_box()[3:])
    told = np.abs(np.subtract(report["room"]["max"], report["room"]["min"]))
    assert np.allclose(sorted(high - low), sorted(told), atol=1e-3), (high - low, told)
    assert np.isclose(block.volume(), np.prod(told), rtol=1e-5), "the room is no upright block"
    seen = set()
    drawn_in = Manifold.cube(high - low - 2 * SINGLE).translate(low + SINGLE)
    for name, solid in solids.items():
        hit = solid ^ drawn_in
        volume = hit.volume()
        if volume <= VOLUME_SLACK:
            continue
        assert name in accepted, f"{name} takes {volume:.3f} mm3 of the asked room"
        depth = intrusion_depth(hit, low, high)
        assert abs(depth - accepted[name]) <= DEPTH_SLACK, (name, depth, accepted[name])
        seen.add(name)
    for name, told in accepted.items():
        assert name in seen or told <= DEPTH_SLACK, f"{name} is reported in the room and is not"


def within(solids, block):
    """A fitment stands in the asked room, the inside of the case it goes into, and keeps to it."""
    low, high = np.array(block.bounding_box()[:3]), np.array(block.bounding_box()[3:])
    for name, solid in solids.items():
        box = np.array(solid.bounding_box())
        past = max((low - box[:3]).max(), (box[3:] - high).max())
        assert past <= SINGLE + DEPTH_SLACK, f"{name} stands {past:.4f} mm past the case"


def validate(*paths):
    done = subprocess.run(
        ["node", HERE / "validate-glb.mjs", *paths], capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert set(found) == set(map(str, paths))
    bad = {path: messages for path, messages in found.items() if messages}
    assert not bad, json.dumps(bad, indent=1)[:4000]


def check(path, report, parents, accepted):
    solids = panels(path)
    read_alike(path, solids)
    block = solids.pop(ROOM_NODE)
    board_in_board(solids, parents)
    if any(f["code"] == "fits-inside" for f in report["findings"]) and not report["fitments"]:
        within(solids, block)
    else:
        room(solids, block, report, accepted)
