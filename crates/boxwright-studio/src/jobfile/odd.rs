//! Oddly written job files, made up: an edit leaves every byte that it is not about.

use proptest::prelude::*;
use proptest::sample::select;

use super::*;

/// A job file, with the place of every value in it.
#[derive(Clone, Debug)]
struct Odd {
    text: String,
    /// Name of the value, and its bytes from and to.
    values: Vec<(&'static str, usize, usize)>,
}

/// The nodes of a job: text with `@name@` where a value stands.
const NODES: [&str; 11] = [
    "style @style@",
    "inside length=@length@ width=@width@ depth=@depth@",
    "board @board@",
    "caliper @caliper@",
    "crease @crease@ depth-along=@along@ depth-across=@across@",
    "set slot @slot@",
    "set \"gap\" @gap@",
    "sheet @sheet@ @across-sheet@",
    "quantity @quantity@",
    "flutes either",
    "drawing owner=@owner@ date=@date@",
];

/// How each value is written in the file.
const WRITTEN: [(&str, &str); 16] = [
    ("style", "slotted-case"),
    ("length", "\"342mm\""),
    ("width", "\"7 in + 2 * (1mm + 3 mm)\""),
    ("depth", "#\"10-1/2in\"#"),
    ("board", "(kind)\"C\""),
    ("caliper", "\"4.05mm\""),
    ("crease", "rule"),
    ("along", "\"0.50\""),
    ("across", "0.40"),
    ("slot", "\"t + 1mm\""),
    ("gap", "##\"2.0mm\"##"),
    ("sheet", "\"1600mm\""),
    ("across-sheet", "\"1.2 m\""),
    ("quantity", "0x1_0"),
    ("owner", "\"clock \\\"workshop\\\"\""),
    ("date", "\"1\\u{20}May\""),
];

const ABOVE: [&str; 7] = [
    "",
    "",
    "// a note: set gap \"9mm\"~    ",
    "/* two~   lines */~  ",
    "/- set \"x\" \"1mm\"~    ",
    "/* one */ ",
    "~~\t",
];
const TAIL: [&str; 5] = ["~", "  // why~", " /* so */~", ";~", "~ ~"];
const BETWEEN: [&str; 6] = [" ", "  ", "\t", " /* in */ ", " \\~      ", " /-\"gone\" "];

fn odd() -> impl Strategy<Value = Odd> {
    let dress = (select(&ABOVE[..]), select(&BETWEEN[..]), select(&TAIL[..]));
    (
        proptest::collection::vec(dress, NODES.len()),
        proptest::bool::ANY,
        select(&["\n", "\r\n"][..]),
        select(&["", " ", "~", "~// the end", "~~"][..]),
        select(&[0usize, 0, 1, 2][..]),
    )
        .prop_map(|(dress, one_line, line_end, end, left_out)| {
            let mut out = Odd {
                text: "// head~job /* n */ \"clock\" {".to_owned(),
                values: Vec::new(),
            };
            let nodes = NODES.iter().zip(&dress).skip(left_out).enumerate();
            let last = NODES.len() - left_out - 1;
            for (n, (node, (above, between, tail))) in nodes {
                if one_line {
                    out.text.push_str(if n == 0 { " " } else { "; " });
                } else if n == 0 {
                    out.text.push_str("~    ");
                } else {
                    out.text.push_str("    ");
                }
                if !one_line || !above.contains('~') {
                    out.text.push_str(above);
                }
                for (i, word) in node.split(' ').enumerate() {
                    if i > 0 {
                        // A struck-out value is only such between values, not before the first.
                        let plain = one_line && between.contains('~');
                        out.text.push_str(if plain { " " } else { between });
                    }
                    out.push(word);
                }
                if !one_line {
                    out.text.push_str(tail);
                } else if n == last {
                    out.text
                        .push_str(&tail.replace(['~', ';'], "").replace("// why", ""));
                }
            }
            out.text.push('}');
            out.text.push_str(end);
            out.with_line_ends(line_end)
        })
}

impl Odd {
    fn push(&mut self, word: &str) {
        let mut parts = word.split('@');
        self.text.push_str(parts.next().unwrap());
        if let Some(name) = parts.next() {
            let (name, written) = WRITTEN.iter().find(|(n, _)| *n == name).unwrap();
            // The type before a value is no part of it.
            let bare = written.trim_start_matches("(kind)");
            self.text.push_str(&written[..written.len() - bare.len()]);
            let from = self.text.len();
            self.text.push_str(bare);
            self.values.push((name, from, self.text.len()));
        }
    }

    /// Puts the line ends in, which are marked `~` so far.
    fn with_line_ends(mut self, line_end: &str) -> Self {
        let longer = line_end.len() - 1;
        let text = &self.text;
        for (_, from, to) in &mut self.values {
            let before = text[..*from].matches('~').count();
            *from += longer * before;
            *to += longer * before;
        }
        self.text = self.text.replace('~', line_end);
        self
    }
}

/// Puts a value into a state under its name here.
fn put(s: &mut State, name: &str, text: &str, number: u32) {
    let text = text.to_owned();
    let share = f64::from(number % 97) / 97.0;
    match name {
        "style" => s.style = text,
        "length" | "width" | "depth" => *s.inside.get_mut(name).unwrap() = text,
        "board" => s.board = text,
        "caliper" => s.caliper = Some(text),
        "crease" => s.crease = Crease::Hand,
        "along" => s.axis_depth.as_mut().unwrap().along = share,
        "across" => s.axis_depth.as_mut().unwrap().across = share,
        "sheet" => s.sheet.as_mut().unwrap()[0] = text,
        "across-sheet" => s.sheet.as_mut().unwrap()[1] = text,
        "quantity" => s.quantity = number,
        "owner" => s.drawing.owner = text,
        "date" => s.drawing.date = text,
        _ => {
            s.set.insert(name.to_owned(), text);
        }
    }
}

/// Whether one text is the other with one stretch put in.
fn grown(short: &str, long: &str) -> bool {
    let (a, b) = (short.as_bytes(), long.as_bytes());
    let front = a.iter().zip(b).take_while(|(x, y)| x == y).count();
    let back = a.iter().rev().zip(b.iter().rev());
    let back = back.take_while(|(x, y)| x == y).count();
    b.len() >= a.len() && front + back >= a.len()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn an_odd_file_unedited_keeps_every_byte(odd in odd()) {
        let s = state(&odd.text).unwrap();
        prop_assert_eq!(s.set.get("slot").map(String::as_str), Some("t + 1mm"));
        prop_assert_eq!(edited(&odd.text, &s).unwrap(), odd.text);
    }

    #[test]
    fn a_value_edited_in_an_odd_file_leaves_all_round_it(
        odd in odd(), which in 0..100usize, text in "\\PC{1,9}", number in 17..u32::MAX
    ) {
        let (name, from, to) = odd.values[which % odd.values.len()];
        let mut s = state(&odd.text).unwrap();
        put(&mut s, name, &text, number);
        let out = edited(&odd.text, &s).unwrap();
        prop_assert!(out.starts_with(&odd.text[..from]), "{}: {}", name, out);
        prop_assert!(out.ends_with(&odd.text[to..]), "{}: {}", name, out);
        prop_assert!(out.len() >= from + odd.text.len() - to);
        prop_assert_eq!(state(&out).unwrap(), s);
    }

    #[test]
    fn what_was_not_there_is_one_stretch_put_into_an_odd_file(
        odd in odd(), which in 0..5usize, text in "\\PC{1,9}"
    ) {
        let mut s = state(&odd.text).unwrap();
        let own_gaps = text.matches(" ;").count();
        match which {
            0 => s.bed = Some([text.clone(), "4 in + 2 mm".to_owned()]),
            1 => { s.set.insert("step".to_owned(), text); }
            2 => s.drawing.number = text,
            3 => s.drawing.creator = text,
            _ => { s.set.insert("closing-flap".to_owned(), text); }
        }
        let out = edited(&odd.text, &s).unwrap();
        prop_assert!(grown(&odd.text, &out), "{}", out);
        prop_assert!(!out.replace("\r\n", "").contains('\n') || !odd.text.contains("\r\n"));
        prop_assert_eq!(out.matches(" ;").count(), own_gaps, "{}", out);
        prop_assert_eq!(state(&out).unwrap(), s);
    }

    #[test]
    fn what_is_taken_out_is_one_stretch_of_an_odd_file(odd in odd(), which in 0..4usize) {
        let mut s = state(&odd.text).unwrap();
        match which {
            0 => s.sheet = None,
            1 => { s.set.remove("slot"); }
            2 => { s.set.remove("gap"); }
            _ => s.caliper = None,
        }
        let out = edited(&odd.text, &s).unwrap();
        prop_assert!(grown(&out, &odd.text), "{}", out);
        for kept in ["a note: set gap", "/- set \"x\"", "/* two", "/* one */"] {
            prop_assert_eq!(out.matches(kept).count(), odd.text.matches(kept).count());
        }
        prop_assert_eq!(state(&out).unwrap(), s);
    }
}

/// A text that looks like a badly placed end of a node is only a text.
#[test]
fn a_value_with_a_semicolon_stays_a_value() {
    let text = "job x {\n    style slotted-case\n}\n";
    let mut s = state(text).unwrap();
    s.bed = Some([" ;".to_owned(), "4 in".to_owned()]);
    let out = edited(text, &s).unwrap();
    assert!(out.contains("bed \" ;\" \"4 in\""), "{out}");
    assert_eq!(state(&out).unwrap(), s);
}

#[test]
fn a_job_that_holds_nothing_is_filled() {
    for (text, wanted) in [
        ("job x", "job x {\n    board \"C\"\n}"),
        ("job x\r\n", "job x {\r\n    board \"C\"\r\n}\r\n"),
        ("job x {}\n", "job x {\n    board \"C\"\n}\n"),
        ("job x { }", "job x {\n    board \"C\"\n}"),
        (
            "job x {\n    // to do\n}\n",
            "job x {\n    // to do\n    board \"C\"\n}\n",
        ),
    ] {
        let mut s = state(text).unwrap();
        s.board = "C".to_owned();
        let out = edited(text, &s).unwrap();
        assert_eq!(out, wanted);
        assert_eq!(state(&out).unwrap(), s);
    }
}
