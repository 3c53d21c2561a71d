//! Where two black and two white squares meet, to a small part of a pixel.
//!
//! Two steps. First every grey gradient near the meeting point of straight edges stands square to
//! the line towards the point: a weighted least-squares solution that pulls from several pixels
//! away, but stays short of the point where the edges are blurred over much of the window. (Source
//! of the principle: Förstner and Gülch, ISPRS Intercommission Conference, 1987, from memory.)
//! Then the pattern is point-symmetric whatever the blur, the tone curve, the view and the ink
//! spread, so the place is moved until the picture turned by 180 degrees about it agrees with itself.

use crate::{Photo, PointPx};

/// Smallest and largest radius of the window, pixels. Chosen: below 3 px too few gradients, beyond
/// 11 px nothing is gained at 2 px blur.
const RADIUS: [f64; 2] = [3.0, 11.0];

/// A meeting point as found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Meeting {
    pub(crate) at: PointPx,
    /// How much the picture and itself turned by 180 degrees still differ: root mean square, as a
    /// share of the scatter of the levels in the window. Noise makes it some hundredths; a covered
    /// or glaring part more.
    pub(crate) disagreement: f64,
}

/// Refines a meeting point near `start`, with nothing but the four squares inside `clear_px`.
///
/// None if the window leaves the photo, the square grid is not seen there, or the point runs away.
pub(crate) fn refine(photo: &Photo, start: PointPx, clear_px: f64) -> Option<Meeting> {
    let radius = clear_px.clamp(RADIUS[0], RADIUS[1]);
    let mut at = start;
    let near = |at: PointPx| (at[0] - start[0]).hypot(at[1] - start[1]) <= radius;
    for _ in 0..6 {
        let next = by_gradients(photo, at, radius)?;
        let moved = (next[0] - at[0]).hypot(next[1] - at[1]);
        at = next;
        if !near(at) {
            return None;
        }
        if moved < 0.05 {
            break;
        }
    }
    for _ in 0..15 {
        let ([dx, dy], disagreement) = by_symmetry(photo, at, radius)?;
        // Beyond a pixel the linear step is not to be trusted.
        let shorten = 1.0 / dx.hypot(dy).max(1.0);
        at = [at[0] + shorten * dx, at[1] + shorten * dy];
        if !near(at) {
            return None;
        }
        if dx.hypot(dy) < 2e-3 {
            return Some(Meeting { at, disagreement });
        }
    }
    None
}

/// The green channel around a place; none where it leaves the photo.
struct Around<'a> {
    bytes: &'a [u8],
    width: usize,
    columns: std::ops::Range<usize>,
    rows: std::ops::Range<usize>,
}

impl<'a> Around<'a> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the window was checked to lie inside the photo"
    )]
    fn of(photo: &'a Photo, at: PointPx, radius: f64) -> Option<Self> {
        let rgb = photo.rgb();
        // Room for differences and for sampling between pixels, on the far side as well.
        let room = radius + 3.0;
        let low = at.map(|v| v - room);
        let high = at.map(|v| v + room);
        let inside = low[0] >= 0.0
            && low[1] >= 0.0
            && high[0] <= f64::from(rgb.width())
            && high[1] <= f64::from(rgb.height());
        inside.then(|| Self {
            bytes: rgb.as_raw(),
            width: rgb.width() as usize,
            columns: low[0] as usize + 2..high[0] as usize - 1,
            rows: low[1] as usize + 2..high[1] as usize - 1,
        })
    }

    fn level(&self, x: usize, y: usize) -> f64 {
        f64::from(self.bytes[(y * self.width + x) * 3 + 1])
    }

    fn gradient(&self, x: usize, y: usize) -> [f64; 2] {
        [
            (self.level(x + 1, y) - self.level(x - 1, y)) / 2.0,
            (self.level(x, y + 1) - self.level(x, y - 1)) / 2.0,
        ]
    }

    /// Pixels within the radius: index, offset from `at`, and a weight that fades to nothing at the
    /// rim, so that moving the window by parts of a pixel is smooth.
    fn pixels(
        &self,
        at: PointPx,
        radius: f64,
    ) -> impl Iterator<Item = (usize, usize, [f64; 2], f64)> {
        let columns = self.columns.clone();
        self.rows.clone().flat_map(move |y| {
            columns.clone().filter_map(move |x| {
                let d = [x as f64 + 0.5 - at[0], y as f64 + 0.5 - at[1]];
                let near = 1.0 - (d[0] * d[0] + d[1] * d[1]) / (radius * radius);
                (near > 0.0).then_some((x, y, d, near * near))
            })
        })
    }

    /// Level between pixel centres, by the cubic through four (Catmull and Rom, 1974, from memory):
    /// a straight-line mean would blur the one side more than the other.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the place is the mirror of one inside the window"
    )]
    fn between(&self, place: PointPx) -> f64 {
        let [x, y] = place.map(|v| v - 0.5);
        let (left, top) = (x as usize, y as usize);
        let cubic = |t: f64, p: [f64; 4]| {
            let [a, b, c, d] = p;
            b + t / 2.0
                * (c - a + t * (2.0 * a - 5.0 * b + 4.0 * c - d + t * (3.0 * (b - c) + d - a)))
        };
        let row = |dy: usize| {
            let y = top + dy - 1;
            cubic(x - left as f64, [0, 1, 2, 3].map(|dx| self.level(left + dx - 1, y)))
        };
        cubic(y - top as f64, [row(0), row(1), row(2), row(3)])
    }
}

/// How far to move for the best agreement with the picture turned by 180 degrees.
fn by_symmetry(photo: &Photo, at: PointPx, radius: f64) -> Option<(PointPx, f64)> {
    let around = Around::of(photo, at, radius)?;
    let (mut xx, mut xy, mut yy, mut bx, mut by) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let (mut weight, mut sum, mut squares, mut off) = (0.0, 0.0, 0.0, 0.0);
    for (x, y, d, w) in around.pixels(at, radius) {
        let [gx, gy] = around.gradient(x, y);
        let level = around.level(x, y);
        let differs = level - around.between([at[0] - d[0], at[1] - d[1]]);
        weight += w;
        sum += w * level;
        squares += w * level * level;
        off += w * differs * differs;
        xx += w * gx * gx;
        xy += w * gx * gy;
        yy += w * gy * gy;
        bx += w * gx * differs;
        by += w * gy * differs;
    }
    let det = two_directions(xx, xy, yy)?;
    // Moving the place by one moves its mirror by two against the pixel.
    let scatter = (squares / weight - (sum / weight).powi(2)).max(f64::MIN_POSITIVE);
    let step = [(xy * by - yy * bx) / (2.0 * det), (xy * bx - xx * by) / (2.0 * det)];
    Some((step, (off / weight / scatter).sqrt()))
}

/// Determinant of the gradients' square sums, if they carry edges in both directions: the weaker at
/// least a twentieth of the stronger (chosen; squares seen at 60 degrees still give a fifth).
fn two_directions(xx: f64, xy: f64, yy: f64) -> Option<f64> {
    let det = xx * yy - xy * xy;
    let trace = xx + yy;
    (trace > 0.0 && det / (trace * trace) > 0.045).then_some(det)
}

fn by_gradients(photo: &Photo, at: PointPx, radius: f64) -> Option<PointPx> {
    let around = Around::of(photo, at, radius)?;
    let (mut xx, mut xy, mut yy, mut bx, mut by) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (x, y, [dx, dy], w) in around.pixels(at, radius) {
        let [gx, gy] = around.gradient(x, y);
        xx += w * gx * gx;
        xy += w * gx * gy;
        yy += w * gy * gy;
        bx += w * (gx * gx * dx + gx * gy * dy);
        by += w * (gx * gy * dx + gy * gy * dy);
    }
    let det = two_directions(xx, xy, yy)?;
    Some([at[0] + (yy * bx - xy * by) / det, at[1] + (xx * by - xy * bx) / det])
}

#[cfg(test)]
mod tests {
    #![expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "painted levels are within a byte"
    )]
    use super::*;

    /// Four squares meeting at `at`, turned, each pixel the mean of 15 x 15 points.
    fn meeting(at: PointPx, angle_deg: f64, blur_px: f64) -> Photo {
        let (s, c) = angle_deg.to_radians().sin_cos();
        // A logistic step stands for the blurred edge: independent of how the reader works.
        let soft = |d: f64| 1.0 / (1.0 + (-d / (0.55 * blur_px)).exp());
        Photo::from_rgb(image::RgbImage::from_fn(48, 48, |x, y| {
            let mut sum = 0.0;
            for i in 0..225 {
                let px = f64::from(x) + (f64::from(i % 15) + 0.5) / 15.0 - at[0];
                let py = f64::from(y) + (f64::from(i / 15) + 0.5) / 15.0 - at[1];
                let (u, v) = (soft(c * px + s * py), soft(c * py - s * px));
                sum += u * v + (1.0 - u) * (1.0 - v);
            }
            let level = 40.0 + 170.0 * sum / 225.0;
            image::Rgb([0, level.round() as u8, 0])
        }))
    }

    /// Pins the convention as well: the first pixel covers 0..1.
    #[test]
    fn the_meeting_point_is_found_to_two_hundredths_of_a_pixel() {
        for (at, angle) in [([24.0, 24.0], 0.0), ([23.31, 24.87], 12.0), ([24.5, 23.2], 45.0)] {
            for blur in [0.4, 1.0, 2.0] {
                let photo = meeting(at, angle, blur);
                let found = refine(&photo, [at[0] + 2.1, at[1] - 1.4], 9.0).unwrap().at;
                let off = (found[0] - at[0]).hypot(found[1] - at[1]);
                assert!(off < 0.02, "off by {off} px at {at:?}, {angle} deg, blur {blur}");
            }
        }
    }

    #[test]
    fn plain_ground_and_single_edges_are_refused() {
        let plain = Photo::from_rgb(image::RgbImage::from_pixel(48, 48, image::Rgb([90; 3])));
        assert_eq!(refine(&plain, [24.0, 24.0], 9.0), None);
        let edge = Photo::from_rgb(image::RgbImage::from_fn(48, 48, |x, _| {
            image::Rgb([if x < 24 { 30 } else { 200 }; 3])
        }));
        assert_eq!(refine(&edge, [24.0, 24.0], 9.0), None);
        assert_eq!(refine(&plain, [1.0, 24.0], 9.0), None);
        assert_eq!(refine(&plain, [f64::NAN, 24.0], 9.0), None);
    }
}
