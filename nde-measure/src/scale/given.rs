//! A scale that is stated and not seen: typed points, a typed pitch, a plane that other software knows.

use crate::PointPx;
use crate::budget::combined;
use crate::scale::error::ScaleError;
use crate::scale::found::{Scale, ScaleKind};
use crate::scale::plane::Plane;
use crate::scale::points::Square;
use crate::scale::terms;

impl Scale {
    /// A scale that the caller knows: the plane of the surface, such as a rig's own calibration, and how
    /// well lengths on it are known.
    ///
    /// `relative_u` is the relative standard uncertainty (k = 1) of a length on that plane, such as 0.005
    /// for half a per cent; what an unknown lens may distort within 20 mm is added to it. Whoever states a
    /// scale may state it for any photo: without a region of the coat
    /// ([`crate::MeasureOptions::region_px`]) the picture is never fit to accept.
    ///
    /// ```
    /// use nde_measure::{Plane, Scale};
    /// let seen = [[100.0, 100.0], [300.0, 100.0], [300.0, 200.0], [100.0, 200.0]];
    /// let known = [[0.0, 0.0], [20.0, 0.0], [20.0, 10.0], [0.0, 10.0]];
    /// let plane = Plane::through(&seen, &known).expect("four corners");
    /// assert!(Scale::given(plane.clone(), 0.005)?.relative_u >= 0.005);
    /// assert!(Scale::given(plane, f64::NAN).is_err());
    /// # Ok::<(), nde_measure::ScaleError>(())
    /// ```
    ///
    /// # Errors
    /// [`ScaleError::NoUncertainty`] where `relative_u` is not a share from 0 to 1.
    pub fn given(plane: Plane, relative_u: f64) -> Result<Self, ScaleError> {
        if !(0.0..=1.0).contains(&relative_u) {
            return Err(ScaleError::NoUncertainty { relative_u });
        }
        let terms = vec![terms::share("plane as given", relative_u)];
        Ok(seen_squarely(ScaleKind::Given, Square { plane, terms }, Vec::new()))
    }
}

/// A scale of which nothing is known but its plane and its uncertainty.
pub(crate) fn seen_squarely(kind: ScaleKind, square: Square, features_px: Vec<PointPx>) -> Scale {
    let outline_mm = features_px.iter().take(2).map(|p| square.plane.to_part(*p)).collect();
    Scale {
        kind,
        relative_u: terms::next_to(&square.terms, square.plane.bend),
        own_u: combined(&square.terms),
        fit_u: [0.0; 2],
        terms: square.terms,
        covers_px: Vec::new(),
        features_px,
        residual_px: None,
        tilt_deg: None,
        camera_distance_mm: None,
        pose: None,
        height: None,
        focal: None,
        rule: None,
        card: None,
        white_samples_px: Vec::new(),
        paper_px: Vec::new(),
        edge_sigma_px: None,
        edge_overshoot: None,
        doubts: Vec::new(),
        outline_mm,
        plane: square.plane,
        others: Vec::new(),
    }
}
