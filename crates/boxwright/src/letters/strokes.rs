//! Shapes written as short texts: `0,0 0,100 28,100(-90) 64,64 z / 10,50 20,50`.
//!
//! Strokes are parted by `/`. A stroke is a row of points `x,y`; in brackets the angle in degrees
//! through which the way to the next point turns, to the left positive. `z` closes a stroke.

use crate::geom::{DVec2, Path, Vertex};

/// Reads a shape; `None` when the text is no shape.
pub(super) fn drawn(text: &str) -> Option<Vec<Path>> {
    text.split('/').map(stroke).collect()
}

fn stroke(text: &str) -> Option<Path> {
    let mut path = Path::default();
    for word in text.split_whitespace() {
        if word == "z" {
            path.closed = true;
            continue;
        }
        let (at, turn) = match word.split_once('(') {
            Some((at, turn)) => (at, turn.strip_suffix(')')?.parse::<f64>().ok()?),
            None => (word, 0.0),
        };
        let (x, y) = at.split_once(',')?;
        path.vertices.push(Vertex {
            at: DVec2::new(x.parse().ok()?, y.parse().ok()?),
            bulge: (turn.to_radians() / 4.0).tan(),
        });
    }
    (path.vertices.len() > 1).then_some(path)
}
