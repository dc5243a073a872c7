//! A program as machine code: words of RS-274 as open-source controllers read them.
//!
//! Coordinates are millimetres from the corner of the bed, where the sheet's lower left corner lies,
//! the face up that its head names. A beam's power stands in every line that cuts (`S`), and is nought in every line
//! that travels; every line that cuts carries its feed (`F`). A tool that is lowered is lowered and
//! lifted by the lines of its own in the machine file. Arcs are cut as arcs (`G2`, `G3`) of less than
//! half a turn, their centre counted from their start; a stroke ends exactly where the next point of
//! the grid of decimals is. Points are off by half the last decimal each way: 0.0007 mm at three.

use std::fmt::Write as _;

use crate::cut::{Program, Stroke};
use crate::geom::{DVec2, Segment};
use crate::machine::{Kind, Machine, Tool};
use crate::sheet::Layout;
use crate::units::trimmed;

/// An arc that strays from its chord by less than this, in mm, is cut as a line.
const FLAT_MM: f64 = 5e-4;
/// Arcs are cut in pieces of at most this turn, in radians: less than half a turn, where centre and
/// direction leave no doubt.
const MOST_TURN: f64 = 3.0;
/// Longest comment, in characters; controllers of this kind read lines of 70 to 80 (memory).
const LONGEST_COMMENT: usize = 66;

/// What the head of a file says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct About {
    /// Title of the layout.
    pub title: String,
    /// What the sheet is called in the stock.
    pub sheet: String,
    /// Board of the sheet.
    pub board: String,
    /// Which sheet it is, from 1, and of how many.
    pub number: [usize; 2],
    /// Which faces of the parts lie up.
    pub up: Up,
    /// More lines, such as which pass this is.
    pub more: Vec<String>,
}

/// Which faces of the parts on a sheet lie up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Up {
    /// All inside.
    #[default]
    Inside,
    /// All outside.
    Outside,
    /// Some each; the job card tells which.
    Both,
}

impl Up {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Inside => "inside face up",
            Self::Outside => "outside face up",
            Self::Both => "faces up as on the job card",
        }
    }
}

impl About {
    /// What there is to say of a sheet of a layout.
    #[must_use]
    pub fn of(layout: &Layout, sheet: usize) -> Self {
        let laid = layout.sheets.get(sheet);
        let piece = laid.and_then(|s| layout.stock.get(s.stock));
        let parts = laid.iter().flat_map(|l| &l.placed);
        let mut parts = parts.filter_map(|p| layout.parts.get(p.part));
        let outside = parts.clone().any(|p| p.outside_up);
        let up = match (outside, parts.any(|p| !p.outside_up)) {
            (false, _) => Up::Inside,
            (true, false) => Up::Outside,
            (true, true) => Up::Both,
        };
        Self {
            title: layout.title.clone(),
            sheet: piece.map(|s| s.name.clone()).unwrap_or_default(),
            board: piece.map(|s| s.board.clone()).unwrap_or_default(),
            number: [sheet + 1, layout.sheets.len()],
            up,
            more: Vec::new(),
        }
    }
}

/// What stands between a person and harm at this kind of machine, in short lines.
#[must_use]
pub const fn cautions(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::Laser => &[
            "Corrugated board flares: never leave the laser running alone.",
            "Extinguisher at hand, extraction and air on, one sheet at a time.",
            "The machine's manual and the site's fire rules come first.",
        ],
        Kind::Knife => &[
            "Keep hands off the table while it moves; blades stay sharp.",
            "The machine's manual and the site's rules come first.",
        ],
    }
}

/// The file, in ASCII with a line feed after every line.
#[must_use]
pub fn gcode(program: &Program, machine: &Machine, about: &About) -> String {
    let mut w = Writer {
        out: String::new(),
        machine,
        at: None,
        tool: None,
    };
    w.head(program, about);
    for stroke in &program.strokes {
        w.stroke(stroke);
    }
    w.tail();
    w.out
}

struct Writer<'a> {
    out: String,
    machine: &'a Machine,
    /// Where the head is, in steps of the last decimal.
    at: Option<[i64; 2]>,
    tool: Option<usize>,
}

impl<'a> Writer<'a> {
    fn line(&mut self, text: &str) {
        self.out.push_str(text);
        self.out.push('\n');
    }
    fn comment(&mut self, text: &str) {
        let plain = |c: char| match c {
            '(' | '[' => '<',
            ')' | ']' => '>',
            c if c.is_ascii_graphic() || c == ' ' => c,
            _ => '?',
        };
        // Some controllers act on these inside comments.
        let text: String = text
            .chars()
            .map(plain)
            .filter(|c| !matches!(c, '%' | '!' | '~' | '$' | ';'))
            .collect();
        let short: String = text.chars().take(LONGEST_COMMENT).collect();
        self.line(&format!("({})", short.trim_end()));
    }
    fn head(&mut self, program: &Program, about: &About) {
        let [n, of] = about.number;
        let mm = |v: f64| trimmed(v, 1);
        self.comment(&about.title);
        self.comment(&format!(
            "sheet {n} of {of}: {}, board {}",
            about.sheet, about.board
        ));
        self.comment(&format!(
            "{} x {} mm, {}, lower left corner at X0 Y0",
            mm(program.size.x),
            mm(program.size.y),
            about.up.words()
        ));
        for more in &about.more {
            self.comment(more);
        }
        let minutes = trimmed((program.tally.seconds / 60.0).max(0.1), 1);
        let machine = self.machine;
        self.comment(&format!("for {}, about {minutes} min", machine.name));
        for caution in cautions(machine.kind) {
            self.comment(caution);
        }
        for word in ["G21", "G90", "G94", "G17"] {
            self.line(word);
        }
    }
    fn switch(&mut self, index: usize, tool: &'a Tool) {
        if self.tool == Some(index) {
            return;
        }
        let before = self.tool.and_then(|t| self.machine.tools.get(t));
        if before.is_some_and(|t| t.powered) {
            self.line("M5");
        }
        for text in &tool.select {
            self.line(text);
        }
        // Whatever it was left like: up before the head moves.
        for text in &tool.lift {
            self.line(text);
        }
        if tool.powered {
            let follows = self.machine.dialect.power_follows_speed;
            self.line(if follows { "M4 S0" } else { "M3 S0" });
        }
        if self.tool.is_none() && self.machine.dialect.air {
            self.line("M8");
        }
        self.tool = Some(index);
    }
    fn stroke(&mut self, s: &Stroke) {
        let Some(tool) = self.machine.tools.get(s.tool) else {
            return;
        };
        self.switch(s.tool, tool);
        self.travel(s.enter(), tool.powered);
        for text in &tool.lower {
            self.line(text);
        }
        let feed = format!(" F{}", trimmed(s.speed * 60.0, 1));
        let power = if tool.powered {
            format!(" S{}", self.power(s.power))
        } else {
            String::new()
        };
        let ends = feed + &power;
        for pass in 0..s.passes {
            let back = (pass % 2 == 1).then(|| s.path.reversed());
            for segment in back.as_ref().unwrap_or(&s.path).segments() {
                self.segment(&segment, &ends);
            }
        }
        for text in &tool.lift {
            self.line(text);
        }
    }
    fn power(&self, share: f64) -> String {
        let full = self.machine.dialect.full_s;
        let text = trimmed(share.clamp(0.0, 1.0) * full, 2);
        // Rounding may not lift it over the full number.
        if text.parse::<f64>().is_ok_and(|v| v <= full) {
            text
        } else {
            trimmed(full.floor(), 0)
        }
    }
    #[allow(
        clippy::cast_possible_truncation,
        reason = "a bed has some metres and a decimal at most six digits"
    )]
    fn steps(&self, p: DVec2) -> [i64; 2] {
        let scale = self.scale();
        [(p.x * scale).round() as i64, (p.y * scale).round() as i64]
    }
    fn scale(&self) -> f64 {
        10f64.powi(i32::try_from(self.machine.dialect.decimals).unwrap_or(3))
    }
    fn number(&self, steps: i64) -> String {
        #[allow(clippy::cast_precision_loss, reason = "far below 2^53")]
        let value = steps as f64 / self.scale();
        format!("{value:.*}", self.machine.dialect.decimals)
    }
    fn point(&self, at: [i64; 2]) -> String {
        format!("X{} Y{}", self.number(at[0]), self.number(at[1]))
    }
    fn travel(&mut self, to: DVec2, powered: bool) {
        let to = self.steps(to);
        if self.at == Some(to) {
            return;
        }
        let point = self.point(to);
        let off = if powered { " S0" } else { "" };
        let _ = writeln!(self.out, "G0 {point}{off}");
        self.at = Some(to);
    }
    fn segment(&mut self, s: &Segment, ends: &str) {
        let turn = 4.0 * s.bulge.atan();
        let circle = s
            .circle()
            .filter(|(_, r)| r * (1.0 - (turn / 2.0).cos()) >= FLAT_MM);
        let Some((centre, _)) = circle else {
            self.cut_to("G1", s.to, None, ends);
            return;
        };
        let word = if turn > 0.0 { "G3" } else { "G2" };
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a turn of at most one round, in a few pieces"
        )]
        let pieces = (turn.abs() / MOST_TURN).ceil().max(1.0) as u32;
        for k in 1..=pieces {
            let share = f64::from(k) / f64::from(pieces);
            let to = if k == pieces {
                s.to
            } else {
                centre + DVec2::from_angle(turn * share).rotate(s.from - centre)
            };
            self.cut_to(word, to, Some(centre), ends);
        }
    }
    /// One line that cuts; none where it would go nowhere, which for an arc would be a whole round.
    fn cut_to(&mut self, word: &str, to: DVec2, centre: Option<DVec2>, ends: &str) {
        let to = self.steps(to);
        let Some(from) = self.at.filter(|at| *at != to) else {
            return;
        };
        let point = self.point(to);
        let arc = centre.map_or_else(String::new, |c| {
            let c = self.steps(c);
            format!(
                " I{} J{}",
                self.number(c[0] - from[0]),
                self.number(c[1] - from[1])
            )
        });
        let _ = writeln!(self.out, "{word} {point}{arc}{ends}");
        self.at = Some(to);
    }
    fn tail(&mut self) {
        let powered = self.machine.tools.iter().any(|t| t.powered);
        let [x, y] = self.machine.dialect.park;
        self.travel(DVec2::new(x.to_mm(), y.to_mm()), powered);
        if self.machine.dialect.air {
            self.line("M9");
        }
        self.line("M5");
        self.line("M2");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blank::LineUse;
    use crate::geom::{Path, Vertex};
    use crate::machine::{Way, read_machine};
    use crate::source::{Door, Shipped};

    fn written(machine: &Machine, vertices: &[(f64, f64, f64)], passes: u32) -> Vec<String> {
        let vertices = vertices.iter().map(|(x, y, bulge)| Vertex {
            at: DVec2::new(*x, *y),
            bulge: *bulge,
        });
        let stroke = Stroke {
            line_use: LineUse::Cut,
            way: Way::Through,
            path: Path {
                vertices: vertices.collect(),
                closed: false,
            },
            tool: 0,
            speed: 75.0,
            power: 0.24,
            passes,
            of: vec![0],
            rank: 0,
        };
        let program = Program {
            sheet: 0,
            size: DVec2::new(100.0, 50.0),
            strokes: vec![stroke],
            tally: crate::cut::Tally::default(),
            notes: Vec::new(),
        };
        let about = About {
            title: "a) M3 S1000 (b\n\u{fc}%".into(),
            ..About::default()
        };
        let text = gcode(&program, machine, &about);
        assert!(text.is_ascii());
        text.lines().map(str::to_owned).collect()
    }

    fn laser() -> Machine {
        read_machine(&Shipped.machine("bench-laser").unwrap()).unwrap()
    }

    #[test]
    fn a_round_is_arcs_of_less_than_half_a_turn() {
        let round = [(10.0, 20.0, 1.0), (30.0, 20.0, 1.0), (10.0, 20.0, 0.0)];
        let lines = written(&laser(), &round, 1);
        let arcs: Vec<&String> = lines.iter().filter(|l| l.starts_with("G3")).collect();
        assert_eq!(arcs.len(), 4);
        assert_eq!(arcs[0], "G3 X20.000 Y10.000 I10.000 J0.000 F4500 S240");
        assert_eq!(arcs[3], "G3 X10.000 Y20.000 I0.000 J-10.000 F4500 S240");
    }

    #[test]
    fn an_arc_smaller_than_a_step_is_never_a_whole_round() {
        let tiny = [
            (10.0, 20.0, 0.0),
            (20.0, 20.0, 0.9),
            (20.0003, 20.0, -0.9),
            (20.0003, 20.0002, 0.2),
            (20.0004, 20.3, 0.0),
        ];
        let lines = written(&laser(), &tiny, 1);
        assert!(!lines.iter().any(|l| l.starts_with("G2 ")), "{lines:#?}");
        let last = lines.iter().rfind(|l| l.starts_with("G3")).unwrap();
        assert!(last.contains("X20.000 Y20.300"), "{last}");
        assert_eq!(lines.iter().filter(|l| l.starts_with("G3")).count(), 1);
    }

    #[test]
    fn passes_run_there_and_back_and_a_title_stays_in_its_comment() {
        let lines = written(&laser(), &[(10.0, 20.0, 0.0), (30.0, 20.0, 0.0)], 3);
        let cuts: Vec<&String> = lines.iter().filter(|l| l.starts_with("G1 ")).collect();
        assert_eq!(cuts.len(), 3);
        assert!(cuts[0].contains("X30") && cuts[1].contains("X10") && cuts[2].contains("X30"));
        assert_eq!(lines[0], "(a> M3 S1000 <b??)");
    }

    #[test]
    fn power_is_never_over_the_full_number() {
        let mut m = laser();
        for full in [1.0, 255.0, 999.996, 1000.0] {
            m.dialect.full_s = full;
            let w = Writer {
                out: String::new(),
                machine: &m,
                at: None,
                tool: None,
            };
            for share in [0.0, 0.333_333, 0.999_999_9, 1.0] {
                assert!(w.power(share).parse::<f64>().unwrap() <= full);
            }
        }
    }
}
