//! Using a layout: its sheets out of the stock, its useful rests in as off-cuts.

use std::path::Path;

use boxwright::sheet::{Keep, Layout, rests_of};
use boxwright::units::{Length, LengthUnit};
use boxwright_store::{Again, Store};

use crate::refuse::Refuse;
use crate::sheets::mm;
use crate::stock::{after, refused};
use crate::wire::LayoutTaking;

/// What using a layout would do.
///
/// # Errors
/// What the store says.
pub fn taking(root: &Path, layout: &Layout) -> Result<LayoutTaking, Refuse> {
    let (pieces, stamp) = crate::stock::pieces(root)?;
    let mut takes: Vec<(String, u32)> = Vec::new();
    for sheet in layout.sheets.iter().filter(|s| !s.placed.is_empty()) {
        let Some(piece) = layout.stock.get(sheet.stock) else {
            continue;
        };
        match takes.iter_mut().find(|t| t.0 == piece.name) {
            Some(t) => t.1 += 1,
            None => takes.push((piece.name.clone(), 1)),
        }
    }
    let lacks = takes.iter().find_map(|(name, by)| {
        let asked = layout.stock.iter().find(|p| p.name == *name)?;
        match pieces.iter().find(|p| p.name == *name) {
            None => Some(format!("the stock has nothing called `{name}`")),
            Some(p) if !p.alike(asked) => Some(format!(
                "`{name}` in the stock is of another board or shape than when the layout was made"
            )),
            Some(p) if p.count < *by => Some(format!(
                "of `{name}` there are {}, and {by} are needed",
                p.count
            )),
            Some(_) => None,
        }
    });
    let used = match (&stamp, Store::open_existing(root)) {
        (Some(_), Ok(mut store)) => {
            let ledger = store.ledger().map_err(|d| refused(&d, root))?;
            let digest = boxwright_store::digest(layout);
            let same = ledger
                .iter()
                .any(|e| e.digest.as_deref() == Some(&digest) && e.undone_by.is_none());
            same.then(|| "this layout was used already".to_owned())
        }
        _ => None,
    };
    let side = |v: i64| LengthUnit::Mm.number(Length::mm(mm(v)));
    Ok(LayoutTaking {
        wrong: if takes.is_empty() {
            Some("nothing lies on any sheet of this layout".to_owned())
        } else {
            used.or(lacks)
        },
        takes: takes
            .iter()
            .map(|(name, n)| format!("{n} x {name}"))
            .collect(),
        leaves: rests_of(layout, &Keep::default())
            .iter()
            .map(|r| {
                let b = r.shape.bounds();
                format!(
                    "{} x {} mm of sheet {}",
                    side(b.width()),
                    side(b.height()),
                    r.sheet + 1
                )
            })
            .collect(),
        stamp,
    })
}

/// Uses a layout, only while the stock is as it was seen.
///
/// # Errors
/// `changed-on-disk`, and what the store says.
pub fn take(root: &Path, layout: &Layout, stamp: Option<&str>) -> Result<(), Refuse> {
    let mut store = after(root, stamp)?;
    store
        .use_layout(layout, &rests_of(layout, &Keep::default()), Again::Refused)
        .map(drop)
        .map_err(|d| refused(&d, root))
}
