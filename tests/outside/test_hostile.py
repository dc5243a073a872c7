"""Hostile inputs: each gives its message at its place, status 2, and no file."""

import random
import re
import signal
import subprocess
import sys
import time

import pytest

import complete
from outputs import BINARY, ROOT, run

HOSTILE = ROOT / "tests/hostile"
sys.path.insert(0, str(HOSTILE))
from cases import CASES  # noqa: E402

JOB = (HOSTILE / "job.kdl").read_text("utf-8")
STYLE = (HOSTILE / "style.kdl").read_text("utf-8")
ENOUGH_SECONDS = 20


@pytest.fixture
def place(tmp_path):
    (tmp_path / "job.kdl").write_text(JOB, "utf-8")
    (tmp_path / "style.kdl").write_text(STYLE, "utf-8")
    return tmp_path


def make(place, job="job.kdl", out="out", **more):
    return run("make", job, "--out", out, cwd=place, timeout=ENOUGH_SECONDS, **more)


def written(place):
    return [p for p in (place / "out").rglob("*") if p.is_file()]


def refused(place, done, says):
    text = done.stderr.decode("utf-8")
    assert "panicked" not in text, text
    assert done.returncode == 2, (done.returncode, text[:2000])
    assert re.search(says, text), f"{says!r} is not said in:\n{text[:2000]}"
    assert not written(place)
    return text


def line_of(text, at):
    """The line the first `at` starts on, from 1."""
    assert at in text, f"{at!r} is not in the spoilt text"
    return text[: text.index(at)].count("\n") + 1


def test_there_are_enough_and_each_is_its_own():
    assert len(CASES) >= 40
    assert len({c.name for c in CASES}) == len(CASES)
    assert len({(c.file, c.old, c.new) for c in CASES}) == len(CASES)


def test_the_unspoilt_tray_is_made(place):
    done = make(place)
    assert done.returncode == 0, done.stderr.decode("utf-8", "replace")
    assert written(place)


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.name)
def test_refused(place, case):
    path = place / case.file
    text = path.read_text("utf-8")
    for old, new in ((case.old, case.new), *([case.also] if case.also else [])):
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    path.write_bytes(text.encode("utf-8"))
    said = refused(place, make(place), case.says)
    if case.at is not None:
        line = line_of((place / case.place).read_text("utf-8"), case.at)
        assert re.search(rf"{re.escape(case.place)}:{line}\b", said), (
            f"line {line} of {case.place} is not named in:\n{said[:2000]}"
        )


def test_empty_file(place):
    (place / "job.kdl").write_bytes(b"")
    refused(place, make(place), "empty")


def test_missing_file(place):
    refused(place, make(place, "nowhere.kdl"), r"nowhere\.kdl")


def test_folder_as_file(place):
    (place / "folder.kdl").mkdir()
    refused(place, make(place, "folder.kdl"), r"folder\.kdl")


@pytest.mark.parametrize("name", ["job.kdl", "style.kdl"])
@pytest.mark.parametrize(
    "bytes_", [b"\xff\xfe", b"\xed\xa0\x80", b"\xc0\xaf"], ids=["mark", "surrogate", "overlong"]
)
def test_not_utf8(place, name, bytes_):
    path = place / name
    path.write_bytes(path.read_bytes().replace(b"tray", b"tr" + bytes_ + b"ay", 1))
    refused(place, make(place), "UTF-8")


@pytest.mark.parametrize("name", ["job.kdl", "style.kdl"])
def test_ten_megabytes(place, name):
    path = place / name
    path.write_bytes(path.read_bytes() + b"// filler\n" * 1_000_000)
    start = time.monotonic()
    refused(place, make(place), "too-long|too long")
    assert time.monotonic() - start < 5


@pytest.mark.parametrize("out", ["job.kdl", "job.kdl/below", "/proc/boxwright"])
def test_folder_that_cannot_be_written(place, out):
    before = (place / "job.kdl").read_bytes()
    refused(place, make(place, out=out), re.escape(out))
    assert (place / "job.kdl").read_bytes() == before


@pytest.mark.parametrize("text", [b"", b"\x00" * 1000, b"\xff" * 1000], ids=["empty", "zero", "ff"])
def test_standard_input_of_rubbish(place, text):
    refused(place, make(place, "-", stdin=text), "standard input|-")


def test_unknown_option(place):
    refused(place, run("make", "job.kdl", "--uot", "out", cwd=place), "--uot")


@pytest.mark.parametrize("title", ["../../tray", "/tray", "a/b", "..", "", ".", "a\\nb", "CON"])
def test_title_cannot_lead_out_of_the_folder(place, title):
    (place / "job.kdl").write_text(JOB.replace('job "tray"', f'job "{title}"'), "utf-8")
    done = make(place)
    assert b"panicked" not in done.stderr
    assert done.returncode in (0, 2), done.stderr
    outside = {p.name for p in place.rglob("*") if p.is_file() and place / "out" not in p.parents}
    assert outside == {"job.kdl", "style.kdl"}
    assert all(p.parent == place / "out" for p in written(place))
    assert bool(written(place)) == (done.returncode == 0)
    if done.returncode == 0:
        for path in written(place):
            complete.check(path)
            assert path.stem.strip("."), path


def test_long_title(place):
    (place / "job.kdl").write_text(JOB.replace('job "tray"', f'job "{"long " * 2000}"'), "utf-8")
    done = make(place)
    assert b"panicked" not in done.stderr
    assert done.returncode in (0, 2), done.stderr
    assert bool(written(place)) == (done.returncode == 0)
    for path in written(place):
        complete.check(path)


def test_other_line_ends_marks_and_tabs_change_nothing(place):
    make(place)
    want = {p.name: p.read_bytes() for p in written(place)}
    assert want
    for n, change in enumerate(
        (
            lambda t: t.replace("\n", "\r\n"),
            lambda t: "\ufeff" + t,
            lambda t: t.replace("  ", "\t"),
        )
    ):
        for name, text in (("job.kdl", JOB), ("style.kdl", STYLE)):
            (place / name).write_bytes(change(text).encode("utf-8"))
        done = make(place, out=f"again-{n}")
        assert done.returncode == 0, done.stderr.decode("utf-8", "replace")
        got = {p.name: p.read_bytes() for p in (place / f"again-{n}").iterdir()}
        assert got == want


@pytest.mark.parametrize("end", ["\r\n", "\n"], ids=["crlf", "lf"])
@pytest.mark.parametrize("mark", ["", "\ufeff"], ids=["plain", "marked"])
def test_lines_are_counted_alike(place, end, mark):
    text = JOB.replace('"200mm"', '"200furlong"')
    (place / "job.kdl").write_bytes((mark + text.replace("\n", end)).encode("utf-8"))
    said = refused(place, make(place), "unknown-unit")
    assert re.search(rf"job\.kdl:{line_of(text, 'furlong')}\b", said), said


def test_full_disk_on_standard_output_is_no_panic(place):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [BINARY, "make", "job.kdl", "--out", "out"],
            cwd=place,
            stdout=full,
            stderr=subprocess.PIPE,
            timeout=ENOUGH_SECONDS,
        )
    assert b"panicked" not in done.stderr
    assert done.returncode >= 0


def test_kill_during_writing(place):
    """Killed at any moment, every file there is whole: the old one or the new one."""
    start = time.monotonic()
    assert make(place, out="old").returncode == 0
    whole = time.monotonic() - start
    (place / "job.kdl").write_text(JOB.replace("200mm", "210mm"), "utf-8")
    assert make(place, out="new").returncode == 0
    old, new = (
        {p.name: p.read_bytes() for p in (place / n).iterdir() if p.is_file()}
        for n in ("old", "new")
    )
    assert old.keys() == new.keys()
    assert old != new

    seed = random.randrange(2**32)
    print(f"seed {seed}")
    rng = random.Random(seed)
    killed = 0
    for n in range(60):
        # Half of them into an empty folder, half over the older files.
        out = place / f"killed-{n}"
        out.mkdir()
        if n % 2:
            for name, data in old.items():
                (out / name).write_bytes(data)
        child = subprocess.Popen(
            [BINARY, "make", "job.kdl", "--out", out],
            cwd=place,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        time.sleep(rng.uniform(0, 1.2 * whole))
        child.kill()
        killed += child.wait() == -signal.SIGKILL
        for path in out.iterdir():
            # A file being written may be left under a hidden name, never under its own.
            if path.name.startswith("."):
                continue
            data = path.read_bytes()
            assert data == new[path.name] or (n % 2 and data == old[path.name]), (
                f"{path.name} is half written ({len(data)} bytes)"
            )
    assert killed >= 10, f"only {killed} of 60 were killed while they ran"
