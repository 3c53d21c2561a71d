//! Where an indication lies on the part's surface plane.
//!
//! Points are whole nanometres on the surface plane, in the scale's frame: x along the
//! scale's long side, y so that the frame is seen the same way round as in the photo
//! (y down, like the photo).

use crate::length::Length;

/// A point on the surface plane, whole nanometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Point {
    /// Along the scale's long side.
    pub x_nm: i64,
    /// Across it, down.
    pub y_nm: i64,
}

impl Point {
    /// From millimetres, rounded to the nearest nanometre; what lies beyond 1 000 m is cut to it, and
    /// what is no number counts as 0.
    #[must_use]
    pub fn from_mm(x_mm: f64, y_mm: f64) -> Self {
        Self { x_nm: coordinate(x_mm), y_nm: coordinate(y_mm) }
    }

    /// Millimetres along x.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most 1e12, exact in f64")]
    pub fn x_mm(self) -> f64 {
        self.x_nm as f64 / 1.0e6
    }

    /// Millimetres along y.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "at most 1e12, exact in f64")]
    pub fn y_mm(self) -> f64 {
        self.y_nm as f64 / 1.0e6
    }
}

#[expect(clippy::cast_possible_truncation, reason = "clamped to 1e12 before; NaN becomes 0")]
fn coordinate(mm: f64) -> i64 {
    (mm.clamp(-1.0e6, 1.0e6) * 1.0e6).round() as i64
}

/// The ground an indication covers.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "kebab-case")
)]
#[non_exhaustive]
pub enum Place {
    /// A measured outline: a closed polygon, first point not repeated.
    Outline(Vec<Point>),
    /// A typed indication: a stadium, `length` long in all along the angle, `width` across, round ends.
    Stadium {
        /// Middle of the stadium.
        centre: Point,
        /// Direction of its length, millionths of a degree, from x towards y.
        angle_udeg: i64,
        /// Overall length, round ends included.
        length: Length,
        /// Width.
        width: Length,
    },
}
