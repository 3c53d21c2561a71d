//! A field of numbers on a square grid over part of the surface plane, millimetres.

/// Values at the centres of square cells.
#[derive(Clone, Debug)]
pub struct Raster {
    /// Centre of the first cell, mm.
    pub origin_mm: [f64; 2],
    /// Cell side, mm.
    pub step_mm: f64,
    /// Cells along x.
    pub width: usize,
    /// Cells along y.
    pub height: usize,
    /// Row by row.
    pub values: Vec<f32>,
}

impl Raster {
    /// A field of one value over a box, mm.
    ///
    /// # Panics
    /// A box that would need more than 64 million cells: a painter's mistake.
    #[must_use]
    pub fn filled(low_mm: [f64; 2], high_mm: [f64; 2], step_mm: f64, value: f32) -> Self {
        let cells = |axis: usize| ((high_mm[axis] - low_mm[axis]) / step_mm).ceil() as usize + 1;
        let (width, height) = (cells(0), cells(1));
        assert!(width * height <= 64_000_000, "a field of {width} x {height} cells is too large");
        Self { origin_mm: low_mm, step_mm, width, height, values: vec![value; width * height] }
    }

    /// A field painted by a function of the place.
    #[must_use]
    pub fn painted(
        low_mm: [f64; 2],
        high_mm: [f64; 2],
        step_mm: f64,
        value: impl Fn([f64; 2]) -> f64,
    ) -> Self {
        let mut field = Self::filled(low_mm, high_mm, step_mm, 0.0);
        for i in 0..field.values.len() {
            field.values[i] = value(field.place(i % field.width, i / field.width)) as f32;
        }
        field
    }

    /// Centre of a cell, mm.
    #[must_use]
    pub fn place(&self, column: usize, row: usize) -> [f64; 2] {
        [
            self.origin_mm[0] + column as f64 * self.step_mm,
            self.origin_mm[1] + row as f64 * self.step_mm,
        ]
    }

    /// Last cell centre, mm.
    #[must_use]
    pub fn far_mm(&self) -> [f64; 2] {
        self.place(self.width - 1, self.height - 1)
    }

    /// Columns and rows whose centres lie in a box, clipped to the field: first and one past the last.
    #[must_use]
    pub fn cells_in(&self, low_mm: [f64; 2], high_mm: [f64; 2]) -> [[usize; 2]; 2] {
        let range = |axis: usize, count: usize| {
            let first = ((low_mm[axis] - self.origin_mm[axis]) / self.step_mm).ceil().max(0.0);
            let last = ((high_mm[axis] - self.origin_mm[axis]) / self.step_mm).floor() + 1.0;
            [(first as usize).min(count), (last.max(0.0) as usize).min(count)]
        };
        [range(0, self.width), range(1, self.height)]
    }

    /// The value between cell centres, bilinear; zero outside.
    #[must_use]
    pub fn at(&self, p: [f64; 2]) -> f64 {
        let x = (p[0] - self.origin_mm[0]) / self.step_mm;
        let y = (p[1] - self.origin_mm[1]) / self.step_mm;
        if x < 0.0 || y < 0.0 {
            return 0.0;
        }
        let (column, row) = (x as usize, y as usize);
        if column + 1 >= self.width || row + 1 >= self.height {
            return 0.0;
        }
        let (tx, ty) = ((x - column as f64) as f32, (y - row as f64) as f32);
        let i = row * self.width + column;
        let v = &self.values;
        let top = v[i] + (v[i + 1] - v[i]) * tx;
        let below = v[i + self.width] + (v[i + self.width + 1] - v[i + self.width]) * tx;
        f64::from(top + (below - top) * ty)
    }

    /// The same field blurred by a Gaussian of this standard deviation, mm; it grows by what the blur reaches.
    #[must_use]
    pub fn blurred(&self, sigma_mm: f64) -> Self {
        let reach = (4.0 * sigma_mm / self.step_mm).ceil() as usize;
        let weights: Vec<f32> = (0..=2 * reach)
            .map(|k| {
                let d = (k as f64 - reach as f64) * self.step_mm / sigma_mm;
                (-0.5 * d * d).exp() as f32
            })
            .collect();
        let sum: f32 = weights.iter().sum();
        let (width, height) = (self.width + 2 * reach, self.height + 2 * reach);
        let mut rows = vec![0.0_f32; width * self.height];
        for y in 0..self.height {
            for x in 0..self.width {
                let v = self.values[y * self.width + x];
                if v > 0.0 {
                    let out = &mut rows[y * width + x..y * width + x + weights.len()];
                    for (o, w) in out.iter_mut().zip(&weights) {
                        *o += v * w / sum;
                    }
                }
            }
        }
        let mut values = vec![0.0_f32; width * height];
        for y in 0..self.height {
            let source = &rows[y * width..(y + 1) * width];
            for (k, w) in weights.iter().enumerate() {
                let out = &mut values[(y + k) * width..(y + k + 1) * width];
                for (o, v) in out.iter_mut().zip(source) {
                    *o += v * w / sum;
                }
            }
        }
        let shift = reach as f64 * self.step_mm;
        let origin_mm = [self.origin_mm[0] - shift, self.origin_mm[1] - shift];
        Self { origin_mm, step_mm: self.step_mm, width, height, values }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blur_keeps_the_sum_and_adds_its_variance() {
        let mut field = Raster::filled([0.0, 0.0], [2.0, 2.0], 0.05, 0.0);
        let middle = field.width / 2;
        field.values[middle * field.width + middle] = 1.0;
        let soft = field.blurred(0.3);
        let (mut sum, mut second) = (0.0, 0.0);
        let centre = field.place(middle, middle);
        for i in 0..soft.values.len() {
            let p = soft.place(i % soft.width, i / soft.width);
            sum += f64::from(soft.values[i]);
            second += f64::from(soft.values[i]) * (p[0] - centre[0]).powi(2);
        }
        assert!((sum - 1.0).abs() < 1.0e-4, "{sum}");
        assert!((second - 0.09).abs() < 1.0e-3, "{second}");
    }
}
