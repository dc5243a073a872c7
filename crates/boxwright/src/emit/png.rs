//! A page as a PNG picture.

use resvg::tiny_skia::{Color, Pixmap, Transform};

use super::font;
use super::scene::Scene;
use crate::diag::Diag;

/// Most pixels a picture may have: 64 million, 256 MB while it is drawn.
pub const MOST_PIXELS: u64 = 64_000_000;

/// The page as a PNG of the given breadth in pixels, on white.
///
/// # Errors
/// `picture-too-large` when it would be empty or have more than [`MOST_PIXELS`], `png-failed`
/// when the page cannot be drawn.
pub fn png(scene: &Scene, px_wide: u32) -> Result<Vec<u8>, Diag> {
    let scale = f64::from(px_wide) / scene.width;
    let high = (scene.height * scale).round();
    let pixels = f64::from(px_wide) * high;
    #[allow(
        clippy::cast_precision_loss,
        reason = "a round constant far below 2^53"
    )]
    let most = MOST_PIXELS as f64;
    if !(pixels >= 1.0 && pixels <= most) {
        return Err(Diag::error(
            "picture-too-large",
            format!("a picture of {px_wide} x {high} pixels cannot be drawn"),
        )
        .help("ask for another breadth in pixels"));
    }
    let failed = |e: String| Diag::error("png-failed", format!("the picture failed: {e}"));
    let tree = usvg::Tree::from_str(&scene.to_svg(), &font::options())
        .map_err(|e| failed(e.to_string()))?;
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 1 and MOST_PIXELS, checked above"
    )]
    let high = high as u32;
    let mut picture = Pixmap::new(px_wide, high).ok_or_else(|| failed("no size".into()))?;
    picture.fill(Color::WHITE);
    #[allow(
        clippy::cast_possible_truncation,
        reason = "the renderer places pixels in f32"
    )]
    let scale = (f64::from(px_wide) / f64::from(tree.size().width())) as f32;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut picture.as_mut(),
    );
    picture.encode_png().map_err(|e| failed(e.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emit::sample::slotted;
    use crate::emit::svg::preview;

    // PNG: width and height are big-endian in bytes 16 to 24 of the file.
    #[test]
    fn a_picture_has_the_asked_breadth_and_the_pages_shape() {
        let scene = preview(&slotted());
        let file = png(&scene, 600).unwrap();
        let number = |at: usize| u32::from_be_bytes(file[at..at + 4].try_into().unwrap());
        assert_eq!(&file[1..4], b"PNG");
        assert_eq!(number(16), 600);
        let high = 600.0 * scene.height / scene.width;
        assert!((f64::from(number(20)) - high).abs() <= 0.5);
        assert_eq!(file, png(&scene, 600).unwrap());
    }

    #[test]
    fn absurd_sizes_are_refused() {
        assert!(png(&Scene::new(1.0, 1e9), 1000).is_err());
        assert!(png(&Scene::new(10.0, 10.0), 0).is_err());
        assert!(png(&Scene::new(0.0, 10.0), 10).is_err());
    }
}
