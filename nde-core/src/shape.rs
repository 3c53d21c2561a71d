//! Linear or rounded, and how sure.
//!
//! Whether length stands past a ratio of the width is asked of `q = length - ratio * width`, with
//! the rule set's own side for the tie. Typed sizes compare exactly, in whole nanometres.
//!
//! # Uncertainty of q
//! With `r` the ratio, an outline that lies outwards by `d` everywhere makes length and width both
//! `2 d` longer, so `q` moves by `2 (1 - r) d`. What is left of each edge uncertainty after that
//! shared shift belongs to length or width alone:
//!
//! ```text
//! own(x)^2 = max(0, edge(x)^2 - (2 u_d)^2)
//! u(q)^2   = (2 (1 - r) u_d)^2 + own(length)^2 + r^2 own(width)^2
//! P(linear) = Phi(q / u(q))
//! ```
//!
//! The error of the scale multiplies `q` as a whole, so it never changes its sign and takes no part.
//! Source: law of propagation, JCGM 100:2008 5.2 (correlated inputs; from memory).

use crate::doubt::{Doubt, Weight};
use crate::indication::{Indication, Shape};
use crate::length::{Length, Measured, Spread};
use crate::side::{Ratio, Side};

/// When an indication is linear.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LinearPast {
    /// Length over width.
    pub ratio: Ratio,
    /// [`Side::Over`]: linear past the ratio, a tie is rounded. [`Side::AtLeast`]: a tie is linear.
    pub side: Side,
}

/// What an indication's shape is called, and what else it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShapeCall {
    /// The shape to show. An indication whose width is only an upper bound is never shown rounded.
    pub best: Shape,
    /// Whether it may be linear.
    pub may_be_linear: bool,
    /// Whether it may be rounded.
    pub may_be_rounded: bool,
    /// Probability of linear, from the uncertainty of length and width; absent when typed, given by
    /// a person, or when a doubt says more than the uncertainty does.
    pub p_linear: Option<f64>,
}

impl ShapeCall {
    /// The one shape it can be; absent when both are possible.
    #[must_use]
    pub const fn certain(&self) -> Option<Shape> {
        match (self.may_be_linear, self.may_be_rounded) {
            (true, false) => Some(Shape::Linear),
            (false, true) => Some(Shape::Rounded),
            _ => None,
        }
    }

    /// Whether it may be `shape`.
    #[must_use]
    pub const fn may_be(&self, shape: Shape) -> bool {
        match shape {
            Shape::Linear => self.may_be_linear,
            Shape::Rounded => self.may_be_rounded,
        }
    }

    const fn only(shape: Shape) -> Self {
        Self {
            best: shape,
            may_be_linear: matches!(shape, Shape::Linear),
            may_be_rounded: matches!(shape, Shape::Rounded),
            p_linear: None,
        }
    }
}

/// Calls the shape of one indication.
///
/// `guard` is the number of standard uncertainties that `q` must stand clear of zero by to be
/// certain: 0 takes the measured value as it stands. A shape given by a person stands as given.
#[must_use]
pub fn call_shape(indication: &Indication, past: LinearPast, guard: f64) -> ShapeCall {
    if let Some(given) = indication.given_shape {
        return ShapeCall::only(given);
    }
    if indication.doubts.iter().any(|d| matches!(d, Doubt::Branched { .. })) {
        return ShapeCall::only(Shape::Linear);
    }
    let (length, width) = (&indication.length, &indication.width);
    let best = if past.side.catches(past.ratio.compare(length.value, width.value)) {
        Shape::Linear
    } else {
        Shape::Rounded
    };
    let mut call = ShapeCall::only(best);
    if let Some((q, u)) = q_and_u(length, width, indication.edge_shift, past.ratio) {
        call.p_linear = Some(phi(q / u));
        call.may_be_linear |= q + guard * u > 0.0;
        call.may_be_rounded |= q - guard * u < 0.0;
    }
    for doubt in &indication.doubts {
        let weight = doubt.weight();
        if matches!(doubt, Doubt::WidthIsUpperBound { .. }) {
            call.may_be_linear = true;
            call.best = Shape::Linear;
            call.p_linear = None;
        } else if matches!(weight, Weight::Shape | Weight::Unsized) {
            call.may_be_linear = true;
            call.may_be_rounded = true;
            call.p_linear = None;
        } else if weight == Weight::Longer {
            call.may_be_linear = true;
            call.p_linear = None;
        }
    }
    if length.spread == Spread::Unclaimed || width.spread == Spread::Unclaimed {
        call.may_be_linear = true;
        call.may_be_rounded = true;
        call.p_linear = None;
    }
    call
}

/// Length over width for eyes; absent without a width.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "lengths are at most 1e12 nm, exact in f64")]
pub fn length_over_width(length: Length, width: Length) -> Option<f64> {
    // Whole nanometres, so that 0.9 mm over 0.3 mm is 3 and not 2.999...
    (width > Length::ZERO).then(|| length.nm() as f64 / width.nm() as f64)
}

/// `q` and its standard uncertainty in millimetres; absent when typed or not claimed.
fn q_and_u(
    length: &Measured,
    width: &Measured,
    edge_shift: Option<Length>,
    ratio: Ratio,
) -> Option<(f64, f64)> {
    let edge = |m: &Measured| match m.spread {
        Spread::Standard { edge, .. } => Some(edge.mm()),
        Spread::Exact => Some(0.0),
        Spread::Unclaimed => None,
    };
    let (edge_l, edge_w) = (edge(length)?, edge(width)?);
    let shift = edge_shift.map_or(0.0, Length::mm);
    let own = |e: f64| (e * e - 4.0 * shift * shift).max(0.0);
    let r = ratio.value();
    let common = 2.0 * (1.0 - r) * shift;
    let u = (common * common + own(edge_l) + r * r * own(edge_w)).sqrt();
    let q = length.value.mm() - r * width.value.mm();
    (u > 0.0).then_some((q, u))
}

/// The normal distribution's share below `x`.
fn phi(x: f64) -> f64 {
    0.5 * libm::erfc(-x / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::indication::Relevance;

    const PAST_THREE: LinearPast =
        LinearPast { ratio: Ratio::new(3, 1).unwrap(), side: Side::Over };

    fn measured(mm: f64, edge: f64) -> Measured {
        let of = |x| Length::from_mm(x).unwrap();
        Measured { value: of(mm), spread: Spread::Standard { edge: of(edge), scale: of(0.02) } }
    }

    fn seen(length: Measured, width: Measured, shift: f64) -> Indication {
        Indication {
            id: "1".into(),
            length,
            width,
            path: None,
            edge_shift: Some(Length::from_mm(shift).unwrap()),
            place: None,
            given_shape: None,
            relevance: Relevance::NotYetCalled,
            label: None,
            doubts: vec![],
        }
    }

    fn typed(length: &str, width: &str) -> Indication {
        let exact = |t| Measured::exact(Length::parse_mm(t).unwrap());
        Indication { edge_shift: None, ..seen(exact(length), exact(width), 0.0) }
    }

    #[test]
    fn the_side_decides_the_tie_exactly() {
        let at_least = LinearPast { side: Side::AtLeast, ..PAST_THREE };
        for (l, w) in [("0.9", "0.3"), ("2.1", "0.7"), ("3", "1")] {
            assert_eq!(call_shape(&typed(l, w), PAST_THREE, 1.645).certain(), Some(Shape::Rounded));
            assert_eq!(call_shape(&typed(l, w), at_least, 1.645).certain(), Some(Shape::Linear));
        }
        let over = call_shape(&typed("3.000001", "1"), PAST_THREE, 1.645);
        assert_eq!(over.certain(), Some(Shape::Linear));
    }

    #[test]
    fn an_edge_shift_moves_q_four_times_as_far_at_ratio_three() {
        // edge = 2 u_d on both leaves nothing of their own: u(q) = 4 * 0.03 = 0.12.
        // q = 1.62 - 1.5 = 0.12, so P = Phi(1) = 0.841345 (normal tables).
        let call =
            call_shape(&seen(measured(1.62, 0.06), measured(0.5, 0.06), 0.03), PAST_THREE, 1.645);
        assert!((call.p_linear.unwrap() - 0.841_345).abs() < 1e-6);
        assert_eq!(call.certain(), None);
    }

    #[test]
    fn own_parts_add_with_the_ratio() {
        // No shared shift: u(q)^2 = 0.05^2 + 9 * 0.05^2, q = 0.1: Phi(0.632456) = 0.736455.
        let call =
            call_shape(&seen(measured(3.1, 0.05), measured(1.0, 0.05), 0.0), PAST_THREE, 1.645);
        assert!((call.p_linear.unwrap() - 0.736_455).abs() < 1e-6);
    }

    #[test]
    fn the_formula_holds_against_drawing_at_random() {
        // L = 3.1 + 2d + eL + scale, W = 1 + 2d + eW + scale; numbers drawn by a small generator.
        let (u_d, own, u_scale) = (0.02, 0.03, 0.01);
        let mut state = 7_u64;
        let mut uniform = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            f64::from(u32::try_from(state >> 32).unwrap()) / f64::from(u32::MAX)
        };
        // Sum of 12 uniforms less 6 is close to normal.
        let mut normal = || (0..12).map(|_| uniform()).sum::<f64>() - 6.0;
        let draws = 40_000;
        let linear = (0..draws)
            .filter(|_| {
                let d = u_d * normal();
                let scale = 1.0 + u_scale * normal();
                let length = (3.1 + 2.0 * d + own * normal()) * scale;
                let width = (1.0 + 2.0 * d + own * normal()) * scale;
                length > 3.0 * width
            })
            .count();
        let edge = (own * own + 4.0 * u_d * u_d).sqrt();
        let call =
            call_shape(&seen(measured(3.1, edge), measured(1.0, edge), u_d), PAST_THREE, 1.645);
        #[expect(clippy::cast_precision_loss, reason = "small counts")]
        let share = linear as f64 / f64::from(draws);
        assert!((share - call.p_linear.unwrap()).abs() < 0.01, "{share} {:?}", call.p_linear);
    }

    #[test]
    fn doubts_open_or_force_the_shape() {
        let round = || seen(measured(2.0, 0.02), measured(1.8, 0.02), 0.01);
        let with = |doubt| {
            let mut it = round();
            it.doubts.push(doubt);
            call_shape(&it, PAST_THREE, 1.645)
        };
        assert_eq!(call_shape(&round(), PAST_THREE, 1.645).certain(), Some(Shape::Rounded));
        assert_eq!(with(Doubt::Branched { branch_points: 3 }).certain(), Some(Shape::Linear));
        let narrow = with(Doubt::WidthIsUpperBound { width_mm: 1.8, least_mm: 2.0 });
        assert_eq!((narrow.certain(), narrow.best), (None, Shape::Linear));
        assert_eq!(with(Doubt::TooSmallToClassify).certain(), None);
        assert_eq!(with(Doubt::CutByPhoto).certain(), None);
        let mut given = round();
        given.given_shape = Some(Shape::Linear);
        assert_eq!(call_shape(&given, PAST_THREE, 1.645).certain(), Some(Shape::Linear));
    }
}
