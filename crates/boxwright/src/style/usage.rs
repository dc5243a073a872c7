//! What of a style is never used.

use super::model::{Each, PieceDef, Style};
use super::panels::{Item, PanelDef};

impl Style {
    /// Every panel's own name as written, in pieces and parts that are used.
    #[must_use]
    pub fn panel_names(&self) -> Vec<String> {
        let mut names = Vec::new();
        let used = self.parts_used();
        for p in self.all_pieces() {
            names.push(p.root.name.clone());
            named(&p.root.items, &mut names);
        }
        for p in self.parts.iter().filter(|p| used.contains(&p.name)) {
            named(&p.items, &mut names);
        }
        names
    }

    /// Parts that are put nowhere. Empty ones are left out: a kit declares them for a style to fill.
    #[must_use]
    pub fn never_used(&self) -> Vec<String> {
        let used = self.parts_used();
        let unused = |p: &&super::Part| !used.contains(&p.name) && !p.items.is_empty();
        self.parts
            .iter()
            .filter(unused)
            .map(|p| format!("part `{}`", p.name))
            .collect()
    }

    fn all_pieces(&self) -> Vec<&PieceDef> {
        fn counted<'a>(each: &'a [Each], all: &mut Vec<&'a PieceDef>) {
            for e in each {
                all.extend(&e.pieces);
                counted(&e.each, all);
            }
        }
        let mut all: Vec<&PieceDef> = self.pieces.iter().collect();
        counted(&self.each, &mut all);
        all
    }

    fn parts_used(&self) -> Vec<String> {
        let mut used = Vec::new();
        for p in self.all_pieces() {
            self.put(&p.root.items, &mut used);
        }
        used
    }

    fn put(&self, items: &[Item], used: &mut Vec<String>) {
        for item in items {
            match item {
                Item::Panel(p) => self.put(&p.items, used),
                Item::Each(e) => self.put(&e.items, used),
                Item::Use(u) if !used.contains(&u.part) => {
                    used.push(u.part.clone());
                    if let Some(part) = self.parts.iter().find(|p| p.name == u.part) {
                        self.put(&part.items, used);
                    }
                }
                _ => {}
            }
        }
    }
}

fn named(items: &[Item], names: &mut Vec<String>) {
    for item in items {
        match item {
            Item::Panel(p) => {
                let PanelDef { name, items, .. } = p.as_ref();
                names.push(name.clone());
                named(items, names);
            }
            Item::Each(e) => named(&e.items, names),
            _ => {}
        }
    }
}
