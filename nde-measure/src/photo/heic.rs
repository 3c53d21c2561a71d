//! HEIC pictures, as phones write them.
//!
//! The decoder applies turns, mirrors and crops stored in the file and brings colours to sRGB, so the
//! stamp's orientation must not be applied again.

use super::error::{PhotoError, PhotoLimits, one_line};
use heifer::{FileTypeResult, Options};
use image::RgbImage;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Whether bytes are such a picture.
pub(super) fn is_heic(bytes: &[u8]) -> bool {
    matches!(heifer::check_file_type(bytes), FileTypeResult::Supported | FileTypeResult::MayBe)
        && bytes.len() >= 12
}

/// Upright sRGB pixels.
pub(super) fn decode(bytes: &[u8], limits: &PhotoLimits) -> Result<RgbImage, PhotoError> {
    let options = Options { max_threads: 0, max_pixels: limits.most_pixels };
    // The decoder is young: should a damaged file break it, that file is refused and no more.
    let decoded = catch_unwind(AssertUnwindSafe(|| {
        heifer::decode_srgb_rgba8(bytes, &options).or_else(|error| match error {
            // A colour space that cannot be brought to sRGB is read as it stands.
            heifer::Error::Unsupported(_) => heifer::decode_rgba8(bytes, &options),
            other => Err(other),
        })
    }));
    let damaged = |detail: String| PhotoError::Damaged { detail };
    let picture = decoded
        .map_err(|_| damaged("its HEIC data cannot be followed".into()))?
        .map_err(|e| damaged(one_line(&e.to_string())))?;
    let (width, height) = (picture.width, picture.height);
    RgbImage::from_raw(width, height, picture.into_rgb8())
        .ok_or_else(|| damaged("its size and its data disagree".into()))
}

#[cfg(test)]
mod tests {
    use super::super::Photo;
    use super::*;
    use heifer::{EncodeOptions, encode_rgb8};

    fn heic(width: u32, height: u32) -> Vec<u8> {
        let mut rgb = vec![225; (width * height * 3) as usize];
        for px in rgb.chunks_exact_mut(3).skip((width * height / 2) as usize) {
            px.copy_from_slice(&[190, 40, 60]);
        }
        encode_rgb8(width, height, &rgb, &EncodeOptions { quality: 90, max_threads: 1 }).unwrap()
    }

    #[test]
    fn a_picture_is_read() {
        let photo = Photo::decode(&heic(128, 96), &PhotoLimits::default()).unwrap();
        assert_eq!(photo.size_px(), [128, 96]);
        let near = |x, y, want: [u8; 3]| {
            let seen = photo.rgb().get_pixel(x, y).0;
            assert!(
                seen.iter().zip(want).all(|(s, w)| s.abs_diff(w) <= 6),
                "{seen:?} for {want:?}"
            );
        };
        near(60, 20, [225, 225, 225]);
        near(60, 80, [190, 40, 60]);
    }

    #[test]
    fn damaged_pictures_are_refused_or_read_but_never_break() {
        let whole = heic(96, 80);
        let limits = PhotoLimits::default();
        assert!(Photo::decode(&whole[..whole.len() / 2], &limits).is_err());
        let small = PhotoLimits { most_pixels: 1000, ..PhotoLimits::default() };
        assert!(Photo::decode(&whole, &small).is_err());
        let mut seed = 7_u64;
        for _ in 0..200 {
            let mut bytes = whole.clone();
            for _ in 0..4 {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                let at = (seed >> 33) as usize % bytes.len();
                bytes[at] = (seed >> 20) as u8;
            }
            // Whatever comes out, it comes back.
            let _ = Photo::decode(&bytes, &limits);
        }
    }
}
