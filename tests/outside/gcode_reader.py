"""Machine code read back, by replaying the modal state line by line. Shares nothing with the program.

What is read: G0 to G4, G17, G20, G21, G90, G94, M0, M2 to M9, words X Y Z I J F S P T and comments in
parentheses. Anything else is a fault. Each move says where it goes and whether the tool works.
"""

import math
import re
from dataclasses import dataclass, field

WORD = re.compile(r"([A-Z])([-+]?[0-9]*\.?[0-9]+)")
LONGEST_LINE = 80
# How far the end of an arc may lie off the circle of its start, in mm: what open-source controllers
# accept, and far above the rounding of three decimals.
ARC_ERROR = 0.005


class Fault(Exception):
    """Something a machine would choke on, or that is not safe."""


@dataclass
class Move:
    """One move: where from, where to, and what the tool does meanwhile."""

    line: int
    start: tuple
    end: tuple
    rapid: bool
    works: bool
    feed: float = 0.0
    power: float = 0.0
    tool: int | None = None
    centre: tuple | None = None
    turn: float = 0.0
    """Of an arc, in radians, positive counter-clockwise."""

    @property
    def length(self):
        if self.centre is None:
            return math.dist(self.start, self.end)
        return abs(self.turn) * math.dist(self.start, self.centre)

    def points(self, chord=0.002):
        """Along the move, no further than `chord` from it."""
        if self.centre is None:
            return [self.start, self.end]
        radius = math.dist(self.start, self.centre)
        step = 2 * math.acos(max(-1.0, 1 - min(chord / radius, 1.0)))
        count = max(2, math.ceil(abs(self.turn) / max(step, 1e-3)))
        first = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        inner = [first + self.turn * k / count for k in range(1, count)]
        arc = [(self.centre[0] + radius * math.cos(a), self.centre[1] + radius * math.sin(a)) for a in inner]
        return [self.start, *arc, self.end]


@dataclass
class Code:
    """A whole file."""

    moves: list = field(default_factory=list)
    comments: list = field(default_factory=list)
    words: list = field(default_factory=list)
    """Every line without its comments, as a list of (letter, number)."""

    def strokes(self):
        """Runs of moves on which the tool works without a break."""
        runs, run = [], []
        for move in self.moves:
            if move.works:
                run.append(move)
            elif run and move.length > 0:
                runs.append(run)
                run = []
        return runs + ([run] if run else [])


def read(text, full_power=None, lifts=False):
    """Replays a file. `full_power` is the number of full power of a beam; with `lifts` the tool works
    when Z is below nothing instead."""
    code = Code()
    motion = spindle = None
    seen = set()
    at = [0.0, 0.0]
    z, feed, power, tool = None, None, 0.0, None
    ended = False
    for number, raw in enumerate(text.split("\n"), 1):
        def fault(what):
            raise Fault(f"line {number}: {what}: {raw!r}")

        if not raw.isascii() or len(raw) > LONGEST_LINE or any(ord(c) < 32 for c in raw):
            fault("not plain ASCII, or too long")
        plain = raw
        for comment in re.findall(r"\(([^()]*)\)", raw):
            code.comments.append(comment)
            plain = plain.replace(f"({comment})", "", 1)
        if "(" in plain or ")" in plain:
            fault("parentheses do not pair")
        if not plain.strip():
            continue
        if ended:
            fault("something after the end")
        words = WORD.findall(plain)
        if "".join(a + b for a, b in words) != plain.replace(" ", ""):
            fault("not words of a letter and a number")
        line = [(a, float(b)) for a, b in words]
        code.words.append(line)
        if len({a for a, _ in line if a not in "GM"}) != len([a for a, _ in line if a not in "GM"]):
            fault("a letter given twice")
        given = dict((a, v) for a, v in line if a not in "GM")
        if set(given) - set("XYZIJFSPT"):
            fault("unknown word")
        if "F" in given:
            feed = given["F"]
        if "S" in given:
            power = given["S"]
            if power < 0 or (full_power is not None and power > full_power):
                fault("power out of range")
        if "T" in given:
            tool = int(given["T"])
        for letter, value in line:
            if letter == "G":
                if value in (0, 1, 2, 3):
                    motion = int(value)
                elif value == 4:
                    motion = 4
                elif value in (17, 21, 90, 94):
                    seen.add(int(value))
                else:
                    fault("unknown G word")
            elif letter == "M":
                if value in (3, 4, 5):
                    spindle = None if value == 5 else int(value)
                elif value == 2:
                    ended = True
                elif value not in (6, 8, 9):
                    fault("unknown M word")
        if motion == 4:
            motion = None
            continue
        if "Z" in given:
            if "X" in given or "Y" in given:
                fault("down and sideways at once")
            z = given["Z"]
            continue
        if "X" not in given and "Y" not in given:
            if "I" in given or "J" in given:
                fault("an arc to nowhere")
            continue
        if motion is None:
            fault("a move of no kind")
        if not {17, 21, 90, 94} <= seen:
            fault("a move before plane, units, absolute coordinates and feed mode are set")
        start, end = tuple(at), (given.get("X", at[0]), given.get("Y", at[1]))
        on = (z is not None and z < 0) if lifts else (spindle is not None and power > 0)
        if motion == 0:
            # M4 with a nought, or a tool that is up: nothing works while the head travels.
            if on:
                fault("the tool works in a rapid move")
            if not lifts and given.get("S") != 0:
                fault("a rapid move that does not say S0")
            code.moves.append(Move(number, start, end, True, False, tool=tool))
        else:
            if "F" not in given or feed is None or feed <= 0:
                fault("a cut without a feed of its own")
            if not lifts and "S" not in given:
                fault("a cut without a power of its own")
            if not on:
                fault("a cut with the tool off")
            move = Move(number, start, end, False, True, feed, power, tool)
            if motion in (2, 3):
                if "I" not in given or "J" not in given:
                    fault("an arc without a centre")
                if start == end:
                    fault("an arc of a whole round")
                centre = (start[0] + given["I"], start[1] + given["J"])
                if abs(math.dist(start, centre) - math.dist(end, centre)) > ARC_ERROR:
                    fault("an arc that does not end on its circle")
                a, b = (math.atan2(p[1] - centre[1], p[0] - centre[0]) for p in (start, end))
                turn = (b - a) % math.tau if motion == 3 else -((a - b) % math.tau)
                if abs(turn) > math.pi + 1e-3:
                    fault("an arc of more than half a round")
                move.centre, move.turn = centre, turn
            elif "I" in given or "J" in given:
                fault("a line with a centre")
            code.moves.append(move)
        at = list(end)
    if not ended:
        raise Fault("the file does not end")
    if spindle is not None or (lifts and z is not None and z < 0):
        raise Fault("the tool still works at the end")
    return code
