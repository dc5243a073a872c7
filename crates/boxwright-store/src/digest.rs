//! Tells one layout from any other.

use boxwright::sheet::{Layout, Shape, Spot};
use sha2::{Digest, Sha256};

/// SHA-256 over what a layout takes from the stock and cuts from it: its title, the pieces of stock
/// with their shapes, the parts with theirs, and what lies where. Prices, counts and the way the
/// layout was written down do not matter.
#[must_use]
pub fn digest(layout: &Layout) -> String {
    let mut hash = Sha256::new();
    let mut put = |text: String| {
        // The length first, so that no two lists run into the same bytes.
        hash.update(text.len().to_le_bytes());
        hash.update(text);
    };
    put("boxwright layout 1".to_owned());
    put(layout.title.clone());
    put(format!("{} {}", layout.spacing, layout.margin));
    put(layout.stock.len().to_string());
    for p in &layout.stock {
        put(p.name.clone());
        put(p.board.clone());
        put(format!("{} {}", p.off_cut, corners(&p.shape)));
    }
    put(layout.parts.len().to_string());
    for p in &layout.parts {
        put(p.name.clone());
        put(p.board.clone());
        put(corners(&p.shape));
    }
    put(layout.sheets.len().to_string());
    for s in &layout.sheets {
        put(format!("{} {}", s.stock, s.placed.len()));
        for p in &s.placed {
            let quarters = p.turn.quarters();
            put(format!("{} {quarters} {} {}", p.part, p.at.x, p.at.y));
        }
    }
    hash.finalize().iter().map(|b| format!("{b:02x}")).collect()
}

fn corners(shape: &Shape) -> String {
    let ring =
        |r: &Vec<Spot>| -> String { r.iter().map(|p| format!("{},{} ", p.x, p.y)).collect() };
    shape.rings().map(ring).collect::<Vec<_>>().join("/")
}
