//! Tiles of smooth random texture: powder, clouds, brushed metal.

use super::dice::Dice;

/// Texture cells along one side of a tile; a power of two so that wrapping is a mask.
const SIDE: usize = 512;

/// A texture that repeats every `SIDE` cells, mean 0, standard deviation 1.
#[derive(Clone, Debug)]
pub struct Grain {
    cells: Vec<f32>,
}

impl Grain {
    /// Fine grain: blobs of about two cells, without larger structure.
    #[must_use]
    pub fn powder(dice: &mut Dice) -> Self {
        let white: Vec<f32> = (0..SIDE * SIDE).map(|_| dice.normal() as f32).collect();
        let kernel = [0.054_f32, 0.244, 0.404, 0.244, 0.054];
        let along = |source: &[f32], dx: usize, dy: usize| -> Vec<f32> {
            (0..SIDE * SIDE)
                .map(|i| {
                    let (x, y) = (i % SIDE, i / SIDE);
                    kernel
                        .iter()
                        .enumerate()
                        .map(|(k, w)| {
                            let xx = (x + SIDE + k * dx - 2 * dx) & (SIDE - 1);
                            let yy = (y + SIDE + k * dy - 2 * dy) & (SIDE - 1);
                            w * source[yy * SIDE + xx]
                        })
                        .sum()
                })
                .collect()
        };
        let rows = along(&white, 1, 0);
        Self { cells: along(&rows, 0, 1) }.levelled()
    }

    /// Clouds: octaves from a quarter tile down to four cells, each half as strong as the one before.
    #[must_use]
    pub fn clouds(dice: &mut Dice) -> Self {
        let mut cells = vec![0.0_f32; SIDE * SIDE];
        let mut weight = 1.0_f32;
        for nodes in [4_usize, 8, 16, 32, 64, 128] {
            let lattice: Vec<f32> = (0..nodes * nodes).map(|_| dice.normal() as f32).collect();
            let per_node = SIDE / nodes;
            for (i, cell) in cells.iter_mut().enumerate() {
                let (x, y) = (i % SIDE, i / SIDE);
                let ease = |at: usize| {
                    let t = (at % per_node) as f32 / per_node as f32;
                    t * t * (3.0 - 2.0 * t)
                };
                let (fx, fy) = (ease(x), ease(y));
                let node = |dx: usize, dy: usize| {
                    lattice[((y / per_node + dy) % nodes) * nodes + (x / per_node + dx) % nodes]
                };
                let top = node(0, 0) + (node(1, 0) - node(0, 0)) * fx;
                let bottom = node(0, 1) + (node(1, 1) - node(0, 1)) * fx;
                *cell += weight * (top + (bottom - top) * fy);
            }
            weight *= 0.5;
        }
        Self { cells }.levelled()
    }

    fn levelled(mut self) -> Self {
        let n = self.cells.len() as f64;
        let mean = self.cells.iter().map(|v| f64::from(*v)).sum::<f64>() / n;
        let variance = self.cells.iter().map(|v| (f64::from(*v) - mean).powi(2)).sum::<f64>() / n;
        let scale = 1.0 / variance.sqrt();
        for cell in &mut self.cells {
            *cell = ((f64::from(*cell) - mean) * scale) as f32;
        }
        self
    }

    /// The texture at a place given in cells.
    #[must_use]
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let (fx, fy) = (x.floor(), y.floor());
        let (tx, ty) = ((x - fx) as f32, (y - fy) as f32);
        let mask = SIDE - 1;
        let (x0, y0) = ((fx as i64 as usize) & mask, (fy as i64 as usize) & mask);
        let (x1, y1) = ((x0 + 1) & mask, (y0 + 1) & mask);
        let [a, b] = [self.cells[y0 * SIDE + x0], self.cells[y0 * SIDE + x1]];
        let [c, d] = [self.cells[y1 * SIDE + x0], self.cells[y1 * SIDE + x1]];
        let top = a + (b - a) * tx;
        f64::from(top + (c + (d - c) * tx - top) * ty)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_join_without_a_seam() {
        for tile in [Grain::powder(&mut Dice::new(1)), Grain::clouds(&mut Dice::new(2))] {
            let side = SIDE as f64;
            for y in [0.3, 77.0, 511.9] {
                let step = (tile.at(side - 1.0e-6, y) - tile.at(1.0e-6, y)).abs();
                assert!(step < 1.0e-3, "{step}");
                let far = tile.at(-3.0 * side + 5.25, y) - tile.at(5.25, y);
                assert!(far.abs() < 1.0e-5, "{far}");
            }
        }
    }
}
