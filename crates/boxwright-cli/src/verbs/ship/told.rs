//! The report in words.

use boxwright::brief::Brief;
use boxwright::emit::report;
use boxwright::emit::shipping_sheet::words;
use boxwright::haul::{Haul, InRoom, Palletised, Unmet};
use boxwright::pallet::{Arrangement, Proof};
use boxwright::ship::Outlook;
use boxwright::ship::lift::TWO;
use boxwright::ship::parcel::Offer;
use boxwright::ship::signs::Due;
use boxwright::units::{Force, ForcePerLength, Length, LengthUnit, Mass, trimmed};

use crate::say::{self, counted, line, sizes, table};

/// Everything there is to tell.
pub struct Told<'a> {
    pub brief: &'a Brief,
    pub outlook: &'a Outlook,
    pub haul: &'a Haul,
    pub signs: &'a [Due],
    pub unmet: &'a [Unmet],
    pub checks: &'a report::Told,
    /// Mass of the contents, where it is known.
    pub known: Option<Mass>,
    /// Whether the command line gave it.
    pub given: bool,
    pub files: &'a [String],
    pub show: LengthUnit,
    pub all: bool,
}

impl Told<'_> {
    pub fn text(&self) -> String {
        let mut out = String::new();
        self.case(&mut out);
        out.push('\n');
        self.strength(&mut out);
        out.push('\n');
        self.stack(&mut out);
        out.push('\n');
        self.grade(&mut out);
        out.push('\n');
        self.parcel(&mut out);
        out.push('\n');
        self.pallet(&mut out);
        out.push('\n');
        self.rooms(&mut out);
        out.push('\n');
        self.lift(&mut out);
        out.push('\n');
        self.end(&mut out);
        out
    }

    fn mass(&self, m: Mass) -> String {
        say::mass(m, self.show)
    }
    fn force(&self, f: Force) -> String {
        words::force(f, self.show)
    }
    fn ect(&self, e: ForcePerLength) -> String {
        words::ect(e, self.show)
    }

    fn case(&self, out: &mut String) {
        let o = self.outlook;
        line(out, "case", &o.title);
        line(out, "style", &o.style);
        line(
            out,
            "board",
            &format!("{}: {}", o.board, self.brief.board.title),
        );
        let size = sizes(o.outside.size, self.show);
        line(
            out,
            "outside",
            &format!("{size}, length x width x depth, flaps closed"),
        );
        let what = match (self.known, self.given) {
            (None, _) => "contents not known: give --mass, or `contents` in the job; what follows is for the empty case".to_owned(),
            (Some(m), true) => format!("{} of contents as given", self.mass(m)),
            (Some(m), false) => {
                let names: Vec<String> = self.brief.job.contents.iter().map(|c| {
                    if c.count > 1 { format!("{} x {}", c.count, c.name) } else { c.name.clone() }
                }).collect();
                format!("{} of contents ({})", self.mass(m), names.join(", "))
            }
        };
        let fitments = if o.outside.fitments > Mass::ZERO {
            format!(", {} of fitments", self.mass(o.outside.fitments))
        } else {
            String::new()
        };
        let text = format!(
            "{} packed: {} of case{fitments}, {what}",
            self.mass(o.gross),
            self.mass(o.outside.case)
        );
        line(out, "mass", &text);
        for (i, due) in self.signs.iter().enumerate() {
            let word = if i == 0 { "signs due" } else { "" };
            line(out, word, &format!("{}: {}", due.says.words(), due.why));
        }
    }

    fn strength(&self, out: &mut String) {
        let c = &self.outlook.compression;
        let text = format!(
            "{} to {}, a single dry case from top to bottom",
            self.force(c.range.least),
            self.force(c.range.most)
        );
        line(out, "strength", &text);
        let forms: Vec<String> = c
            .forms
            .iter()
            .map(|(f, v)| format!("{} {}", f.word(), self.force(*v)))
            .collect();
        line(
            out,
            "formula",
            &format!(
                "McKee, {} form: {}; board {}, perimeter {}, caliper {}",
                c.form.word(),
                forms.join(", "),
                self.ect(c.board_ect),
                self.show.show(c.perimeter),
                self.show.show(c.caliper)
            ),
        );
        if c.ect.to_n_per_mm() != c.board_ect.to_n_per_mm() {
            line(
                out,
                "",
                &format!("walls carry with {} on average", self.ect(c.ect)),
            );
        }
        for s in &c.spread {
            let text = format!(
                "x {} to {}: {} ({})",
                trimmed(s.times.least, 3),
                trimmed(s.times.most, 3),
                s.what,
                s.from
            );
            line(out, "", &text);
        }
        let o = self.outlook;
        let text = format!(
            "{} kept, {} to {} left, by the table `{}` ({})",
            words::share_range(o.kept),
            self.force(o.left.least),
            self.force(o.left.most),
            o.losses,
            o.losses_title
        );
        line(out, "in use", &text);
        let mut rows = Vec::new();
        for f in &o.factors {
            rows.push(vec![
                String::new(),
                f.what.to_owned(),
                words::kept(f),
                format!("{} ({})", f.condition, f.from),
            ]);
        }
        if !rows.is_empty() {
            table(out, &rows);
        }
    }

    fn stack(&self, out: &mut String) {
        let s = &self.outlook.stack;
        line(
            out,
            "stack",
            &format!(
                "by {} ({}), load times {}",
                s.title,
                s.from,
                words::times(s.times)
            ),
        );
        if let (Some(high), Some(load), Some(needs)) = (s.high, s.load, s.needs) {
            let verdict = if s.holds == Some(true) {
                "holds"
            } else {
                "DOES NOT HOLD"
            };
            let text = format!(
                "{high} high presses with {} on the bottom case and asks for {}: {verdict}",
                self.force(load),
                words::force_range(needs, self.show)
            );
            line(out, "", &text);
            if let Some(ect) = s.needs_ect {
                line(
                    out,
                    "",
                    &format!(
                        "board for it: edge crush of {} or more, all else unchanged",
                        self.ect(ect)
                    ),
                );
            }
        }
        let safe = words::safe_high(s.safe_high);
        line(out, "", &format!("{safe}, reckoned from the low end"));
    }

    fn grade(&self, out: &mut String) {
        let g = &self.outlook.grade;
        line(out, "grade", &format!("`{}`: {}", g.table, g.title));
        line(
            out,
            "",
            &words::grade(g, self.outlook.compression.board_ect, self.show),
        );
    }

    fn parcel(&self, out: &mut String) {
        let p = &self.outlook.parcel;
        line(out, "parcel", &format!("`{}`: {}", p.tariff, p.title));
        line(out, "", &words::charged(p, self.show));
        match p.chosen.and_then(|i| p.offers.get(i)) {
            Some(o) => line(out, "", &format!("class {} at {:.2}", o.class, o.price)),
            None => line(out, "", "NO CLASS TAKES IT"),
        }
        let over = |o: &Offer| {
            format!(
                "not {} at {:.2}: {}",
                o.class,
                o.price,
                words::over(o, self.show)
            )
        };
        let end = p.chosen.unwrap_or(p.offers.len());
        for o in &p.offers[..end] {
            line(out, "", &over(o));
        }
    }

    fn pallet(&self, out: &mut String) {
        let h = self.haul;
        let text = format!(
            "{}: {}, up to {} high",
            h.pallet.value.name,
            h.pallet.title,
            self.show.show(h.height)
        );
        line(out, "pallet", &text);
        if h.loads.is_empty() {
            line(out, "", "NOT ONE CASE GOES ON IT");
        }
        for l in &h.loads {
            self.load(out, l);
        }
        let high = h.best().is_some_and(|l| l.layers_by_room > 1);
        if high && h.arranged(Arrangement::Interlocked).is_none() {
            line(
                out,
                "",
                "interlocked: no layer of as many cases lies otherwise than this one",
            );
        }
    }

    fn load(&self, out: &mut String, p: &Palletised) {
        let l = &p.load;
        let word = words::arrangement(l.arrangement);
        let proof = match l.proof {
            Proof::Bound | Proof::Tried => "no layer holds more, proved".to_owned(),
            Proof::None => format!("not proved, the bound is {}", l.layer_bound),
        };
        line(
            out,
            "",
            &format!(
                "{word}: {} = {} of {} ({proof}); {} high, {} in all",
                counted(l.count, "case"),
                counted(l.layers, "layer"),
                l.per_layer,
                self.show.show(l.height),
                self.mass(l.gross_mass)
            ),
        );
        line(
            out,
            "",
            &format!(
                "{} % of the pallet's area; {}",
                trimmed(100.0 * l.area_share, 1),
                words::bearing(p, self.show)
            ),
        );
    }

    fn rooms(&self, out: &mut String) {
        let mut rows = vec![
            [
                "room",
                "pallets",
                "cases on them",
                "cases loose",
                "inside, and what limits",
            ]
            .map(str::to_owned)
            .to_vec(),
        ];
        for r in &self.haul.rooms {
            rows.push(self.room(r));
        }
        table(out, &rows);
    }

    fn room(&self, r: &InRoom) -> Vec<String> {
        let of = |n: Option<usize>| n.map_or_else(|| "-".to_owned(), |n| n.to_string());
        let mut limits = Vec::new();
        if r.pallets.as_ref().is_some_and(|p| p.by_mass) {
            limits.push("pallets by mass");
        }
        if r.loose.as_ref().is_some_and(|l| l.by_mass) {
            limits.push("loose by mass");
        }
        let limits = if limits.is_empty() {
            String::new()
        } else {
            format!("; {}", limits.join(", "))
        };
        vec![
            r.room.value.name.clone(),
            of(r.pallets.as_ref().map(|p| p.count)),
            of(r.pallets.as_ref().map(|_| r.cases)),
            of(r.loose.as_ref().map(|l| l.count)),
            format!("{}{limits}", sizes(r.room.value.inside, self.show)),
        ]
    }

    fn lift(&self, out: &mut String) {
        let l = &self.outlook.lift;
        line(out, "lift", &words::lift(l, self.show));
        let names = ["HM", "VM", "DM", "AM", "FM", "CM"];
        for (word, end) in ["taken up", "set down"].into_iter().zip(&l.ends) {
            let all: Vec<String> = names
                .iter()
                .zip(end.multipliers)
                .map(|(n, m)| format!("{n} {}", trimmed(m, 3)))
                .collect();
            line(
                out,
                "",
                &format!(
                    "{word} with hands {} out and {} up: {}, limit {}",
                    self.length(end.grip.horizontal),
                    self.length(end.grip.vertical),
                    all.join(", "),
                    self.mass(end.limit)
                ),
            );
        }
        if l.two {
            line(out, "", &format!("above {}: two to lift", self.mass(TWO)));
        }
    }

    fn length(&self, l: Length) -> String {
        self.show.show(l)
    }

    fn end(&self, out: &mut String) {
        line(
            out,
            "checks",
            &say::verdict(&self.checks.findings, self.all),
        );
        say::findings(out, &self.checks.findings, self.show, self.all);
        for u in self.unmet.iter().filter(|u| u.asked) {
            line(out, "FAIL", &format!("{} ({})", u.message, u.code));
        }
        let mut word = "caution";
        for u in self.unmet.iter().filter(|u| !u.asked) {
            line(out, word, &format!("{} ({})", u.message, u.code));
            word = "";
        }
        for c in &self.outlook.cautions {
            line(out, word, &format!("{} ({})", c.message, c.code));
            word = "";
        }
        let mut word = "written";
        for f in self.files {
            line(out, word, f);
            word = "";
        }
    }
}
