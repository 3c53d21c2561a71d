//! Where the labels go: beside their marks, on nothing that matters, on no other label.
//!
//! The picture is a board of small squares, each with a price for covering it. A label tries
//! places around its mark, near ones first, and takes the cheapest; then its own squares become
//! dear for the next one.

use crate::PointPx;

/// Price of covering another label.
const LABEL_PRICE: u32 = 40;
/// Price of crossing a leader.
const LEADER_PRICE: u32 = 6;
/// Price a text height of distance from the mark, against one square of price 1.
const DISTANCE_PRICE: f64 = 6.0;

/// The board.
pub(super) struct Board {
    width: f64,
    height: f64,
    text: f64,
    square: f64,
    columns: usize,
    rows: usize,
    price: Vec<u32>,
}

/// What a label asks for.
pub(super) struct Wish<'a> {
    /// Outline of the mark it belongs to.
    pub(super) target: &'a [PointPx],
    /// Its own width and height.
    pub(super) size: [f64; 2],
    /// Distance to keep from the outline.
    pub(super) clear: f64,
}

/// Where a label goes.
pub(super) struct Spot {
    /// What it covers, crosses and how far it lies; 0 is right beside its mark on free ground.
    pub(super) price: f64,
    /// Its left upper corner.
    pub(super) left_top: PointPx,
    /// A line from the mark to the label, where they do not lie side by side.
    pub(super) leader: Option<[PointPx; 2]>,
}

impl Board {
    pub(super) fn new(width: u32, height: u32, text: f64) -> Self {
        let square = (text / 4.0).max(2.0);
        let (width, height) = (f64::from(width), f64::from(height));
        let (columns, rows) = (whole(width / square) + 1, whole(height / square) + 1);
        Self { width, height, text, square, columns, rows, price: vec![0; columns * rows] }
    }

    /// Puts a price on the squares within `reach` of the points of an outline.
    pub(super) fn keep_clear(&mut self, outline: &[PointPx], reach: f64, price: u32) {
        for p in outline {
            self.raise([p[0] - reach, p[1] - reach], [2.0 * reach, 2.0 * reach], price);
        }
    }

    /// Never lowers, so that many points in one square cost no more than one.
    fn raise(&mut self, left_top: PointPx, size: [f64; 2], price: u32) {
        let (columns, rows) = self.squares(left_top, size);
        for row in rows {
            for column in columns.clone() {
                let square = &mut self.price[row * self.columns + column];
                *square = (*square).max(price);
            }
        }
    }

    fn squares(
        &self,
        [left, top]: PointPx,
        [width, height]: [f64; 2],
    ) -> (std::ops::Range<usize>, std::ops::Range<usize>) {
        let range = |from: f64, long: f64, most: usize| {
            let end = whole((from + long) / self.square) + 1;
            whole(from / self.square).min(most)..end.min(most)
        };
        (range(left, width, self.columns), range(top, height, self.rows))
    }

    fn cost(&self, left_top: PointPx, size: [f64; 2]) -> u32 {
        let (columns, rows) = self.squares(left_top, size);
        rows.map(|row| {
            let start = row * self.columns;
            self.price[start + columns.start..start + columns.end].iter().sum::<u32>()
        })
        .sum()
    }

    fn price_at(&self, [x, y]: PointPx) -> u32 {
        let (column, row) = (whole(x / self.square), whole(y / self.square));
        if column < self.columns && row < self.rows {
            self.price[row * self.columns + column]
        } else {
            0
        }
    }

    /// The cheapest place for a label; none for a mark without an outline.
    pub(super) fn find(&self, wish: &Wish<'_>) -> Option<Spot> {
        let bounds = bounds(wish.target)?;
        let middle = [(bounds[0] + bounds[2]) / 2.0, (bounds[1] + bounds[3]) / 2.0];
        let [half_width, half_height] = [wish.size[0] / 2.0, wish.size[1] / 2.0];
        let mut best: Option<(f64, PointPx)> = None;
        for step in [0.15, 0.8, 1.6, 2.6, 4.0, 6.0, 9.0, 13.0] {
            for direction in 0..16_u8 {
                // From the upper right round: the eye looks there first.
                let turn = std::f64::consts::TAU * (f64::from(direction) / 16.0) - 0.6;
                let (sin, cos) = turn.sin_cos();
                let away = wish.clear + step * self.text;
                let reach_x = (bounds[2] - bounds[0]) / 2.0 + away + half_width;
                let reach_y = (bounds[3] - bounds[1]) / 2.0 + away + half_height;
                // On the rectangle around the mark, in that direction.
                let share = (reach_x / cos.abs().max(1e-9)).min(reach_y / sin.abs().max(1e-9));
                let centre = [middle[0] + cos * share, middle[1] + sin * share];
                let left_top = [centre[0] - half_width, centre[1] - half_height];
                let inside = left_top[0] >= 0.0
                    && left_top[1] >= 0.0
                    && left_top[0] + wish.size[0] <= self.width
                    && left_top[1] + wish.size[1] <= self.height;
                if !inside {
                    continue;
                }
                let without_leader =
                    f64::from(self.cost(left_top, wish.size)) + step * DISTANCE_PRICE;
                if best.is_some_and(|(least, _)| without_leader >= least) {
                    continue;
                }
                let crossed = self
                    .leader(wish, left_top)
                    .map_or(0.0, |leader| f64::from(self.crossed(leader)));
                let cost = without_leader + crossed;
                if best.is_none_or(|(least, _)| cost < least) {
                    best = Some((cost, left_top));
                }
            }
        }
        // In a picture too small for any of these the label goes to the mark's own place.
        let (price, left_top) = best.unwrap_or_else(|| {
            let most = [self.width - wish.size[0], self.height - wish.size[1]];
            let inside = [middle[0].min(most[0]).max(0.0), middle[1].min(most[1]).max(0.0)];
            (f64::INFINITY, inside)
        });
        Some(Spot { price, left_top, leader: self.leader(wish, left_top) })
    }

    /// Takes a place: other labels keep off it, and off its leader.
    pub(super) fn take(&mut self, spot: &Spot, size: [f64; 2]) {
        self.raise(spot.left_top, size, LABEL_PRICE);
        if let Some([from, to]) = spot.leader {
            let steps = 24_u8;
            for n in 0..=steps {
                let share = f64::from(n) / f64::from(steps);
                let at = [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share];
                self.raise(at, [0.0, 0.0], LEADER_PRICE);
            }
        }
    }

    /// From the nearest place of the outline to the label, when they are further apart than
    /// side by side.
    fn leader(&self, wish: &Wish<'_>, left_top: PointPx) -> Option<[PointPx; 2]> {
        let on_label = |p: PointPx| {
            [
                p[0].clamp(left_top[0], left_top[0] + wish.size[0]),
                p[1].clamp(left_top[1], left_top[1] + wish.size[1]),
            ]
        };
        let length = |p: PointPx| {
            let q = on_label(p);
            (p[0] - q[0]).hypot(p[1] - q[1])
        };
        let from = wish.target.iter().copied().min_by(|a, b| length(*a).total_cmp(&length(*b)))?;
        let to = on_label(from);
        let long = length(from);
        if long < wish.clear + self.text * 0.45 {
            return None;
        }
        // It starts on the ring, not on the red.
        let share = wish.clear / long;
        Some([[from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share], to])
    }

    fn crossed(&self, [from, to]: [PointPx; 2]) -> u32 {
        let steps = 12_u8;
        // The first places lie at the mark itself.
        (3..steps)
            .map(|n| {
                let share = f64::from(n) / f64::from(steps);
                self.price_at([
                    from[0] + (to[0] - from[0]) * share,
                    from[1] + (to[1] - from[1]) * share,
                ])
            })
            .sum()
    }
}

/// Left, top, right and bottom of the finite points.
pub(super) fn bounds(points: &[PointPx]) -> Option<[f64; 4]> {
    let mut finite = points.iter().filter(|p| p[0].is_finite() && p[1].is_finite());
    let first = finite.next()?;
    Some(finite.fold([first[0], first[1], first[0], first[1]], |b, p| {
        [b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])]
    }))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped; NaN becomes 0"
)]
fn whole(value: f64) -> usize {
    value.clamp(0.0, 1.0e6) as usize
}
