//! What makes one measurement, or one picture, shaky.
//!
//! Doubts are data beside the result: they never change a number. What a doubt does to a
//! verdict is said by [`Doubt::weight`]. Each doubt speaks in two halves: the fact, then the remedy.

use std::borrow::Cow;
use std::fmt;

/// A stated weakness of one measurement.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
#[non_exhaustive]
pub enum Doubt {
    /// The indication runs out of the photo: its length is a lower bound.
    CutByPhoto,
    /// The indication runs out of the readable coat: its length is a lower bound.
    CutByCoat,
    /// The indication touches glare or black clipping.
    TouchesGlare,
    /// Narrower than the picture can resolve: width is an upper bound, so it is never called rounded.
    #[cfg_attr(feature = "serde", serde(rename = "width-upper-bound"))]
    WidthIsUpperBound {
        /// Measured width.
        width_mm: f64,
        /// Least width this picture sizes honestly.
        least_mm: f64,
    },
    /// Too short for the picture's blur to say linear or rounded.
    TooSmallToClassify,
    /// Too faint to size: shown, measured without a claimed uncertainty, never decides.
    TooFaintToSize {
        /// Peak loss of green reflectance, 0 to 1.
        contrast: f64,
    },
    /// Half contrast and visible extent differ: the ends fade out.
    FadingEnds {
        /// Length at half contrast.
        half_mm: f64,
        /// Length of the visible extent.
        visible_mm: f64,
    },
    /// Two ways of seeing the dye give different lengths (shadow or dirt at an edge).
    SignalsDisagree {
        /// Length by green reflectance.
        green_mm: f64,
        /// Length by colour ratio.
        ratio_mm: f64,
    },
    /// A branched network: linear whatever its ratio.
    Branched {
        /// Number of branch points.
        branch_points: usize,
    },
    /// Curved: the path is longer than the distance between the ends; the path is the length used.
    Curved {
        /// Maximum Feret diameter.
        feret_mm: f64,
        /// Path length.
        path_mm: f64,
    },
    /// A wide spot on a thin line: with the line's own width the shape would read otherwise.
    WideSpotOnLine,
    /// Spots that touch one another: seen as one line, they may be several spots.
    TouchingSpots {
        /// How many.
        spots: usize,
    },
    /// Lies on relief (thread, weld ripple) or across a shadow's border: read with the shade taken out.
    ShadeTakenOut,
    /// Lies in a pink area: neighbouring background is stained.
    InPinkBackground,
    /// Far from the scale: lens distortion is not known there.
    FarFromScale {
        /// Distance to the scale.
        distance_mm: f64,
    },
    /// The printed scale was not checked with a calliper: 3 % is allowed for the printer.
    UnverifiedPrint,
    /// Two scales in the photo give lengths that differ by more than their uncertainties explain.
    ScalesDisagree {
        /// Length by the scale that was used.
        used_mm: f64,
        /// Length by the other.
        other_mm: f64,
    },
    /// The height above the scale is corrected with a focal length that the photo does not tell.
    FocalAssumed {
        /// Focal length assumed, 35 mm equivalent.
        focal_35mm: f64,
    },
    /// The photo is not as the camera took it, so what it tells of its lens does not hold.
    PhotoChanged {
        /// Size that the photo's stamp tells, pixels; absent where only the shape of the frame tells.
        stamped_px: Option<[u32; 2]>,
        /// Size it has, pixels.
        size_px: [u32; 2],
    },
}

/// What a doubt does to a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Said, and already inside the uncertainty.
    Told,
    /// The shape may be otherwise: both shapes must give the same verdict.
    Shape,
    /// The length may be longer than measured: may reject, never accepts.
    Longer,
    /// The size is not known: never decides, a person must look.
    Unsized,
}

impl Doubt {
    /// A short fixed word for lists, such as `cut-by-photo`.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::CutByPhoto => "cut-by-photo",
            Self::CutByCoat => "cut-by-coat",
            Self::TouchesGlare => "touches-glare",
            Self::WidthIsUpperBound { .. } => "width-upper-bound",
            Self::TooSmallToClassify => "too-small-to-classify",
            Self::TooFaintToSize { .. } => "too-faint-to-size",
            Self::FadingEnds { .. } => "fading-ends",
            Self::SignalsDisagree { .. } => "signals-disagree",
            Self::Branched { .. } => "branched",
            Self::Curved { .. } => "curved",
            Self::WideSpotOnLine => "wide-spot-on-line",
            Self::TouchingSpots { .. } => "touching-spots",
            Self::ShadeTakenOut => "shade-taken-out",
            Self::InPinkBackground => "in-pink-background",
            Self::FarFromScale { .. } => "far-from-scale",
            Self::UnverifiedPrint => "unverified-print",
            Self::ScalesDisagree { .. } => "scales-disagree",
            Self::FocalAssumed { .. } => "focal-assumed",
            Self::PhotoChanged { .. } => "photo-changed",
        }
    }

    /// What it does to a verdict.
    #[must_use]
    pub const fn weight(&self) -> Weight {
        match self {
            Self::CutByPhoto | Self::CutByCoat | Self::TouchesGlare => Weight::Longer,
            Self::TooFaintToSize { .. } => Weight::Unsized,
            Self::TooSmallToClassify | Self::WideSpotOnLine | Self::TouchingSpots { .. } => {
                Weight::Shape
            }
            Self::WidthIsUpperBound { .. }
            | Self::FadingEnds { .. }
            | Self::SignalsDisagree { .. }
            | Self::Branched { .. }
            | Self::Curved { .. }
            | Self::ShadeTakenOut
            | Self::InPinkBackground
            | Self::FarFromScale { .. }
            | Self::UnverifiedPrint
            | Self::ScalesDisagree { .. }
            | Self::FocalAssumed { .. }
            | Self::PhotoChanged { .. } => Weight::Told,
        }
    }
}

impl Doubt {
    /// What is shaky, as a clause about the indication.
    #[must_use]
    pub fn fact(&self) -> String {
        match self {
            Self::CutByPhoto => "runs out of the photo, so it may be longer".into(),
            Self::CutByCoat => "runs out of the developer coat, so it may be longer".into(),
            Self::TouchesGlare => "touches glare, so part may be hidden".into(),
            Self::WidthIsUpperBound { width_mm, least_mm } => format!(
                "is {width_mm:.2} mm wide where this photo resolves {least_mm:.2} mm, so it may be narrower"
            ),
            Self::TooSmallToClassify => {
                "is too small in this photo to tell a line from a spot".into()
            }
            Self::TooFaintToSize { contrast } => format!(
                "is faint ({:.0} % loss of green), so its size is not reliable",
                contrast * 100.0
            ),
            Self::FadingEnds { half_mm, visible_mm } => format!(
                "fades out at its ends ({half_mm:.2} mm at half contrast, {visible_mm:.2} mm visible)"
            ),
            Self::SignalsDisagree { green_mm, ratio_mm } => {
                format!("reads {green_mm:.2} mm by brightness and {ratio_mm:.2} mm by colour")
            }
            Self::Branched { branch_points } => {
                format!("branches ({branch_points} places), so it is taken as linear")
            }
            Self::Curved { feret_mm, path_mm } => {
                format!("is curved ({feret_mm:.2} mm end to end, {path_mm:.2} mm along it)")
            }
            Self::WideSpotOnLine => "is a line with a wide spot on it".into(),
            Self::TouchingSpots { spots } => {
                format!("looks like {spots} spots that touch, read as one")
            }
            Self::ShadeTakenOut => {
                "lies on relief or across a shadow, read with the shade taken out".into()
            }
            Self::InPinkBackground => "lies in a pink area".into(),
            Self::FarFromScale { distance_mm } => format!(
                "lies {distance_mm:.0} mm from the scale, where lens distortion is not known"
            ),
            Self::UnverifiedPrint => {
                "is measured with an unchecked print (3 % allowed for the printer)".into()
            }
            Self::ScalesDisagree { used_mm, other_mm } => format!(
                "is {used_mm:.2} mm long by the nearer scale and {other_mm:.2} mm by the other"
            ),
            Self::FocalAssumed { focal_35mm } => format!(
                "is corrected for its height with an assumed focal length ({focal_35mm:.0} mm equivalent), because the photo tells none"
            ),
            Self::PhotoChanged { stamped_px: Some([w, h]), size_px: [x, y] } => format!(
                "is measured in a photo of {x} x {y} pixels that its camera took with {w} x {h}: cropped or resized, so its lens data do not hold"
            ),
            Self::PhotoChanged { stamped_px: None, size_px: [x, y] } => format!(
                "is measured in a photo of {x} x {y} pixels, which is no camera's whole frame: cropped, so its lens data do not hold"
            ),
        }
    }

    /// What to do about it.
    #[must_use]
    pub const fn remedy(&self) -> &'static str {
        match self {
            Self::CutByPhoto => "photograph it whole",
            Self::CutByCoat => "coat and photograph it whole",
            Self::TouchesGlare => "change the light and photograph again",
            Self::WidthIsUpperBound { .. } => "come closer or focus better",
            Self::TooSmallToClassify => "come closer",
            Self::TooFaintToSize { .. } => "measure it by hand or re-develop",
            Self::FadingEnds { .. } => "check the ends with a magnifier",
            Self::SignalsDisagree { .. } => "look for a shadow or dirt at its ends",
            Self::Branched { .. } => "confirm by eye",
            Self::Curved { .. } => "the longer one is used",
            Self::WideSpotOnLine => "decide by eye whether it is a line or a spot",
            Self::TouchingSpots { .. } => {
                "come closer, or measure the spots by hand if they are several"
            }
            Self::ShadeTakenOut => "light it evenly, or look at it on the part",
            Self::InPinkBackground => "clean, re-process and photograph again if in doubt",
            Self::FarFromScale { .. } => "lay the scale nearer (within 80 mm)",
            Self::UnverifiedPrint => {
                "measure the card's two bars with a calliper and give --scale card:ACROSS,DOWN"
            }
            Self::ScalesDisagree { .. } => {
                "lay both scales level with the surface, and check both prints"
            }
            Self::FocalAssumed { .. } => {
                "use the camera's original file, or lay the scale level with the surface"
            }
            Self::PhotoChanged { .. } => "use the camera's original file",
        }
    }
}

impl fmt::Display for Doubt {
    /// One sentence: the fact, then the remedy.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.fact(), self.remedy())
    }
}

/// One check of whether the picture is fit to judge.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Gate {
    /// Short fixed name, such as `blur`.
    pub name: Cow<'static, str>,
    /// What was found; absent when it could not be found out.
    pub value: Option<f64>,
    /// Unit of value and limits, such as `mm`; empty for a plain number.
    pub unit: Cow<'static, str>,
    /// Worse than this warns; infinite where nothing does.
    #[cfg_attr(feature = "serde", serde(with = "limit"))]
    pub warn: f64,
    /// Worse than this fails; infinite where nothing does.
    #[cfg_attr(feature = "serde", serde(with = "limit"))]
    pub fail: f64,
    /// How it came out.
    pub outcome: GateOutcome,
    /// What to do about it.
    pub remedy: Cow<'static, str>,
}

/// A limit that nothing is worse than is written as none: JSON has no infinity.
#[cfg(feature = "serde")]
mod limit {
    use serde::{Deserialize as _, Deserializer, Serializer};

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
    pub(super) fn serialize<S: Serializer>(limit: &f64, to: S) -> Result<S::Ok, S::Error> {
        if *limit < f64::INFINITY { to.serialize_some(limit) } else { to.serialize_none() }
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
        Ok(Option::deserialize(from)?.unwrap_or(f64::INFINITY))
    }
}

/// How a gate came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "lowercase")
)]
pub enum GateOutcome {
    /// Fit.
    Pass,
    /// Fit, with a warning.
    Warn,
    /// Not fit: the picture can never end in "accept".
    Fail,
    /// Could not be found out: like a warning.
    Unknown,
}

impl GateOutcome {
    /// `pass`, `warn`, `fail` or `unknown`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Warn => "warn",
            Self::Fail => "fail",
            Self::Unknown => "unknown",
        }
    }
}

impl fmt::Display for GateOutcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}
