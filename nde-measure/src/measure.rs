//! The whole chain, every stage's result kept.

use crate::asides::{self, SetAside};
use crate::coat::{self, CoatOptions, Paper, Proposed};
use crate::detect::{self, DetectOptions, Levels};
use crate::error::MeasureError;
use crate::fibre::Fibre;
use crate::fitness::{self, Findings, Resolution};
use crate::measurement::{Coat, Measurement};
use crate::outline::{self, Body, OutlineOptions, Site};
use crate::photo::{Cells, Mask};
use crate::redness::{Redness, RednessOptions, Window};
use crate::regions::{Area, areas};
use crate::scale::{self, ScaleOptions};
use crate::seen::{self, Picture};
use crate::size::area_and_centroid;
use crate::sorting::{self, SetAsideReason, SortingOptions, Surroundings};
use crate::white::{White, WhiteOptions};
use crate::{Photo, PointPx, Scale, ScaleKind, ScaleSpec};

/// Settings of the whole chain; each stage has its own part.
#[derive(Clone, Debug, Default)]
#[non_exhaustive]
pub struct MeasureOptions {
    /// What is known about the camera; where this is silent, the photo's own stamp is asked.
    pub scale: ScaleOptions,
    /// Coat given by the user, polygons in the upright photo; empty: proposed by the tool.
    pub region_px: Vec<Vec<PointPx>>,
    /// How the coat is proposed. This and what follows hold the numbers that the stated figures rest on: whoever
    /// changes one measures anew how well the whole reads.
    pub coat: CoatOptions,
    /// How the local white is found.
    pub white: WhiteOptions,
    /// How redness is made.
    pub redness: RednessOptions,
    /// How red regions are found.
    pub detect: DetectOptions,
    /// How outlines are drawn.
    pub outline: OutlineOptions,
    /// What counts.
    pub sorting: SortingOptions,
}

impl MeasureOptions {
    /// With the coat outlined: polygons in the upright photo, pixels.
    #[must_use]
    pub fn with_region_px(mut self, region_px: Vec<Vec<PointPx>>) -> Self {
        self.region_px = region_px;
        self
    }

    /// With what is known about the camera and the surface's height, for [`measure`]; a scale found before
    /// ([`measure_at`]) has it in it.
    #[must_use]
    pub const fn with_scale(mut self, scale: ScaleOptions) -> Self {
        self.scale = scale;
        self
    }
}

/// Blur assumed where none could be measured, pixels, the pixel's own footprint included. Chosen:
/// a focused phone photo.
const TYPICAL_BLUR_PX: f64 = 1.0;
/// Red places outside the coat that are listed, the largest: a red bench is not taken apart.
const MOST_OUTSIDE: usize = 30;
/// Side of the cells on which light and coat are looked for, mm.
const CELL_MM: f64 = 0.3;

/// Measures one photo: finds the scale, then everything else.
///
/// `scale` is what lies in the frame; empty: the printed card. Several [`ScaleSpec::Points`] are one scale.
///
/// ```
/// use nde_measure::{MeasureOptions, Photo, ScaleSpec, measure};
/// // A white coat with one red line of 30 x 4 pixels at 0.1 mm a pixel.
/// let mut picture = image::RgbImage::from_pixel(400, 300, image::Rgb([225, 225, 222]));
/// for (x, y) in (150..180).flat_map(|x| (140..144).map(move |y| (x, y))) {
///     picture.put_pixel(x, y, image::Rgb([190, 40, 60]));
/// }
/// let scale: ScaleSpec = "pitch:0.1mm".parse()?;
/// let found = measure(&Photo::from_rgb(picture), &[scale], &MeasureOptions::default())?;
/// assert_eq!(found.indications.len(), 1);
/// assert!((found.indications[0].feret_mm - 3.0).abs() < 0.1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// See [`MeasureError`].
pub fn measure(
    photo: &Photo,
    scale: &[ScaleSpec],
    options: &MeasureOptions,
) -> Result<Measurement, MeasureError> {
    let scale = scale::find_with(photo, scale, &options.scale)?;
    measure_at(photo, scale, options)
}

/// Measures one photo whose scale is known: found before ([`scale::find_with`]), or known to the
/// caller ([`Scale::given`]). The scale says all there is to say of camera and height:
/// [`MeasureOptions::scale`] is not looked at here.
///
/// ```
/// use nde_measure::{MeasureOptions, Photo, Plane, Scale, image, measure_at};
/// let photo = Photo::from_rgb(image::RgbImage::from_pixel(400, 300, image::Rgb([225, 225, 222])));
/// // A rig's own calibration: four places of the surface, and lengths on it known to half a per cent (k = 1).
/// let seen = [[0.0, 0.0], [400.0, 0.0], [400.0, 300.0], [0.0, 300.0]];
/// let known = [[0.0, 0.0], [40.0, 0.0], [40.0, 30.0], [0.0, 30.0]];
/// let plane = Plane::through(&seen, &known).ok_or("the places span no plane")?;
/// let coat = vec![[20.0, 20.0], [380.0, 20.0], [380.0, 280.0], [20.0, 280.0]];
/// let options = MeasureOptions::default().with_region_px(vec![coat]);
/// let found = measure_at(&photo, Scale::given(plane, 0.005)?, &options)?;
/// assert!(found.indications.is_empty());
/// assert!((found.coat.area_mm2 - 36.0 * 26.0).abs() < 20.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// See [`MeasureError`]; never [`MeasureError::Scale`].
pub fn measure_at(
    photo: &Photo,
    scale: Scale,
    options: &MeasureOptions,
) -> Result<Measurement, MeasureError> {
    let [width, height] = photo.size_px();
    if width == 0 || height == 0 {
        return Err(MeasureError::EmptyPhoto { width, height });
    }
    if !scale.uncertainty_is_told() {
        return Err(MeasureError::NoUncertainty);
    }
    let middle = [f64::from(width) / 2.0, f64::from(height) / 2.0];
    let pitch = checked_pitch(scale.plane.mm_per_px(middle))?;
    let side = ((CELL_MM / pitch).round() as usize).clamp(1, 64);
    let cells = Cells::of(photo, side);
    // No more than the photo has.
    let side = cells.grid.side;
    let cell_mm = side as f64 * pitch;
    let covered = coat::cells_inside(&cells, &scale.covers_px);
    let paper = Paper::of(&cells, &scale.white_samples_px, &scale.paper_px);
    if let Some([x, y]) = coat::corner_outside(&options.region_px, [width, height]) {
        return Err(MeasureError::RegionOutside { x, y, width, height });
    }
    let Proposed { coat, mut doubtful, soft_rim } = if options.region_px.is_empty() {
        coat::propose(&cells, &covered, paper.as_ref(), cell_mm, &options.coat)
            .ok_or(MeasureError::NoCoat)?
    } else {
        let coat = coat::drawn(&cells, &covered, &options.region_px);
        Proposed { doubtful: Mask::empty(coat.width, coat.height), coat, soft_rim: false }
    };
    let none = || match options.region_px.is_empty() {
        true => MeasureError::NoCoat,
        false => MeasureError::EmptyRegion { width, height },
    };
    let burnt_out = coat::burnt_out(&cells, &coat, &covered, cell_mm);
    let lost = burnt_out.lost;
    let (glare, searched) = if options.region_px.is_empty() {
        let mut glare = coat::with_marks(burnt_out.was_coat, cell_mm, &options.coat);
        glare.take_out(&coat);
        let searched = coat::searched(&coat, &glare, &covered, cell_mm, &options.coat);
        (glare, searched)
    } else {
        let glare = coat::burnt_out_in(&cells, &coat);
        (coat::with_marks(glare, cell_mm, &options.coat), coat.clone())
    };
    doubtful.take_out(&searched);
    let bounds = searched.bounds().ok_or_else(none)?;
    // From here on only what is searched and a rim for the ground around its outermost marks.
    let rim = ((options.outline.ring_mm[1] + 0.5) / cell_mm).ceil() as usize;
    let crop = [
        bounds[0].saturating_sub(rim),
        bounds[1].saturating_sub(rim),
        (bounds[2] + rim).min(coat.width),
        (bounds[3] + rim).min(coat.height),
    ];
    let (whole, whole_searched) = (cells, searched);
    let (cells, coat) = (whole.cropped(crop), coat.cropped(crop));
    let (searched, glare) = (whole_searched.cropped(crop), glare.cropped(crop));
    let grid = cells.grid;
    let at = middle_of(&coat, &cells);
    let pitch = checked_pitch(scale.plane.mm_per_px(at))?;

    let white = White::of(&cells, &coat, cell_mm, &options.white).burnt_out_at(&glare);
    let window = Window {
        x0: grid.x0,
        y0: grid.y0,
        width: cells.width() * side,
        height: cells.height() * side,
    };
    let redness = Redness::of(photo, window, &white, grid, pitch, &options.redness);
    let levels = Levels::of(&redness, &options.detect);
    let least_px = options.detect.least_area_mm2 / (pitch * pitch);
    let faint_levels = levels.times(options.detect.faint_share);
    let lowest = levels.low.min(faint_levels.low);
    let red = detect::runs_on_coat(&redness, &searched, grid, lowest);
    let regions = detect::regions(&redness, &red, levels, least_px);
    let mut bodies: Vec<Body> = Vec::new();
    for region in &regions {
        let here = pitch_of(region, window, &scale, pitch);
        let site = Site { photo, redness: &redness, white: &white, grid, mm_per_px: here };
        bodies.extend(outline::bodies(&site, region, levels.high, &options.outline));
    }
    let site_at = |at: PointPx| {
        let here = checked_pitch(scale.plane.mm_per_px(at)).unwrap_or(pitch);
        Site { photo, redness: &redness, white: &white, grid, mm_per_px: here }
    };
    let bodies = outline::joined(bodies, site_at, &options.outline);
    let around = Surroundings::of(&cells, &white, &searched, &bodies, cell_mm, &options.sorting);
    let dye_red = sorting::red_loss_of_dye(&bodies);
    let picture = Picture {
        scale: &scale,
        size_px: [width, height],
        blur_px: scale.edge_sigma_px,
        typical_blur_px: TYPICAL_BLUR_PX,
        cells: &cells,
        glare: &glare,
        sorting: &options.sorting,
    };
    let mut indications = Vec::new();
    let mut set_aside = Vec::new();
    for body in &bodies {
        let fibre = || {
            let site = site_at(area_and_centroid(&body.outline_px).1);
            Fibre::of(&body.mask, &outline::green_of(body.window, &site), site.mm_per_px)
        };
        match sorting::set_aside(body, &around, dye_red, fibre, &options.sorting) {
            None => indications.extend(seen::seen(body, &around, &picture)),
            Some(reason) => set_aside.extend(asides::aside(body, reason, &picture)),
        }
    }
    let faint = detect::regions(&redness, &red, faint_levels, 3.0 * least_px);
    let strong: Vec<[usize; 4]> = regions.iter().map(Area::bounds).collect();
    for region in faint.iter().filter(|f| !touches_any(f, &strong)) {
        set_aside.extend(asides::faint(region, &redness, &picture));
    }
    let [red_green, blue_green, bright] =
        [&white.red_green, &white.blue_green, &white.red].map(|field| {
            let on_coat = field.data.iter().zip(&coat.data).filter(|(_, c)| **c).map(|(v, _)| *v);
            crate::white::median(on_coat.collect())
        });
    let colour = [red_green, blue_green];
    let (outside, d) =
        detect::outside(&whole, &whole_searched, &covered, colour, bright, MOST_OUTSIDE);
    for area in &outside {
        set_aside.extend(asides::outside(area, &d, whole.grid, &picture));
    }
    asides::number(&mut indications, &mut set_aside);
    let marks_beside = marks_beside(&set_aside, &whole_searched, &whole, cell_mm);

    let blur_px = scale.edge_sigma_px;
    let sigma_mm = blur_px.unwrap_or(TYPICAL_BLUR_PX) * pitch;
    let resolution = Resolution {
        pitch_mm: pitch,
        blur_mm: blur_px.map(|b| b * pitch),
        // Simulated lines: width within 5 % from four, gaps told apart from one and a half sigma.
        least_width_mm: 4.0 * sigma_mm,
        least_gap_mm: 1.5 * sigma_mm,
    };
    let (outlines_px, area_mm2) = ground_seen(&coat, &cells, &scale);
    let (doubtful_px, doubtful_mm2) = ground_seen(&doubtful, &whole, &scale);
    let seen_coat = Coat { outlines_px, area_mm2, doubtful_px, doubtful_mm2 };
    let gates = fitness::gates(&Findings {
        scale: &scale,
        resolution: &resolution,
        cells: &cells,
        coat: &coat,
        burnt_out: lost,
        white: &white,
        redness: &redness,
        pink_share: around.pink_share_of(&coat),
        area_mm2: seen_coat.area_mm2,
        doubtful_mm2: seen_coat.doubtful_mm2,
        untold_white: (paper.is_none() && options.region_px.is_empty())
            .then(|| (colour.map(f64::from), options.coat.most_cast)),
        soft_rim,
        paper_ln: paper.map(|p| p.white_ln),
        marks_beside,
        vouched: !options.region_px.is_empty() || is_seen(scale.kind),
    });
    let coat = seen_coat;
    Ok(Measurement {
        size_px: [width, height],
        scale,
        coat,
        indications,
        set_aside,
        gates,
        resolution,
    })
}

/// Whether a scale was seen in the frame: whoever lays one beside a part photographs that part. A pitch or two
/// points are typed, and any photo takes them.
const fn is_seen(scale: ScaleKind) -> bool {
    matches!(scale, ScaleKind::Card | ScaleKind::Ticks)
}

/// Marks this near to the coat may lie on developer that was not recognised, mm. Chosen.
const BESIDE_MM: f64 = 10.0;
/// As clear a mark as dye makes, and of a size that a flaw shows; larger are rags and letters. Chosen.
const CLEAR_CONTRAST: f64 = 0.45;
const MARK_MM: std::ops::RangeInclusive<f64> = 0.8..=40.0;

/// How many clear marks lie outside the coat but close to it.
fn marks_beside(set_aside: &[SetAside], coat: &Mask, cells: &Cells, cell_mm: f64) -> usize {
    let could_be = |s: &&SetAside| {
        s.reason == SetAsideReason::OutsideCoat
            && s.contrast >= CLEAR_CONTRAST
            && MARK_MM.contains(&s.length_mm)
    };
    let marks: Vec<&SetAside> = set_aside.iter().filter(could_be).collect();
    if marks.is_empty() {
        return 0;
    }
    let near = coat.grown(BESIDE_MM / cell_mm);
    let lies_near = |s: &&&SetAside| {
        let (x, y) = cells.grid.place_of(s.centroid_px[0], s.centroid_px[1]);
        let (i, j) = (x.round().max(0.0) as usize, y.round().max(0.0) as usize);
        i < near.width && j < near.height && near.at(i, j)
    };
    marks.iter().filter(lies_near).count()
}

fn checked_pitch(mm_per_px: f64) -> Result<f64, MeasureError> {
    if (0.002..=1.0).contains(&mm_per_px) {
        Ok(mm_per_px)
    } else {
        Err(MeasureError::Pitch { mm_per_px })
    }
}

fn middle_of(coat: &Mask, cells: &Cells) -> PointPx {
    let (mut x, mut y, mut n) = (0.0, 0.0, 0.0);
    for (k, _) in coat.data.iter().enumerate().filter(|(_, yes)| **yes) {
        let p = cells.grid.centre_px(k % coat.width, k / coat.width);
        (x, y, n) = (x + p[0], y + p[1], n + 1.0);
    }
    [x / n, y / n]
}

/// Pitch at a region; the coat's where the plane has none there.
fn pitch_of(region: &Area, window: Window, scale: &Scale, otherwise: f64) -> f64 {
    let b = region.bounds();
    let x = window.x0 as f64 + 0.5 * (b[0] + b[2]) as f64;
    let y = window.y0 as f64 + 0.5 * (b[1] + b[3]) as f64;
    checked_pitch(scale.plane.mm_per_px([x, y])).unwrap_or(otherwise)
}

/// Whether the box around a faint region meets any of the boxes around strong ones.
fn touches_any(faint: &Area, strong: &[[usize; 4]]) -> bool {
    let f = faint.bounds();
    strong.iter().any(|b| b[0] < f[2] && f[0] < b[2] && b[1] < f[3] && f[1] < b[3])
}

/// Outlines of ground in the photo, and its area on the part, mm2.
fn ground_seen(ground: &Mask, cells: &Cells, scale: &Scale) -> (Vec<Vec<PointPx>>, f64) {
    let grid = cells.grid;
    let mut area_mm2 = 0.0;
    let side = grid.side as f64;
    for (k, _) in ground.data.iter().enumerate().filter(|(_, yes)| **yes) {
        let pitch = scale.plane.mm_per_px(grid.centre_px(k % ground.width, k / ground.width));
        area_mm2 += checked_pitch(pitch).map_or(0.0, |pitch| (pitch * side).powi(2));
    }
    let outlines_px = areas(ground)
        .iter()
        .filter(|a| a.size() > 30)
        .filter_map(|a| {
            // Only the box around it, with a rim of other ground where there is any.
            let [x0, y0, x1, y1] = a.bounds();
            let (x0, y0) = (x0.saturating_sub(1), y0.saturating_sub(1));
            let (x1, y1) = ((x1 + 1).min(ground.width), (y1 + 1).min(ground.height));
            let mut field = crate::photo::Raster::filled(x1 - x0, y1 - y0, 0.0);
            for (x, y) in a.places() {
                field.data[(y - y0) * (x1 - x0) + x - x0] = 1.0;
            }
            let line = crate::contour::level_lines(&field, 0.5).into_iter().max_by(|a, b| {
                let size = |l: &Vec<[f64; 2]>| crate::size::area_and_centroid(l).0.abs();
                size(a).total_cmp(&size(b))
            })?;
            let [left, top] =
                [grid.x0 as f64 + x0 as f64 * side, grid.y0 as f64 + y0 as f64 * side];
            let in_photo = |p: &[f64; 2]| [left + (p[0] + 0.5) * side, top + (p[1] + 0.5) * side];
            Some(line.iter().map(in_photo).collect())
        })
        .collect();
    (outlines_px, area_mm2)
}
