//! `list machines`: every machine, or one of them in full.

use boxwright::diag::Diag;
use boxwright::machine::{Kind, Machine, Runs, Setting, Way, read_machine};
use boxwright::source::Door as _;
use boxwright::units::{Length, LengthUnit, trimmed};

use crate::desk::Desk;
use crate::say::{line, table};

fn bed(m: &Machine, show: LengthUnit) -> String {
    format!("{} x {}", show.number(m.bed[0]), show.show(m.bed[1]))
}

/// Every machine in a line.
pub fn table_of(out: &mut String, desk: &Desk, show: LengthUnit) -> Result<(), Vec<Diag>> {
    let head = ["machine", "bed", "what it is"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for text in desk.machine_names().iter().filter_map(|n| desk.machine(n)) {
        let m = read_machine(&text)?;
        rows.push(vec![m.name.clone(), bed(&m, show), m.title]);
    }
    table(out, &rows);
    Ok(())
}

/// One in full: every figure and where it comes from.
pub fn one(out: &mut String, m: &Machine, show: LengthUnit) {
    line(out, "machine", &m.name);
    line(out, "what it is", &m.title);
    let mut rows = vec![
        ["figure", "value", "where it comes from"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let mut row = |figure: &str, value: String| {
        let from = m.origin(figure).unwrap_or_default().to_owned();
        rows.push(vec![figure.to_owned(), value, from]);
    };
    row("bed", bed(m, show));
    row("travel", format!("{} mm/s", trimmed(m.travel_speed, 1)));
    row(
        "acceleration",
        format!("{} mm/s2", trimmed(m.acceleration, 1)),
    );
    row("corner", show.show(m.corner));
    row("price", format!("{} an hour", trimmed(m.hour_price, 2)));
    let each = trimmed(m.hand_time / 60.0, 2);
    row(
        "hands",
        format!("{} an hour, {each} min a part", trimmed(m.hand_price, 2)),
    );
    if let Some(power) = m.full_power {
        row("full-power", format!("{} W", trimmed(power, 1)));
    }
    for t in &m.tools {
        let times = format!(
            "{} s to begin, {} s to end",
            trimmed(t.begin_time, 2),
            trimmed(t.end_time, 2)
        );
        row(&format!("tool {}", t.name), times);
    }
    // A line for creases is two settings with one origin.
    let mut last = String::new();
    for s in &m.settings {
        let figure = figure(m, s);
        if figure != last {
            row(&figure, setting(m, s, show));
        }
        last = figure;
    }
    if let Some(n) = &m.nicks {
        row("least", format!("{} nicks", n.least));
        row("every", show.show(n.every));
        row("length", show.show(n.length));
        row("most", show.show(n.most));
        row(
            "holds",
            format!("{} N/mm", trimmed(n.holds.to_n_per_mm(), 3)),
        );
        row("times", format!("{} times its weight", trimmed(n.times, 2)));
        row("clear", show.show(n.clear));
    }
    row("lead-in", show.show(m.lead_in));
    let d = &m.dialect;
    row("full-s", format!("S{}", trimmed(d.full_s, 2)));
    let power = if d.power_follows_speed {
        "follows speed, M4"
    } else {
        "constant, M3"
    };
    row("power", power.to_owned());
    row("air", if d.air { "M8 and M9" } else { "none" }.to_owned());
    row("decimals", d.decimals.to_string());
    let [x, y] = d.park.map(Length::to_mm);
    row("park", format!("X{} Y{}", trimmed(x, 2), trimmed(y, 2)));
    out.push('\n');
    table(out, &rows);
    out.push('\n');
    if m.kind == Kind::Laser {
        line(
            out,
            "caution",
            "powers and speeds are start values: begin low, try a strip, stay beside it",
        );
    }
    line(out, "", "docs/machines.md says what each figure means.");
}

/// The words a setting's origin is kept under.
fn figure(m: &Machine, s: &Setting) -> String {
    let runs = s
        .runs
        .map(|r| if r == Runs::Along { "along" } else { "across" });
    let with = |word: &str| {
        let parts = [Some(word), s.board.as_deref(), runs];
        parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
    };
    let own = with(s.line_use.word());
    if m.origin(&own).is_some() {
        own
    } else {
        with("crease")
    }
}

fn setting(m: &Machine, s: &Setting, show: LengthUnit) -> String {
    let mut parts = vec![s.way.words()];
    if s.way == Way::Left {
        return parts.remove(0);
    }
    let speed = trimmed(s.speed, 1);
    parts.push(match s.passes {
        0 | 1 => format!("{speed} mm/s"),
        n => format!("{n} x {speed} mm/s"),
    });
    if let Some(joules) = m.joules_per_mm(s.power, s.speed) {
        parts.push(format!("{} %", trimmed(s.power * 100.0, 1)));
        parts.push(format!("{} J/mm", trimmed(joules * f64::from(s.passes), 4)));
    } else if let Some(tool) = m.tools.get(s.tool) {
        parts.push(tool.name.clone());
    }
    if s.way == Way::Through {
        parts.push(format!("kerf {}", show.show(s.kerf)));
    }
    parts.join(", ")
}
