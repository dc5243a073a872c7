//! Heights from which packed cases are let fall, by mass: tables in `tables/drops.kdl`.

use crate::diag::{Diag, Outcome};
use crate::read::{Node, parse};
use crate::source::{Door, Text};
use crate::units::{Dim, Length, Mass};

use super::read::{mass, measure, positive};

/// A table of heights.
#[derive(Clone, Debug, PartialEq)]
pub struct DropTable {
    /// Its name, such as `1A`.
    pub name: String,
    /// What it is for.
    pub title: String,
    /// Standing and source of its figures.
    pub from: String,
    /// Rows: masses under this, not included, and the height.
    pub rows: Vec<(Mass, Length)>,
}

impl DropTable {
    /// The height for a mass; `None` when it is heavier than the table goes.
    #[must_use]
    pub fn height(&self, mass: Mass) -> Option<Length> {
        let row = self.rows.iter().find(|(under, _)| mass < *under);
        row.map(|(_, height)| *height)
    }
}

/// The tables that the door hands out.
///
/// # Errors
/// Every message about the file, or that there is none.
pub fn drop_tables(door: &dyn Door) -> Outcome<Vec<DropTable>> {
    match door.table("drops") {
        Some(text) => read_drops(&text),
        None => Err(vec![Diag::error(
            "unknown-table",
            "there is no table of drop heights",
        )]),
    }
}

/// Reads a file of tables.
///
/// # Errors
/// Every message found.
pub fn read_drops(text: &Text) -> Outcome<Vec<DropTable>> {
    let doc = parse(text)?;
    let mut tables: Vec<DropTable> = Vec::new();
    for node in doc.nodes() {
        if node.name() != "table" {
            node.unknown("a file of drop heights", ["table"]);
            continue;
        }
        if let Some(table) = table(&node) {
            if tables.iter().any(|t| t.name == table.name) {
                let message = format!("the table `{}` is given twice", table.name);
                node.error("given-twice", message, None);
            }
            tables.push(table);
        }
    }
    doc.finish(Some(tables)).map(|(tables, _)| tables)
}

fn table(node: &Node<'_>) -> Option<DropTable> {
    node.takes(1, &[]);
    let name = node.need_arg(0, "a name")?.word()?.to_owned();
    let word = |key: &str, what: &str| {
        let Some(child) = node.child(key) else {
            node.error("missing", format!("`table` needs `{key}`: {what}"), None);
            return None;
        };
        child.takes(1, &[]);
        child.need_arg(0, what)?.word().map(str::to_owned)
    };
    let title = word("title", "what it is for");
    let from = word("from", "standing and source, such as \"memory: ...\"");
    let mut rows: Vec<(Mass, Length)> = Vec::new();
    for row in node.children() {
        match row.name() {
            "title" | "from" => {}
            "row" => {
                row.takes(0, &["under", "height"]);
                let under = row.need_prop("under", "a mass").and_then(|f| mass(&f));
                let height = row
                    .need_prop("height", "a length")
                    .and_then(|f| positive(&f, measure(&f, Dim::LENGTH)?));
                if let (Some(under), Some(height)) = (under, height) {
                    if rows.last().is_some_and(|(last, _)| *last >= under) {
                        row.error("bad-order", "rows go from light to heavy", None);
                    }
                    rows.push((under, Length::mm(height)));
                }
            }
            _ => row.unknown("a table of drop heights", ["title", "from", "row"]),
        }
    }
    if rows.is_empty() {
        node.error("missing", "`table` needs a `row` at least", None);
    }
    Some(DropTable {
        name,
        title: title?,
        from: from?,
        rows,
    })
}
