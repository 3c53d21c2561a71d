//! How long judging takes, and how it grows: `cargo bench -p nde-core`.
//!
//! Marks lie at random on a plate whose area grows with their number, so the density is the same at
//! every size. `rare` stays below the limits; `dense` breaks them in many places.

use std::hint::black_box;
use std::time::Instant;

use nde_core::{Indication, JudgeOptions, Length, Point, RuleSet, judge};

/// A small generator, so that every run sees the same marks.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: u64) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }
}

/// `count` round marks of 2 to 4 mm with `mm2_each` of plate for each.
fn marks(count: u64, mm2_each: u64) -> Vec<Indication> {
    let mut dice = Dice(count);
    let side_um = (count * mm2_each).isqrt() * 1000;
    (0..count)
        .map(|i| {
            let size = Length::from_um(2_000 + dice.roll(2_000));
            let mut place = || i64::try_from(dice.roll(side_um)).unwrap_or(0) * 1000;
            let at = Point { x_nm: place(), y_nm: place() };
            Indication::typed(&i.to_string(), size, size).at(at, 0)
        })
        .collect()
}

#[allow(clippy::print_stdout, reason = "a bench prints its figures")]
fn main() {
    println!("set, field, marks, milliseconds, verdict");
    for id in ["weld-vessel-si", "weld-level-2", "weld-power-piping-si2000"] {
        let rules = RuleSet::builtin(id).expect("it ships");
        for (field, mm2_each) in
            [("rare", 20_000), ("sparse", 2_000), ("medium", 600), ("dense", 60)]
        {
            for count in [100, 1_000, 2_000, 5_000, 10_000, 20_000] {
                let marks = marks(count, mm2_each);
                let start = Instant::now();
                let judged = judge(black_box(&marks), &rules, &JudgeOptions::default());
                let ms = start.elapsed().as_secs_f64() * 1000.0;
                let verdict =
                    judged.map_or_else(|e| e.to_string(), |j| j.verdict.word().to_owned());
                println!("{id}, {field}, {count}, {ms:.1}, {verdict}");
            }
        }
    }
}
