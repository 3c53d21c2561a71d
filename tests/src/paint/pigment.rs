//! How a coloured layer looks: Kubelka-Munk for a thick scattering layer.
//!
//! R = 1 + k - sqrt(k^2 + 2 k), k the ratio of absorption to scattering; pigments add their k.
//! Source: P. Kubelka, F. Munk, "Ein Beitrag zur Optik der Farbanstriche", 1931 (from memory).

/// Linear-light reflectance or absorption of the red, green and blue channel.
pub type Rgb = [f64; 3];

/// Reflectance of a layer with this ratio of absorption to scattering.
#[must_use]
pub fn reflectance(k: f64) -> f64 {
    1.0 + k - (k * k + 2.0 * k).sqrt()
}

/// The ratio of absorption to scattering behind a reflectance in 0..1.
#[must_use]
pub fn absorption(reflectance: f64) -> f64 {
    (1.0 - reflectance).powi(2) / (2.0 * reflectance)
}

/// The dye load that takes away this share of the green light of a ground.
#[must_use]
pub fn load_for_loss(ground_green: f64, loss: f64) -> f64 {
    absorption(ground_green * (1.0 - loss)) - absorption(ground_green)
}

/// Share of green light lost to a dye load on a ground, 0 to 1.
#[must_use]
pub fn green_loss(ground_green: f64, load: f64) -> f64 {
    1.0 - reflectance(absorption(ground_green) + load) / ground_green
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reflectance_and_absorption_are_inverses() {
        for r in [0.03, 0.2, 0.5, 0.85, 0.999] {
            assert!((reflectance(absorption(r)) - r).abs() < 1.0e-12);
        }
        // By hand: k = 1 gives 2 - sqrt(3).
        assert!((reflectance(1.0) - 0.267_949_192).abs() < 1.0e-8);
    }

    #[test]
    fn load_gives_back_the_loss_it_was_made_for() {
        for loss in [0.14, 0.23, 0.42, 0.9] {
            let load = load_for_loss(0.85, loss);
            assert!((green_loss(0.85, load) - loss).abs() < 1.0e-12);
        }
    }
}
