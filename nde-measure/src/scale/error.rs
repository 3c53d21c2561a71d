//! Why there is no scale: each fact with its remedy.

use crate::scale::design::CardName;

/// What to do about a rule that was not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum RuleRemedy {
    /// Its ticks are not seen well.
    Flat,
    /// It reads as this graduation, which is not the one stated.
    Graduation(&'static str),
    /// It is seen as no camera sees it.
    WholePhoto,
    /// Too little of it is seen.
    MoreTicks,
    /// It is seen too slanted.
    Square,
    /// It is seen too slanted for a photo that does not tell its focal length.
    SquareOrTold,
    /// It is seen too slanted for a photo that was cropped or resized.
    SquareOrOriginal,
}

impl std::fmt::Display for RuleRemedy {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Graduation(word) => return write!(f, "say ticks:{word}"),
            Self::Flat => "lay it flat and sharp in the frame without glare",
            Self::WholePhoto => {
                "give the whole photo as the camera took it, neither cropped nor straightened, the rule flat and without glare"
            }
            Self::MoreTicks => "show more of it, sharp and without glare",
            Self::Square => "hold the camera square over it",
            Self::SquareOrTold => {
                "hold the camera square over it, or give the photo with what the camera wrote into it (the focal length)"
            }
            Self::SquareOrOriginal => {
                "hold the camera square over it, or give the camera's original file"
            }
        })
    }
}

/// Why there is no scale.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ScaleError {
    /// No card was seen.
    #[error(
        "no scale card found ({detail}); lay the card whole and sharp in the frame, or give ticks:1mm (a steel rule), points:X1,Y1,X2,Y2=50mm or pitch:0.083mm"
    )]
    NoCard {
        /// What was seen.
        detail: String,
    },
    /// No rule was read.
    #[error("no rule could be read ({detail}); {remedy}, or give points:X1,Y1,X2,Y2=50mm")]
    NoRule {
        /// What was seen.
        detail: String,
        /// What to do about it.
        remedy: RuleRemedy,
    },
    /// The surface is stated to lie as high as the camera, or nearly.
    #[error(
        "the surface is said to lie {height_mm} mm above the scale, and the camera is only {camera_mm:.0} mm above it; check the height and its sign"
    )]
    TooHigh {
        /// Height of the surface as stated.
        height_mm: f64,
        /// Height of the camera above the scale's plane.
        camera_mm: f64,
    },
    /// A height that is no number, or an allowance for it that is none.
    #[error(
        "{height_mm} ± {within_mm} mm is no height; both must be numbers, the second zero or above"
    )]
    NoHeight {
        /// Height of the surface as stated.
        height_mm: f64,
        /// How far it may be off, as stated.
        within_mm: f64,
    },
    /// A focal length that no camera has.
    #[error("{focal_35mm} mm is no focal length of a camera; give the 35 mm equivalent, 4 to 4000")]
    NoFocal {
        /// Focal length as stated, 35 mm equivalent.
        focal_35mm: f64,
    },
    /// An uncertainty that is no share of a length.
    #[error(
        "{relative_u} is no uncertainty of a scale; give a share of a length from 0 to 1, such as 0.005 for half a per cent"
    )]
    NoUncertainty {
        /// Relative standard uncertainty as stated.
        relative_u: f64,
    },
    /// The scale's plane belongs to no camera, so that a height cannot be corrected.
    #[error(
        "a height of {height_mm} mm cannot be corrected, because the scale is seen as no camera sees a flat thing; lay the scale flat and level with the surface"
    )]
    HeightUnclear {
        /// Height of the surface as stated.
        height_mm: f64,
    },
    /// The corners do not lie in a plane.
    #[error(
        "the scale card is not flat (its corners lie {rms_px:.1} px off a plane, {allowed_px:.1} px allowed); lay it flat on the surface"
    )]
    NotFlat {
        /// Root mean square distance from the fitted plane.
        rms_px: f64,
        /// Most allowed.
        allowed_px: f64,
    },
    /// Calliper readings that no printer makes.
    #[error(
        "the bars read {across_mm} and {down_mm} mm where the {name} card has {designed_mm} mm; measure the two long bars beside the card, or print it again without fitting to the page"
    )]
    BarsUnlikely {
        /// Design of the card that lies in the photo.
        name: CardName,
        /// Reading across.
        across_mm: f64,
        /// Reading down.
        down_mm: f64,
        /// Length as designed.
        designed_mm: f64,
    },
    /// A board of one's own whose sizes contradict each other.
    #[error(
        "beside squares of {squares_mm} mm the board's markers measure about {measured_mm:.2} mm and not {told_mm} mm; measure a square and a marker with a calliper and give both again (board:COLUMNSxROWS,SQUARE,MARKER,4x4_50)"
    )]
    NotAsTold {
        /// Side of a square as told.
        squares_mm: f64,
        /// Side of a marker as it measures beside them.
        measured_mm: f64,
        /// Side of a marker as told.
        told_mm: f64,
    },
    /// Several kinds of scale for one photo.
    #[error("{first} and {second} are given for one photo; give one kind of scale")]
    SeveralKinds {
        /// The one.
        first: String,
        /// The other.
        second: String,
    },
    /// The same kind given twice where once is meant.
    #[error("{spec} is given more than once; give it once (only points may be repeated)")]
    Repeated {
        /// What was repeated.
        spec: String,
    },
    /// No points at all.
    #[error("no points are given; give points:X1,Y1,X2,Y2=50mm")]
    NoPoints,
    /// A point that is not in the photo.
    #[error(
        "the point {x},{y} is not in the photo of {width} x {height} pixels; read the places off the upright photo"
    )]
    PointOutside {
        /// Across.
        x: f64,
        /// Down.
        y: f64,
        /// Photo's width.
        width: u32,
        /// Photo's height.
        height: u32,
    },
    /// Points too near each other.
    #[error(
        "the two points are only {span_px:.0} px apart, at least {least_px:.0} are needed; use a longer known distance"
    )]
    PointsTooClose {
        /// Their distance.
        span_px: f64,
        /// Least distance.
        least_px: f64,
    },
    /// Repeated points that contradict each other.
    #[error(
        "the points give {least:.5} and {most:.5} mm a pixel, more than {allowed_percent} % apart; click again, or put the camera square to the surface"
    )]
    PointsDisagree {
        /// Smallest scale.
        least: f64,
        /// Largest scale.
        most: f64,
        /// Most allowed.
        allowed_percent: f64,
    },
    /// A scale outside anything photographed by hand.
    #[error("{mm_per_px} mm a pixel is not between 0.0005 and 10; check the number and its unit")]
    ScaleUnlikely {
        /// Millimetres a pixel.
        mm_per_px: f64,
    },
    /// A kind of scale that is understood and not read yet.
    #[error(
        "{spec} is not yet read by this version; give points:X1,Y1,X2,Y2=50mm or pitch:0.083mm"
    )]
    NotYetRead {
        /// What was asked for.
        spec: String,
    },
}
