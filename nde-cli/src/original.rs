//! Marked photos say that they are such, so that none is taken for an original.
//!
//! Rings and letters hide what lies below them, and the picture is made smaller: a marked photo that is
//! evaluated again could pass.

use std::io::Read as _;
use std::path::Path;

/// Folder of the marked photos inside an output folder.
pub(crate) const MARKED: &str = "marked";
/// Stands in the comment of each marked photo.
const MARK: &[u8] = b"marked by nde; not an original photo";
/// Where a comment is looked for: it is written behind the JPEG's head of 20 bytes.
const HEAD: usize = 256;
/// Bytes of a JPEG's start and of the head that the encoder writes.
const START: usize = 20;

/// The JPEG file with the comment that says what it is.
#[must_use]
pub(crate) fn told_marked(jpeg: &[u8]) -> Vec<u8> {
    let at = match jpeg {
        [0xff, 0xd8, 0xff, 0xe0, 0, 16, ..] if jpeg.len() > START => START,
        _ => jpeg.len().min(2),
    };
    let (head, rest) = jpeg.split_at(at);
    // A comment's length counts its own two bytes.
    let length = u16::try_from(MARK.len() + 2).unwrap_or(u16::MAX).to_be_bytes();
    [head, &[0xff, 0xfe], &length, MARK, rest].concat()
}

/// Whether the file says that it is a marked photo. Its first bytes are enough.
#[must_use]
pub(crate) fn is_marked(bytes: &[u8]) -> bool {
    let head = bytes.get(..HEAD).unwrap_or(bytes);
    head.windows(MARK.len()).any(|window| window == MARK)
}

/// Whether a file in a folder of marked photos is one of them: what was made here is not read again.
#[must_use]
pub(crate) fn is_own(path: &Path) -> bool {
    let beside = path.parent().and_then(Path::file_name);
    if beside.is_none_or(|name| name != MARKED) {
        return false;
    }
    is_marked_file(path)
}

/// Whether a file is a photo that this tool marked.
#[must_use]
pub(crate) fn is_marked_file(path: &Path) -> bool {
    let mut head = Vec::new();
    let read =
        std::fs::File::open(path).and_then(|file| file.take(HEAD as u64).read_to_end(&mut head));
    read.is_ok() && is_marked(&head)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_picture_stays_and_the_comment_is_found() {
        let picture = image::RgbImage::from_pixel(8, 8, image::Rgb([200, 40, 60]));
        let mut jpeg = Vec::new();
        let encoder = jpeg_encoder::Encoder::new(&mut jpeg, 90);
        encoder.encode(picture.as_raw(), 8, 8, jpeg_encoder::ColorType::Rgb).unwrap();
        let told = told_marked(&jpeg);
        assert!(is_marked(&told) && !is_marked(&jpeg));
        let read = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8();
        assert_eq!(read(&told), read(&jpeg));
        assert!(told.starts_with(&[0xff, 0xd8, 0xff, 0xe0]), "the head stays first");
    }
}
