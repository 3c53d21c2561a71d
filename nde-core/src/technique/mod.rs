//! A technique: what a test must keep so that its result counts, each number with its side and source.
//!
//! A technique is read from a TOML text ([`Technique::parse`]) or taken from the shipped ones
//! ([`Technique::builtin`]). [`check`] holds the recorded facts of one test ([`Process`]) against it.
//! What is not met, not recorded or not covered never ends in "accept": [`ProcessCheck::held_with`].
//!
//! # The file form
//! ```
//! let technique = nde_core::Technique::parse(r#"
//! id = "loft-bronze"
//! title = "Bronze fittings of the loft"
//!
//! [clock]                          # when the developing time starts
//! wet = "dry"                      # wet developers: when the coat is dry; or "applied"
//! dry = "applied"
//!
//! [[limit]]
//! item = "dwell"
//! holds = ">= 15 min"              # the limit itself is kept
//! when = { form = ["casting"], temperature = [">= 10 C"] }
//! source = "procedure of the loft, 4.2"
//!
//! [[limit]]
//! item = "dwell"
//! holds = "<= 60 min"
//! weight = "advice"                # listed when not kept, decides nothing
//!
//! [[limit]]
//! item = "excess-removal"
//! allows = ["dry-then-damp-cloth"]
//!
//! [[limit]]
//! item = "kept-wet"                # a question of yes or no needs no more
//! "#)?;
//! assert_eq!(technique.lines().count(), 6);
//! # Ok::<(), nde_core::technique::TechniqueError>(())
//! ```

mod quantity;

mod process;

mod item;

mod limit;

mod form;

mod shipped;

mod check;

pub use check::{Checked, Outcome, ProcessCheck, check};
pub use form::TechniqueError;
pub use item::{Item, Kind};
pub use limit::{ClockStart, Heft};
pub use process::{
    Developer, DeveloperCoat, Drying, Flaw, Form, Material, Process, Reading, Removal, Retest,
};
pub use quantity::{Dimension, Quantity, QuantityError};
pub use shipped::builtin_ids;

use crate::source::{Confidence, Source};
use limit::{Clock, Limit};

/// What a test must keep, as data.
///
/// ```
/// use nde_core::technique::{Technique, builtin_ids};
/// for technique in builtin_ids().filter_map(Technique::builtin) {
///     assert!(technique.lines().all(|line| !line.source.text.is_empty()));
/// }
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Technique {
    id: String,
    title: String,
    edition: Option<String>,
    cautions: Vec<String>,
    clock: Clock,
    limits: Vec<Limit>,
    text: String,
}

/// One line of the table that [`Technique::lines`] gives.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct TechniqueLine {
    /// The item's word.
    pub item: String,
    /// What must hold, and when it applies.
    pub limit: String,
    /// Where it stands, and how surely it was read there.
    pub source: Source,
}

impl Technique {
    /// Reads a technique.
    ///
    /// # Errors
    /// The first fault, with its line and column and what to do about it.
    pub fn parse(toml: &str) -> Result<Self, TechniqueError> {
        form::read(toml)
    }

    /// Its id, such as `tech-iso`.
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

    /// Every limit as a table, and when the developing time starts.
    pub fn lines(&self) -> impl Iterator<Item = TechniqueLine> + '_ {
        let limits = self.limits.iter().map(|limit| TechniqueLine {
            item: limit.item.word().into(),
            limit: limit.to_string(),
            source: limit.source.clone(),
        });
        let clock =
            [("wet", self.clock.wet), ("dry", self.clock.dry)].map(|(form, start)| TechniqueLine {
                item: "developing-clock".into(),
                limit: format!("{form} developer: starts when {}", start.words()),
                source: self.clock.source.clone(),
            });
        limits.chain(clock)
    }

    /// The lowest confidence of its numbers; the user's own count as sure.
    #[must_use]
    pub fn confidence(&self) -> Confidence {
        self.lines()
            .map(|line| line.source.confidence)
            .filter(|c| !matches!(c, Confidence::Own | Confidence::Chosen))
            .max()
            .unwrap_or(Confidence::Own)
    }

    /// When the developing time of this developer starts.
    #[must_use]
    pub const fn clock_start(&self, developer: Developer) -> ClockStart {
        if developer.is_wet() { self.clock.wet } else { self.clock.dry }
    }

    /// The earliest and latest end of a timed item that these facts allow, advice left out: what a
    /// bench clock counts to. Absent where the technique is silent.
    #[must_use]
    pub fn window(&self, item: Item, process: &Process) -> [Option<Quantity>; 2] {
        let bounds = self.limits.iter().filter(|l| l.item == item && l.heft == Heft::Must);
        let mut window = [None, None];
        for (side, bound) in bounds
            .filter(|limit| limit.applies(process) != limit::Applies::No)
            .filter_map(Limit::number)
        {
            let [least, most] = &mut window;
            if side.catches_large() {
                *least = Some(
                    least.map_or(bound, |old: Quantity| if bound > old { bound } else { old }),
                );
            } else {
                *most =
                    Some(most.map_or(bound, |old: Quantity| if bound < old { bound } else { old }));
            }
        }
        if item == Item::Dwell
            && self.limits.iter().any(|l| l.item == Item::MakerDwell)
            && let Some(maker) = process.maker_dwell
        {
            window[0] = Some(window[0].map_or(maker, |old| if maker > old { maker } else { old }));
        }
        window
    }
}
