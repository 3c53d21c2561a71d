//! What a photo's stamp (EXIF) tells about the camera, and whether the photo still is what the
//! camera took.
//!
//! Tags: EXIF 2.32 (from memory): `FocalLengthIn35mmFilm`, `PixelXDimension`, `PixelYDimension`,
//! `DateTimeOriginal`, `OffsetTimeOriginal`.

use std::io::Cursor;

/// What the stamp tells; a missing or damaged stamp tells nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Stamp {
    /// Focal length of the whole frame, 35 mm equivalent.
    pub focal_35mm: Option<f64>,
    /// Width and height that the camera wrote, pixels, before any turn.
    pub size_px: Option<[u32; 2]>,
    /// When the photo was taken, by the camera's own clock.
    pub taken: Option<TakenAt>,
}

/// A moment by the camera's clock; no check that the calendar has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TakenAt {
    /// Year.
    pub year: u16,
    /// 1 to 12.
    pub month: u8,
    /// 1 to 31.
    pub day: u8,
    /// 0 to 23.
    pub hour: u8,
    /// 0 to 59.
    pub minute: u8,
    /// 0 to 60.
    pub second: u8,
    /// Zone offset of the clock, minutes east of UTC; absent where the camera does not tell.
    pub offset_minutes: Option<i16>,
}

/// Whether a photo shows the camera's whole frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frame {
    /// Nothing speaks against it.
    Whole,
    /// Its size is not the one stamped: cropped or resized.
    Resized {
        /// The size stamped.
        stamped_px: [u32; 2],
    },
    /// Its sides are in no ratio that sensors have: cropped.
    Cropped,
}

/// Ratios of the sides of camera sensors, long to short: 4:3 and 3:2. Common practice, no source.
/// Wider frames of phones are cut out of a 4:3 sensor, to which the stamped focal length belongs.
const SENSOR_RATIOS: [f64; 2] = [4.0 / 3.0, 3.0 / 2.0];
/// Most that a ratio may be off: cameras round their sizes to multiples of 16.
const RATIO_OFF: f64 = 0.02;

impl Stamp {
    /// From a file's bytes.
    pub(super) fn read(bytes: &[u8]) -> Self {
        let mut reader = exif::Reader::new();
        reader.continue_on_error(true);
        let read = reader
            .read_from_container(&mut Cursor::new(bytes))
            .or_else(|e| e.distill_partial_result(|_| ()));
        let Ok(exif) = read else { return Self::default() };
        let number = |tag| exif.get_field(tag, exif::In::PRIMARY)?.value.get_uint(0);
        let size = || {
            let size = [number(exif::Tag::PixelXDimension)?, number(exif::Tag::PixelYDimension)?];
            size.iter().all(|side| *side > 0).then_some(size)
        };
        let focal = number(exif::Tag::FocalLengthIn35mmFilm).map(f64::from);
        Self {
            // Nothing outside this is a camera that photographs a part from arm's length.
            focal_35mm: focal.filter(|mm| (8.0..=400.0).contains(mm)),
            size_px: size(),
            taken: taken(&exif),
        }
    }

    /// Whether a photo of this size, however turned, is the frame that the stamp speaks of.
    #[must_use]
    pub fn frame(&self, [width, height]: [u32; 2]) -> Frame {
        let (long, short) = (width.max(height), width.min(height));
        match self.size_px {
            Some([w, h]) if (w.max(h), w.min(h)) != (long, short) => {
                Frame::Resized { stamped_px: [w, h] }
            }
            _ => {
                let ratio = f64::from(long) / f64::from(short);
                let usual = SENSOR_RATIOS.iter().any(|r| (ratio / r - 1.0).abs() <= RATIO_OFF);
                if usual { Frame::Whole } else { Frame::Cropped }
            }
        }
    }
}

fn taken(exif: &exif::Exif) -> Option<TakenAt> {
    let ascii = |tag| match &exif.get_field(tag, exif::In::PRIMARY)?.value {
        exif::Value::Ascii(texts) => texts.first(),
        _ => None,
    };
    let mut at = exif::DateTime::from_ascii(ascii(exif::Tag::DateTimeOriginal)?).ok()?;
    if let Some(offset) = ascii(exif::Tag::OffsetTimeOriginal) {
        // A damaged offset leaves the time without one.
        let _ = at.parse_offset(offset);
    }
    Some(TakenAt {
        year: at.year,
        month: at.month,
        day: at.day,
        hour: at.hour,
        minute: at.minute,
        second: at.second,
        offset_minutes: at.offset,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turned_photo_is_whole_and_a_cut_one_is_not() {
        let stamp = Stamp { focal_35mm: Some(26.0), size_px: Some([4000, 3000]), taken: None };
        assert_eq!(stamp.frame([4000, 3000]), Frame::Whole);
        assert_eq!(stamp.frame([3000, 4000]), Frame::Whole);
        assert_eq!(stamp.frame([1600, 1200]), Frame::Resized { stamped_px: [4000, 3000] });
        assert_eq!(stamp.frame([4000, 2000]), Frame::Resized { stamped_px: [4000, 3000] });
    }

    #[test]
    fn without_a_stamped_size_the_ratio_of_the_sides_tells() {
        let stamp = Stamp { focal_35mm: Some(26.0), size_px: None, taken: None };
        for whole in [[4032, 3024], [6000, 4000], [4096, 3072], [3000, 2250]] {
            assert_eq!(stamp.frame(whole), Frame::Whole, "{whole:?}");
        }
        for cut in [[4000, 2250], [3000, 3000], [1234, 700]] {
            assert_eq!(stamp.frame(cut), Frame::Cropped, "{cut:?}");
        }
    }
}
