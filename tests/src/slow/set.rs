//! A rule set as the slow evaluator reads it from its TOML text.
//!
//! It reads only what well-formed sets hold and stops at anything else.

use super::number::{Bound, Exact, Sign};
use toml::{Table, Value};

/// A rule set.
#[derive(Clone, Debug)]
pub struct Set {
    /// Its id.
    pub id: String,
    /// Whether it gives no verdict.
    pub measures_only: bool,
    /// Length over width past which an indication is linear.
    pub linear: Bound,
    /// Length from which an indication is relevant.
    pub relevant: Option<Bound>,
    /// What is read as one.
    pub joining: Option<Joining>,
    /// Words that a person must choose from, and the shape concerned.
    pub labels: Option<(Option<Shape>, Vec<String>)>,
    /// What rejects.
    pub rules: Vec<Rule>,
}

/// Linear or rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Past the ratio.
    Linear,
    /// Not past it.
    Rounded,
}

/// What is read as one.
#[derive(Clone, Debug)]
pub struct Joining {
    /// Only this shape.
    pub of: Option<Shape>,
    /// The side of the gap.
    pub sign: Sign,
    /// What the gap is held against.
    pub against: Against,
    /// Whether lengths grow with what is joined.
    pub growing: bool,
    /// Fewest that are read as one.
    pub fewest: usize,
    /// Whether they must lie in a line.
    pub in_line: bool,
    /// The shape of what is joined; absent: by its ratio.
    pub becomes: Option<Shape>,
}

/// What a gap is held against.
#[derive(Clone, Debug)]
pub enum Against {
    /// A length in nanometres.
    Fixed(Exact),
    /// The shorter of two lengths.
    Smaller,
    /// The longer of two lengths.
    Larger,
}

/// One thing that rejects.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Its name.
    pub name: String,
    /// Only this shape.
    pub of: Option<Shape>,
    /// Only these labels; empty: any.
    pub labels: Vec<String>,
    /// Only joined ones, or only single ones.
    pub joined: Option<bool>,
    /// What it asks.
    pub kind: Kind,
}

/// What a rule asks.
#[derive(Clone, Debug)]
pub enum Kind {
    /// Nothing: every one rejects.
    Any,
    /// The length of each.
    Length(Limit),
    /// The width of each.
    Width(Limit),
    /// So many in line.
    Row(Bound, Bound, Exact),
    /// Two near each other.
    Spacing(Bound),
    /// How many, where.
    Count(Bound, Option<Frame>),
    /// How long together, where.
    Total(Bound, Option<Frame>),
    /// Which share of the weld's length, as a number and not in percent.
    Share(Bound),
}

/// A limit on a size.
#[derive(Clone, Debug)]
pub enum Limit {
    /// One length.
    Fixed(Bound),
    /// So many times the thickness.
    OfThickness(Bound),
    /// The first band that the thickness falls in.
    Bands(Vec<(Bound, Limit)>),
}

/// Where indications are taken together.
#[derive(Clone, Debug)]
pub enum Frame {
    /// Any rectangle of an area (square nanometres) with a longest side; turned or not.
    Area(Exact, Exact, bool),
    /// A rectangle of two sides; turned or not.
    Sides(Exact, Exact, bool),
    /// A circle of a diameter.
    Circle(Exact),
    /// A length of weld.
    Weld(Exact),
}

impl Set {
    /// Reads the text of a set.
    ///
    /// # Panics
    /// When the text is not a complete rule set.
    #[must_use]
    pub fn read(text: &str) -> Self {
        let top: Table = text.parse().expect("a set is TOML");
        let table = |key: &str| top.get(key).and_then(Value::as_table);
        Self {
            id: word(&top, "id").expect("a set has an id").to_owned(),
            measures_only: top.contains_key("measure_only"),
            linear: table("linear").map_or_else(
                || Bound { sign: Sign::Over, limit: Exact::whole(3) },
                |t| bound(word(t, "length_over_width").expect("a ratio")),
            ),
            relevant: table("relevant").map(|t| bound(word(t, "length").expect("a length"))),
            joining: table("joining").map(joining),
            labels: table("labels").map(|t| (shape(t, "of"), words(t, "words"))),
            rules: match top.get("reject").and_then(Value::as_array) {
                Some(rules) => rules.iter().filter_map(Value::as_table).map(rule).collect(),
                None => Vec::new(),
            },
        }
    }

    /// Whether one more indication can never make a rejected list acceptable. Where indications are read
    /// as one it can: a long one joined to a wide one may be rounded, and rounded ones may be longer.
    #[must_use]
    pub const fn is_monotone(&self) -> bool {
        self.joining.is_none()
    }
}

fn joining(table: &Table) -> Joining {
    let gap = word(table, "gap").expect("a gap");
    let (sign, rest) = side(gap);
    Joining {
        of: shape(table, "of"),
        sign,
        against: match rest {
            "smaller" => Against::Smaller,
            "larger" => Against::Larger,
            length => Against::Fixed(measure(length)),
        },
        growing: word(table, "lengths") == Some("growing"),
        fewest: word(table, "fewest").map_or(2, |n| n.parse().expect("a number")),
        in_line: word(table, "arranged") == Some("in line"),
        becomes: shape(table, "becomes"),
    }
}

fn rule(table: &Table) -> Rule {
    let at = |key: &str| bound(word(table, key).unwrap_or_else(|| panic!("{key} in {table:?}")));
    let within = table.get("within").and_then(Value::as_table).map(frame);
    let kind = match word(table, "kind").expect("a rule has a kind") {
        "any" => Kind::Any,
        "length" => Kind::Length(limit(table, "length")),
        "width" => Kind::Width(limit(table, "width")),
        "row" => {
            Kind::Row(at("count"), at("gap"), word(table, "strip").map_or(Exact::whole(0), measure))
        }
        "spacing" => Kind::Spacing(at("gap")),
        "count" => Kind::Count(at("count"), within),
        "total-length" => Kind::Total(at("total"), within),
        "weld-share" => Kind::Share(at("share")),
        other => panic!("the slow evaluator does not know the kind `{other}`"),
    };
    Rule {
        name: word(table, "name").expect("a rule has a name").to_owned(),
        of: shape(table, "of"),
        labels: words(table, "label"),
        joined: match word(table, "joined") {
            Some("yes") => Some(true),
            Some("no") => Some(false),
            _ => None,
        },
        kind,
    }
}

fn limit(table: &Table, key: &str) -> Limit {
    if let Some(bands) = table.get("by_thickness").and_then(Value::as_array) {
        let band = |t: &Table| (bound(word(t, "thickness").expect("a thickness")), limit(t, key));
        return Limit::Bands(bands.iter().filter_map(Value::as_table).map(band).collect());
    }
    let text = word(table, key).expect("a limit");
    match text.strip_suffix('t') {
        Some(share) => Limit::OfThickness(bound(share)),
        None => Limit::Fixed(bound(text)),
    }
}

fn frame(table: &Table) -> Frame {
    let turned = word(table, "placed") != Some("along axes");
    let at = |key: &str| word(table, key).map(measure);
    if let (Some(area), Some(longest)) = (at("area"), at("longest_side")) {
        Frame::Area(area, longest, turned)
    } else if let Some(diameter) = at("circle") {
        Frame::Circle(diameter)
    } else if let Some(length) = at("weld_length") {
        Frame::Weld(length)
    } else {
        let sides = words(table, "sides");
        Frame::Sides(measure(&sides[0]), measure(&sides[1]), turned)
    }
}

fn word<'a>(table: &'a Table, key: &str) -> Option<&'a str> {
    table.get(key).and_then(Value::as_str)
}

fn words(table: &Table, key: &str) -> Vec<String> {
    let list = table.get(key).and_then(Value::as_array);
    list.into_iter().flatten().filter_map(Value::as_str).map(str::to_owned).collect()
}

fn shape(table: &Table, key: &str) -> Option<Shape> {
    match word(table, key) {
        Some("linear") => Some(Shape::Linear),
        Some("rounded") => Some(Shape::Rounded),
        _ => None,
    }
}

fn side(text: &str) -> (Sign, &str) {
    let text = text.trim();
    let signs =
        [(">=", Sign::AtLeast), ("<=", Sign::AtMost), (">", Sign::Over), ("<", Sign::Under)];
    signs
        .into_iter()
        .find_map(|(word, sign)| text.strip_prefix(word).map(|rest| (sign, rest.trim())))
        .unwrap_or_else(|| panic!("`{text}` has no side"))
}

fn bound(text: &str) -> Bound {
    let (sign, rest) = side(text);
    Bound { sign, limit: measure(rest) }
}

/// A number with its unit, if any: nanometres, square nanometres, or the bare number.
fn measure(text: &str) -> Exact {
    let mm = Exact::whole(1_000_000);
    let inch = Exact::whole(25_400_000);
    let units = [
        ("mm2", &mm * &mm),
        ("in2", &inch * &inch),
        ("mm", mm),
        ("in", inch),
        ("%", Exact::new(1, 100)),
    ];
    for (unit, size) in units {
        if let Some(number) = text.trim().strip_suffix(unit) {
            return &Exact::parse(number).unwrap_or_else(|| panic!("`{text}`")) * &size;
        }
    }
    Exact::parse(text).unwrap_or_else(|| panic!("`{text}` is not a number"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shipped_set_reads() {
        for id in nde_core::rules::builtin_ids() {
            let set = nde_core::RuleSet::builtin(id).expect("it ships");
            let slow = Set::read(set.text());
            assert_eq!(slow.id, id);
            assert_eq!(slow.rules.is_empty(), slow.measures_only, "{id}");
        }
    }

    #[test]
    fn numbers_keep_their_units() {
        assert_eq!(bound("<= 1/16 in").limit, Exact::new(15_875, 10).clone_times(1000));
        assert_eq!(measure("6 in2"), Exact::whole(3_870_960_000_000_000_i64));
        assert_eq!(bound("> 8 %").limit, Exact::new(2, 25));
    }

    impl Exact {
        fn clone_times(&self, n: i64) -> Self {
            self * &Self::whole(n)
        }
    }
}
