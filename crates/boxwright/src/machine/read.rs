//! A machine file into a machine: every message at its place, as many as there are.

use super::code;
use super::figure::{Bounds, Figures, length, measure, part, rate, whole};
use super::{Dialect, Kind, Machine, Nicks, Runs, Setting, Tool, Way};
use crate::blank::LineUse;
use crate::board::only_once;
use crate::diag::Outcome;
use crate::read::{Field, Node, parse, suggestion};
use crate::source::Text;
use crate::units::{Dim, ForcePerLength, Length, Rate};

const PARTS: [&str; 14] = [
    "title",
    "kind",
    "bed",
    "travel",
    "acceleration",
    "corner",
    "price",
    "hands",
    "full-power",
    "tool",
    "line",
    "nicks",
    "lead-in",
    "code",
];
const LINE_KEYS: [&str; 11] = [
    "board", "flutes", "way", "cut", "gap", "tool", "speed", "power", "passes", "kerf", "from",
];
const NICKS: [&str; 7] = [
    "least", "every", "length", "most", "holds", "times", "clear",
];
const CODE: [&str; 5] = ["full-s", "power", "air", "decimals", "park"];

// Bounds, to find slips of the pen: in base units, wide enough for every machine known to cut board.
const BED: Bounds = (10.0, 20_000.0);
const SPEED: Bounds = (0.1, 5000.0);
const ACCELERATION: Bounds = (1.0, 100_000.0);
const CORNER: Bounds = (0.001, 2.0);
const TIME: Bounds = (0.0, 60.0);
const HAND_TIME: Bounds = (0.0, 36_000.0);
const MONEY: Bounds = (0.0, 1e6);
const POWER: Bounds = (0.1, 100_000.0);
const SHARE: Bounds = (0.0, 1.0);
const PASSES: Bounds = (1.0, 20.0);
const KERF: Bounds = (0.0, 5.0);
const DASH: Bounds = (0.2, 500.0);
const LEAD: Bounds = (0.1, 50.0);
const NICK: Bounds = (0.05, 50.0);
const EVERY: Bounds = (10.0, 5000.0);
const MOST_TOOLS: usize = 16;
const MOST_LINES: usize = 500;

/// Reads a machine file, which holds one machine.
///
/// # Errors
/// Every message about it, when one of them is an error.
pub fn read_machine(text: &Text) -> Outcome<Machine> {
    let doc = parse(text)?;
    let mut found = None;
    for (i, node) in doc.nodes().enumerate() {
        if node.name() != "machine" {
            node.unknown("a machine file", ["machine"]);
        } else if i > 0 {
            let help = "give each machine a file of its own";
            node.error("given-twice", "a file holds one machine", Some(help.into()));
        } else {
            found = machine(node);
        }
    }
    if doc.nodes().next().is_none() {
        let diag = crate::diag::Diag::error("missing", "this file holds no machine");
        doc.report(
            diag.at(doc.top())
                .help("it begins with: machine \"name\" {"),
        );
    }
    doc.finish(found).map(|(machine, _)| machine)
}

fn machine(node: Node<'_>) -> Option<Machine> {
    node.takes(1, &[]);
    only_once(node, &PARTS, &["tool", "line"], "a machine");
    let name = node
        .need_arg(0, "a name, such as machine \"bench-laser\"")
        .and_then(name);
    let mut f = Figures::default();
    let title = text(node, "title");
    let kind = part(node, "kind").and_then(|n| {
        n.takes(1, &[]);
        n.childless();
        let field = n.need_arg(0, "laser or knife")?;
        field.choice(&[("laser", Kind::Laser), ("knife", Kind::Knife)])
    });
    let bed = bed(&mut f, node);
    let travel_speed = f.rate(node, "travel", Rate::Speed, SPEED);
    let acceleration = f.rate(node, "acceleration", Rate::Acceleration, ACCELERATION);
    let corner = f.length(node, "corner", CORNER);
    let hour_price = f.rate(node, "price", Rate::Hourly, MONEY);
    let hands = hands(&mut f, node);
    let full_power = match node.child("full-power") {
        Some(_) => Some(f.rate(node, "full-power", Rate::Power, POWER)?),
        None => None,
    };
    let tools = tools(&mut f, node, full_power.is_some());
    let settings = tools.as_ref().and_then(|t| settings(&mut f, node, t));
    let nicks = match node.child("nicks") {
        Some(n) => Some(nicks(&mut f, n)?),
        None => None,
    };
    let lead_in = f.length(node, "lead-in", LEAD);
    let dialect = part(node, "code").and_then(|n| dialect(&mut f, n, bed));
    let (hand_price, hand_time) = hands?;
    Some(Machine {
        name: name?,
        title: title?,
        kind: kind?,
        bed: bed?,
        travel_speed: travel_speed?,
        acceleration: acceleration?,
        corner: corner?,
        hour_price: hour_price?,
        hand_price,
        hand_time,
        full_power,
        tools: tools?,
        settings: settings?,
        nicks,
        lead_in: lead_in?,
        dialect: dialect?,
        origins: f.origins,
    })
}

/// A name that can stand in file names and in machine code.
fn name(field: Field<'_>) -> Option<String> {
    let name = field.text();
    let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
    if name.is_empty() || name.len() > 40 || !name.chars().all(fits) {
        let help = "use up to 40 letters without accents, digits, - and _";
        field.error("bad-name", "this cannot be a name here", Some(help.into()));
        return None;
    }
    Some(name)
}

fn text(node: Node<'_>, word: &str) -> Option<String> {
    let node = part(node, word)?;
    node.takes(1, &[]);
    node.childless();
    node.need_arg(0, "one line of text").map(|f| f.text())
}

fn bed(f: &mut Figures, node: Node<'_>) -> Option<[Length; 2]> {
    let node = part(node, "bed")?;
    node.takes(2, &["from"]);
    node.childless();
    f.origin(node, "bed");
    let x = node.need_arg(0, "its breadth").and_then(|v| length(v, BED));
    let y = node.need_arg(1, "its depth").and_then(|v| length(v, BED));
    Some([x?, y?])
}

fn hands(f: &mut Figures, node: Node<'_>) -> Option<(f64, f64)> {
    let node = part(node, "hands")?;
    node.takes(1, &["each", "from"]);
    node.childless();
    f.origin(node, "hands");
    let price = node.need_arg(0, Rate::Hourly.words());
    let price = price.and_then(|v| rate(v, Rate::Hourly, MONEY));
    let each = node.need_prop("each", "time to fold and join one blank");
    let each = each.and_then(|v| rate(v, Rate::Time, HAND_TIME));
    Some((price?, each?))
}

fn tools(f: &mut Figures, node: Node<'_>, has_power: bool) -> Option<Vec<Tool>> {
    let nodes: Vec<Node<'_>> = node.children().filter(|n| n.name() == "tool").collect();
    if nodes.is_empty() {
        let help = "give one, such as tool \"beam\" begin=\"0.1s\" end=\"0s\" from=\"...\"";
        node.error("missing", "a machine needs a `tool`", Some(help.into()));
        return None;
    }
    if let Some(extra) = nodes.get(MOST_TOOLS) {
        extra.error(
            "too-many",
            format!("{MOST_TOOLS} tools are read at most"),
            None,
        );
        return None;
    }
    let mut tools: Vec<Tool> = Vec::new();
    let mut whole = true;
    for node in nodes {
        match tool(f, node, has_power) {
            Some(t) if tools.iter().any(|o| o.name == t.name) => {
                node.error(
                    "given-twice",
                    format!("tool `{}` is given twice", t.name),
                    None,
                );
            }
            Some(t) => tools.push(t),
            None => whole = false,
        }
    }
    whole.then_some(tools)
}

fn tool(f: &mut Figures, node: Node<'_>, has_power: bool) -> Option<Tool> {
    node.takes(1, &["begin", "end", "from"]);
    only_once(node, &["select", "lower", "lift"], &[], "a tool");
    let name = node.need_arg(0, "a name, such as \"knife\"").and_then(name);
    f.origin(
        node,
        &format!("tool {}", name.as_deref().unwrap_or_default()),
    );
    let time = |key: &str, what: &str| {
        let field = node.need_prop(key, what)?;
        rate(field, Rate::Time, TIME)
    };
    let begin = time("begin", "time to begin a stroke: pierce or lower");
    let end = time("end", "time to end a stroke: lift");
    let lines = |word: &str| match node.child(word) {
        Some(n) => lines(n),
        None => Some(Vec::new()),
    };
    let (select, lower, lift) = (lines("select"), lines("lower"), lines("lift"));
    let (select, lower, lift) = (select?, lower?, lift?);
    let powered = lower.is_empty();
    if powered != lift.is_empty() {
        let help = "give both for a tool that is lowered, neither for a beam";
        node.error(
            "missing",
            "`lower` and `lift` go together",
            Some(help.into()),
        );
    } else if powered && !has_power {
        node.error(
            "missing",
            "a tool that is not lowered is a beam, and the machine has no `full-power`",
            Some("give the tool `lower` and `lift`, or the machine its `full-power`".into()),
        );
    }
    Some(Tool {
        name: name?,
        powered,
        begin_time: begin?,
        end_time: end?,
        select,
        lower,
        lift,
    })
}

fn lines(node: Node<'_>) -> Option<Vec<String>> {
    node.takes(8, &[]);
    node.childless();
    let mut out = Vec::new();
    let mut whole = node
        .need_arg(0, "a line of machine code, such as \"M3 S1000\"")
        .is_some();
    for field in node.args() {
        match code::line(&field.text()) {
            Ok(line) => out.push(line),
            Err(why) => {
                field.error("bad-code", why, None);
                whole = false;
            }
        }
    }
    whole.then_some(out)
}

const USES: [(&str, &[LineUse]); 6] = [
    ("cut", &[LineUse::Cut]),
    ("crease", &[LineUse::CreaseInward, LineUse::CreaseOutward]),
    ("crease-inward", &[LineUse::CreaseInward]),
    ("crease-outward", &[LineUse::CreaseOutward]),
    ("perforation", &[LineUse::Perforation]),
    ("engrave", &[LineUse::Engrave]),
];

fn settings(f: &mut Figures, node: Node<'_>, tools: &[Tool]) -> Option<Vec<Setting>> {
    let nodes: Vec<Node<'_>> = node.children().filter(|n| n.name() == "line").collect();
    if let Some(extra) = nodes.get(MOST_LINES) {
        extra.error(
            "too-many",
            format!("{MOST_LINES} of `line` are read at most"),
            None,
        );
        return None;
    }
    let mut all: Vec<Setting> = Vec::new();
    let mut whole = true;
    for node in nodes {
        let Some(list) = setting(f, node, tools) else {
            whole = false;
            continue;
        };
        for s in list {
            let same =
                |o: &Setting| (o.line_use, &o.board, o.runs) == (s.line_use, &s.board, s.runs);
            if all.iter().any(same) {
                let help = "a line is told from another by its use, `board` and `flutes`";
                node.error("given-twice", "this line is given twice", Some(help.into()));
            }
            all.push(s);
        }
    }
    if !all.iter().any(|s| s.line_use == LineUse::Cut) && whole {
        node.error("missing", "a machine needs a `line \"cut\"`", None);
        return None;
    }
    whole.then_some(all)
}

fn setting(f: &mut Figures, node: Node<'_>, tools: &[Tool]) -> Option<Vec<Setting>> {
    node.takes(1, &LINE_KEYS);
    node.childless();
    let word = node.need_arg(0, "what the line is for, such as \"cut\"")?;
    let uses = word.choice(&USES)?;
    let way_field = node.need_prop("way", "through, etched, dashes, pressed or left")?;
    let way = way_field.choice(&[
        ("through", Way::Through),
        ("etched", Way::Etched),
        ("dashes", Way::Dashes { cut: 0.0, gap: 0.0 }),
        ("pressed", Way::Pressed),
        ("left", Way::Left),
    ])?;
    let board = node.prop("board").map(|b| b.text());
    let runs = match node.prop("flutes") {
        Some(v) => Some(v.choice(&[("along", Runs::Along), ("across", Runs::Across)])?),
        None => None,
    };
    if let Some(v) = node.prop("flutes").filter(|_| uses[0] == LineUse::Cut) {
        v.error(
            "unknown-word",
            "a contour runs both along and across the flutes",
            None,
        );
    }
    let figure = [
        Some(word.text()),
        board.clone(),
        node.prop("flutes").map(|v| v.text()),
    ];
    f.origin(
        node,
        &figure.into_iter().flatten().collect::<Vec<_>>().join(" "),
    );
    if let Some(fits) = fits(uses[0], way) {
        let message = format!("a line for `{}` cannot be made this way", word.text());
        way_field.error("wrong-kind", message, Some(format!("use one of: {fits}")));
        return None;
    }
    let way = dashes(node, way)?;
    let with = |key: &str| -> Option<Field<'_>> {
        let field = node.prop(key)?;
        if way == Way::Left {
            let message = format!("a line that is left has no `{key}`");
            field.error("unknown-word", message, None);
        }
        Some(field)
    };
    let (speed, power, passes, kerf) = (with("speed"), with("power"), with("passes"), with("kerf"));
    let tool_field = with("tool");
    let base = Setting {
        line_use: uses[0],
        board,
        runs,
        way,
        tool: 0,
        speed: 1.0,
        power: 1.0,
        passes: 1,
        kerf: Length::ZERO,
    };
    let each = |s: &Setting| {
        let of = |u: &LineUse| Setting {
            line_use: *u,
            ..s.clone()
        };
        Some(uses.iter().map(of).collect())
    };
    if way == Way::Left {
        return each(&base);
    }
    let tool = tool_of(node, tool_field, tools)?;
    let speed = match speed {
        Some(v) => rate(v, Rate::Speed, SPEED)?,
        None => {
            node.error("missing", "`line` needs `speed`", None);
            return None;
        }
    };
    let power = match (power, tools[tool].powered) {
        (Some(v), true) => measure(v, Dim::NUMBER, SHARE)?,
        (None, false) => 1.0,
        (Some(v), false) => {
            v.error(
                "unknown-word",
                "a tool that is lowered has no `power`",
                None,
            );
            return None;
        }
        (None, true) => {
            node.error(
                "missing",
                "`line` needs `power`, a share such as \"24%\"",
                None,
            );
            return None;
        }
    };
    let kerf = match kerf {
        Some(v) => length(v, KERF)?,
        None if way == Way::Through => {
            let help = "0.1 to 0.2 mm is usual for a beam, \"0mm\" for a knife";
            node.error(
                "missing",
                "a line cut through needs `kerf`",
                Some(help.into()),
            );
            return None;
        }
        None => Length::ZERO,
    };
    let passes = match passes {
        Some(v) => whole(v, PASSES)?,
        None => 1,
    };
    each(&Setting {
        tool,
        speed,
        power,
        passes,
        kerf,
        ..base
    })
}

/// The ways a use can be made, when this one is none of them.
fn fits(line_use: LineUse, way: Way) -> Option<&'static str> {
    use LineUse::{Board, CreaseInward, CreaseOutward, Cut, Engrave, Perforation};
    let (words, fits) = match line_use {
        Cut => ("through", way == Way::Through),
        CreaseInward | CreaseOutward => ("etched, dashes, pressed, left", way != Way::Through),
        Perforation => (
            "dashes, left",
            matches!(way, Way::Dashes { .. } | Way::Left),
        ),
        Engrave | Board => ("etched, left", matches!(way, Way::Etched | Way::Left)),
    };
    (!fits).then_some(words)
}

fn dashes(node: Node<'_>, way: Way) -> Option<Way> {
    let [cut, gap] = ["cut", "gap"].map(|key| node.prop(key));
    if !matches!(way, Way::Dashes { .. }) {
        for field in [cut, gap].into_iter().flatten() {
            field.error(
                "unknown-word",
                "only a line of dashes has a cut and a gap",
                None,
            );
        }
        return Some(way);
    }
    let (Some(cut), Some(gap)) = (cut, gap) else {
        node.error("missing", "a line of dashes needs `cut` and `gap`", None);
        return None;
    };
    let (cut, gap) = (length(cut, DASH), length(gap, DASH));
    Some(Way::Dashes {
        cut: cut?.to_mm(),
        gap: gap?.to_mm(),
    })
}

fn tool_of(node: Node<'_>, field: Option<Field<'_>>, tools: &[Tool]) -> Option<usize> {
    let Some(field) = field else {
        if tools.len() == 1 {
            return Some(0);
        }
        node.error("missing", "`line` needs `tool`: there are several", None);
        return None;
    };
    let name = field.text();
    let at = tools.iter().position(|t| t.name == name);
    if at.is_none() {
        let help = suggestion(&name, tools.iter().map(|t| t.name.as_str()));
        field.error(
            "unknown-name",
            format!("there is no tool `{name}`"),
            Some(help),
        );
    }
    at
}

fn nicks(f: &mut Figures, node: Node<'_>) -> Option<Nicks> {
    node.takes(0, &[]);
    only_once(node, &NICKS, &[], "`nicks`");
    let least = f.count(node, "least", (1.0, 1000.0));
    let [every, length, most, clear] = [
        ("every", EVERY),
        ("length", NICK),
        ("most", NICK),
        ("clear", NICK),
    ]
    .map(|(name, bounds)| f.length(node, name, bounds));
    let holds = f.one(node, "holds", "a force per length, such as \"0.5N/mm\"");
    let holds = holds.and_then(|v| measure(v, Dim::FORCE_PER_LENGTH, (0.001, 100.0)));
    let times = f.number(node, "times", (0.1, 1000.0));
    if let (Some(a), Some(b), Some(field)) = (length, most, node.child("most"))
        && b < a
    {
        let message = "the longest nick is shorter than the shortest";
        field.error(
            "out-of-range",
            message,
            Some("`most` is at least `length`".into()),
        );
        return None;
    }
    Some(Nicks {
        least: least?,
        every: every?,
        length: length?,
        most: most?,
        holds: ForcePerLength::n_per_mm(holds?),
        times: times?,
        clear: clear?,
    })
}

fn dialect(f: &mut Figures, node: Node<'_>, bed: Option<[Length; 2]>) -> Option<Dialect> {
    node.takes(0, &[]);
    only_once(node, &CODE, &[], "`code`");
    let full_s = f.number(node, "full-s", (1.0, 1e6));
    let power = f.one(node, "power", "follows-speed or constant");
    let follows = power.and_then(|v| v.choice(&[("follows-speed", true), ("constant", false)]));
    let air = f.one(node, "air", "#true or #false").and_then(|v| v.flag());
    let decimals = f.count(node, "decimals", (3.0, 6.0));
    let park = part(node, "park").and_then(|n| {
        n.takes(2, &["from"]);
        n.childless();
        f.origin(n, "park");
        let [bx, by] = bed?.map(Length::to_mm);
        let x = n
            .need_arg(0, "a length along x")
            .and_then(|v| length(v, (0.0, bx)));
        let y = n
            .need_arg(1, "a length along y")
            .and_then(|v| length(v, (0.0, by)));
        Some([x?, y?])
    });
    Some(Dialect {
        full_s: full_s?,
        power_follows_speed: follows?,
        air: air?,
        decimals: usize::try_from(decimals?).ok()?,
        park: park?,
    })
}
