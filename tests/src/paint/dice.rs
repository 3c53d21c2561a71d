//! Random numbers that are the same on every machine and in every year.
//!
//! SplitMix64 (Steele, Lea, Flood: "Fast splittable pseudorandom number generators", 2014; constants
//! from memory, checked against the published first outputs for seed 1234567 below).

/// A stream of random numbers fixed by its seed.
#[derive(Clone, Debug)]
pub struct Dice {
    state: u64,
}

impl Dice {
    /// The stream of this seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// An independent stream for one purpose, so that adding a purpose leaves the others as they were.
    #[must_use]
    pub fn branch(&self, purpose: u64) -> Self {
        let mut dice = Self { state: self.state ^ purpose.wrapping_mul(0x9e37_79b9_7f4a_7c15) };
        dice.bits();
        Self { state: dice.bits() }
    }

    /// 64 random bits.
    pub const fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in 0..1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Uniform between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Uniform in the logarithm between two positive values.
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// A whole number from 0 to below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// Standard normal.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the test vector that circulates with the algorithm's reference code (from memory).
    #[test]
    fn first_outputs_are_the_published_ones() {
        let mut dice = Dice::new(1_234_567);
        assert_eq!(dice.bits(), 6_457_827_717_110_365_317);
        assert_eq!(dice.bits(), 3_203_168_211_198_807_973);
    }

    #[test]
    fn normal_has_unit_spread() {
        let mut dice = Dice::new(3);
        let n = 20_000;
        let all: Vec<f64> = (0..n).map(|_| dice.normal()).collect();
        let mean = all.iter().sum::<f64>() / f64::from(n);
        let variance = all.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / f64::from(n);
        assert!(mean.abs() < 0.03 && (variance - 1.0).abs() < 0.05, "{mean} {variance}");
    }
}
