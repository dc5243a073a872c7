"""Hostile inputs: the plain tray and its job, each with one thing spoilt.

A case names the file it spoils, the text it replaces (once) and by what, a pattern the message
must match, and a piece of the spoilt text that stands on the line the message must name.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Case:
    name: str
    file: str
    old: str
    new: str
    says: str
    at: str | None
    """None where no line is better than another."""
    place: str
    also: tuple | None = None
    """A second replacement in the same file."""


def job(name, old, new, says, at="", place="job.kdl"):
    return Case(name, "job.kdl", old, new, says, new if at == "" else at, place)


def style(name, old, new, says, at="", also=None):
    return Case(name, "style.kdl", old, new, says, new if at == "" else at, "style.kdl", also)


SIZE = 'length="200mm"'
RIM = 'let "rim" "depth"'
FRONT = 'panel "front" on="near" reach="rim"'
HAND = 'cut-out "hand" x="width / 2" y="low" breadth="30mm" reach="12mm" round="6mm"'
BASE = 'panel "base" reach="width" breadth="length" {'
TURN = 'turn "front" "back" "left" "right"'
ROOM = 'room on="base" breadth="length" reach="width" rise="depth"'


def rim(name, expression, says, at='let "rim"'):
    return style(name, RIM, f'let "rim" "{expression}"', says, at)


CASES = [
    # Sizes of the job.
    job("size zero", SIZE, 'length="0mm"', "not-positive"),
    job("size negative", SIZE, 'length="-200mm"', "not-positive"),
    job("size huge", SIZE, f'length="1{"0" * 300}mm"', "too-large"),
    job("size with an exponent", SIZE, 'length="1e300mm"', "unknown-unit|too-large"),
    job("size past all numbers", SIZE, f'length="{"9" * 400}mm"', "not-finite"),
    job("size NaN", SIZE, 'length="NaN"', "unknown-name"),
    job("size nan with a unit", SIZE, 'length="nan mm"', "unknown-name|missing-operator"),
    job("size inf", SIZE, 'length="inf"', "unknown-name"),
    job("size nan keyword", SIZE, "length=#nan", "wrong-|bad-|unknown-"),
    job("size true", SIZE, "length=#true", "wrong-|bad-|unknown-"),
    job("size without unit", SIZE, "length=200", "wrong-unit"),
    job("size an angle", SIZE, 'length="200deg"', "wrong-unit"),
    job("size in an unknown unit", SIZE, 'length="200furlong"', "unknown-unit"),
    job("size empty", SIZE, 'length=""', "empty-expression", "inside"),
    job("size missing", SIZE, "", "missing", "inside"),
    job("size twice", SIZE, f'{SIZE} length="201mm"', "given-twice"),
    job("size divided by zero", SIZE, 'length="200mm / 0"', "division-by-zero"),
    job("size by a zero fraction", SIZE, 'length="1/0in"', "division-by-zero"),
    job(
        "size in deep parentheses",
        SIZE,
        f'length="{"(" * 2000}1mm{")" * 2000}"',
        "expression-too-deep",
    ),
    job("size of a thousand minus signs", SIZE, f'length="{"-" * 1000}1mm"', "expression-too-deep"),
    job("size too long", SIZE, f'length="1mm{"+1mm" * 3000}"', "expression-too-long"),
    # What a style is for.
    style("suits without its keys", RIM, f"suits; {RIM}", "missing", "suits"),
    style("suits in a wrong word", RIM, f'suits family="boat" closing="tape" opening="cut" stacking="well" folding="hand" load="2kg" uses="post" good="g" bad="b"; {RIM}', "unknown-word", "boat"),
    style("a load in millimetres", RIM, f'suits family="tray" closing="tape" opening="cut" stacking="well" folding="hand" load="2mm" uses="post" good="g" bad="b"; {RIM}', "wrong-unit", "suits"),
    style("a kit that is not there", RIM, f'kit "tub"; {RIM}', "unknown-kit", "tub"),
    style("steps of no kit", RIM, f'steps "inner top"; {RIM}', "unknown-steps", "inner top"),
    # Words of the job.
    job("unknown node", "quantity 1", "quantitty 1", "unknown-word"),
    job("unknown key", SIZE, 'lenght="200mm"', "unknown-word"),
    job("unknown style", "style.kdl", "styel.kdl", "unknown-style|styel"),
    job("unknown board", 'board "B"', 'board "Z9"', "unknown-board"),
    job("unknown creasing", 'crease "rule"', 'crease "steam"', "unknown-word"),
    job("crease deeper than the board", 'crease "rule"', 'crease "rule" depth="2"', "out-of-range"),
    job("unknown parameter", 'set "gap"', 'set "gapp"', "unknown-parameter"),
    job("parameter out of range", '"2mm"', '"6mm"', "out-of-range"),
    job("parameter of another kind", '"2mm"', '"2deg"', "wrong-unit"),
    job("parameter to an unknown word", 'set "gap" "2mm"', 'set "open" "\'top\'"', "unknown-word"),
    job("parameter twice", "quantity 1", 'set "gap" "3mm"', "given-twice"),
    job("two boards", "quantity 1", 'board "C"', "given-twice"),
    job("no cases", "quantity 1", "quantity 0", "wrong-kind"),
    job("negative cases", "quantity 1", "quantity -1", "wrong-kind"),
    job("extra value", 'board "B"', 'board "B" "C"', "extra-value"),
    job("name a number", 'style "style.kdl"', "style 7", "wrong-kind"),
    job(
        "two jobs",
        'job "tray" {',
        'job "first" { style "a"; }\njob "tray" {',
        "given-twice|missing",
        'job "',
    ),
    job(
        "requirement not met",
        SIZE,
        'length="100mm"',
        "the length must be the longer side",
        "require ",
        "style.kdl",
    ),
    # What goes into the case. The tray itself is no fitment.
    job("a case as a fitment", "quantity 1", 'fitment "style.kdl" as="pad"', "not-a-fitment", "fitment"),
    job("a fitment of no style", "quantity 1", 'fitment as="pad"', "missing", "fitment"),
    job("a fitment of an unknown style", "quantity 1", 'fitment "nowhere"', "unknown-style", "nowhere"),
    job("a fitment of a number", "quantity 1", "fitment 7", "wrong-kind"),
    job("a fitment called by a number", "quantity 1", 'fitment "nowhere" as=7', "wrong-kind"),
    job("a fitment in a fitment", "quantity 1", 'fitment "style.kdl" { fitment "style.kdl"; }', "unknown-word"),
    job("a fitment with an unknown key", "quantity 1", 'fitment "style.kdl" at="1mm"', "unknown-word"),
    job("fitments of one name", "quantity 1", 'fitment "style.kdl"; fitment "style.kdl"', "given-twice"),
    job("fitments without end", "quantity 1", "; ".join(f'fitment "style.kdl" as="f{i}"' for i in range(400)), "too-many"),
    job("a fitment in deep parentheses", "quantity 1", f'fitment "style.kdl" x="{"(" * 2000}1mm{")" * 2000}"', "expression-too-deep"),
    style("packed for a number", TURN, TURN + "; }; stage \"Pack\" \"Pack it.\" packs=1 { ", "wrong-kind", "packs=1"),
    # The text itself.
    job("brace not closed", "quantity 1\n}", "quantity 1\n", "syntax", None),
    job("quote not closed", '"tray"', '"tray', "syntax", None),
    job("lone surrogate", '"tray"', '"\\u{D800}"', "syntax"),
    job("control character", '"tray"', '"tr\x00ay"', "syntax"),
    job("direction override", '"tray"', '"tr\u202eay"', "syntax"),
    job("deep nodes", "quantity 1", "a { " * 5000 + "}" * 5000, "too-deep", "a { "),
    job("deep comments", "quantity 1", "/*" * 5000 + "*/" * 5000, "too-deep", "/*"),
    # Names and expressions of the style.
    rim("unknown name", "deptth", "unknown-name"),
    rim("unknown function", "root(depth)", "unknown-function"),
    rim("length plus angle", "depth + 45deg", "unit-mismatch"),
    rim("length plus number", "depth + 3", "unit-mismatch"),
    rim("angle where a length belongs", "45deg", "wrong-unit|unit-mismatch", 'panel "front"'),
    rim("wrong argument count", "min()", "wrong-arity"),
    rim("too many arguments", "sqrt(4, 4)", "wrong-arity"),
    rim("root of a negative", "sqrt(-4) * 1mm", "out-of-domain"),
    rim("division by zero", "depth / (length - length)", "division-by-zero"),
    rim("past all numbers", "depth * 10 ^ 200 * 10 ^ 200", "not-finite"),
    rim("cycle of one", "rim + 1mm", "cycle"),
    rim("cycle of two", "low * 2", "cycle", 'let "low"'),
    rim("parenthesis open", "(depth", "not-closed"),
    rim("missing operator", "depth depth", "missing-operator"),
    rim("chained comparison", "1 < 2 < 3", "chained-comparison"),
    rim("letter from elsewhere", "depth × 2", "bad-character"),
    style("requirement is a length", '"length >= width"', '"length"', "wrong-kind"),
    style("name of an asked size", 'let "low"', 'let "length"', "name-taken"),
    style(
        "parameter twice in the style",
        'let "low" "rim / 2"',
        'let "low" "rim / 2"\n  parameter "gap" default="1mm" max="9mm"',
        "given-twice",
        'max="9mm"',
    ),
    style(
        "let twice",
        'let "low" "rim / 2"',
        'let "low" "rim / 2"\n  let "low" "rim / 3"',
        "given-twice",
        "rim / 3",
    ),
    style(
        "parameter and let",
        'let "low" "rim / 2"',
        'let "low" "rim / 2"\n  let "gap" "4mm"',
        "given-twice",
        '"4mm"',
    ),
    style("default out of its range", 'default="90deg"', 'default="95deg"', "out-of-range"),
    style("default not among the words", 'default="front"', 'default="top"', "unknown-word"),
    # Panels of the style.
    style(
        "panel twice",
        'panel "back"',
        'panel "front"',
        "given-twice|duplicate|same-name",
        'panel "front" on="far"',
    ),
    style("unknown edge", 'on="near"', 'on="under"', "unknown-word"),
    style(
        "panel without reach",
        FRONT,
        'panel "front" on="near"',
        "missing",
        'panel "front" on="near"',
    ),
    style("panel with a negative reach", FRONT, FRONT.replace('"rim"', '"-rim"'), "no-panel-left"),
    style("breadth and inset", FRONT, f'{FRONT} breadth="9mm" inset="1mm"', "two-ways"),
    style("root on an edge", BASE, BASE.replace(" {", ' on="far" {'), "root-panel"),
    style("no piece", 'piece "body" flutes="left-right" {', 'part "body" {', "missing", None),
    style("unknown part", FRONT, f'{FRONT} {{ use "wing"; }}', "unknown-part|unknown-name"),
    style(
        "part in itself",
        RIM,
        f'{RIM}\n  part "wing" {{ use "wing"; }}',
        "cycle|too-deep",
        'part "wing"',
        (FRONT, f'{FRONT} {{ use "wing"; }}'),
    ),
    style("turn of an unknown panel", TURN, 'turn "frnt"', "unknown-panel|unknown-name"),
    style(
        "joint of an unknown panel",
        ROOM,
        f'{ROOM}\n  glue "lap" to="front"',
        "unknown-panel|unknown-name",
        'glue "lap"',
    ),
    style(
        "tab into an unknown cut-out",
        ROOM,
        f'{ROOM}\n  tab "front" into="right" cut-out="mouth"',
        "unknown-cut-out|unknown-name",
        'cut-out="mouth"',
    ),
    style(
        "room on an unknown panel",
        ROOM,
        ROOM.replace('"base"', '"floor"'),
        "unknown-panel|unknown-name",
    ),
    style("room with a size twice", ROOM, ROOM.replace('"depth"', '"width"'), "given-twice"),
    style(
        "outline that crosses itself",
        FRONT,
        f'{FRONT} {{ outline {{ to "200mm" "0mm"; to "0mm" "60mm"; to "200mm" "60mm"; '
        'to "0mm" "0mm"; } }',
        "cross",
        None,
    ),
    style(
        "mirrored part that crosses itself",
        RIM,
        f'{RIM}\n  part "wing" {{ outline {{ to "200mm" "0mm"; to "0mm" "60mm"; '
        'to "200mm" "60mm"; to "0mm" "0mm"; }; }',
        "cross",
        None,
        (FRONT, f'{FRONT} {{ use "wing" mirror=#true; }}'),
    ),
    style(
        "cut-out off the panel",
        HAND,
        HAND.replace('y="low"', 'y="rim * 3"'),
        "cut-out-outside",
        None,
    ),
    style("cut-out without size", HAND, HAND.replace('"12mm"', '"0mm"'), "no-panel-left"),
    style("fold past flat", FRONT, f'{FRONT} angle="200deg"', "out-of-range|angle"),
    style("path of one point", FRONT, f'{FRONT} {{ slit {{ to "1mm" "1mm"; }} }}', "missing"),
]
