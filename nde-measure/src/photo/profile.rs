//! Colours as the photo's own profile means them, brought to sRGB.
//!
//! Phones tag their photos with a wider colour space (Display P3): read as sRGB, dye would look
//! paler and rust redder than they are. Profiles as in ICC.1 (from memory: embedded profile, matrix
//! and curves), read by a general colour library.

use image::RgbImage;
use moxcms::{ColorProfile, DataColorSpace, Layout, TransformOptions};

/// Brings pixels to sRGB, where their profile is another one and can be read; what cannot be read
/// counts as sRGB, as viewers do.
pub(super) fn to_srgb(picture: &mut RgbImage, profile: Option<&[u8]>) {
    let Some(profile) = profile.and_then(|bytes| ColorProfile::new_from_slice(bytes).ok()) else {
        return;
    };
    if profile.color_space != DataColorSpace::Rgb {
        return;
    }
    let srgb = ColorProfile::new_srgb();
    let options = TransformOptions::default();
    let Ok(change) = profile.create_transform_8bit(Layout::Rgb, &srgb, Layout::Rgb, options) else {
        return;
    };
    let mut seen = PROBES;
    if change.transform(&PROBES, &mut seen).is_err() || is_small(&PROBES, &seen) {
        return;
    }
    let width = picture.width() as usize * 3;
    let mut row = vec![0; width];
    for line in picture.chunks_exact_mut(width) {
        if change.transform(line, &mut row).is_ok() {
            line.copy_from_slice(&row);
        }
    }
}

/// Colours that tell another profile from sRGB: white, grey, the reds and browns that matter here.
const PROBES: [u8; 21] = [
    255, 255, 255, 128, 128, 128, 200, 40, 60, 230, 120, 140, 150, 90, 40, 60, 160, 60, 40, 60, 160,
];

/// Whether no channel moves by more than the rounding of curves does.
fn is_small(before: &[u8], after: &[u8]) -> bool {
    before.iter().zip(after).all(|(a, b)| a.abs_diff(*b) <= 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    #[test]
    fn a_wide_profile_is_taken_back() {
        let p3 = ColorProfile::new_display_p3().encode().unwrap();
        let mut picture = RgbImage::from_pixel(4, 3, Rgb([200, 90, 100]));
        to_srgb(&mut picture, Some(&p3));
        // By the primaries of the two colour spaces (SMPTE EG 432-1, IEC 61966-2-1, D65; computed
        // apart with numpy): 215.7, 81.0, 97.4.
        let seen = picture.get_pixel(1, 1).0;
        for (seen, want) in seen.iter().zip([216_u8, 81, 97]) {
            assert!(seen.abs_diff(want) <= 1, "{seen} for {want}");
        }
    }

    #[test]
    fn srgb_no_profile_and_nonsense_change_nothing() {
        let srgb = ColorProfile::new_srgb().encode().unwrap();
        for profile in [None, Some(&srgb[..]), Some(&b"no profile at all"[..])] {
            let mut picture = RgbImage::from_pixel(4, 3, Rgb([200, 90, 100]));
            to_srgb(&mut picture, profile);
            assert_eq!(picture.get_pixel(0, 0).0, [200, 90, 100]);
        }
    }
}
