//! Letters with an accent: a plain one with a stroke over or under it.

use super::{alphabet, moved, strokes};
use crate::geom::{DVec2, Path, Rect};

/// Over a capital and over a small letter an accent stands this high.
const OVER: [f64; 2] = [112.0, 82.0];

const ACUTE: &str = "-7,0 8,18";
const GRAVE: &str = "-8,18 7,0";
const ROOF: &str = "-15,0 0,17 15,0";
const HOOK: &str = "-15,17 0,0 15,17";
const DOTS: &str = "-17,8(180) -9,8(180) z / 9,8(180) 17,8(180) z";
const RING: &str = "-10,10(180) 10,10(180) z";
const WAVE: &str = "-18,4(-100) 0,8(100) 18,12";
const TWO: &str = "-12,0 -2,18 / 6,0 16,18";
const TAIL: &str = "2,0 -3,-10 4,-10(-180) 4,-28 -8,-28";

/// Letters, their plain one and the accent. Below the letter stands only the tail.
#[rustfmt::skip]
const ALL: [(&str, &str, &str); 9] = [
    ("ÁÉÍÓÚÝáéíóúýĆćŃńŚśŹź", "AEIOUYaeıouyCcNnSsZz", ACUTE),
    ("ÀÈÌÒÙàèìòù", "AEIOUaeıou", GRAVE),
    ("ÂÊÎÔÛâêîôû", "AEIOUaeıou", ROOF),
    ("ÄËÏÖÜŸäëïöüÿ", "AEIOUYaeıouy", DOTS),
    ("ČĎĚŇŘŠŽčěňřšž", "CDENRSZcenrsz", HOOK),
    ("ÃÕÑãõñ", "AONaon", WAVE),
    ("ÅŮåů", "AUau", RING),
    ("ŐŰőű", "OUou", TWO),
    ("ÇŞçş", "CScs", TAIL),
];

/// The strokes of an accented letter.
pub(super) fn shape(letter: char) -> Option<Vec<Path>> {
    let (plain, accent) = ALL.iter().find_map(|(with, plain, accent)| {
        let at = with.chars().position(|c| c == letter)?;
        Some((plain.chars().nth(at)?, *accent))
    })?;
    let mut paths = strokes::drawn(alphabet::strokes(plain)?)?;
    let own = paths.iter().fold(Rect::EMPTY, |r, p| r.union(p.bounds()));
    let y = if accent == TAIL {
        0.0
    } else {
        OVER[usize::from(plain.is_lowercase())]
    };
    let at = DVec2::new(own.centre().x, y);
    paths.extend(strokes::drawn(accent)?.iter().map(|p| moved(p, 1.0, at)));
    Some(paths)
}

/// Every accented letter.
#[cfg(test)]
pub(super) fn all() -> impl Iterator<Item = (char, char)> {
    ALL.iter()
        .flat_map(|(with, plain, _)| with.chars().zip(plain.chars()))
}
