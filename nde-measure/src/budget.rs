//! The uncertainty of a value as the list of its sources, and the law that combines them.
//!
//! Sources are taken as independent. Law: JCGM 100:2008 (GUM), 5.1.2, first order; effective degrees
//! of freedom G.4.1 (Welch-Satterthwaite); a stated half width is rectangular, 4.3.7 (all from
//! memory; the worked example H.1 is a test).
//!
//! # Does not
//! Second-order terms: where a sensitivity vanishes at the estimate, the source must be entered with
//! the sensitivity it has near by.

/// Coverage factor of every stated uncertainty: about 95 % for a normal distribution.
pub const COVERAGE: f64 = 2.0;

/// How the values that a source may have are distributed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Distribution {
    /// Normal; stated as a standard deviation.
    Normal,
    /// All values within a half width alike; stated as that half width.
    Rectangular,
}

/// One source of uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Term {
    /// What it is, in plain words.
    pub name: &'static str,
    /// Standard deviation or half width, as the distribution says; never negative.
    pub stated: f64,
    /// Unit of `stated`, such as `mm`, `px` or `%`.
    pub unit: &'static str,
    /// Which of the two `stated` is.
    pub distribution: Distribution,
    /// Change of the result for a change of one unit.
    pub sensitivity: f64,
    /// Degrees of freedom behind `stated`; absent where it is taken as known.
    pub freedom: Option<f64>,
}

impl Term {
    /// A source stated by its standard deviation.
    #[must_use]
    pub const fn normal(name: &'static str, stated: f64, unit: &'static str) -> Self {
        let distribution = Distribution::Normal;
        Self { name, stated, unit, distribution, sensitivity: 1.0, freedom: None }
    }

    /// A source stated by the half width of a rectangular distribution.
    #[must_use]
    pub const fn rectangular(name: &'static str, stated: f64, unit: &'static str) -> Self {
        let distribution = Distribution::Rectangular;
        Self { name, stated, unit, distribution, sensitivity: 1.0, freedom: None }
    }

    /// With this change of the result for a change of one unit.
    #[must_use]
    pub const fn times(self, sensitivity: f64) -> Self {
        Self { sensitivity, ..self }
    }

    /// With degrees of freedom.
    #[must_use]
    pub const fn with_freedom(self, freedom: Option<f64>) -> Self {
        Self { freedom, ..self }
    }

    /// The same source of a result so many times as large: a share of a length becomes a length.
    #[must_use]
    pub const fn of(&self, size: f64) -> Self {
        Self {
            name: self.name,
            stated: self.stated,
            unit: self.unit,
            distribution: self.distribution,
            sensitivity: self.sensitivity * size,
            freedom: self.freedom,
        }
    }

    /// Standard uncertainty of the source, in its unit.
    #[must_use]
    pub fn standard(&self) -> f64 {
        match self.distribution {
            Distribution::Normal => self.stated,
            Distribution::Rectangular => self.stated / 3.0_f64.sqrt(),
        }
    }

    /// Standard uncertainty that it brings to the result, never negative.
    #[must_use]
    pub fn contribution(&self) -> f64 {
        (self.sensitivity * self.standard()).abs()
    }
}

/// Combined standard uncertainty.
#[must_use]
pub fn combined(terms: &[Term]) -> f64 {
    terms.iter().map(|t| t.contribution().powi(2)).sum::<f64>().sqrt()
}

/// Effective degrees of freedom; absent where every source is taken as known.
#[must_use]
pub fn freedom(terms: &[Term]) -> Option<f64> {
    let share = |t: &Term| t.freedom.map(|f| t.contribution().powi(4) / f);
    let sum: f64 = terms.iter().filter_map(share).sum();
    (sum > 0.0).then(|| combined(terms).powi(4) / sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_is_root_three_narrower_and_parts_add_in_squares() {
        let wide = Term::rectangular("a", 3.0_f64.sqrt() * 3.0, "mm");
        let tight = Term::normal("b", 2.0, "mm").times(-2.0);
        assert!((wide.contribution() - 3.0).abs() < 1e-12);
        assert!((combined(&[wide.clone(), tight]) - 5.0).abs() < 1e-12);
        assert!((wide.of(2.0).contribution() - 6.0).abs() < 1e-12);
    }

    #[test]
    fn what_is_taken_as_known_has_no_degrees_of_freedom() {
        let known = Term::normal("a", 3.0, "mm");
        assert_eq!(freedom(std::slice::from_ref(&known)), None);
        let seen = Term::normal("b", 4.0, "mm").with_freedom(Some(10.0));
        // 5^4 / (4^4 / 10)
        assert!((freedom(&[known, seen]).unwrap() - 24.414_062_5).abs() < 1e-9);
        assert!(combined(&[]).abs() < 1e-300);
    }
}
