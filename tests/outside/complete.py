"""Whether a file is whole, by its own format's rules."""

import io
import json
import struct
import xml.etree.ElementTree as xml

from PIL import Image


def check(path) -> str:
    """The file's suffix; fails when the file is not complete or of a kind nobody told of."""
    data = path.read_bytes()
    kind = path.suffix
    assert data, f"{path.name} is empty"
    match kind:
        case ".json":
            json.loads(data.decode("utf-8"))
        case ".svg":
            xml.fromstring(data.decode("utf-8"))
        case ".dxf":
            lines = data.decode("utf-8").splitlines()
            assert len(lines) % 2 == 0, f"{path.name}: a group without a value"
            assert [s.strip() for s in lines[-2:]] == ["0", "EOF"], f"{path.name} ends early"
        case ".pdf":
            assert data.startswith(b"%PDF-"), path.name
            assert data.rstrip().endswith(b"%%EOF"), f"{path.name} ends early"
        case ".png":
            Image.open(io.BytesIO(data)).load()
        case ".glb":
            assert struct.unpack_from("<4sII", data)[::2] == (b"glTF", len(data)), path.name
        case _:
            raise AssertionError(f"a file of a kind nobody told of: {path.name}")
    return kind
