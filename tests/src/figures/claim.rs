//! Stated values with their uncertainty beside the truth.

/// A length or a growth, mm.
#[derive(Clone, Copy, Debug)]
pub struct Claim {
    /// As found.
    pub mm: f64,
    /// Its expanded uncertainty.
    pub u_mm: f64,
    /// As painted.
    pub true_mm: f64,
}

/// A part of a whole; 0 of nothing.
#[must_use]
pub fn share(n: usize, of: usize) -> f64 {
    n as f64 / of.max(1) as f64
}

/// Number, median and 95 % of the error, median U, share of truths that U holds: the cells of a row.
#[must_use]
pub fn errors(claims: &[Claim]) -> String {
    let mut off: Vec<f64> = claims.iter().map(|c| (c.mm - c.true_mm).abs()).collect();
    let mut us: Vec<f64> = claims.iter().map(|c| c.u_mm).collect();
    off.sort_by(f64::total_cmp);
    us.sort_by(f64::total_cmp);
    let at = |list: &[f64], part: usize| list.get(list.len() * part / 100).copied();
    let cell = |value: Option<f64>| value.map_or("-".to_owned(), |v| format!("{v:.3}"));
    let held = claims.iter().filter(|c| (c.mm - c.true_mm).abs() <= c.u_mm).count();
    format!(
        "{:5}  {:>6}  {:>6}  {:>7}  {:6.3}",
        claims.len(),
        cell(at(&off, 50)),
        cell(at(&off, 95)),
        cell(at(&us, 50)),
        share(held, claims.len())
    )
}
