//! A rule set: acceptance criteria as data, each number with its side and its source.
//!
//! A set says when an indication is linear, when it is relevant, and what rejects. It is read from a
//! TOML text ([`RuleSet::parse`]), taken from the shipped ones ([`RuleSet::builtin`]) or made of a few
//! limits of the user's own ([`RuleSet::from_limits`]).
//!
//! # The file form
//! A bound is written as the document says it: `"> 5 mm"` catches what is longer, `">= 5 mm"` catches
//! 5 mm too. All lengths of one set are in one unit, decimals or fractions (`"> 3/16 in"`).
//!
//! ```
//! let set = nde_core::RuleSet::parse(r#"
//! id = "loft-toggles"
//! title = "Cast toggles of the loft"
//! unit = "mm"
//!
//! [linear]
//! length_over_width = "> 3"       # exactly three times is rounded
//! source = "drawing 112, note 4"
//!
//! [relevant]
//! length = "> 1.5 mm"
//!
//! [[reject]]
//! name = "linear"
//! kind = "any"
//! of = "linear"
//!
//! [[reject]]
//! name = "crowd"
//! kind = "count"
//! of = "rounded"
//! count = ">= 10"
//! within = { area = "4000 mm2", longest_side = "150 mm" }
//! "#)?;
//! assert_eq!(set.rules().count(), 4);
//! # Ok::<(), nde_core::RuleSetError>(())
//! ```
//!
//! | kind | keys | rejects |
//! | --- | --- | --- |
//! | `any` | | every one |
//! | `length`, `width` | the same word, or `by_thickness` | each whose size is caught; `"> 1/4 t"` follows the thickness |
//! | `row` | `count`, `gap`, `strip` | so many in line, each linked to the next |
//! | `spacing` | `gap` | two that lie nearer |
//! | `count` | `count`, `within` | so many, in all or in a frame at its worst place |
//! | `total-length`, `total-area` | `total`, `within` | sums, in all or in a frame at its worst place |
//! | `weld-share` | `share` | lengths that sum to a share of the weld's length |
//!
//! Every rule may say which indications it looks at: `of`, `label` (what a person called it), `joined`.
//! `[joining]` says which are read as one, `[labels]` what a person must say first. The templates
//! ([`template`]) show every key; [`form_schema`] lists them for editors.

mod written;

mod amount;

mod within;

mod rule;

mod joins;

mod limit;

mod reader;

mod form;

mod own;

mod needs;

mod shipped;

pub(crate) use amount::Resolved;
pub(crate) use form::source;
pub(crate) use joins::{Against, Arranged, Becomes, Joins, Labels, Lengths};
pub use limit::{Limit, LimitError};
pub use needs::Needs;
pub use own::OwnLimitsError;
pub use reader::RuleSetError;
pub(crate) use reader::{At, Fault, Table, tables_of};
pub(crate) use rule::{Joined, Members, Rule, Test};
pub use shipped::{builtin_ids, form_schema, template, template_ids};
pub(crate) use within::Within;
pub(crate) use written::{CountBound, LengthBound, split_side};
pub use written::{Unit, Written};

use crate::length::Length;
use crate::shape::LinearPast;
use crate::side::{Ratio, Side};
use crate::source::{Confidence, Source};

/// Acceptance criteria as data.
///
/// ```
/// let set = nde_core::RuleSet::builtin("weld-vessel-si").expect("it ships");
/// assert_eq!(set.smallest_deciding_size(), Some(nde_core::Length::from_um(1500)));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct RuleSet {
    id: String,
    title: String,
    edition: Option<String>,
    unit: Option<Unit>,
    measure_only: Option<String>,
    cautions: Vec<String>,
    shaping: Shaping,
    relevant: Option<Relevant>,
    joins: Option<Joins>,
    labels: Option<Labels>,
    rules: Vec<Rule>,
    text: String,
}

/// When an indication is linear, and who says so.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shaping {
    pub(crate) past: LinearPast,
    pub(crate) source: Source,
}

/// When an indication is relevant by its size, and who says so.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Relevant {
    pub(crate) length: LengthBound,
    pub(crate) source: Source,
}

/// One line of the table that [`RuleSet::rules`] gives.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct RuleLine {
    /// Short name.
    pub name: String,
    /// The rule in one sentence.
    pub sentence: String,
    /// The limit with its side and unit, as it was written.
    pub limit: String,
    /// Where it stands, and how surely it was read there.
    pub source: Source,
}

impl RuleSet {
    /// Reads a rule set.
    ///
    /// # Errors
    /// The first fault, with its line and column and what to do about it.
    pub fn parse(toml: &str) -> Result<Self, RuleSetError> {
        form::read(toml)
    }

    /// Its id, such as `weld-vessel-si`.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What it is for, in a few words.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The edition its numbers are from; absent for a user's own.
    #[must_use]
    pub fn edition(&self) -> Option<&str> {
        self.edition.as_deref()
    }

    /// The unit it is written in; absent when its limits are written in several.
    #[must_use]
    pub const fn unit(&self) -> Option<Unit> {
        self.unit
    }

    /// What a reader must be told beside its numbers.
    #[must_use]
    pub fn cautions(&self) -> &[String] {
        &self.cautions
    }

    /// The text it was read from, to store or to hash.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Every number of the set as a table: when linear, when relevant, what rejects.
    pub fn rules(&self) -> impl Iterator<Item = RuleLine> + '_ {
        let past = self.shaping.past;
        let tie = if past.side == Side::Over { "rounded" } else { "linear" };
        let linear = RuleLine {
            name: "linear".into(),
            sentence: format!(
                "An indication is linear when its length is {} {} times its width; exactly {} times is {tie}.",
                past.side.words(),
                past.ratio,
                past.ratio
            ),
            limit: format!("{} {}", past.side.sign(), past.ratio),
            source: self.shaping.source.clone(),
        };
        let relevant = self.relevant.as_ref().map(|r| RuleLine {
            name: "relevant".into(),
            sentence: format!(
                "An indication is relevant when it is {} {} long.",
                r.length.side.words(),
                r.length.limit
            ),
            limit: r.length.to_string(),
            source: r.source.clone(),
        });
        let joins = self.joins.as_ref().map(|joins| RuleLine {
            name: "joining".into(),
            sentence: joins.sentence(),
            limit: joins.limit(),
            source: joins.source.clone(),
        });
        let labels = self.labels.as_ref().map(|labels| RuleLine {
            name: "labels".into(),
            sentence: labels.sentence(),
            limit: labels.words.join(", "),
            source: labels.source.clone(),
        });
        let rejects = self.rules.iter().map(|rule| RuleLine {
            name: rule.name.clone(),
            sentence: rule.sentence(),
            limit: rule.limit(),
            source: rule.source.clone(),
        });
        std::iter::once(linear).chain(relevant).chain(joins).chain(labels).chain(rejects)
    }

    /// What no document publishes and this set needs, one sentence each.
    #[must_use]
    pub fn conventions(&self) -> Vec<String> {
        let mut all = self.joins.as_ref().map(Joins::conventions).unwrap_or_default();
        for sentence in self.rules.iter().flat_map(Rule::conventions) {
            if !all.contains(&sentence) {
                all.push(sentence);
            }
        }
        all
    }

    /// The smallest length that decides anything: what a photo must resolve. Absent when the set
    /// holds no length.
    #[must_use]
    pub fn smallest_deciding_size(&self) -> Option<Length> {
        let threshold = self.relevant.as_ref().map(|r| r.length.limit.length());
        let joining = self.joins.as_ref().and_then(|joins| match &joins.against {
            Against::Fixed(gap) => Some(gap.length()),
            Against::Smaller | Against::Larger => None,
        });
        self.rules
            .iter()
            .filter_map(Rule::smallest_length)
            .chain(threshold)
            .chain(joining)
            .filter(|length| *length > Length::ZERO)
            .min()
    }

    /// Whether some rule asks where indications lie.
    #[must_use]
    pub fn needs_places(&self) -> bool {
        self.joins.is_some() || self.rules.iter().any(Rule::needs_places)
    }

    /// Why this set gives no verdict, where it only measures; absent when it judges.
    #[must_use]
    pub fn measure_only(&self) -> Option<&str> {
        self.measure_only.as_deref()
    }

    /// The lowest confidence of its numbers; the user's own count as sure.
    #[must_use]
    pub fn confidence(&self) -> Confidence {
        self.rules()
            .map(|line| line.source.confidence)
            .filter(|c| !matches!(c, Confidence::Own | Confidence::Chosen))
            .max()
            .unwrap_or(Confidence::Own)
    }

    pub(crate) const fn linear_past(&self) -> LinearPast {
        self.shaping.past
    }

    pub(crate) const fn relevant(&self) -> Option<&Relevant> {
        self.relevant.as_ref()
    }

    pub(crate) const fn joins(&self) -> Option<&Joins> {
        self.joins.as_ref()
    }

    pub(crate) const fn labels(&self) -> Option<&Labels> {
        self.labels.as_ref()
    }

    pub(crate) fn rejects(&self) -> &[Rule] {
        &self.rules
    }
}

impl Shaping {
    /// Length more than three times the width, which most documents say.
    fn common() -> Self {
        let ratio = Ratio::new(3, 1).expect("three is a ratio");
        Self {
            past: LinearPast { ratio, side: Side::Over },
            source: Source {
                text: "VIII-1 App. 8, 8-3, and ISO 23277:2015, 3.1; taken where a set says nothing"
                    .into(),
                confidence: Confidence::Read,
            },
        }
    }
}
