//! A drawing as pixels: its SVG, drawn by `resvg` with letters that the program brings along, so that it looks the same on every machine.

use std::sync::Arc;

use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use super::shell::GENERATOR;
use crate::report::Trouble;

/// Pixels for one of the drawing, so that it is sharp on paper and on a fine screen.
const FINE: f32 = 2.0;
/// What a drawing's letters are called in the program's font.
const FAMILY: &str = "DejaVu Sans";
/// The first bytes of every PNG (ISO/IEC 15948, 5.2).
const SIGNATURE: &[u8] = b"\x89PNG\r\n\x1a\n";

/// The drawing as PNG, black on white.
pub(super) fn png(svg: &str) -> Result<Vec<u8>, Trouble> {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(dejavu::sans::regular().to_vec());
    fonts.set_sans_serif_family(FAMILY);
    let options = Options { fontdb: Arc::new(fonts), ..Options::default() };
    let tree = Tree::from_str(svg, &options).map_err(|error| cannot(&error.to_string()))?;
    let size = tree.size().to_int_size().scale_by(FINE).ok_or_else(|| cannot("it has no size"))?;
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| cannot("it is too large"))?;
    pixels.fill(Color::WHITE);
    resvg::render(&tree, Transform::from_scale(FINE, FINE), &mut pixels.as_mut());
    written(&pixels).map_err(|error| cannot(&error.to_string()))
}

/// In shades of grey, which is all there is, with the mark by which it is known as ours.
fn written(pixels: &Pixmap) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_compression(png::Compression::High);
    encoder.add_text_chunk("Software".to_owned(), GENERATOR.to_owned())?;
    let grey: Vec<u8> = pixels.pixels().iter().map(|pixel| pixel.green()).collect();
    encoder.write_header()?.write_image_data(&grey)?;
    Ok(bytes)
}

/// Whether a file is a picture of ours, which may be made anew.
pub(super) fn is_ours(file: &[u8]) -> bool {
    let head = file.get(..file.len().min(200)).unwrap_or_default();
    head.starts_with(SIGNATURE) && String::from_utf8_lossy(head).contains(GENERATOR)
}

fn cannot(why: &str) -> Trouble {
    Trouble::request(Some("png"), format!("The drawing cannot be made: {why}."), "Ask for it with --svg.")
}

#[cfg(test)]
mod tests {
    use super::{is_ours, png};

    const DRAWING: &str = r#"<svg width="40" height="20" xmlns="http://www.w3.org/2000/svg"><rect x="10" y="5" width="10" height="10" fill="black"/><text x="22" y="15" font-family="sans-serif" font-size="15">x</text></svg>"#;

    fn pixels(drawing: &str) -> (u32, Vec<u8>) {
        let bytes = png(drawing).unwrap();
        assert!(is_ours(&bytes));
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut grey = vec![0; reader.output_buffer_size().unwrap()];
        let frame = reader.next_frame(&mut grey).unwrap();
        (frame.width, grey)
    }

    #[test]
    fn a_drawing_is_black_on_white_where_it_is_drawn_and_has_its_letters() {
        let (wide, grey) = pixels(DRAWING);
        let at = |x: usize, y: usize| grey[2 * y * usize::try_from(wide).unwrap() + 2 * x];
        assert_eq!((wide, grey.len()), (80, 80 * 40));
        assert_eq!((at(2, 2), at(15, 10)), (255, 0));
        let dark = |drawing: &str| pixels(drawing).1.iter().filter(|shade| **shade < 128).count();
        assert!(dark(DRAWING) > dark(&DRAWING.replace(">x<", "><")), "the letter is drawn");
    }

    #[test]
    fn a_picture_of_somebody_else_is_not_ours() {
        assert!(!is_ours(b"reedbook sheet"));
        assert!(!is_ours(b"\x89PNG\r\n\x1a\n and something else"));
    }
}
