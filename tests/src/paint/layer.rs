//! Coloured layers on coat, metal or bench, and a quick way to find those over a place.

use super::pigment::{Rgb, absorption, reflectance};
use super::raster::Raster;

/// The ground a layer lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// The developer coat.
    Coat,
    /// Bare metal.
    Metal,
    /// The bench beside the part.
    Bench,
}

/// How a layer colours its ground.
#[derive(Clone, Copy, Debug)]
pub enum Ink {
    /// Adds absorption: the field is a load, this is the absorption of one unit of load.
    Stain(Rgb),
    /// Hides the ground: the field is the share hidden, this is the colour.
    Paint(Rgb),
}

/// One coloured layer.
#[derive(Clone, Debug)]
pub struct Layer {
    /// What it is, for the table of causes.
    pub name: &'static str,
    /// What it lies on.
    pub ground: Ground,
    /// Its colour.
    pub ink: Ink,
    /// Load or share over the place.
    pub field: Raster,
}

impl Layer {
    /// Whether it lies within this distance of a place, mm: more than a twentieth of its greatest value.
    #[must_use]
    pub fn near(&self, p: [f64; 2], distance_mm: f64) -> bool {
        let low = [p[0] - distance_mm, p[1] - distance_mm];
        let high = [p[0] + distance_mm, p[1] + distance_mm];
        let [columns, rows] = self.field.cells_in(low, high);
        let greatest = self.field.values.iter().copied().fold(0.0_f32, f32::max);
        (rows[0]..rows[1]).any(|row| {
            let line = &self.field.values[row * self.field.width..];
            line.get(columns[0]..columns[1]).is_some_and(|s| s.iter().any(|v| *v > greatest / 20.0))
        })
    }
}

/// Side of a bucket, mm.
const BUCKET_MM: f64 = 1.0;

/// Layers sorted into square buckets.
#[derive(Clone, Debug)]
pub struct Layers {
    all: Vec<Layer>,
    low_mm: [f64; 2],
    width: usize,
    height: usize,
    buckets: Vec<Vec<u16>>,
}

impl Layers {
    /// Sorts layers that lie in a box, mm.
    #[must_use]
    pub fn sorted(all: Vec<Layer>, low_mm: [f64; 2], high_mm: [f64; 2]) -> Self {
        let side = |axis: usize| ((high_mm[axis] - low_mm[axis]) / BUCKET_MM).ceil() as usize + 1;
        let (width, height) = (side(0), side(1));
        let mut layers =
            Self { all, low_mm, width, height, buckets: vec![Vec::new(); width * height] };
        for (number, layer) in layers.all.iter().enumerate() {
            for (i, value) in layer.field.values.iter().enumerate() {
                if *value > 1.0e-6 {
                    let p = layer.field.place(i % layer.field.width, i / layer.field.width);
                    let step = layer.field.step_mm;
                    // A cell's value reaches its neighbours' places.
                    for q in [[p[0] - step, p[1] - step], [p[0] + step, p[1] + step]] {
                        if let Some(bucket) = bucket_of(low_mm, width, height, q) {
                            let bucket = &mut layers.buckets[bucket];
                            if bucket.last() != Some(&(number as u16)) {
                                bucket.push(number as u16);
                            }
                        }
                    }
                }
            }
        }
        layers
    }

    /// Every layer.
    #[must_use]
    pub fn all(&self) -> &[Layer] {
        &self.all
    }

    /// The layers over a place.
    pub fn over(&self, p: [f64; 2]) -> impl Iterator<Item = &Layer> {
        let bucket = bucket_of(self.low_mm, self.width, self.height, p);
        let numbers = bucket.map_or(&[][..], |b| &self.buckets[b][..]);
        numbers.iter().map(|n| &self.all[usize::from(*n)])
    }

    /// Whether nothing lies near a place.
    #[must_use]
    pub fn bare(&self, p: [f64; 2]) -> bool {
        bucket_of(self.low_mm, self.width, self.height, p)
            .is_none_or(|b| self.buckets[b].is_empty())
    }

    /// A ground with everything that lies on it.
    #[must_use]
    pub fn colour(&self, ground: Ground, bare: Rgb, p: [f64; 2]) -> Rgb {
        let mut load = [0.0; 3];
        let mut paint: Option<(Rgb, f64)> = None;
        let mut stained = false;
        for layer in self.over(p).filter(|l| l.ground == ground) {
            let value = layer.field.at(p);
            if value <= 0.0 {
                continue;
            }
            match layer.ink {
                Ink::Stain(unit) => {
                    stained = true;
                    load = [0, 1, 2].map(|k| load[k] + value * unit[k]);
                }
                Ink::Paint(colour) => paint = Some((colour, value.min(1.0))),
            }
        }
        let mut colour = bare;
        if stained {
            colour =
                [0, 1, 2].map(|k| reflectance(absorption(bare[k].clamp(0.005, 0.995)) + load[k]));
        }
        if let Some((paint, share)) = paint {
            colour = [0, 1, 2].map(|k| colour[k] + (paint[k] - colour[k]) * share);
        }
        colour
    }
}

fn bucket_of(low: [f64; 2], width: usize, height: usize, p: [f64; 2]) -> Option<usize> {
    let (x, y) = ((p[0] - low[0]) / BUCKET_MM, (p[1] - low[1]) / BUCKET_MM);
    if x < 0.0 || y < 0.0 {
        return None;
    }
    let (x, y) = (x as usize, y as usize);
    (x < width && y < height).then_some(y * width + x)
}
