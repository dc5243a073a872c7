"""The only place that knows how the program is called and how its files are named and worded."""

import json
import os
import subprocess
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
BINARY = Path(os.environ.get("BOXWRIGHT_BIN", ROOT / "target/release/boxwright")).resolve()

DXF_VERSIONS = ("r12", "r2000", "r2010")
USES = ("cut", "crease-inward", "crease-outward", "perforation", "engrave", "board")
FIGURES = {
    "cut_length": ("cut",),
    "crease_length": ("crease-inward", "crease-outward"),
    "perforation_length": ("perforation",),
}
ROOM_NODE = "asked clear room"
INTRUSION = "intrusion"
"""Word in the code of the finding that names board the trade accepts in the asked room."""


def is_job(path: Path) -> bool:
    return any(line.startswith("job ") for line in path.read_text("utf-8").splitlines())


def example_jobs() -> list[Path]:
    """The examples that are jobs; others are stock files and the like."""
    return sorted(p for p in EXAMPLES.glob("*.kdl") if is_job(p))


def run(*args, cwd=None, stdin=None, timeout=60, **more):
    return subprocess.run(
        [BINARY, *map(str, args)],
        cwd=cwd or ROOT,
        input=stdin,
        capture_output=True,
        timeout=timeout,
        **more,
    )


@dataclass(frozen=True)
class Folder:
    """What one `make` wrote."""

    path: Path

    @property
    def report(self) -> dict:
        return json.loads(self.one("*-report.json").read_text("utf-8"))

    def files(self) -> list[Path]:
        return sorted(p for p in self.path.rglob("*") if p.is_file())

    def one(self, pattern: str) -> Path:
        found = sorted(self.path.glob(pattern))
        assert len(found) == 1, f"{pattern} in {self.path}: {[p.name for p in found]}"
        return found[0]

    def pieces(self) -> list[dict]:
        return self.report["pieces"]

    def dxf(self, piece: dict) -> Path:
        return self.one(f"*-{stem(piece)}.dxf")

    def svg(self, piece: dict) -> Path:
        return self.one(f"*-{stem(piece)}.svg")

    def pdf(self, piece: dict, kind: str) -> Path:
        """`kind` is drawing, true-size or tiles."""
        return self.one(f"*-{stem(piece)}-{kind}*.pdf")

    def glb(self) -> Path:
        return self.one("*.glb")

    def title(self) -> str:
        return self.report["title"]

    def panels(self) -> dict[str, str | None]:
        """Full panel name -> full name of the panel it hangs on, over all pieces."""
        out = {}
        pieces = self.pieces()
        for piece in pieces:
            prefix = f"{piece['name']}: " if len(pieces) > 1 else ""
            names = [p["name"] for p in piece["panels"]]
            for panel in piece["panels"]:
                parent = panel["parent"]
                if isinstance(parent, int):
                    parent = names[parent]
                out[prefix + panel["name"]] = None if parent is None else prefix + parent
        return out

    def intrusions(self) -> dict[str, float]:
        """Panel -> how far in mm the report says it stands in the asked room."""
        return {
            name: f["measured"]["value"]
            for f in self.report["findings"]
            if INTRUSION in f["code"]
            for name in f["panels"]
        }


def stem(piece: dict) -> str:
    """A piece's name as it stands in the names of its files."""
    return piece["name"].replace(" ", "-")


def use_of(layer: str) -> str:
    use = layer.lower().replace("_", "-").replace(" ", "-")
    assert use in USES, f"a layer nobody told of: {layer!r}"
    return use


def make(job: Path, out: Path, *args) -> Folder:
    done = run("make", job, "--out", out, *args)
    assert done.returncode in (0, 1), done.stderr.decode("utf-8", "replace")
    return Folder(out)
