//! Bytes to upright pixels.
//!
//! The header is read before the pixels, so that a file that claims to be huge is refused
//! without reserving memory for it. Sixteen-bit pictures are read to eight bits, since a coat's grain
//! is coarser than that; colours are brought to sRGB by the picture's own profile.

use super::error::{PhotoError, PhotoLimits, one_line};
use super::stamp::Stamp;
use image::{DynamicImage, ImageDecoder, ImageError, ImageReader, RgbImage, metadata::Orientation};
use std::fmt;
use std::io::Cursor;

/// A decoded photo, upright, 8 bit sRGB.
#[derive(Clone, PartialEq)]
pub struct Photo {
    rgb: RgbImage,
    stamp: Stamp,
}

impl fmt::Debug for Photo {
    /// Its size and its stamp: the pixels would fill a log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut form = f.debug_struct("Photo");
        form.field("size_px", &self.size_px()).field("stamp", &self.stamp).finish_non_exhaustive()
    }
}

impl Photo {
    /// Decodes the bytes of a JPEG, PNG, TIFF, WebP or (feature `heic`) HEIC file and turns the picture
    /// upright. A file is read by the caller: `Photo::decode(&std::fs::read(path)?, &limits)`.
    ///
    /// Give the camera's own bytes where you can: what they tell of lens and frame is part of the
    /// measurement, and [`Photo::from_rgb`] knows none of it.
    ///
    /// # Errors
    /// See [`PhotoError`].
    pub fn decode(bytes: &[u8], limits: &PhotoLimits) -> Result<Self, PhotoError> {
        if bytes.is_empty() {
            return Err(PhotoError::Empty);
        }
        #[cfg(feature = "heic")]
        if super::heic::is_heic(bytes) {
            let rgb = super::heic::decode(bytes, limits)?;
            let (width, height) = rgb.dimensions();
            if width.min(height) < limits.least_side {
                return Err(PhotoError::TooSmall { width, height });
            }
            return Ok(Self { rgb, stamp: Stamp::read(bytes) });
        }
        let reader = ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|e| PhotoError::Damaged { detail: one_line(&e.to_string()) })?;
        if reader.format().is_none() {
            return Err(PhotoError::UnknownFormat);
        }
        // The decoder fills what a truncated file lacks with grey, where nothing would be seen.
        if reader.format() == Some(image::ImageFormat::Jpeg) && !jpeg_is_whole(bytes) {
            return Err(PhotoError::Damaged { detail: "the file ends early".into() });
        }
        let mut decoder = reader.into_decoder().map_err(|e| refusal(&e))?;
        let (width, height) = decoder.dimensions();
        if u64::from(width) * u64::from(height) > limits.most_pixels {
            return Err(PhotoError::TooLarge { width, height, most: limits.most_pixels });
        }
        if width.min(height) < limits.least_side {
            return Err(PhotoError::TooSmall { width, height });
        }
        let mut cost = image::Limits::default();
        // Sixteen-bit RGBA is the dearest layout; the decoder may need a second copy.
        cost.max_alloc = Some(limits.most_pixels.saturating_mul(16));
        decoder.set_limits(cost).map_err(|e| refusal(&e))?;
        let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
        let profile = decoder.icc_profile().unwrap_or(None);
        let mut picture = DynamicImage::from_decoder(decoder).map_err(|e| refusal(&e))?;
        picture.apply_orientation(orientation);
        let mut rgb = picture.into_rgb8();
        super::profile::to_srgb(&mut rgb, profile.as_deref());
        Ok(Self { rgb, stamp: Stamp::read(bytes) })
    }

    /// From pixels already in memory, upright sRGB; without a stamp until [`Photo::with_stamp`] gives one.
    #[must_use]
    pub fn from_rgb(rgb: RgbImage) -> Self {
        Self { rgb, stamp: Stamp::default() }
    }

    /// The same pixels with another stamp, such as one read from a file beside the photo.
    #[must_use]
    pub fn with_stamp(self, stamp: Stamp) -> Self {
        Self { stamp, ..self }
    }

    /// The upright pixels.
    #[must_use]
    pub const fn rgb(&self) -> &RgbImage {
        &self.rgb
    }

    /// Focal length that the photo's stamp tells, 35 mm equivalent; absent where it does not.
    #[must_use]
    pub const fn focal_35mm(&self) -> Option<f64> {
        self.stamp.focal_35mm
    }

    /// What the photo's stamp tells.
    #[must_use]
    pub const fn stamp(&self) -> Stamp {
        self.stamp
    }

    /// Width and height in pixels.
    #[must_use]
    pub fn size_px(&self) -> [u32; 2] {
        [self.rgb.width(), self.rgb.height()]
    }
}

fn refusal(error: &ImageError) -> PhotoError {
    match error {
        ImageError::Unsupported(_) => PhotoError::UnknownFormat,
        other => PhotoError::Damaged { detail: one_line(&other.to_string()) },
    }
}

/// Whether a JPEG's first picture data are followed by an end marker; a thumbnail's own end stands before.
///
/// Source: ITU-T T.81, B.1.1: in picture data a byte 0xFF is followed by 0 or a restart marker.
fn jpeg_is_whole(bytes: &[u8]) -> bool {
    let mut at = 2;
    while let Some(&[0xff, marker, high, low]) = bytes.get(at..at + 4).and_then(|b| b.first_chunk())
    {
        match marker {
            0xff => at += 1,
            // Most often it stands at the very end.
            0xda => return bytes[at..].windows(2).rev().any(|pair| pair == [0xff, 0xd9]),
            _ => at += 2 + usize::from(u16::from_be_bytes([high, low])),
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    fn png(width: u32, height: u32) -> Vec<u8> {
        let mut bytes = Vec::new();
        RgbImage::from_pixel(width, height, image::Rgb([200, 10, 10]))
            .write_to(&mut Cursor::new(&mut bytes), image::ImageFormat::Png)
            .unwrap();
        bytes
    }

    #[test]
    fn a_good_picture_is_read() {
        let photo = Photo::decode(&png(80, 70), &PhotoLimits::default()).unwrap();
        assert_eq!(photo.size_px(), [80, 70]);
        assert_eq!(photo.rgb().get_pixel(3, 4).0, [200, 10, 10]);
    }

    #[test]
    fn broken_pictures_are_refused_by_name() {
        let limits = PhotoLimits::default();
        let read = |bytes: &[u8]| Photo::decode(bytes, &limits);
        assert!(matches!(read(b""), Err(PhotoError::Empty)));
        assert!(matches!(read(b"just some words"), Err(PhotoError::UnknownFormat)));
        let whole = png(300, 300);
        assert!(matches!(read(&whole[..whole.len() / 2]), Err(PhotoError::Damaged { .. })));
        assert!(matches!(read(&png(8, 8)), Err(PhotoError::TooSmall { .. })));
    }

    #[test]
    fn a_huge_claim_is_refused_before_memory_is_reserved() {
        let mut bytes = png(100, 100);
        // The PNG header's width and height stand at bytes 16..24; the CRC must match.
        bytes[16..24].copy_from_slice(&[0, 1, 0x86, 0xA0, 0, 1, 0x86, 0xA0]);
        let crc = crc32(&bytes[12..29]);
        bytes[29..33].copy_from_slice(&crc.to_be_bytes());
        let refused = Photo::decode(&bytes, &PhotoLimits::default());
        assert!(matches!(refused, Err(PhotoError::TooLarge { width: 100_000, .. })), "{refused:?}");
    }

    /// The PNG checksum, bit by bit (ISO 15948, annex D).
    fn crc32(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0_u32, |crc, &byte| {
            (0..8).fold(crc ^ u32::from(byte), |c, _| {
                if c & 1 == 1 { 0xEDB8_8320 ^ (c >> 1) } else { c >> 1 }
            })
        })
    }
}
