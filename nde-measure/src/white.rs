//! The coat's local white: what each channel would read without dye.
//!
//! Light falls off and changes colour over a part, so white is local. Large, smooth light is a
//! quadratic surface, fitted robustly; what remains is a Gaussian mean of 3 mm over coat that is
//! not itself stained. Stained cells take no part, so that a wide indication does not become its
//! own white; where a whole neighbourhood is stained the quadratic surface stands alone.

pub(crate) use crate::photo::median;
use crate::photo::{Cells, Mask, Raster};
use nalgebra::{Matrix6, Vector6};

/// How the local white is found.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct WhiteOptions {
    /// Standard deviation of the local mean, mm. Smaller follows the light closer, but lets wide
    /// stains pull their own white.
    pub sigma_mm: f64,
    /// A cell redder or greener than its white by this much takes no part (difference of ln).
    pub least_stain: f64,
    /// Cells this near to a stained one take no part either, mm.
    pub margin_mm: f64,
    /// Rounds of fitting and leaving out.
    pub rounds: usize,
}

impl Default for WhiteOptions {
    fn default() -> Self {
        Self { sigma_mm: 3.0, least_stain: 0.05, margin_mm: 0.3, rounds: 3 }
    }
}

/// Local white on the cells, as logarithms of light.
#[derive(Clone, Debug)]
pub(crate) struct White {
    /// ln red.
    pub(crate) red: Raster,
    /// ln red - ln green.
    pub(crate) red_green: Raster,
    /// ln blue - ln green.
    pub(crate) blue_green: Raster,
    /// One over the light of red, green and blue.
    pub(crate) over: [Raster; 3],
    /// Cells that took part: coat without stain.
    pub(crate) clean: Mask,
}

impl White {
    pub(crate) fn of(cells: &Cells, coat: &Mask, cell_mm: f64, options: &WhiteOptions) -> Self {
        let redness = cells.against_green(0);
        let sigma = options.sigma_mm / cell_mm;
        let mut clean = coat.clone();
        for (yes, &lost) in clean.data.iter_mut().zip(&cells.lost.data) {
            *yes &= lost < 0.1;
        }
        let usable = clean.clone();
        // Median first: a tenth of the coat may be stained.
        let mut white =
            Raster::filled(cells.width(), cells.height(), median_where(&redness, &clean));
        let mut round = 0;
        let ground = loop {
            let noise = 1.4826 * f64::from(mad_where(&redness, &white, &clean));
            // The first rounds know the light only roughly.
            let allowed =
                (3.5 * noise).max(options.least_stain) * if round == 0 { 3.0 } else { 1.0 };
            let mut stained = Mask::empty(clean.width, clean.height);
            for (i, yes) in stained.data.iter_mut().enumerate() {
                *yes =
                    usable.data[i] && f64::from((redness.data[i] - white.data[i]).abs()) > allowed;
            }
            let stained = stained.grown(options.margin_mm / cell_mm);
            for (i, yes) in clean.data.iter_mut().enumerate() {
                *yes = usable.data[i] && !stained.data[i];
            }
            let ground = Ground::of(clean, sigma);
            white = ground.local_mean(&redness);
            round += 1;
            if round >= options.rounds {
                break ground;
            }
            clean = ground.clean;
        };
        let blueness = cells.against_green(2);
        let (red, blue_green) = (ground.local_mean(&cells.ln[0]), ground.local_mean(&blueness));
        let mut over = [red.clone(), red.clone(), red.clone()];
        for (i, &ln_red) in red.data.iter().enumerate() {
            let ln_green = ln_red - white.data[i];
            let of = [ln_red, ln_green, ln_green + blue_green.data[i]];
            over.iter_mut().zip(of).for_each(|(over, ln)| over.data[i] = (-ln).exp());
        }
        Self { red, red_green: white, blue_green, over, clean: ground.clean }
    }

    /// The same where the ground `burnt` is: what is white there is what the camera makes of too much light, no colour
    /// and all of the light, whatever the colour of the light that falls on the coat around.
    pub(crate) fn burnt_out_at(mut self, burnt: &Mask) -> Self {
        for i in (0..burnt.data.len()).filter(|&i| burnt.data[i]) {
            self.red.data[i] = 0.0;
            self.red_green.data[i] = 0.0;
            self.blue_green.data[i] = 0.0;
            self.over.iter_mut().for_each(|over| over.data[i] = 1.0);
        }
        self
    }
}

/// The clean cells, and what any field over them needs.
struct Ground {
    clean: Mask,
    sigma: f64,
    /// Share of clean cells around each cell.
    weight: Raster,
    /// Sums of products of the surface's terms over clean cells.
    normal: Matrix6<f64>,
}

/// The six terms of a quadratic surface as powers of u and v: 1, u, v, u u, u v, v v.
const POWERS: [[usize; 2]; 6] = [[0, 0], [1, 0], [0, 1], [2, 0], [1, 1], [0, 2]];

impl Ground {
    fn of(clean: Mask, sigma: f64) -> Self {
        let mut weight = Raster::filled(clean.width, clean.height, 0.0);
        for (w, _) in weight.data.iter_mut().zip(&clean.data).filter(|(_, yes)| **yes) {
            *w = 1.0;
        }
        let mut moments = [[0.0_f64; 5]; 5];
        let places = Places::of(&clean);
        for y in 0..clean.height {
            let mut row = [0.0_f64; 5];
            places.each_in_row(y, &clean, |_, u| {
                let mut power = 1.0;
                for r in &mut row {
                    *r += power;
                    power *= u;
                }
            });
            let v = places.of_row(y);
            for (p, r) in row.iter().enumerate() {
                for (q, m) in moments[p].iter_mut().enumerate() {
                    *m += r * v.powi(q as i32);
                }
            }
        }
        let normal = Matrix6::from_fn(|i, j| {
            moments[POWERS[i][0] + POWERS[j][0]][POWERS[i][1] + POWERS[j][1]]
        });
        Self { clean, sigma, weight: weight.widely_blurred(sigma), normal }
    }

    /// Quadratic surface plus local mean of what it leaves.
    fn local_mean(&self, field: &Raster) -> Raster {
        let surface = self.quadratic(field);
        let mut weighted = Raster::filled(field.width, field.height, 0.0);
        for (i, v) in weighted.data.iter_mut().enumerate() {
            if self.clean.data[i] {
                *v = field.data[i] - surface.data[i];
            }
        }
        let weighted = weighted.widely_blurred(self.sigma);
        let mut out = surface;
        for (i, v) in out.data.iter_mut().enumerate() {
            // A neighbourhood with hardly a clean cell keeps the surface.
            *v += weighted.data[i] / (self.weight.data[i] + 0.02);
        }
        out
    }

    /// Least-squares quadratic surface through the clean cells.
    fn quadratic(&self, field: &Raster) -> Raster {
        let (w, h) = (field.width, field.height);
        let places = Places::of(&self.clean);
        let mut right = Vector6::zeros();
        for y in 0..h {
            let mut row = [0.0_f64; 3];
            places.each_in_row(y, &self.clean, |x, u| {
                let value = f64::from(field.at(x, y));
                row[0] += value;
                row[1] += value * u;
                row[2] += value * u * u;
            });
            let v = places.of_row(y);
            for (r, [p, q]) in right.iter_mut().zip(POWERS) {
                *r += row[p] * v.powi(q as i32);
            }
        }
        // A little of "flat" keeps a narrow coat from bending the surface far outside it.
        let mut normal = self.normal;
        let count = normal[(0, 0)];
        let ridge = 1e-3 * count;
        let mean = if count > 0.0 { right[0] / count } else { 0.0 };
        let mut centred = right - normal.column(0) * mean;
        for k in 1..6 {
            normal[(k, k)] += ridge;
        }
        normal[(0, 0)] += 1e-9;
        centred = normal.cholesky().map_or_else(Vector6::zeros, |c| c.solve(&centred));
        let mut out = Raster::filled(w, h, 0.0);
        for (y, row) in out.data.chunks_exact_mut(w.max(1)).enumerate() {
            let v = places.of_row(y);
            let [a, b, c] = [
                mean + centred[0] + v * (centred[2] + v * centred[5]),
                centred[1] + v * centred[4],
                centred[3],
            ];
            for (x, o) in row.iter_mut().enumerate() {
                let u = places.of_column(x);
                *o = (a + u * (b + u * c)) as f32;
            }
        }
        out
    }
}

/// Cells as places from -1 to 1 along the longer side; every other cell is looked at, as on a chessboard.
#[derive(Clone, Copy)]
struct Places {
    scale: f64,
}

impl Places {
    fn of(mask: &Mask) -> Self {
        Self { scale: 2.0 / mask.width.max(mask.height) as f64 }
    }

    fn of_row(self, y: usize) -> f64 {
        y as f64 * self.scale - 1.0
    }

    fn of_column(self, x: usize) -> f64 {
        x as f64 * self.scale - 1.0
    }

    fn each_in_row(self, y: usize, clean: &Mask, mut see: impl FnMut(usize, f64)) {
        let row = &clean.data[y * clean.width..(y + 1) * clean.width];
        for (x, _) in row.iter().enumerate().skip(y % 2).step_by(2).filter(|(_, yes)| **yes) {
            see(x, self.of_column(x));
        }
    }
}

fn median_where(field: &Raster, clean: &Mask) -> f32 {
    median(field.data.iter().zip(&clean.data).filter(|(_, yes)| **yes).map(|(v, _)| *v).collect())
}

/// Median absolute difference from `white` over the clean cells.
fn mad_where(field: &Raster, white: &Raster, clean: &Mask) -> f32 {
    let values = (0..field.data.len())
        .filter(|&i| clean.data[i])
        .map(|i| (field.data[i] - white.data[i]).abs())
        .collect();
    median(values)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::Grid;

    /// A coat of 200 x 150 cells of 0.3 mm under slanting, slightly coloured light, with a stain.
    fn scene(stain_cells: f64) -> (Cells, Mask, Raster) {
        let (w, h) = (200, 150);
        let mut ln = [(); 3].map(|()| Raster::filled(w, h, 0.0));
        let mut truth = Raster::filled(w, h, 0.0);
        for y in 0..h {
            for x in 0..w {
                let (u, v) = (x as f32 / 200.0, y as f32 / 150.0);
                let cast = 0.12 * u - 0.05 * v * v;
                let inside = (x as f64 - 90.0).hypot(y as f64 - 70.0) < stain_cells;
                let i = y * w + x;
                ln[0].data[i] = 0.4 * v - 0.5;
                ln[1].data[i] = ln[0].data[i] - cast - if inside { 1.0 } else { 0.0 };
                ln[2].data[i] = ln[1].data[i];
                truth.data[i] = cast;
            }
        }
        let mut coat = Mask::empty(w, h);
        coat.data.fill(true);
        (
            Cells { grid: Grid { x0: 0, y0: 0, side: 3 }, ln, lost: Raster::filled(w, h, 0.0) },
            coat,
            truth,
        )
    }

    #[test]
    fn a_ten_millimetre_stain_does_not_become_its_own_white() {
        let (cells, coat, truth) = scene(16.0);
        let white = White::of(&cells, &coat, 0.3, &WhiteOptions::default());
        let worst = (0..truth.data.len())
            .map(|i| (white.red_green.data[i] - truth.data[i]).abs())
            .fold(0.0, f32::max);
        assert!(worst < 0.01, "worst error of ln white {worst}");
    }
}
