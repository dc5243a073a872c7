//! The job card: what a person at the machine needs to cut a layout. Settings, piece counts, time,
//! cost and cautions first, then a page for each sheet with the ways of the tool on it.
//!
//! Nothing is worked out here: counts are the layout's, times and lengths the programs', cost is
//! [`crate::cut::cost`].

mod flow;
mod sheet;

use flow::{Column, Flow};

use super::cut_report::{CutReport, cut_report};
use super::scene::{Anchor, Scene};
use crate::blank::LineUse;
use crate::cut::Program;
use crate::machine::{Machine, Runs, Setting, Way};
use crate::sheet::Proved;
use crate::units::{Length, LengthUnit, trimmed};

/// The pages: A4, upright. `files` names the files of each program, in the order of `programs`.
#[must_use]
pub fn job_card(
    layout: &Proved,
    machine: &Machine,
    programs: &[Program],
    files: &[Vec<String>],
    unit: LengthUnit,
) -> Vec<Scene> {
    let report = cut_report(layout, machine, programs, files);
    let mut flow = Flow::new(&layout.title);
    let card = Card {
        layout,
        machine,
        programs,
        report: &report,
        unit,
    };
    card.summary(&mut flow);
    card.cautions(&mut flow);
    card.pieces(&mut flow);
    card.sheets(&mut flow);
    card.settings(&mut flow);
    card.cost(&mut flow);
    card.notes(&mut flow);
    for (program, told) in programs.iter().zip(&report.sheets) {
        sheet::page(&mut flow, layout, program, told, unit);
    }
    flow.finished()
}

struct Card<'a> {
    layout: &'a Proved,
    machine: &'a Machine,
    programs: &'a [Program],
    report: &'a CutReport,
    unit: LengthUnit,
}

/// Minutes and seconds, whole seconds counted up.
pub(super) fn minutes(seconds: f64) -> String {
    let whole = seconds.ceil().max(0.0);
    format!("{} min {:02} s", (whole / 60.0).floor(), whole % 60.0)
}

/// A long way: metres to the centimetre, or feet to the tenth.
pub(super) fn run(mm: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Mm => format!("{} m", trimmed(mm / 1000.0, 2)),
        LengthUnit::Inch => format!("{} ft", trimmed(Length::mm(mm).to_inch() / 12.0, 1)),
    }
}

/// What a line is for, in the words of a bench.
const fn use_words(line_use: LineUse) -> &'static str {
    match line_use {
        LineUse::Cut => "cut",
        LineUse::CreaseInward | LineUse::CreaseOutward => "crease",
        LineUse::Perforation => "perforation",
        LineUse::Engrave => "engrave",
        LineUse::Board => "board",
    }
}

impl Card<'_> {
    fn summary(&self, flow: &mut Flow) {
        let r = self.report;
        let machine = format!("{}: {}", self.machine.name, self.machine.title);
        flow.pair("Machine", &machine);
        let parts = r.cost.parts;
        let sheets = r.sheets.len();
        let text = format!(
            "{parts} part{} on {sheets} sheet{}",
            if parts == 1 { "" } else { "s" },
            if sheets == 1 { "" } else { "s" },
        );
        flow.pair("To be cut", &text);
        let t = &r.total;
        let text = format!(
            "{} at the machine, by the speeds and accelerations of its file; changing sheets not counted",
            minutes(t.seconds)
        );
        flow.pair("Time", &text);
        if t.by_hand > 0.0 {
            let text = format!(
                "{} of lines are left by this machine, to be made by hand",
                run(t.by_hand, self.unit)
            );
            flow.pair("By hand", &text);
        }
        let text = "flutes left-right, lower left corner at the corner of the bed";
        flow.pair("Each sheet lies", text);
        let outside = self.layout.parts.iter().any(|p| p.outside_up);
        let text = if outside {
            "inside face, but for those marked below"
        } else {
            "inside face"
        };
        flow.pair("What lies up", text);
        if let Some(common) = self.common() {
            flow.pair("Files", &format!("begin with {common}"));
        }
    }

    /// What the names of all files begin with, up to their last word.
    fn common(&self) -> Option<&str> {
        let names: Vec<&str> = self.names().collect();
        let first = *names.first()?;
        let ends = first.match_indices('-').map(|(i, _)| i + 1);
        let shared = |end: &usize| names.iter().all(|n| n.starts_with(&first[..*end]));
        // `sheet-` stays with its number.
        let ends: Vec<usize> = ends.filter(shared).collect();
        let sheet = first.rfind("sheet-").unwrap_or(first.len());
        let end = ends.into_iter().filter(|e| *e <= sheet).max()?;
        Some(&first[..end])
    }

    fn names(&self) -> impl Iterator<Item = &str> {
        let sheets = self.report.sheets.iter();
        sheets.flat_map(|s| s.files.iter().map(String::as_str))
    }

    fn pieces(&self, flow: &mut Flow) {
        flow.heading("Pieces");
        let columns = [
            Column::new("", 8.0, Anchor::Start),
            Column::new("part", 88.0, Anchor::Start),
            Column::new("board", 20.0, Anchor::Start),
            Column::new("wanted", 18.0, Anchor::End),
            Column::new("to be cut", 22.0, Anchor::End),
            Column::new("still to come", 24.0, Anchor::End),
        ];
        let rows: Vec<Vec<String>> = self
            .layout
            .parts
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let left = self.layout.left.get(i).copied().unwrap_or(0);
                vec![
                    (i + 1).to_string(),
                    if p.outside_up {
                        format!("{}, outside face up", p.name)
                    } else {
                        p.name.clone()
                    },
                    p.board.clone(),
                    p.wanted.to_string(),
                    self.layout.laid(i).to_string(),
                    if left > 0 {
                        left.to_string()
                    } else {
                        String::new()
                    },
                ]
            })
            .collect();
        flow.table(&columns, &rows);
    }

    fn sheets(&self, flow: &mut Flow) {
        flow.heading("Sheets");
        let columns = [
            Column::new("", 8.0, Anchor::Start),
            Column::new("from stock", 34.0, Anchor::Start),
            Column::new("board", 14.0, Anchor::Start),
            Column::new("size", 36.0, Anchor::Start),
            Column::new("parts", 12.0, Anchor::End),
            Column::new("time", 27.0, Anchor::End),
            Column::new("", 4.0, Anchor::Start),
            Column::new("file", 45.0, Anchor::Start),
        ];
        let mut rows = Vec::new();
        let common = self.common().unwrap_or("");
        for (s, p) in self.report.sheets.iter().zip(self.programs) {
            let laid = self.layout.sheets.get(p.sheet);
            let [x, y] = s.size;
            rows.push(vec![
                s.number.to_string(),
                s.name.clone(),
                s.board.clone(),
                format!(
                    "{} x {} {}",
                    self.unit.number(Length::mm(x)),
                    self.unit.number(Length::mm(y)),
                    self.unit.symbol()
                ),
                laid.map_or(0, |l| l.placed.len()).to_string(),
                minutes(s.tally.seconds),
                String::new(),
                s.files
                    .iter()
                    .map(|f| f.strip_prefix(common).unwrap_or(f))
                    .collect::<Vec<_>>()
                    .join(", "),
            ]);
        }
        flow.table(&columns, &rows);
    }

    fn settings(&self, flow: &mut Flow) {
        flow.heading("Settings");
        let columns = [
            Column::new("board", 14.0, Anchor::Start),
            Column::new("line", 38.0, Anchor::Start),
            Column::new("how", 62.0, Anchor::Start),
            Column::new("speed", 20.0, Anchor::End),
            Column::new("power", 16.0, Anchor::End),
            Column::new("passes", 14.0, Anchor::End),
            Column::new("kerf", 16.0, Anchor::End),
        ];
        flow.table(&columns, &self.setting_rows());
        if let Some(full) = self.machine.full_power {
            let text = format!(
                "Power is a share of {} W. Start values until you have cut a test strip of your own board.",
                trimmed(full, 1)
            );
            flow.small(&text);
        }
    }

    /// A row for each board and use of a line that occurs, once.
    fn setting_rows(&self) -> Vec<Vec<String>> {
        let mut seen: Vec<(String, &'static str, Setting)> = Vec::new();
        for p in self.programs {
            let Some(laid) = self.layout.sheets.get(p.sheet) else {
                continue;
            };
            let Some(piece) = self.layout.stock.get(laid.stock) else {
                continue;
            };
            let parts = laid
                .placed
                .iter()
                .filter_map(|p| self.layout.parts.get(p.part));
            let mut uses: Vec<LineUse> = parts
                .flat_map(|p| p.lines.iter().map(|l| l.line_use))
                .collect();
            uses.sort_unstable();
            uses.dedup();
            for line_use in uses {
                for runs in [Runs::Along, Runs::Across] {
                    let Some(s) = self.machine.setting(line_use, &piece.board, runs) else {
                        continue;
                    };
                    let words = use_words(line_use);
                    let same = |(board, use_words, other): &(String, &str, Setting)| {
                        *board == piece.board
                            && *use_words == words
                            && other.runs == s.runs
                            && other.way == s.way
                            && (other.speed, other.power, other.passes)
                                == (s.speed, s.power, s.passes)
                    };
                    if !seen.iter().any(same) {
                        seen.push((piece.board.clone(), words, s.clone()));
                    }
                }
            }
        }
        let rows = seen.into_iter().map(|(board, words, s)| {
            let line = match s.runs {
                Some(Runs::Along) => format!("{words} along flutes"),
                Some(Runs::Across) => format!("{words} across flutes"),
                None => words.to_owned(),
            };
            if s.way == Way::Left {
                let blank = String::new;
                return vec![
                    board,
                    line,
                    s.way.words(),
                    blank(),
                    blank(),
                    blank(),
                    blank(),
                ];
            }
            let tool = self.machine.tools.get(s.tool);
            let how = match tool {
                Some(t) if self.machine.tools.len() > 1 => format!("{}, {}", t.name, s.way.words()),
                _ => s.way.words(),
            };
            let power = if tool.is_some_and(|t| t.powered) {
                format!("{} %", trimmed(100.0 * s.power, 1))
            } else {
                "-".to_owned()
            };
            vec![
                board,
                line,
                how,
                format!("{}/s", self.unit.show(Length::mm(s.speed))),
                power,
                s.passes.to_string(),
                self.unit.show(s.kerf),
            ]
        });
        rows.collect()
    }

    fn cost(&self, flow: &mut Flow) {
        flow.heading("Cost, in the workshop's currency");
        let c = &self.report.cost;
        let columns = [
            Column::new("", 120.0, Anchor::Start),
            Column::new("", 30.0, Anchor::End),
        ];
        let money = |v: f64| format!("{v:.2}");
        let hours = self.report.total.seconds / 3600.0;
        let rows = vec![
            vec![
                format!("board; {} of it lies in no part", money(c.waste)),
                money(c.board),
            ],
            vec![
                format!(
                    "machine, {} h at {} an hour",
                    trimmed(hours, 2),
                    trimmed(self.machine.hour_price, 2)
                ),
                money(c.machine),
            ],
            vec![
                format!(
                    "hands, {} h at {} an hour to take out, fold and join",
                    trimmed(c.hand_hours, 2),
                    trimmed(self.machine.hand_price, 2)
                ),
                money(c.hands),
            ],
        ];
        flow.table(&columns, &rows);
        flow.sum(&columns, &["all together".to_owned(), money(c.total)]);
    }

    fn cautions(&self, flow: &mut Flow) {
        flow.warning("Take care", &self.report.cautions);
    }

    /// What else there is to know, each thing once.
    fn notes(&self, flow: &mut Flow) {
        let mut notes: Vec<&str> = Vec::new();
        for note in self.programs.iter().flat_map(|p| &p.notes) {
            if !notes.contains(&note.message.as_str()) {
                notes.push(&note.message);
            }
        }
        if !notes.is_empty() {
            flow.warning("To know", &notes);
        }
    }
}

#[cfg(test)]
mod tests;
