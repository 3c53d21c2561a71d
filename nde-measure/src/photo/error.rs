//! Why bytes are not a readable photo, and what a photo may cost.

/// What a photo may cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct PhotoLimits {
    /// Most pixels decoded, default 120 million.
    pub most_pixels: u64,
    /// Shortest side read, pixels, default 64.
    pub least_side: u32,
}

impl Default for PhotoLimits {
    fn default() -> Self {
        Self { most_pixels: 120_000_000, least_side: 64 }
    }
}

/// Why bytes are not a readable photo.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// No bytes at all.
    #[error("the file is empty; copy it again from the camera")]
    Empty,
    /// Not a picture format known here.
    #[error("not a JPEG, PNG, TIFF, WebP or HEIC picture; export the photo as JPEG")]
    UnknownFormat,
    /// The file ends early or is damaged.
    #[error("the picture is damaged ({detail}); copy it again from the camera")]
    Damaged {
        /// What the decoder said.
        detail: String,
    },
    /// Too many pixels.
    #[error(
        "the picture claims {width} x {height} pixels, more than {most} in all; scale it down or crop it"
    )]
    TooLarge {
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
        /// Most pixels decoded.
        most: u64,
    },
    /// Too few pixels to see anything.
    #[error(
        "the picture has only {width} x {height} pixels; use the original photo, not a preview"
    )]
    TooSmall {
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
    },
}

/// Decoders' messages may hold several lines; a report line may not.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
