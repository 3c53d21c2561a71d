//! The sub-pixel outline of each indication in a red region, at half contrast.
//!
//! Outlines lie on green reflectance, not on redness: green carries a JPEG's full resolution and
//! lens blur is linear in it, so half height stays in place under blur. Redness only says where
//! to look. One region may hold several bodies (marks that touch through their skirts, marks in
//! a pink area): each starts at the highest contrast not yet explained and reaches down to half
//! way between its own peak and the ground around it.

use crate::PointPx;
use crate::contour::level_lines;
use crate::photo::{Grid, Mask, Photo, Raster, ln_of_srgb};
use crate::redness::{Redness, Window, white_row};
use crate::regions::Area;
use crate::size::area_and_centroid;
use crate::white::{White, median};

/// How outlines are drawn.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct OutlineOptions {
    /// Share of the contrast at which the outline lies.
    pub level: f64,
    /// Share at which the visible extent lies.
    pub visible_level: f64,
    /// Standard deviation of the smoothing of green before the outline is drawn, pixels.
    pub smoothing_px: f64,
    /// The ground is read in a ring from `ring_mm[0]` to `ring_mm[1]` outside the body.
    pub ring_mm: [f64; 2],
    /// A mark of less contrast than this may be broken by powder grain; its pieces are joined where
    /// the dip between them is no deeper than the grain.
    pub bridged_contrast: f64,
    /// Redness that stays within this of a stronger body's outline is its halo, mm.
    pub halo_mm: f64,
    /// A body explains the redness this far around it, mm.
    pub skirt_mm: f64,
    /// Share of a body's pixels that are brighter than its peak (its peak is that percentile).
    pub peak_share: f64,
}

impl Default for OutlineOptions {
    fn default() -> Self {
        Self {
            level: 0.5,
            visible_level: 0.3,
            smoothing_px: 0.5,
            ring_mm: [0.7, 1.4],
            skirt_mm: 0.4,
            halo_mm: 1.2,
            bridged_contrast: 0.6,
            peak_share: 0.92,
        }
    }
}

/// One body of dye with its outline, all in photo pixels.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    /// Outline at half contrast, pixel centres at .5.
    pub(crate) outline_px: Vec<PointPx>,
    /// Outline of the visible extent.
    pub(crate) visible_px: Vec<PointPx>,
    /// Outline at half contrast of the ratio signal, for comparison.
    pub(crate) ratio_px: Vec<PointPx>,
    /// Green loss at the peak and on the ground around, 0 to 1.
    pub(crate) peak: f64,
    pub(crate) ground: f64,
    /// How much the ground varies (standard deviation by the median).
    pub(crate) ground_spread: f64,
    /// Loss of red, green and blue light above the ground, as shares of the loss of green.
    pub(crate) loss: [f64; 3],
    /// Mean slope of green loss across the outline, per mm.
    pub(crate) slope_per_mm: f64,
    /// Pixels of the body, in the window of `window`.
    pub(crate) mask: Mask,
    pub(crate) window: Window,
}

/// Brightness and colour of a JPEG are blurred differently; over this much blur they agree. Chosen:
/// colour at half resolution plus the camera's own colour smoothing.
const COLOUR_BLUR_PX: f64 = 2.0;

impl Body {
    /// Loss of green at the peak above the ground around.
    pub(crate) fn contrast(&self) -> f64 {
        self.peak - self.ground
    }
}

/// The light fields of one window around a region.
struct Fields {
    window: Window,
    mm_per_px: f64,
    /// Loss of green against white, smoothed.
    green: Raster,
    /// Loss of red, green, blue, smoothed as widely as colour is in a JPEG with halved colour.
    soft: [Raster; 3],
    /// Redness, and the loss that redness alone implies: 1 - Gn/Rn.
    d: Raster,
    ratio: Raster,
}

impl Fields {
    fn of(site: &Site<'_>, window: Window, smoothing: f64) -> Self {
        let Site { photo, redness, white, grid, mm_per_px } = *site;
        let ln = ln_of_srgb();
        let bytes = photo.rgb().as_raw();
        let pw = photo.rgb().width() as usize;
        let (w, h) = (window.width, window.height);
        let mut loss = [(); 3].map(|()| Raster::filled(w, h, 0.0));
        let mut d = Raster::filled(w, h, 0.0);
        let mut rows = [vec![0.0; w], vec![0.0; w], vec![0.0; w]];
        for y in 0..h {
            white_row(&white.red, grid, window, y, &mut rows[0]);
            white_row(&white.red_green, grid, window, y, &mut rows[1]);
            white_row(&white.blue_green, grid, window, y, &mut rows[2]);
            let start = ((window.y0 + y) * pw + window.x0) * 3;
            for x in 0..w {
                let px = &bytes[start + 3 * x..start + 3 * x + 3];
                let green = rows[0][x] - rows[1][x];
                let ground = [rows[0][x], green, green + rows[2][x]];
                for c in 0..3 {
                    loss[c].data[y * w + x] = 1.0 - (ln[usize::from(px[c])] - ground[c]).exp();
                }
            }
            let from = (window.y0 + y - redness.window.y0) * redness.window.width + window.x0
                - redness.window.x0;
            d.data[y * w..(y + 1) * w].copy_from_slice(&redness.d.data[from..from + w]);
        }
        let ratio = Raster { data: d.data.iter().map(|v| 1.0 - (-v).exp()).collect(), ..d };
        let green = loss[1].blurred(smoothing);
        let soft = loss.map(|l| l.blurred(COLOUR_BLUR_PX));
        Self { window, mm_per_px, green, soft, d, ratio }
    }
}

/// What a region is read from: the photo and what is known of it there.
#[derive(Clone, Copy)]
pub(crate) struct Site<'a> {
    pub(crate) photo: &'a Photo,
    pub(crate) redness: &'a Redness,
    pub(crate) white: &'a White,
    pub(crate) grid: Grid,
    /// Pitch at the region.
    pub(crate) mm_per_px: f64,
}

/// The bodies of one region, strongest first. `high` is the redness every body must reach.
pub(crate) fn bodies(
    site: &Site<'_>,
    region: &Area,
    high: f64,
    options: &OutlineOptions,
) -> Vec<Body> {
    let mm_per_px = site.mm_per_px;
    let ring_px =
        [(options.ring_mm[0] / mm_per_px).max(6.0), (options.ring_mm[1] / mm_per_px).max(10.0)];
    let margin = ring_px[1].ceil() as usize + 3;
    let [bx0, by0, bx1, by1] = region.bounds();
    let rw = site.redness.window;
    let (x0, y0) = (bx0.saturating_sub(margin), by0.saturating_sub(margin));
    let window = Window {
        x0: rw.x0 + x0,
        y0: rw.y0 + y0,
        width: (bx1 + margin).min(rw.width) - x0,
        height: (by1 + margin).min(rw.height) - y0,
    };
    let fields = Fields::of(site, window, options.smoothing_px);
    let mut open = Mask::empty(window.width, window.height);
    for (x, y) in region.places() {
        open.set(x - x0, y - y0, true);
    }
    // The half-contrast body of a thin line can reach a little beyond its redness, which has half
    // the resolution; further out it would be a shadow.
    let skirt_px = (options.skirt_mm / mm_per_px).max(3.0);
    let mut support = open.grown(skirt_px);
    let mut stamps = Stamps::new(open.data.len());
    let mut found = Vec::new();
    let mut order: Vec<usize> = (0..open.data.len())
        .filter(|&i| open.data[i] && f64::from(fields.d.data[i]) >= high)
        .collect();
    order.sort_unstable_by(|&a, &b| {
        fields.green.data[b].total_cmp(&fields.green.data[a]).then(a.cmp(&b))
    });
    for seed in order {
        if !open.data[seed] {
            continue;
        }
        open.data[seed] = false;
        if !support.data[seed] {
            continue;
        }
        let Some(body) = body_at(&fields, &support, seed, ring_px, options, &mut stamps) else {
            continue;
        };
        // What hangs on as a skirt is explained; it neither seeds nor carries another body.
        close_around(&mut open, &body, window, skirt_px);
        close_around(&mut support, &body, window, skirt_px);
        // What stays within reach of a stronger body is its halo or the faint end of its tip, which
        // that body's visible extent shows.
        if !found
            .iter()
            .any(|stronger: &Body| stays_near(&body, stronger, options.halo_mm / mm_per_px))
        {
            found.push(body);
        }
    }
    found
}

/// Takes a body and its skirt out of a mask.
fn close_around(field: &mut Mask, body: &Body, window: Window, skirt_px: f64) {
    let near = body.mask.grown(skirt_px);
    let (dx, dy) = (body.window.x0 - window.x0, body.window.y0 - window.y0);
    for y in 0..near.height {
        for x in 0..near.width {
            if near.at(x, y) {
                field.set(x + dx, y + dy, false);
            }
        }
    }
}

/// Whether all of `body` lies within the halo of a clearly stronger one. Wide bodies have wide halos.
fn stays_near(body: &Body, stronger: &Body, halo_px: f64) -> bool {
    if body.contrast() > 0.5 * stronger.contrast() {
        return false;
    }
    let width = stronger.mask.squared_distance_to(false).into_iter().fold(0.0_f32, f32::max).sqrt();
    let far = (halo_px + 0.5 * f64::from(width)).powi(2);
    let squared = |a: &PointPx, b: &PointPx| (a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2);
    body.outline_px.iter().all(|p| stronger.outline_px.iter().any(|q| squared(p, q) <= far))
}

/// The body that holds `seed`: its level settles in a few rounds, since peak and ground depend on it.
fn body_at(
    fields: &Fields,
    support: &Mask,
    seed: usize,
    ring_px: [f64; 2],
    options: &OutlineOptions,
    stamps: &mut Stamps,
) -> Option<Body> {
    let w = fields.window.width;
    let mut peak = f64::from(fields.green.data[seed]);
    let mut ground = 0.0_f64;
    let mut spread = 0.0_f64;
    let mut part = Part::default();
    for _ in 0..4 {
        let level = ground + options.level * (peak - ground);
        let next = Part::around(&fields.green, support, seed, level as f32, ring_px[1], stamps);
        if next.places.is_empty() {
            break;
        }
        let settled = next.places.len() == part.places.len();
        part = next;
        peak = f64::from(percentile(
            part.places.iter().map(|&i| fields.green.data[i]),
            options.peak_share,
        ));
        let ring = part.ring(ring_px, w);
        if !ring.is_empty() {
            ground = f64::from(median(ring.iter().map(|&i| fields.green.data[i]).collect()));
            let off = ring
                .iter()
                .map(|&i| (f64::from(fields.green.data[i]) - ground).abs() as f32)
                .collect();
            spread = 1.4826 * f64::from(median(off));
        }
        if settled {
            break;
        }
    }
    if part.places.is_empty() || peak - ground < 0.02 {
        return None;
    }
    // Powder grain breaks a thin line where it dips just under half: a dip within the grain is no gap.
    let visible_level = ground + options.visible_level * (peak - ground);
    let mut level = ground + options.level * (peak - ground);
    // A strong mark does not break on grain, and its neighbours would count as its grain.
    let contrast = peak - ground;
    let grain = if contrast < options.bridged_contrast { spread.min(0.15 * contrast) } else { 0.0 };
    let bridge = (level - grain).max(visible_level);
    let bridged = Part::around(&fields.green, support, seed, bridge as f32, ring_px[1], stamps);
    if bridged.reach() > 1.15 * part.reach() + 3.0 {
        part = bridged;
        level = bridge;
    }
    let ring = part.ring(ring_px, w);
    let of_ring = |field: &Raster| f64::from(median(ring.iter().map(|&i| field.data[i]).collect()));
    let ratio_peak = f64::from(percentile(
        part.places.iter().map(|&i| fields.ratio.data[i]),
        options.peak_share,
    ));
    let grounds = [0, 1, 2].map(|c| of_ring(&fields.soft[c]));
    let loss = part.loss_ratios(&fields.soft, grounds, w);
    let outline = part.outline(&fields.green, level as f32)?;
    let visible =
        Part::around(&fields.green, support, seed, visible_level as f32, ring_px[1], stamps);
    let ratio_ground = of_ring(&fields.ratio);
    let ratio_level = ratio_ground + options.level * (ratio_peak - ratio_ground);
    let ratio = Part::around(&fields.ratio, support, seed, ratio_level as f32, ring_px[1], stamps);
    let slope = mean_slope(&fields.green, &outline);
    let to_photo = |line: Vec<[f64; 2]>| -> Vec<PointPx> {
        line.iter()
            .map(|p| [p[0] + fields.window.x0 as f64 + 0.5, p[1] + fields.window.y0 as f64 + 0.5])
            .collect()
    };
    Some(Body {
        visible_px: visible
            .outline(&fields.green, visible_level as f32)
            .map(to_photo)
            .unwrap_or_default(),
        ratio_px: ratio
            .outline(&fields.ratio, ratio_level as f32)
            .map(to_photo)
            .unwrap_or_default(),
        outline_px: to_photo(outline),
        peak,
        ground,
        ground_spread: spread,
        loss,
        slope_per_mm: slope / fields.mm_per_px,
        window: Window {
            x0: fields.window.x0 + part.x0,
            y0: fields.window.y0 + part.y0,
            width: part.mask.width,
            height: part.mask.height,
        },
        mask: part.mask,
    })
}

/// Which places a walk has been to, without clearing the grid before each walk.
struct Stamps {
    walk: u32,
    of: Vec<u32>,
}

impl Stamps {
    fn new(places: usize) -> Self {
        Self { walk: 0, of: vec![0; places] }
    }

    fn start(&mut self) {
        self.walk += 1;
    }

    fn first_visit(&mut self, place: usize) -> bool {
        std::mem::replace(&mut self.of[place], self.walk) != self.walk
    }
}

/// Connected places above a level, with room for a ring around.
#[derive(Debug)]
struct Part {
    places: Vec<usize>,
    x0: usize,
    y0: usize,
    mask: Mask,
}

impl Default for Part {
    fn default() -> Self {
        Self { places: Vec::new(), x0: 0, y0: 0, mask: Mask::empty(0, 0) }
    }
}

impl Part {
    /// Places of `support` at or above `level` that hang together with `seed`.
    fn around(
        field: &Raster,
        support: &Mask,
        seed: usize,
        level: f32,
        room: f64,
        stamps: &mut Stamps,
    ) -> Self {
        let (w, h) = (field.width, field.height);
        if field.data[seed] < level {
            return Self::default();
        }
        stamps.start();
        stamps.first_visit(seed);
        let mut places = vec![seed];
        let mut next = 0;
        while next < places.len() {
            let (x, y) = (places[next] % w, places[next] / w);
            next += 1;
            for ny in y.saturating_sub(1)..=(y + 1).min(h - 1) {
                for nx in x.saturating_sub(1)..=(x + 1).min(w - 1) {
                    let i = ny * w + nx;
                    if support.data[i] && field.data[i] >= level && stamps.first_visit(i) {
                        places.push(i);
                    }
                }
            }
        }
        let room = room.ceil() as usize + 2;
        let (mut x0, mut y0, mut x1, mut y1) = (w, h, 0, 0);
        for &i in &places {
            (x0, y0, x1, y1) = (x0.min(i % w), y0.min(i / w), x1.max(i % w), y1.max(i / w));
        }
        let (x0, y0) = (x0.saturating_sub(room), y0.saturating_sub(room));
        let mut mask = Mask::empty((x1 + room + 1).min(w) - x0, (y1 + room + 1).min(h) - y0);
        for &i in &places {
            mask.set(i % w - x0, i / w - y0, true);
        }
        Self { places, x0, y0, mask }
    }

    /// Diagonal of the box around the places.
    fn reach(&self) -> f64 {
        let b = self.mask.bounds().unwrap_or([0; 4]);
        ((b[2] - b[0]) as f64).hypot((b[3] - b[1]) as f64)
    }

    /// Losses of red, green and blue light as shares of the loss of green, over the part and its
    /// skirt, weighted by the loss of green (least squares through the ground).
    fn loss_ratios(&self, soft: &[Raster; 3], grounds: [f64; 3], stride: usize) -> [f64; 3] {
        let skirt = self.mask.grown(2.0);
        let mut sums = [0.0; 3];
        for y in 0..skirt.height {
            for x in 0..skirt.width {
                if skirt.at(x, y) {
                    let i = (self.y0 + y) * stride + self.x0 + x;
                    let loss = [0, 1, 2].map(|c| f64::from(soft[c].data[i]) - grounds[c]);
                    for c in 0..3 {
                        sums[c] += loss[c] * loss[1];
                    }
                }
            }
        }
        sums.map(|s| s / sums[1].max(1e-9))
    }

    /// Places between two distances from the part, in the big window.
    fn ring(&self, ring_px: [f64; 2], stride: usize) -> Vec<usize> {
        let squared = self.mask.squared_distance_to(true);
        let (near, far) = ((ring_px[0] * ring_px[0]) as f32, (ring_px[1] * ring_px[1]) as f32);
        (0..squared.len())
            .filter(|&i| squared[i] >= near && squared[i] <= far)
            .map(|i| (self.y0 + i / self.mask.width) * stride + self.x0 + i % self.mask.width)
            .collect()
    }

    /// Outer outline of the part on `field`, in the big window's grid.
    fn outline(&self, field: &Raster, level: f32) -> Option<Vec<[f64; 2]>> {
        let mut own = Raster::filled(self.mask.width, self.mask.height, 0.0);
        for y in 0..own.height {
            for x in 0..own.width {
                let v = field.at(self.x0 + x, self.y0 + y);
                // Other bodies' high ground is cut off just below the level.
                own.data[y * own.width + x] =
                    if self.mask.at(x, y) { v } else { v.min(level - 1e-4) };
            }
        }
        let line = level_lines(&own, level)
            .into_iter()
            .max_by(|a, b| area_and_centroid(a).0.abs().total_cmp(&area_and_centroid(b).0.abs()))?;
        Some(line.iter().map(|p| [p[0] + self.x0 as f64, p[1] + self.y0 as f64]).collect())
    }
}

/// Mean fall of a field across a closed line, from inside to outside, per grid step. Along the
/// normal, so that grain averages out instead of adding up.
fn mean_slope(field: &Raster, line: &[[f64; 2]]) -> f64 {
    let n = line.len();
    let turn = area_and_centroid(line).0.signum();
    let mut sum = 0.0;
    for (k, p) in line.iter().enumerate() {
        let (before, after) = (line[(k + n - 2) % n], line[(k + 2) % n]);
        let (tx, ty) = (after[0] - before[0], after[1] - before[1]);
        let length = tx.hypot(ty).max(1e-9);
        let (nx, ny) = (turn * ty / length, -turn * tx / length);
        let inside = field.between(p[0] - nx, p[1] - ny);
        let outside = field.between(p[0] + nx, p[1] + ny);
        sum += 0.5 * f64::from(inside - outside);
    }
    sum / n.max(1) as f64
}

/// The value below which the share `share` lies; 0 of nothing.
fn percentile(values: impl Iterator<Item = f32>, share: f64) -> f32 {
    let mut all: Vec<f32> = values.collect();
    if all.is_empty() {
        return 0.0;
    }
    let k = ((all.len() - 1) as f64 * share).round() as usize;
    *all.select_nth_unstable_by(k, f32::total_cmp).1
}
