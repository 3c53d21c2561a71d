//! A page for one photo on which places are clicked: self-contained, opens from disk, asks no network.
//!
//! The photo is put in upright, so that the places are those of the upright photo that every option
//! speaks of: x right, y down, pixel centres at .5.

use crate::closeups::jpeg;
use anyhow::{Result, anyhow};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use nde_measure::Photo;

const PAGE: &str = include_str!("pick/page.html");
/// Quality of the picture in the page. Chosen: edges look as in the photo, the page stays small.
const QUALITY: u8 = 92;

/// The page.
///
/// # Errors
/// The photo is too large for a JPEG.
pub(crate) fn page(photo: &Photo, name: &str) -> Result<String> {
    let [width, height] = photo.size_px();
    let picture = jpeg(photo.rgb(), QUALITY)
        .map_err(|e| anyhow!("the photo cannot be put into the page ({e}); scale it down"))?;
    let mut text = String::with_capacity(PAGE.len() + picture.len() * 4 / 3 + 100);
    // The name first: what stands in the photo's name must not be taken for a place to fill.
    let (head, rest) = PAGE.split_once("{{PHOTO}}").expect("the page shows the photo's bytes once");
    let fill = |part: &str| {
        part.replace("{{WIDTH}}", &width.to_string())
            .replace("{{HEIGHT}}", &height.to_string())
            .replace("{{NAME}}", &escaped(name))
    };
    text.push_str(&fill(head));
    text.push_str("data:image/jpeg;base64,");
    STANDARD.encode_string(picture, &mut text);
    text.push_str(&fill(rest));
    Ok(text)
}

/// Harmless inside HTML text and attributes.
fn escaped(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            '"' => "&quot;".to_owned(),
            '\'' => "&#39;".to_owned(),
            '{' => "&#123;".to_owned(),
            c if c.is_control() => String::new(),
            c => c.to_string(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_holds_the_photo_and_asks_nothing_of_a_network() {
        let photo = Photo::from_rgb(image::RgbImage::from_pixel(80, 70, image::Rgb([200; 3])));
        let page = page(&photo, "<b>{{WIDTH}}\".jpg").unwrap();
        assert!(page.contains("data:image/jpeg;base64,/9j/"));
        assert!(page.contains("&lt;b&gt;&#123;&#123;WIDTH"));
        assert!(!page.contains("{{") && !page.contains("<b>"));
        for word in ["http:", "https:", "src=\"//", "fetch(", "XMLHttpRequest", "import("] {
            assert!(!page.contains(word), "{word}");
        }
    }
}
